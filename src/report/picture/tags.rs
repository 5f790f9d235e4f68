//! The marks on the photo: outlines and names.

use tiny_skia::{Path, PathBuilder, Rect};

use super::canvas::{Canvas, Pen, text_width_px};
use crate::case::CaseDocument;
use crate::raster::Shape;

/// Height of the letters of a reading's name; those of a zone are smaller.
const READING_PX: f32 = 24.0;
const ZONE_PX: f32 = 18.0;

/// A box on the canvas: left, top, right, bottom.
pub(in crate::report) type Box4 = [f32; 4];

/// Draws all marks. `scale` makes pixels of the photo into pixels of the canvas, of which the photo takes
/// `photo_px` (width, height).
pub(super) fn draw(canvas: &mut Canvas, case: &CaseDocument, scale: f32, photo_px: (u32, u32)) {
    let zones = case.zones.iter().map(|zone| (&zone.shape, zone.id.clone(), ZONE_PX));
    let numbered = case.readings.iter().enumerate();
    let readings = numbered
        .map(|(index, reading)| (&reading.shape, format!("{} {}", index + 1, reading.id), READING_PX));
    let marks: Vec<(Path, String, f32)> = zones
        .chain(readings)
        .filter_map(|(shape, name, size_px)| Some((path_of(shape, scale)?, name, size_px)))
        .collect();
    let mut taken: Vec<Box4> = Vec::new();
    for (path, _, size_px) in &marks {
        let is_dashed = *size_px < READING_PX;
        canvas.outline(path, Pen { width_px: 5.0, grey: 0, is_dashed: false });
        canvas.outline(path, Pen { width_px: 2.0, grey: 255, is_dashed });
        taken.push(box_of(path.bounds()));
    }
    // Readings matter more: their names are placed first.
    for (path, name, size_px) in marks.iter().rev() {
        let width = text_width_px(canvas.font(), name, *size_px) + 12.0;
        let place = free_place(box_of(path.bounds()), [width, size_px + 8.0], photo_px, &taken);
        draw_leader(canvas, &place, &box_of(path.bounds()));
        canvas.fill_box(place[0], place[1], width, size_px + 8.0, 20);
        canvas.text(place[0] + 6.0, place[3] - 4.0 - size_px * 0.22, *size_px, 255, name);
        taken.push(place);
    }
}

/// A line from a name to its mark, where they do not touch.
fn draw_leader(canvas: &mut Canvas, place: &Box4, mark: &Box4) {
    let centre = [(mark[0] + mark[2]) / 2.0, (mark[1] + mark[3]) / 2.0];
    let from = [centre[0].clamp(place[0], place[2]), centre[1].clamp(place[1], place[3])];
    let to = [from[0].clamp(mark[0], mark[2]), from[1].clamp(mark[1], mark[3])];
    if (from[0] - to[0]).hypot(from[1] - to[1]) <= 8.0 {
        return;
    }
    canvas.line(from, to, Pen { width_px: 4.0, grey: 0, is_dashed: false });
    canvas.line(from, to, Pen { width_px: 1.5, grey: 255, is_dashed: false });
}

/// The first place beside a mark that covers no other mark or name; over the mark where there is none.
pub(in crate::report) fn free_place(
    mark: Box4,
    size: [f32; 2],
    photo_px: (u32, u32),
    taken: &[Box4],
) -> Box4 {
    let [width, height] = size;
    let (right_end, bottom_end) =
        ((photo_px.0 as f32 - width).max(0.0), (photo_px.1 as f32 - height).max(0.0));
    let middle = [(mark[0] + mark[2] - width) / 2.0, (mark[1] + mark[3] - height) / 2.0];
    let gap = 5.0;
    let step = height + gap;
    let candidates = (0..6).flat_map(|n| {
        let away = gap + n as f32 * step;
        [
            [middle[0], mark[1] - height - away],
            [middle[0], mark[3] + away],
            [mark[2] + away, middle[1]],
            [mark[0] - width - away, middle[1]],
            [mark[2] + gap, mark[1] - height - away],
            [mark[0] - width - gap, mark[3] + away],
        ]
    });
    let kept_inside = candidates.map(|[x, y]| {
        let (x, y) = (x.clamp(0.0, right_end), y.clamp(0.0, bottom_end));
        [x, y, x + width, y + height]
    });
    let is_free = |place: &Box4| !taken.iter().any(|other| overlap(place, other));
    let over = [middle[0].clamp(0.0, right_end), middle[1].clamp(0.0, bottom_end)];
    let fallback = [over[0], over[1], over[0] + width, over[1] + height];
    kept_inside.into_iter().find(is_free).unwrap_or(fallback)
}

fn overlap(a: &Box4, b: &Box4) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

fn box_of(bounds: Rect) -> Box4 {
    [bounds.left(), bounds.top(), bounds.right(), bounds.bottom()]
}

fn path_of(shape: &Shape, scale: f32) -> Option<Path> {
    // The drawing library is not made for numbers far beyond any picture.
    let px = |value: f64| (value as f32 * scale).clamp(-1e5, 1e5);
    match shape {
        Shape::Circle { centre, radius } => {
            PathBuilder::from_circle(px(centre[0]), px(centre[1]), px(*radius))
        }
        Shape::Rect { min, max } => {
            Rect::from_ltrb(px(min[0]), px(min[1]), px(max[0]), px(max[1])).map(PathBuilder::from_rect)
        }
        Shape::Polygon(corners) => {
            let mut path = PathBuilder::new();
            for (index, corner) in corners.iter().enumerate() {
                match index {
                    0 => path.move_to(px(corner[0]), px(corner[1])),
                    _ => path.line_to(px(corner[0]), px(corner[1])),
                }
            }
            path.close();
            path.finish()
        }
    }
}
