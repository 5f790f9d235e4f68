//! The picture of a family: a\* and b\* above, L\* below. Letter, dash pattern and place tell the shades apart.

use egui::{Align2, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::report::{FamilyPicture, ShadePicture};

use crate::app::theme::{self, Palette};

/// Dash and gap of each shade's outline, in turn; 0 is a solid line.
const DASHES: [(f32, f32); 5] = [(0.0, 0.0), (7.0, 4.0), (2.5, 3.0), (12.0, 4.0), (5.0, 8.0)];
/// Room for the numbers at the axes.
const MARGIN: f32 = 34.0;
/// Height of the bars of L\*.
const STRIP: f32 = 96.0;

/// Shows the picture, as wide as there is room.
pub(super) fn show(ui: &mut Ui, picture: &FamilyPicture) {
    let width = ui.available_width().min(460.0);
    let size = vec2(width, width * 0.8 + STRIP + MARGIN);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let grey = theme::palette(ui);
    let painter = ui.painter_at(rect);
    let plane = Rect::from_min_max(
        pos2(rect.left() + MARGIN, rect.top() + 4.0),
        pos2(rect.right() - 4.0, rect.top() + width * 0.8 - MARGIN),
    );
    let strip = Rect::from_min_max(
        pos2(plane.left(), rect.bottom() - STRIP - MARGIN + 14.0),
        pos2(plane.right(), rect.bottom() - MARGIN),
    );
    let scale = Scale::of(picture, plane);
    scale.axes(&painter, plane, grey);
    lightness(&painter, strip, picture, grey);
    for (index, shade) in picture.shades.iter().enumerate() {
        in_plane(&painter, &scale, shade, index, grey);
    }
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, spoken(picture)));
}

/// The picture in words.
fn spoken(picture: &FamilyPicture) -> String {
    let of = |shade: &ShadePicture| {
        let [l, a, b] = shade.next_part;
        format!(
            "{} {}, {} specimens: L* {:.1} to {:.1}, a* {:.1} to {:.1}, b* {:.1} to {:.1}",
            shade.letter, shade.name, shade.counted, l[0], l[2], a[0], a[2], b[0], b[2]
        )
    };
    let shades: Vec<String> = picture.shades.iter().map(of).collect();
    format!("Picture of the family, where the next part of each shade lies with 95 %. {}", shades.join(". "))
}

struct Scale {
    middle: [f64; 2],
    per_unit: f64,
    centre: Pos2,
}

impl Scale {
    fn of(picture: &FamilyPicture, plane: Rect) -> Self {
        let [a, b, _] = picture.range;
        let per_unit =
            (f64::from(plane.width()) / (a[1] - a[0])).min(f64::from(plane.height()) / (b[1] - b[0]));
        Self { middle: [0.5 * (a[0] + a[1]), 0.5 * (b[0] + b[1])], per_unit, centre: plane.center() }
    }

    fn at(&self, [a, b]: [f64; 2]) -> Pos2 {
        let [x, y] = [(a - self.middle[0]) * self.per_unit, (b - self.middle[1]) * self.per_unit];
        self.centre + vec2(x as f32, -y as f32)
    }

    fn axes(&self, painter: &Painter, plane: Rect, grey: &Palette) {
        painter.rect_filled(plane, 0.0, grey.field);
        let line = Stroke::new(1.0, grey.line);
        let half = |length: f32| f64::from(length) / self.per_unit / 2.0;
        for tick in ticks(self.middle[0] - half(plane.width()), self.middle[0] + half(plane.width())) {
            let x = self.at([tick, 0.0]).x;
            painter.vline(x, plane.y_range(), line);
            painter.text(
                pos2(x, plane.bottom() + 2.0),
                Align2::CENTER_TOP,
                format!("{tick:.0}"),
                theme::small(),
                grey.weak,
            );
        }
        for tick in ticks(self.middle[1] - half(plane.height()), self.middle[1] + half(plane.height())) {
            let y = self.at([0.0, tick]).y;
            painter.hline(plane.x_range(), y, line);
            painter.text(
                pos2(plane.left() - 4.0, y),
                Align2::RIGHT_CENTER,
                format!("{tick:.0}"),
                theme::small(),
                grey.weak,
            );
        }
        painter.text(
            plane.right_bottom() + vec2(0.0, 15.0),
            Align2::RIGHT_TOP,
            "a*",
            theme::small(),
            grey.text,
        );
        painter.text(
            plane.left_top() + vec2(-MARGIN + 4.0, 0.0),
            Align2::LEFT_TOP,
            "b*",
            theme::small(),
            grey.text,
        );
    }
}

