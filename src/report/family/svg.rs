//! The picture of a family as SVG: a\* and b\* to the left, L\* to the right. Each shade has a letter, a dash pattern and a
//! shape of its own, so that nothing hangs on colour.

use std::fmt::Write;

use super::geometry::{FamilyPicture, ShadePicture};

const WIDTH: f64 = 860.0;
const PLANE: [f64; 4] = [70.0, 56.0, 480.0, 480.0];
const STRIP: [f64; 4] = [620.0, 56.0, 210.0, 480.0];
/// Dash patterns, one a shade in turn.
const DASHES: [&str; 6] = ["none", "7 4", "2 3", "9 3 2 3", "14 4", "4 2 1 2 1 2"];

/// The picture with a legend and a description for screen readers.
pub fn family_svg(picture: &FamilyPicture, family: &str) -> String {
    let legend_top = PLANE[1] + PLANE[3] + 70.0;
    let height = legend_top + 24.0 * picture.shades.len() as f64 + 30.0;
    let mut text = String::new();
    let family = escaped(family);
    let _ = write!(
        text,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" width=\"{WIDTH}\" height=\"{height}\" \
         role=\"img\" font-family=\"sans-serif\" font-size=\"13\" fill=\"#141414\">\n<title>Shades of {family}</title>\n<desc>{}</desc>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fafafa\"/>\n<text x=\"70\" y=\"30\" font-size=\"17\">Shades of {family}: where the next part \
         lies with 95 %</text>\n",
        description(picture)
    );
    let scale = Scale::of(picture);
    scale.frame(&mut text, picture);
    for part in [outlines, points] {
        for (index, shade) in picture.shades.iter().enumerate() {
            part(&mut text, &scale, shade, index, picture.shades.len());
        }
    }
    for (index, shade) in picture.shades.iter().enumerate() {
        let y = legend_top + 24.0 * index as f64;
        let [r, g, b] = shade.srgb;
        let counted =
            if shade.counted == 1 { "1 specimen".into() } else { format!("{} specimens", shade.counted) };
        let _ = writeln!(
            text,
            "<rect x=\"70\" y=\"{}\" width=\"26\" height=\"16\" fill=\"rgb({r},{g},{b})\" stroke=\"#555\"/><path d=\"M104 {mid}h40\" \
             fill=\"none\" stroke=\"#222\" stroke-width=\"1.6\" stroke-dasharray=\"{}\"/><text x=\"154\" y=\"{y}\">{}  {}: {counted}</text>",
            y - 13.0,
            DASHES[index % DASHES.len()],
            shade.letter,
            escaped(&shade.name),
            mid = y - 5.0,
        );
    }
    text.push_str("</svg>\n");
    text
}

/// Lab → the sheet. One unit of a\* is as long as one of b\*.
struct Scale {
    per_unit: f64,
    middle: [f64; 2],
    l: [f64; 2],
}

impl Scale {
    fn of(picture: &FamilyPicture) -> Self {
        let [a, b, l] = picture.range;
        let widest = (a[1] - a[0]).max(b[1] - b[0]);
        Self { per_unit: PLANE[2] / widest, middle: [0.5 * (a[0] + a[1]), 0.5 * (b[0] + b[1])], l }
    }

    fn plane(&self, at: [f64; 2]) -> [f64; 2] {
        [
            PLANE[0] + PLANE[2] / 2.0 + (at[0] - self.middle[0]) * self.per_unit,
            PLANE[1] + PLANE[3] / 2.0 - (at[1] - self.middle[1]) * self.per_unit,
        ]
    }

    fn strip(&self, l: f64) -> f64 {
        STRIP[1] + STRIP[3] * (self.l[1] - l) / (self.l[1] - self.l[0])
    }

    fn frame(&self, text: &mut String, picture: &FamilyPicture) {
        let half = PLANE[2] / self.per_unit / 2.0;
        for [x, y, w, h] in [PLANE, STRIP] {
            let _ = writeln!(
                text,
                "<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill=\"#fff\" stroke=\"#888\"/>"
            );
        }
        let (bottom, left) = (PLANE[1] + PLANE[3], PLANE[0]);
        for tick in ticks(self.middle[0] - half, self.middle[0] + half) {
            let [x, _] = self.plane([tick, 0.0]);
            let _ = writeln!(
                text,
                "<path d=\"M{x:.1} {}V{bottom}\" stroke=\"#e2e2e2\"/><text x=\"{x:.1}\" y=\"{}\" text-anchor=\"middle\">{tick:.0}</text>",
                PLANE[1],
                bottom + 18.0
            );
        }
        for tick in ticks(self.middle[1] - half, self.middle[1] + half) {
            let [_, y] = self.plane([0.0, tick]);
            let _ = writeln!(
                text,
                "<path d=\"M{left} {y:.1}H{}\" stroke=\"#e2e2e2\"/><text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{tick:.0}</text>",
                left + PLANE[2],
                left - 7.0,
                y + 4.0
            );
        }
        for tick in ticks(picture.range[2][0], picture.range[2][1]) {
            let y = self.strip(tick);
            let _ = writeln!(
                text,
                "<path d=\"M{} {y:.1}H{}\" stroke=\"#e2e2e2\"/><text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{tick:.0}</text>",
                STRIP[0],
                STRIP[0] + STRIP[2],
                STRIP[0] - 7.0,
                y + 4.0
            );
        }
        let _ = writeln!(
            text,
            "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">a* (green to red)</text><text transform=\"translate(24 {}) rotate(-90)\" \
             text-anchor=\"middle\">b* (blue to yellow)</text><text transform=\"translate(578 {}) rotate(-90)\" text-anchor=\"middle\">L* (dark to light)</text>",
            left + PLANE[2] / 2.0,
            bottom + 40.0,
            PLANE[1] + PLANE[3] / 2.0,
            PLANE[1] + PLANE[3] / 2.0,
        );
    }
}

