//! Lines, boxes and words on a picture.

use ab_glyph::{Font, FontRef, Glyph, PxScale, ScaleFont, point};
use image::RgbImage;
use tiny_skia::{Color, FillRule, Paint, Path, PathBuilder, Pixmap, Rect, Stroke, StrokeDash, Transform};

/// Why a picture could not be drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PictureProblem {
    /// The picture would be too large.
    #[error("the picture of {0}×{1} pixels is too large to draw")]
    Size(u32, u32),
    /// The built-in font cannot be read.
    #[error("the built-in font cannot be read")]
    Font,
}

/// A grey from 0 (black) to 255 (white).
pub(super) type Grey = u8;

/// A line's looks.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pen {
    pub width_px: f32,
    pub grey: Grey,
    pub is_dashed: bool,
}

/// A picture that is drawn on.
pub(super) struct Canvas {
    pixmap: Pixmap,
    font: FontRef<'static>,
}

/// The letters of the program.
pub(super) fn font() -> Result<FontRef<'static>, PictureProblem> {
    FontRef::try_from_slice(epaint_default_fonts::UBUNTU_LIGHT).map_err(|_| PictureProblem::Font)
}

/// How wide a text is, in pixels.
pub(super) fn text_width_px(font: &FontRef, text: &str, size_px: f32) -> f32 {
    glyphs(font, text, size_px, 0.0, 0.0).1
}

impl Canvas {
    pub(super) fn new([width_px, height_px]: [u32; 2], paper: Grey) -> Result<Self, PictureProblem> {
        let mut pixmap = Pixmap::new(width_px, height_px).ok_or(PictureProblem::Size(width_px, height_px))?;
        pixmap.fill(Color::from_rgba8(paper, paper, paper, 255));
        Ok(Self { pixmap, font: font()? })
    }

    pub(super) fn font(&self) -> &FontRef<'static> {
        &self.font
    }

    pub(super) fn height_px(&self) -> u32 {
        self.pixmap.height()
    }

    /// Puts a picture into the upper left corner.
    pub(super) fn put(&mut self, picture: &RgbImage) {
        let width = self.pixmap.width() as usize;
        let data = self.pixmap.data_mut();
        for (y, row) in picture.rows().enumerate() {
            for (x, pixel) in row.enumerate() {
                let at = (y * width + x) * 4;
                if let Some(target) = data.get_mut(at..at + 3) {
                    target.copy_from_slice(&pixel.0);
                }
            }
        }
    }

    pub(super) fn fill_box(&mut self, x: f32, y: f32, width: f32, height: f32, grey: Grey) {
        if let Some(area) = Rect::from_xywh(x, y, width, height) {
            self.pixmap.fill_rect(area, &paint(grey), Transform::identity(), None);
        }
    }

    pub(super) fn fill_disc(&mut self, x: f32, y: f32, radius: f32, grey: Grey) {
        if let Some(path) = PathBuilder::from_circle(x, y, radius) {
            self.pixmap.fill_path(&path, &paint(grey), FillRule::Winding, Transform::identity(), None);
        }
    }

    pub(super) fn line(&mut self, from: [f32; 2], to: [f32; 2], pen: Pen) {
        let mut path = PathBuilder::new();
        path.move_to(from[0], from[1]);
        path.line_to(to[0], to[1]);
        if let Some(path) = path.finish() {
            self.outline(&path, pen);
        }
    }

    pub(super) fn outline(&mut self, path: &Path, pen: Pen) {
        let dash = if pen.is_dashed { StrokeDash::new(vec![9.0, 6.0], 0.0) } else { None };
        let stroke = Stroke { width: pen.width_px, dash, ..Stroke::default() };
        self.pixmap.stroke_path(path, &paint(pen.grey), &stroke, Transform::identity(), None);
    }

    /// Writes with the left end of the base line at (x, y); letters that the font lacks are left out.
    pub(super) fn text(&mut self, x: f32, y: f32, size_px: f32, grey: Grey, text: &str) {
        let (width, height) = (self.pixmap.width() as i64, self.pixmap.height() as i64);
        for glyph in glyphs(&self.font, text, size_px, x, y).0 {
            let Some(outline) = self.font.outline_glyph(glyph) else { continue };
            let corner = outline.px_bounds().min;
            let data = self.pixmap.data_mut();
            outline.draw(|dx, dy, cover| {
                let (px, py) = (corner.x as i64 + i64::from(dx), corner.y as i64 + i64::from(dy));
                if !(0..width).contains(&px) || !(0..height).contains(&py) {
                    return;
                }
                let at = (py * width + px) as usize * 4;
                for channel in data.iter_mut().skip(at).take(3) {
                    let under = f32::from(*channel);
                    *channel = (under + (f32::from(grey) - under) * cover.clamp(0.0, 1.0)).round() as u8;
                }
            });
        }
    }

    pub(super) fn into_image(self) -> RgbImage {
        let (width, height) = (self.pixmap.width(), self.pixmap.height());
        let data = self.pixmap.data();
        RgbImage::from_fn(width, height, |x, y| {
            let at = (y as usize * width as usize + x as usize) * 4;
            // Everything drawn is opaque, so the samples are not premultiplied by anything.
            image::Rgb([data[at], data[at + 1], data[at + 2]])
        })
    }
}

fn paint(grey: Grey) -> Paint<'static> {
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    paint.set_color_rgba8(grey, grey, grey, 255);
    paint
}

/// The letters of a text in their places, and where the next one would begin.
fn glyphs(font: &FontRef, text: &str, size_px: f32, x: f32, y: f32) -> (Vec<Glyph>, f32) {
    let scaled = font.as_scaled(PxScale::from(size_px));
    let mut at = x;
    let mut last = None;
    let mut placed = Vec::new();
    for letter in text.chars() {
        let id = font.glyph_id(letter);
        at += last.map_or(0.0, |last| scaled.kern(last, id));
        placed.push(id.with_scale_and_position(size_px, point(at, y)));
        at += scaled.h_advance(id);
        last = Some(id);
    }
    (placed, at)
}
