//! The guide's pictures and sketches beside what they help to tell apart.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use egui::{Image, RichText, Ui, vec2};

use super::weighing::OpenGuide;
use crate::case::PathRule;
use crate::figure::{LineFeature, LineSlot, Sort};
use crate::guide::Guide;
use crate::storage::resolve_inside;

use crate::app::theme;
use crate::app::thumbs::Thumbs;

/// Points that a picture may take.
const SIZE: [f32; 2] = [120.0, 90.0];

/// Shows the pictures of a feature, each with its name below; nothing where the guide has none. Answers with their files.
pub(super) fn show(
    ui: &mut Ui,
    open: &OpenGuide,
    (slot, feature): (&LineSlot, &LineFeature),
    thumbs: &Thumbs,
) -> Vec<PathBuf> {
    let pictures = of_feature(open, slot, feature);
    if pictures.is_empty() {
        return Vec::new();
    }
    ui.horizontal_wrapped(|ui| {
        for (name, path) in &pictures {
            ui.vertical(|ui| {
                match thumbs.get(path) {
                    Some(texture) => {
                        ui.add(Image::from_texture(texture).max_size(vec2(SIZE[0], SIZE[1])).alt_text(*name));
                    }
                    None => {
                        ui.label("No picture yet").on_hover_text(path.display().to_string());
                    }
                }
                ui.label(RichText::new(*name).font(theme::small()));
            });
        }
    });
    pictures.into_iter().map(|(_, path)| path.clone()).collect()
}

/// Where the pictures lie that a guide names, by what it calls them; a path that leads out of its folder is none.
pub(super) fn places(guide: &Guide, file: &Path) -> BTreeMap<String, PathBuf> {
    let folder = file.parent().unwrap_or(Path::new(""));
    let of_moulds = guide.moulds.iter().filter_map(|mould| mould.picture.as_ref());
    let named = of_moulds.chain(guide.features.iter().filter_map(|feature| feature.picture.as_ref()));
    let inside = |picture: &String| resolve_inside(folder, picture, PathRule::InsideFolder).ok();
    named.filter_map(|picture| Some((picture.clone(), inside(picture)?))).collect()
}

/// Names and files.
fn of_feature<'a>(
    open: &'a OpenGuide,
    slot: &LineSlot,
    feature: &LineFeature,
) -> Vec<(&'a str, &'a PathBuf)> {
    let guide = &open.guide;
    let named: Vec<(&str, Option<&String>)> = match feature.sort {
        Sort::Mould => {
            let moulds = guide.moulds.iter().filter(|mould| mould.slots.contains(&slot.id));
            moulds.map(|mould| (mould.name(), mould.picture.as_ref())).collect()
        }
        _ => {
            let features = guide.features.iter().filter(|of_guide| of_guide.id == feature.id);
            features.map(|of_guide| (of_guide.name(), of_guide.picture.as_ref())).collect()
        }
    };
    named.into_iter().filter_map(|(name, picture)| Some((name, open.pictures.get(picture?)?))).collect()
}
