//! The magnifier: the photo's own pixels under the pointer, or in the middle of a mark that keys move, large and
//! unsmoothed, with the code of the middle one.

use std::sync::{Arc, Weak};

use egui::{
    Color32, ColorImage, Pos2, Rect, Role, Sense, Stroke, StrokeKind, TextureHandle, TextureOptions, Ui,
    Vec2, WidgetInfo, pos2, vec2,
};

use crate::color::srgb_encode;
use crate::raster::Raster;

use super::view::{Bench, View};
use crate::app::theme;

/// Physical pixels of the screen for one pixel of the photo.
const ENLARGED: f32 = 8.0;

/// What is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Target {
    /// The point of the photo in the middle, in pixels.
    pub point_px: [f64; 2],
    /// What stays in sight, on the screen: a little around the pointer, or the mark.
    pub uncovered: Rect,
}

impl Target {
    /// The pointer, with the room that its picture takes.
    pub(super) fn pointer(view: &View, bench: &Bench, at: Pos2) -> Self {
        let point_px = view.to_photo(bench, [f64::from(at.x), f64::from(at.y)]);
        Self { point_px, uncovered: Rect::from_center_size(at, Vec2::splat(2.0 * theme::SPACE_XL)) }
    }
}

/// A picture that is there already.
#[derive(Clone)]
struct Painted {
    raster: Weak<Raster>,
    of: ([i64; 2], usize),
    texture: TextureHandle,
}

/// Shows it beside what is looked at, inside `room`.
pub(super) fn show(ui: &Ui, room: Rect, raster: &Arc<Raster>, target: &Target) {
    let point = 1.0 / ui.pixels_per_point();
    let count = pixels_a_side(room, point);
    let side = count as f32 * ENLARGED * point;
    let middle = target.point_px.map(|v| v.floor() as i64);
    let (shown, spoken) = words(raster, middle);
    let text = ui.painter().layout(shown, theme::figures(), theme::MARK_OVER, side);
    let size = vec2(side, side + text.size().y + theme::SPACE_S);
    let place = place(size, target.uncovered, room.shrink(theme::SPACE_S));
    // Whole physical pixels, so that all enlarged ones are of one size.
    let corner = ((place.min.to_vec2() / point).round() * point).to_pos2();
    let pixels = Rect::from_min_size(corner, Vec2::splat(side));
    let whole = Rect::from_min_size(corner, size);

    let id = ui.scope_id().with("magnifier");
    ui.interact(whole, id, Sense::hover())
        .widget_info(|| WidgetInfo::labeled(Role::Label, true, spoken.as_str()));
    let painter = ui.painter_at(room);
    painter.rect_filled(whole.expand(2.0), 2.0, theme::MARK_OVER);
    painter.rect_filled(whole.expand(1.0), 1.0, theme::MARK_UNDER);
    let (from, of) = (Arc::downgrade(raster), (middle, count));
    let kept = ui.data(|data| data.get_temp::<Painted>(id));
    let kept = kept.filter(|kept| kept.of == of && kept.raster.ptr_eq(&from));
    let painted = kept.unwrap_or_else(|| {
        let texture =
            ui.ctx().load_texture("magnifier", picture(raster, middle, count), TextureOptions::NEAREST);
        let painted = Painted { raster: from, of, texture };
        ui.data_mut(|data| data.insert_temp(id, painted.clone()));
        painted
    });
    painter.image(
        painted.texture.id(),
        pixels,
        Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0)),
        Color32::WHITE,
    );
    cross(&painter, pixels, ENLARGED * point);
    painter.galley(pixels.left_bottom() + vec2(theme::SPACE_S, theme::SPACE_S / 2.0), text, theme::MARK_OVER);
}

/// An odd number, so that one pixel is the middle.
fn pixels_a_side(room: Rect, point: f32) -> usize {
    let side = theme::MAGNIFIER.min(room.size().min_elem() / 2.5);
    (side / (ENLARGED * point)).max(3.0) as usize / 2 * 2 + 1
}

fn picture(raster: &Raster, middle: [i64; 2], count: usize) -> ColorImage {
    let half = (count / 2) as i64;
    let pixel = |i: usize| {
        let at = [middle[0] - half + (i % count) as i64, middle[1] - half + (i / count) as i64];
        match code_at(raster, at) {
            Code::Colour([r, g, b]) => theme::measured(r, g, b),
            Code::Transparent | Code::Outside => theme::SURROUND,
        }
    };
    ColorImage::new([count, count], (0..count * count).map(pixel).collect())
}

/// What a pixel of the photo is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Code {
    Colour([u8; 3]),
    Transparent,
    Outside,
}

fn code_at(raster: &Raster, at: [i64; 2]) -> Code {
    let inside = |v: i64, size: u32| u32::try_from(v).ok().filter(|v| *v < size);
    let (Some(x), Some(y)) = (inside(at[0], raster.width()), inside(at[1], raster.height())) else {
        return Code::Outside;
    };
    if !raster.is_opaque(x, y) {
        return Code::Transparent;
    }
    let code = |light: f32| (srgb_encode(f64::from(light)) * 255.0).round().clamp(0.0, 255.0) as u8;
    Code::Colour(raster.linear_at(x, y).map(code))
}

