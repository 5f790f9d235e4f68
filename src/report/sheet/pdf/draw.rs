//! Pages drawn, and the structure that screen readers follow.

use krilla::Document;
use krilla::color::luma;
use krilla::geom::{Path, PathBuilder, Point, Size, Transform};
use krilla::image::Image;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Identifier, TagGroup, TagTree};
use krilla::text::{Font, TextDirection};

use super::{Drawing, PAGE, Part, Pen, Placed};
use crate::report::sheet::ReportPhoto;
use crate::report::sheet::content::Content;

/// What every page is drawn with.
struct Tools {
    font: Font,
    photo: Option<Image>,
}

/// The bytes of the document, or why there are none.
pub(super) fn draw(
    content: &Content,
    photo: Option<&ReportPhoto>,
    pages: &[Vec<Placed>],
    parts: Vec<Part>,
) -> Result<Vec<u8>, String> {
    let font =
        Font::new(epaint_default_fonts::UBUNTU_LIGHT.to_vec().into(), 0).ok_or("the font cannot be read")?;
    let image = photo.map(|photo| Image::from_jpeg(photo.jpeg.clone().into(), true)).transpose()?;
    let tools = Tools { font, photo: image };
    let mut document = Document::new();
    document.set_metadata(Metadata::new().title(content.title.clone()).language("en-GB".into()));
    let mut drawn: Vec<(usize, Identifier)> = Vec::new();
    for page in pages {
        let settings = PageSettings::from_wh(PAGE[0], PAGE[1]).ok_or("the paper has no size")?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        for run in page.chunk_by(|a, b| a.leaf == b.leaf) {
            let leaf = run.first().and_then(|placed| placed.leaf);
            let tag = match leaf {
                Some(_) => ContentTag::Other,
                None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Other)),
            };
            let identifier = surface.start_tagged(tag);
            run.iter().for_each(|placed| draw_one(&mut surface, &tools, &placed.drawing));
            surface.end_tagged();
            drawn.extend(leaf.map(|leaf| (leaf, identifier)));
        }
        surface.finish();
        sheet.finish();
    }
    let mut tree = TagTree::new().with_lang(Some("en-GB".into()));
    for part in parts {
        tree.push(group(part, &mut drawn));
    }
    document.set_tag_tree(tree);
    document.finish().map_err(|error| format!("{error:?}"))
}

fn group(part: Part, drawn: &mut Vec<(usize, Identifier)>) -> TagGroup {
    match part {
        Part::Leaf(tag, leaf) => {
            let mut group = TagGroup::new(tag);
            drawn.extract_if(.., |(owner, _)| *owner == leaf).for_each(|(_, id)| group.push(id));
            group
        }
        Part::Group(tag, parts) => {
            let mut group = TagGroup::new(tag);
            parts.into_iter().for_each(|part| group.push(self::group(part, drawn)));
            group
        }
    }
}

fn draw_one(surface: &mut Surface, tools: &Tools, drawing: &Drawing) {
    match drawing {
        Drawing::Words { at: [x, y], size, grey, text } => {
            surface.set_stroke(None);
            surface.set_fill(Some(fill(*grey)));
            let (font, direction) = (tools.font.clone(), TextDirection::Auto);
            surface.draw_text(Point::from_xy(*x, *y), font, *size, text, false, direction);
        }
        Drawing::Filled { corners, grey } => {
            surface.set_stroke(None);
            surface.set_fill(Some(fill(*grey)));
            path(corners).iter().for_each(|path| surface.draw_path(path));
        }
        Drawing::Outline { corners, pen } => {
            surface.set_fill(None);
            surface.set_stroke(Some(stroke(*pen)));
            path(corners).iter().for_each(|path| surface.draw_path(path));
        }
        Drawing::Photo { at: [x, y], size: [width, height] } => {
            let (Some(size), Some(photo)) = (Size::from_wh(*width, *height), &tools.photo) else { return };
            surface.push_transform(&Transform::from_translate(*x, *y));
            surface.draw_image(photo.clone(), size);
            surface.pop();
        }
    }
}

fn path(corners: &[[f32; 2]]) -> Option<Path> {
    let mut path = PathBuilder::new();
    for (index, [x, y]) in corners.iter().enumerate() {
        match index {
            0 => path.move_to(*x, *y),
            _ => path.line_to(*x, *y),
        }
    }
    path.close();
    path.finish()
}

fn fill(grey: f32) -> Fill {
    Fill { paint: ink(grey).into(), ..Fill::default() }
}

fn stroke(pen: Pen) -> Stroke {
    let dash =
        pen.is_dashed.then(|| StrokeDash { array: vec![3.0 * pen.width, 2.0 * pen.width], offset: 0.0 });
    Stroke { paint: ink(pen.grey).into(), width: pen.width, dash, ..Stroke::default() }
}

fn ink(grey: f32) -> luma::Color {
    luma::Color::new((grey * 255.0).round().clamp(0.0, 255.0) as u8)
}
