//! Names beside the marks on the photo. A name never lies on another mark or on another name: where a zoom
//! leaves no room for it, it is left out; the mark's tooltip and the column have it still.

use egui::{Painter, Rect, Vec2, pos2, vec2};

use crate::app::theme;

/// A mark that wants its name painted.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tag {
    /// The box around the mark on the screen.
    pub mark: Rect,
    /// What to write, the longest first; the first that has room is taken.
    pub texts: Vec<String>,
    /// It is painted whatever it covers: the selected mark is what the person looks at.
    pub always: bool,
}

/// Paints the names, those that must be there first. `marks` are the boxes of all marks.
pub(super) fn paint(painter: &Painter, tags: &[Tag], marks: &[Rect]) {
    let room = painter.clip_rect().shrink(2.0);
    let mut taken = marks.to_vec();
    let (first, then): (Vec<&Tag>, Vec<&Tag>) = tags.iter().partition(|tag| tag.always);
    for tag in first.into_iter().chain(then).filter(|tag| room.intersects(tag.mark)) {
        let written = tag
            .texts
            .iter()
            .map(|text| painter.layout_no_wrap(text.clone(), theme::small(), theme::MARK_OVER))
            .map(|galley| (padded(galley.size()), galley));
        let mut found = None;
        for (size, galley) in written {
            let free = place(size, tag.mark, room, &taken);
            let forced = tag.always.then(|| places(size, tag.mark, room)[0]);
            found = free.or(forced).map(|ground| (ground, galley));
            if found.is_some() {
                break;
            }
        }
        let Some((ground, galley)) = found else { continue };
        painter.rect_filled(ground, 2.0, theme::MARK_UNDER);
        painter.galley(ground.min + vec2(theme::SPACE_S, 1.0), galley, theme::MARK_OVER);
        taken.push(ground);
    }
}

fn padded(text: Vec2) -> Vec2 {
    text + vec2(2.0 * theme::SPACE_S, 2.0)
}

/// Where a name of this size covers nothing that is taken; `None` where it always would.
fn place(size: Vec2, mark: Rect, room: Rect, taken: &[Rect]) -> Option<Rect> {
    let free =
        |ground: &Rect| room.contains_rect(*ground) && !taken.iter().any(|other| overlap(ground, other));
    places(size, mark, room).into_iter().find(free)
}

/// The places beside a mark, the best first: above, below, right, left. Above and below are pushed into the
/// room sideways; a mark at the upper edge has its name below.
fn places(size: Vec2, mark: Rect, room: Rect) -> [Rect; 4] {
    let gap = theme::SPACE_S + 2.0;
    let left = (mark.center().x - size.x / 2.0).clamp(room.left(), (room.right() - size.x).max(room.left()));
    let middle = mark.center().y - size.y / 2.0;
    let above = pos2(left, mark.top() - gap - size.y);
    let below = pos2(left, mark.bottom() + gap);
    let (first, second) = if above.y < room.top() { (below, above) } else { (above, below) };
    let right = pos2(mark.right() + gap, middle);
    let at_left = pos2(mark.left() - gap - size.x, middle);
    [first, second, right, at_left].map(|corner| Rect::from_min_size(corner, size))
}

/// Whether two boxes have more than an edge in common.
fn overlap(a: &Rect, b: &Rect) -> bool {
    a.left() < b.right() && b.left() < a.right() && a.top() < b.bottom() && b.top() < a.bottom()
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: Rect = Rect { min: pos2(0.0, 0.0), max: pos2(400.0, 300.0) };

    fn at(x: f32, y: f32, width: f32, height: f32) -> Rect {
        Rect::from_min_size(pos2(x, y), vec2(width, height))
    }

    #[test]
    fn a_name_moves_aside_for_other_marks_and_is_left_out_where_all_sides_are_taken() {
        let (size, mark) = (vec2(60.0, 16.0), at(180.0, 140.0, 20.0, 20.0));
        let mut taken = vec![mark];
        let mut seen = Vec::new();
        while let Some(ground) = place(size, mark, ROOM, &taken) {
            assert!(taken.iter().all(|other| !overlap(&ground, other)) && ROOM.contains_rect(ground));
            seen.push(ground);
            taken.push(ground);
        }
        assert_eq!(seen.len(), 4);
        assert!(seen[0].bottom() <= mark.top() && seen[1].top() >= mark.bottom());
    }

    #[test]
    fn names_stay_in_the_room() {
        for mark in [at(0.0, 0.0, 20.0, 20.0), at(380.0, 280.0, 20.0, 20.0), at(380.0, 0.0, 20.0, 20.0)] {
            let ground = place(vec2(60.0, 16.0), mark, ROOM, &[mark]).unwrap();
            assert!(ROOM.contains_rect(ground), "{ground:?}");
        }
        assert_eq!(place(vec2(500.0, 16.0), at(100.0, 100.0, 9.0, 9.0), ROOM, &[]), None);
    }
}
