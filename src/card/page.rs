//! The page to print: vector PDF at exact scale.

use krilla::Document;
use krilla::color::luma;
use krilla::geom::{PathBuilder, Point, Rect};
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::text::{Font, TextDirection};

use super::known::{INK_LIGHTNESS, PAPER_LIGHTNESS};
use super::layout::{CardLayout, LADDER, RectMm, Tone, Variant};
use crate::color::srgb_encode;

/// The paper in the printer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm.
    A4,
    /// 8.5 × 11 inches.
    Letter,
}

impl Paper {
    /// Width and height in mm (ISO 216; ANSI/ASME Y14.1 size A).
    pub fn size_mm(self) -> [f64; 2] {
        match self {
            Paper::A4 => [210.0, 297.0],
            Paper::Letter => [215.9, 279.4],
        }
    }
}

/// Why a page could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the page cannot be made: {0}")]
pub struct PageProblem(String);

/// Points of PDF in a millimetre.
const PT_PER_MM: f64 = 72.0 / 25.4;

/// The PDF: two cards for the near and the far side of a photo, the first with boxes for known parts if so chosen,
/// and how to print and calibrate them.
pub fn card_pdf(paper: Paper, variant: Variant) -> Result<Vec<u8>, PageProblem> {
    let font = Font::new(epaint_default_fonts::UBUNTU_LIGHT.to_vec().into(), 0)
        .ok_or_else(|| PageProblem("the built-in font cannot be read".into()))?;
    let [width_mm, height_mm] = paper.size_mm();
    let [width, height] = [width_mm, height_mm].map(|mm| (mm * PT_PER_MM) as f32);
    let settings =
        PageSettings::from_wh(width, height).ok_or_else(|| PageProblem("the paper has no size".into()))?;
    let mut document = Document::new();
    document.set_metadata(Metadata::new().title("Sameshot grey card".into()).language("en-GB".into()));
    let mut page = document.start_page_with(settings);
    let mut surface = page.surface();
    let mut sheet = Sheet { surface: &mut surface, font, origin: [0.0; 2] };
    sheet.words([18.0, 19.0], 5.6, "Sameshot grey card");
    sheet.words(
        [18.0, 25.0],
        3.3,
        "Print at 100 %, not \"fit to page\", on matt paper, with black ink only if the printer offers it.",
    );
    let mut top = 32.0;
    for card in [variant, Variant::Plain] {
        let layout = card.layout();
        sheet.origin = [(width_mm - layout.size_mm[0]) / 2.0, top];
        sheet.card(&layout);
        top += layout.size_mm[1] + 8.0;
    }
    sheet.origin = [18.0, top + 2.0];
    sheet.notes();
    surface.finish();
    page.finish();
    document.finish().map_err(|error| PageProblem(format!("{error:?}")))
}

/// A surface to draw on in mm from an origin.
struct Sheet<'a, 'page> {
    surface: &'a mut Surface<'page>,
    font: Font,
    origin: [f64; 2],
}

impl Sheet<'_, '_> {
    fn card(&mut self, layout: &CardLayout) {
        self.outline(RectMm::new([0.0; 2], layout.size_mm), 0.1);
        for (rect, tone) in layout.fills() {
            self.fill(rect, grey_of(tone));
        }
        for step in &layout.steps {
            let [x, y] = step.square.min;
            let label = format!("{}  L* {:.0}", step.number, step.lightness);
            self.words([x + 0.4, y + step.square.size[1] + 2.7], 2.3, &label);
        }
        let ([x, y], length) = layout.ruler;
        for mm in (0..=length as u32).step_by(10) {
            let text = mm.to_string();
            self.words([x + f64::from(mm) - 0.6 * text.len() as f64, y + 2.6], 2.2, &text);
        }
        self.words([x + 1.4, y + 2.6], 2.2, "mm");
        for (y, label) in [(26.0, "printed on (date)"), (33.0, "printer, paper, ink")] {
            self.words([18.0, y], 2.5, label);
            self.fill(RectMm::new([40.0, y + 0.3], [71.0, 0.15]), 0.0);
        }
        for (n, place) in layout.boxes.iter().enumerate() {
            self.outline(*place, 0.12);
            self.words([place.min[0] + 1.0, place.min[1] + 3.0], 2.4, &format!("known part {}", n + 1));
        }
    }