/// The outlines of a shade.
fn outlines(text: &mut String, scale: &Scale, shade: &ShadePicture, index: usize, of: usize) {
    let outline: Vec<String> = shade
        .ellipse
        .outline(72)
        .into_iter()
        .map(|point| scale.plane(point))
        .map(|[x, y]| format!("{x:.1},{y:.1}"))
        .collect();
    let style = format!(
        "fill=\"none\" stroke=\"#222\" stroke-width=\"1.6\" stroke-dasharray=\"{}\"",
        DASHES[index % DASHES.len()]
    );
    let x = strip_x(index, of);
    let [low, middle, high] = shade.next_part[0].map(|l| scale.strip(l));
    let half = (STRIP[2] / of as f64 * 0.28).min(16.0);
    let _ = write!(
        text,
        "<polygon points=\"{}\" {style}/>\n<rect x=\"{:.1}\" y=\"{high:.1}\" width=\"{:.1}\" height=\"{:.1}\" {style}/>\n\
         <path d=\"M{:.1} {middle:.1}h{:.1}\" fill=\"none\" stroke=\"#222\" stroke-width=\"1.2\"/>\n",
        outline.join(" "),
        x - half,
        2.0 * half,
        low - high,
        x - half,
        2.0 * half
    );
}

/// The specimens and the letters of a shade, above all outlines.
fn points(text: &mut String, scale: &Scale, shade: &ShadePicture, index: usize, of: usize) {
    let [r, g, b] = shade.srgb;
    let x = strip_x(index, of);
    for point in &shade.specimens {
        let at = scale.plane([point.lab[1], point.lab[2]]);
        for [x, y] in [at, [x, scale.strip(point.lab[0])]] {
            let _ = if point.set_aside {
                writeln!(
                    text,
                    "<path d=\"M{:.1} {:.1}l8 8m0 -8l-8 8\" fill=\"none\" stroke=\"#222\" stroke-width=\"1.4\"/>",
                    x - 4.0,
                    y - 4.0
                )
            } else {
                writeln!(
                    text,
                    "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3.6\" fill=\"rgb({r},{g},{b})\" stroke=\"#111\" stroke-width=\"1.2\"/>"
                )
            };
        }
    }
    // On the outline, each at an angle of its own.
    let [cx, cy] = scale.plane(shade.ellipse.outline(12)[(1 + 2 * index) % 12]);
    let high = scale.strip(shade.next_part[0][2]);
    for [x, y] in [[cx, cy], [x, high - 12.0]] {
        let _ = writeln!(
            text,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"9\" fill=\"#fff\"/><text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\" \
             font-weight=\"bold\">{}</text>",
            y + 4.5,
            shade.letter
        );
    }
}

fn strip_x(index: usize, of: usize) -> f64 {
    STRIP[0] + STRIP[2] * (index as f64 + 0.5) / of as f64
}

/// Round values in a range, five to eleven of them.
fn ticks(low: f64, high: f64) -> Vec<f64> {
    let span = high - low;
    let step =
        [1.0, 2.0, 5.0, 10.0, 20.0, 50.0].into_iter().find(|step| span / step <= 11.0).unwrap_or(100.0);
    let first = (low / step).ceil() as i64;
    (first..).map(|i| i as f64 * step).take_while(|v| *v <= high).collect()
}

fn description(picture: &FamilyPicture) -> String {
    let of = |shade: &ShadePicture| {
        let [l, a, b] = shade.next_part;
        format!(
            "{} {}: L* {:.1} to {:.1}, a* {:.1} to {:.1}, b* {:.1} to {:.1}.",
            shade.letter,
            escaped(&shade.name),
            l[0],
            l[2],
            a[0],
            a[2],
            b[0],
            b[2]
        )
    };
    picture.shades.iter().map(of).collect::<Vec<_>>().join(" ")
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