fn in_plane(painter: &Painter, scale: &Scale, shade: &ShadePicture, index: usize, grey: &Palette) {
    let mut outline: Vec<Pos2> = shade.ellipse.outline(72).into_iter().map(|point| scale.at(point)).collect();
    outline.extend(outline.first().copied());
    let stroke = Stroke::new(1.6, grey.text);
    match DASHES[index % DASHES.len()] {
        (0.0, _) => painter.add(Shape::line(outline, stroke)),
        (dash, gap) => painter.add(Shape::dashed_line(&outline, stroke, dash, gap)),
    };
    for point in &shade.specimens {
        let at = scale.at([point.lab[1], point.lab[2]]);
        mark(painter, at, shade, point.set_aside, grey);
    }
    // On the outline, each at an angle of its own.
    let letter_at = scale.at(shade.ellipse.outline(12)[(1 + 2 * index) % 12]);
    letter(painter, letter_at, shade.letter, grey);
}

fn mark(painter: &Painter, at: Pos2, shade: &ShadePicture, set_aside: bool, grey: &Palette) {
    let [r, g, b] = shade.srgb;
    if set_aside {
        let line = Stroke::new(1.5, grey.text);
        painter.line_segment([at + vec2(-4.0, -4.0), at + vec2(4.0, 4.0)], line);
        painter.line_segment([at + vec2(-4.0, 4.0), at + vec2(4.0, -4.0)], line);
    } else {
        painter.circle(at, 3.5, theme::measured(r, g, b), Stroke::new(1.2, grey.text));
    }
}

fn letter(painter: &Painter, at: Pos2, letter: char, grey: &Palette) {
    painter.circle_filled(at, 9.0, grey.panel);
    painter.text(at, Align2::CENTER_CENTER, letter, theme::body(), grey.text);
}

fn lightness(painter: &Painter, strip: Rect, picture: &FamilyPicture, grey: &Palette) {
    painter.rect_filled(strip, 0.0, grey.field);
    let [low, high] = picture.range[2];
    let x = |l: f64| strip.left() + strip.width() * ((l - low) / (high - low)) as f32;
    for tick in ticks(low, high) {
        painter.vline(x(tick), strip.y_range(), Stroke::new(1.0, grey.line));
        painter.text(
            pos2(x(tick), strip.bottom() + 2.0),
            Align2::CENTER_TOP,
            format!("{tick:.0}"),
            theme::small(),
            grey.weak,
        );
    }
    painter.text(strip.right_bottom() + vec2(0.0, 15.0), Align2::RIGHT_TOP, "L*", theme::small(), grey.text);
    let step = strip.height() / picture.shades.len().max(1) as f32;
    for (index, shade) in picture.shades.iter().enumerate() {
        let y = strip.top() + step * (index as f32 + 0.5);
        let [from, middle, to] = shade.next_part[0].map(x);
        let half = (step * 0.3).min(8.0);
        let bar = Rect::from_min_max(pos2(from, y - half), pos2(to, y + half));
        painter.rect_stroke(bar, 0.0, Stroke::new(1.5, grey.text), egui::StrokeKind::Inside);
        painter.vline(middle, bar.y_range(), Stroke::new(1.5, grey.text));
        for point in &shade.specimens {
            mark(painter, pos2(x(point.lab[0]), y), shade, point.set_aside, grey);
        }
        // Beside the bar, so that no specimen is covered.
        letter(painter, pos2((from - 11.0).max(strip.left() + 9.0), y), shade.letter, grey);
    }
}

/// Round values in a range, at most nine.
fn ticks(low: f64, high: f64) -> Vec<f64> {
    let step =
        [1.0, 2.0, 5.0, 10.0, 20.0].into_iter().find(|step| (high - low) / step <= 9.0).unwrap_or(50.0);
    let first = (low / step).ceil() as i64;
    (first..).map(|i| i as f64 * step).take_while(|v| *v <= high).collect()
}