/// The middle pixel in words: below the picture, and for a screen reader.
fn words(raster: &Raster, middle: [i64; 2]) -> (String, String) {
    let [x, y] = middle;
    let what = match code_at(raster, middle) {
        Code::Colour([r, g, b]) => format!("sRGB {r} {g} {b}"),
        Code::Transparent => "transparent".into(),
        Code::Outside => {
            let text = "outside the photo";
            return (format!("{text}\n "), format!("Magnifier: {text}"));
        }
    };
    (format!("x {x}  y {y}\n{what}"), format!("Magnifier: pixel {x}, {y}, {what}"))
}

/// A cross that leaves the middle pixel free, with a frame around that.
fn cross(painter: &egui::Painter, pixels: Rect, pixel: f32) {
    let middle = Rect::from_center_size(pixels.center(), Vec2::splat(pixel));
    let gap = middle.expand(pixel / 2.0);
    let arms = [
        [pixels.left_center(), gap.left_center()],
        [gap.right_center(), pixels.right_center()],
        [pixels.center_top(), gap.center_top()],
        [gap.center_bottom(), pixels.center_bottom()],
    ];
    for (width, colour) in [(3.0, theme::MARK_UNDER), (1.0, theme::MARK_OVER)] {
        for arm in arms {
            painter.line_segment(arm, Stroke::new(width, colour));
        }
    }
    painter.rect_stroke(middle.expand(1.0), 0.0, Stroke::new(1.0, theme::MARK_UNDER), StrokeKind::Outside);
    painter.rect_stroke(middle, 0.0, Stroke::new(1.0, theme::MARK_OVER), StrokeKind::Outside);
}

/// The place for a box of this size beside what must stay in sight; where a large mark leaves no room beside it,
/// in the corner farthest from its middle.
fn place(size: Vec2, uncovered: Rect, room: Rect) -> Rect {
    let columns = [uncovered.right(), uncovered.left() - size.x];
    let rows = [uncovered.bottom(), uncovered.top() - size.y];
    let beside = rows.into_iter().flat_map(|y| columns.map(|x| Rect::from_min_size(pos2(x, y), size)));
    // At the edge of the room beside it, then above or below, pushed in the other direction.
    let pushed = |corner: Pos2| {
        let least = room.min.to_vec2();
        let most = (room.max - size).to_vec2().max(least);
        Rect::from_min_size(corner.to_vec2().clamp(least, most).to_pos2(), size)
    };
    let slid = columns
        .map(|x| pos2(x, uncovered.center().y - size.y / 2.0))
        .into_iter()
        .chain(rows.map(|y| pos2(uncovered.center().x - size.x / 2.0, y)));
    beside
        .filter(|place| room.contains_rect(*place))
        .chain(slid.map(pushed).filter(|place| !place.intersects(uncovered.shrink(0.5))))
        .next()
        .unwrap_or_else(|| {
            let far = |low: f32, high: f32, v: f32| if v - low > high - v { low } else { high };
            let middle = uncovered.center();
            let [x, y] = [far(room.left(), room.right(), middle.x), far(room.top(), room.bottom(), middle.y)];
            pushed(pos2(x, y))
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::raster::{Coding, Samples};

    #[test]
    fn it_stays_in_the_room_and_never_lies_over_the_pointer() {
        let room = Rect::from_min_size(pos2(20.0, 40.0), vec2(560.0, 360.0));
        let size = vec2(152.0, 190.0);
        for x in 20..=580 {
            for y in 40..=400 {
                let at = pos2(x as f32, y as f32);
                let uncovered = Rect::from_center_size(at, Vec2::splat(48.0));
                let place = place(size, uncovered, room);
                assert!(room.contains_rect(place), "{at:?}: {place:?}");
                assert!(!place.expand(8.0).contains(at), "{at:?}: {place:?}");
            }
        }
        // A mark as large as the room leaves no place beside it; its middle is free all the same.
        let all = place(size, room, room);
        assert!(room.contains_rect(all) && !all.contains(room.center()));
    }

    #[test]
    fn pixels_are_shown_with_the_codes_of_the_file() {
        let samples: Vec<u8> = (0..5 * 4 * 3).map(|i| i as u8).collect();
        let mut opaque = vec![true; 20];
        opaque[7] = false;
        let raster = Raster::new(5, 4, Samples::U8(samples), Coding::srgb(256), Some(opaque)).unwrap();
        assert_eq!(code_at(&raster, [1, 2]), Code::Colour([33, 34, 35]));
        assert_eq!(code_at(&raster, [2, 1]), Code::Transparent);
        assert_eq!(code_at(&raster, [5, 0]), Code::Outside);
        let shown = picture(&raster, [1, 2], 3);
        assert_eq!(shown.pixels[4], Color32::from_rgb(33, 34, 35));
        assert_eq!(shown.pixels[8], Color32::from_rgb(51, 52, 53), "one to the right and one down");
        assert_eq!(words(&raster, [1, 2]).1, "Magnifier: pixel 1, 2, sRGB 33 34 35");
        assert_eq!(words(&raster, [-1, 2]).1, "Magnifier: outside the photo");
    }
}