    fn notes(&mut self) {
        const NOTES: [&str; 13] = [
            "Check the scale: the rulers must be true to half a millimetre over 90 mm. Cut along the thin lines.",
            "Lay a card flat on a plain grey board among the parts, in even light; a second card at the far side helps.",
            "Cover neither the marks in the corners nor the greys; do not laminate, and let no glare fall on it.",
            "",
            "The greys are printed for the L* under them, but printers differ: until they are calibrated, Sameshot takes",
            "each as known to 4 units of L*, 1.5 of a* and 2.5 of b* only (one standard deviation).",
            "",
            "Calibrate once for a printer, paper and ink: measure the eight greys with a spectrophotometer (Lab, D50, 2°),",
            "or photograph the card beside one of known values, mark its greys as parts and read them. Type them under",
            "“Card values…” in the window (Ctrl+K), the lightest first, and keep them there in a file NAME.card.json;",
            "on the command line that file is named with: sameshot sort FOLDER --card NAME.card.json",
            "",
            "{\"sameshot_card\": 1, \"print\": \"printer, paper, date\", \"steps\": [{\"lab\": [90.2, 0.1, -1.0], \"sd\": [0.5, 0.3, 0.3]}, …]}",
        ];
        for (line, text) in NOTES.iter().enumerate() {
            self.words([0.0, 4.6 * line as f64], 3.1, text);
        }
    }

    fn fill(&mut self, rect: RectMm, grey: f64) {
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill { paint: ink(grey).into(), ..Fill::default() }));
        self.draw(rect);
    }

    fn outline(&mut self, rect: RectMm, width_mm: f64) {
        self.surface.set_fill(None);
        let width = (width_mm * PT_PER_MM) as f32;
        self.surface.set_stroke(Some(Stroke { paint: ink(0.55).into(), width, ..Stroke::default() }));
        self.draw(rect);
    }

    fn draw(&mut self, rect: RectMm) {
        let [x, y] = self.place(rect.min);
        let [width, height] = rect.size.map(|mm| (mm * PT_PER_MM) as f32);
        let Some(area) = Rect::from_xywh(x, y, width, height) else { return };
        let mut path = PathBuilder::new();
        path.push_rect(area);
        if let Some(path) = path.finish() {
            self.surface.draw_path(&path);
        }
    }

    fn words(&mut self, at: [f64; 2], size_mm: f64, text: &str) {
        let [x, y] = self.place(at);
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill { paint: ink(0.0).into(), ..Fill::default() }));
        let size = (size_mm * PT_PER_MM) as f32;
        self.surface.draw_text(
            Point::from_xy(x, y),
            self.font.clone(),
            size,
            text,
            false,
            TextDirection::Auto,
        );
    }

    fn place(&self, at: [f64; 2]) -> [f32; 2] {
        [0, 1].map(|axis| ((self.origin[axis] + at[axis]) * PT_PER_MM) as f32)
    }
}

fn ink(grey: f64) -> luma::Color {
    luma::Color::new((grey * 255.0).round().clamp(0.0, 255.0) as u8)
}

/// Coded grey (0 black, 1 paper) of a tone: the printer maps linear light between its ink and its paper, as
/// black point compensation does (ISO 18619).
fn grey_of(tone: Tone) -> f64 {
    let Tone::Step(number) = tone else { return 0.0 };
    let lightness = LADDER.get(number - 1).copied().unwrap_or(0.0);
    let [ink, paper, step] = [INK_LIGHTNESS, PAPER_LIGHTNESS, lightness].map(luminance);
    srgb_encode(((step - ink) / (paper - ink)).clamp(0.0, 1.0))
}

/// Y of an L\* above 8 (CIE 15).
fn luminance(lightness: f64) -> f64 {
    libm::pow((lightness + 16.0) / 116.0, 3.0)
}
