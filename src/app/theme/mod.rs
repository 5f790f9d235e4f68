//! Every length, type size and colour of the window. Chrome is neutral grey throughout: a hue beside a
//! photo changes how its colours are seen (the viewing conditions of ISO 3664 ask for a neutral surround).

#[cfg(test)]
mod vision;

use egui::{Color32, CornerRadius, FontFamily, FontId, Margin, Stroke, TextStyle, Theme, Vec2, Visuals};

use crate::storage::ThemeChoice;

/// Between things that belong together.
pub(super) const SPACE_S: f32 = 4.0;
/// Between controls.
pub(super) const SPACE_M: f32 = 8.0;
/// Between groups, and the margin of panels.
pub(super) const SPACE_L: f32 = 12.0;
/// Around what stands alone.
pub(super) const SPACE_XL: f32 = 24.0;

/// Fine print; nothing is set smaller.
pub(super) const TYPE_SMALL: f32 = 12.0;
/// Everything else.
pub(super) const TYPE_BODY: f32 = 14.0;
/// Names of parts and sections.
pub(super) const TYPE_HEADING: f32 = 16.5;
/// The one title of the first page.
pub(super) const TYPE_TITLE: f32 = 26.0;

/// Width of the results column when the window opens, and the least.
pub(super) const COLUMN_WIDTH: f32 = 404.0;
/// The least width of the results column.
pub(super) const COLUMN_LEAST: f32 = 330.0;
/// Width of the column when it shows the figure, and of the figure itself.
pub(super) const FIGURE_COLUMN_WIDTH: f32 = 664.0;
/// Width of the plain figure.
pub(super) const FIGURE_WIDTH: f32 = 368.0;
/// Height of one slot's box.
pub(super) const SLOT_HEIGHT: f32 = 54.0;
/// Width of the pattern at the left of a slot's box.
pub(super) const SLOT_BAND: f32 = 12.0;
/// A card of the gallery, width and height.
pub(super) const CARD: [f32; 2] = [196.0, 190.0];
/// Height of the strip under the photo.
pub(super) const STRIP_HEIGHT: f32 = 118.0;
/// Its height where it is so narrow that its fields take a row more, and how narrow that is.
pub(super) const STRIP_HEIGHT_NARROW: [f32; 2] = [152.0, 480.0];
/// Most height of the legend of the shade map; it scrolls beyond.
pub(super) const LEGEND_HEIGHT: f32 = 92.0;
/// Most side of the magnifier's picture.
pub(super) const MAGNIFIER: f32 = 168.0;
/// Height of one shade's row on the axis.
pub(super) const BAR_ROW: f32 = 26.0;
/// Height of the bar itself.
pub(super) const BAR_THICK: f32 = 12.0;
/// Width in which the bar at the top fits into one row; in less its words stand closer.
pub(super) const WHOLE_BAR: f32 = 1120.0;
/// Half the side of a handle on the photo.
pub(super) const HANDLE: f32 = 4.5;
/// How near the pointer must be to take a handle.
pub(super) const REACH: f32 = 10.0;
/// Least height of anything that is clicked.
pub(super) const TOUCH: f32 = 26.0;

/// Grey of the surround of the photo: close to L* 50, half-way for the eye.
pub(super) const SURROUND: Color32 = Color32::from_gray(119);

/// Marks on the photo: two strokes, so that they show on dark and light alike.
pub(super) const MARK_UNDER: Color32 = Color32::from_gray(0);
/// The stroke above.
pub(super) const MARK_OVER: Color32 = Color32::from_gray(255);
/// Thickness of the dark stroke.
pub(super) const MARK_UNDER_WIDTH: f32 = 3.5;
/// Thickness of the light stroke.
pub(super) const MARK_OVER_WIDTH: f32 = 1.5;
/// Thickness of both strokes' surplus where a mark is selected.
pub(super) const MARK_SELECTED_WIDTH: f32 = 1.5;
/// Longest dashes of a known colour's outline, and gaps.
pub(super) const MARK_DASH: f32 = 5.0;
/// Length of a dot of the plain board's outline.
pub(super) const MARK_DOT: f32 = 1.5;

/// The greys of one theme.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Palette {
    /// Panels and windows.
    pub panel: Color32,
    /// Boxes on panels.
    pub raised: Color32,
    /// What text is typed into, and the ground of the axis.
    pub field: Color32,
    /// Text.
    pub text: Color32,
    /// Text of the second rank.
    pub weak: Color32,
    /// Hairlines.
    pub line: Color32,
    /// Borders of controls (3 : 1 against the panel).
    pub border: Color32,
    /// The ground of what is chosen or pressed.
    pub chosen: Color32,
    /// Text on it.
    pub on_chosen: Color32,
    /// Bars.
    pub bar: Color32,
    /// The pale filling of bars that are not called.
    pub bar_pale: Color32,
    /// Thickness of borders.
    pub edge: f32,
}

/// The greys of the dark theme.
pub(super) const DARK: Palette = Palette {
    panel: Color32::from_gray(43),
    raised: Color32::from_gray(54),
    field: Color32::from_gray(28),
    text: Color32::from_gray(238),
    weak: Color32::from_gray(190),
    line: Color32::from_gray(78),
    border: Color32::from_gray(132),
    chosen: Color32::from_gray(222),
    on_chosen: Color32::from_gray(16),
    bar: Color32::from_gray(238),
    bar_pale: Color32::from_gray(96),
    edge: 1.0,
};

/// The greys of the light theme.
pub(super) const LIGHT: Palette = Palette {
    panel: Color32::from_gray(228),
    raised: Color32::from_gray(240),
    field: Color32::from_gray(250),
    text: Color32::from_gray(20),
    weak: Color32::from_gray(70),
    line: Color32::from_gray(196),
    border: Color32::from_gray(122),
    chosen: Color32::from_gray(44),
    on_chosen: Color32::from_gray(248),
    bar: Color32::from_gray(24),
    bar_pale: Color32::from_gray(186),
    edge: 1.0,
};

/// The greys of high contrast: black and white, what is chosen turned round, thick borders.
pub(super) const HIGH: Palette = Palette {
    panel: Color32::from_gray(0),
    raised: Color32::from_gray(28),
    field: Color32::from_gray(0),
    text: Color32::from_gray(255),
    weak: Color32::from_gray(235),
    line: Color32::from_gray(88),
    border: Color32::from_gray(255),
    chosen: Color32::from_gray(255),
    on_chosen: Color32::from_gray(0),
    bar: Color32::from_gray(255),
    bar_pale: Color32::from_gray(110),
    edge: 2.0,
};

/// The greys of the theme in use.
pub(super) fn palette(ui: &egui::Ui) -> &'static Palette {
    [&DARK, &HIGH].into_iter().find(|grey| grey.panel == ui.visuals().panel_fill).unwrap_or(&LIGHT)
}

/// Draws a ring round what takes the keys. By itself the edge of a field would have the colour of chosen text, which is
/// that of the ground: it would lose its edge just when it is typed in; and a button that is pressed in would hardly differ.
pub(super) fn ring_round_focused(ui: &egui::Ui) {
    let ctx = ui.ctx();
    let focused = ctx.memory(egui::Memory::focused);
    let Some(widget) = focused.and_then(|id| ctx.read_response(id)) else { return };
    // Beside the ground of a pressed button the ring would not be seen.
    let gap = if ctx.text_edit_focused() { 0.0 } else { RING_GAP };
    // What is larger has a ring of its own.
    if gap > 0.0 && widget.rect.height() > RINGED {
        return;
    }
    let seen = widget.interact_rect.expand(RING + gap);
    let ring = Stroke::new(RING, palette(ui).text);
    let painter = ctx.layer_painter(widget.layer_id).with_clip_rect(seen);
    painter.rect_stroke(widget.rect.expand(gap), 3.0 + gap, ring, egui::StrokeKind::Outside);
}

/// Breadth of that ring.
const RING: f32 = 2.0;
/// Between it and a button.
const RING_GAP: f32 = 1.5;
/// What is higher draws its own.
const RINGED: f32 = 2.0 * TOUCH;

/// From light to dark to high contrast and round again.
pub(super) fn next(ui: &egui::Ui) -> ThemeChoice {
    match palette(ui) {
        now if *now == LIGHT => ThemeChoice::Dark,
        now if *now == DARK => ThemeChoice::HighContrast,
        _ => ThemeChoice::Light,
    }
}

/// Shows other greys. High contrast stands in the place of dark.
pub(super) fn choose(ctx: &egui::Context, choice: ThemeChoice) {
    let (theme, base, grey) = match choice {
        ThemeChoice::Light => (Theme::Light, Visuals::light(), &LIGHT),
        ThemeChoice::Dark => (Theme::Dark, Visuals::dark(), &DARK),
        ThemeChoice::HighContrast => (Theme::Dark, Visuals::dark(), &HIGH),
    };
    ctx.set_visuals_of(theme, visuals(base, grey));
    ctx.set_theme(theme);
}

/// A measured colour, the only hue in the window besides the photo; approximate on any screen.
pub(super) fn measured(red: u8, green: u8, blue: u8) -> Color32 {
    Color32::from_rgb(red, green, blue)
}

/// Fine print.
pub(super) fn small() -> FontId {
    FontId::proportional(TYPE_SMALL)
}

/// Running text.
pub(super) fn body() -> FontId {
    FontId::proportional(TYPE_BODY)
}

/// Numbers that stand below one another.
pub(super) fn figures() -> FontId {
    FontId::new(TYPE_SMALL, FontFamily::Monospace)
}

/// Lets buttons stand closer, so that a row of them fits.
pub(super) fn tighten(ui: &mut egui::Ui) {
    let spacing = ui.spacing_mut();
    spacing.item_spacing.x = SPACE_S;
    spacing.button_padding.x = SPACE_S + 1.0;
}

/// Sets type, spacing and both themes of a context.
pub(super) fn install(ctx: &egui::Context) {
    ctx.all_styles_mut(|style| {
        style.text_styles = [
            (TextStyle::Small, small()),
            (TextStyle::Body, body()),
            (TextStyle::Button, body()),
            (TextStyle::Heading, FontId::proportional(TYPE_HEADING)),
            (TextStyle::Monospace, FontId::monospace(TYPE_BODY - 1.0)),
        ]
        .into();
        let spacing = &mut style.spacing;
        spacing.item_spacing = Vec2::new(SPACE_M, SPACE_S + 2.0);
        spacing.button_padding = Vec2::new(SPACE_M, SPACE_S);
        spacing.interact_size = Vec2::new(TOUCH + 10.0, TOUCH);
        spacing.window_margin = Margin::same(SPACE_L as i8);
        spacing.menu_margin = Margin::same(SPACE_S as i8 + 2);
        spacing.tooltip_width = 340.0;
        style.animation_time = 0.0;
    });
    ctx.set_visuals_of(Theme::Dark, visuals(Visuals::dark(), &DARK));
    ctx.set_visuals_of(Theme::Light, visuals(Visuals::light(), &LIGHT));
}

fn visuals(mut visuals: Visuals, grey: &Palette) -> Visuals {
    let radius = CornerRadius::same(3);
    visuals.panel_fill = grey.panel;
    visuals.window_fill = grey.panel;
    visuals.window_stroke = Stroke::new(grey.edge, grey.border);
    visuals.extreme_bg_color = grey.field;
    visuals.faint_bg_color = grey.raised;
    visuals.code_bg_color = grey.field;
    visuals.hyperlink_color = grey.text;
    visuals.warn_fg_color = grey.text;
    visuals.error_fg_color = grey.text;
    visuals.weak_text_color = Some(grey.weak);
    visuals.selection.bg_fill = grey.chosen;
    visuals.selection.stroke = Stroke::new(1.5, grey.on_chosen);
    visuals.text_cursor.stroke = Stroke::new(2.0, grey.text);
    visuals.window_corner_radius = CornerRadius::same(5);
    visuals.menu_corner_radius = CornerRadius::same(4);
    let widgets = &mut visuals.widgets;
    for (style, fill, edge, text) in [
        (&mut widgets.noninteractive, grey.panel, grey.line, grey.text),
        (&mut widgets.inactive, grey.raised, grey.border, grey.text),
        (&mut widgets.hovered, grey.line, grey.text, grey.text),
        (&mut widgets.active, grey.line, grey.text, grey.text),
        (&mut widgets.open, grey.line, grey.text, grey.text),
    ] {
        style.bg_fill = fill;
        style.weak_bg_fill = fill;
        style.bg_stroke = Stroke::new(grey.edge, edge);
        style.fg_stroke = Stroke::new(1.5, text);
        style.corner_radius = radius;
        style.expansion = 0.0;
    }
    visuals
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Contrast of WCAG 2.2: relative luminance of sRGB, (L1 + 0.05) / (L2 + 0.05).
    fn contrast(a: Color32, b: Color32) -> f64 {
        let luminance = |colour: Color32| {
            let [r, g, b, _] =
                colour.to_array().map(|code| crate::color::srgb_decode(f64::from(code) / 255.0));
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// WCAG 2.2, 1.4.3 (text 4.5 : 1) and 1.4.11 (what is needed to see a control or a graphic 3 : 1).
    #[test]
    fn text_and_borders_have_the_contrast_of_wcag() {
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
        for grey in [DARK, LIGHT, HIGH] {
            for ground in [grey.panel, grey.raised, grey.field, grey.line] {
                assert!(contrast(grey.text, ground) >= 4.5, "text {ground:?}");
            }
            for ground in [grey.panel, grey.raised, grey.field] {
                assert!(contrast(grey.weak, ground) >= 4.5, "weak text {ground:?}");
                assert!(contrast(grey.bar, ground) >= 3.0, "bars {ground:?}");
            }
            assert!(contrast(grey.on_chosen, grey.chosen) >= 4.5);
            assert!(contrast(grey.border, grey.panel) >= 3.0, "{:?}", contrast(grey.border, grey.panel));
        }
        assert!(contrast(MARK_OVER, MARK_UNDER) >= 4.5);
        // 1.4.6, the enhanced contrast of text.
        for (ink, ground) in [(HIGH.text, HIGH.panel), (HIGH.weak, HIGH.panel), (HIGH.on_chosen, HIGH.chosen)]
        {
            assert!(contrast(ink, ground) >= 7.0);
        }
    }

    #[test]
    fn the_chrome_has_no_hue() {
        let all = [(Visuals::dark(), &DARK), (Visuals::light(), &LIGHT), (Visuals::dark(), &HIGH)];
        for visuals in all.map(|(base, grey)| visuals(base, grey)) {
            let widgets = &visuals.widgets;
            let all = [
                &widgets.noninteractive,
                &widgets.inactive,
                &widgets.hovered,
                &widgets.active,
                &widgets.open,
            ];
            let mut colours: Vec<Color32> = all
                .iter()
                .flat_map(|w| [w.bg_fill, w.weak_bg_fill, w.bg_stroke.color, w.fg_stroke.color])
                .collect();
            colours.extend([
                visuals.panel_fill,
                visuals.window_fill,
                visuals.extreme_bg_color,
                visuals.selection.bg_fill,
                visuals.selection.stroke.color,
                visuals.hyperlink_color,
                visuals.warn_fg_color,
                visuals.error_fg_color,
                visuals.text_cursor.stroke.color,
                SURROUND,
            ]);
            for colour in colours {
                assert!(colour.r() == colour.g() && colour.g() == colour.b(), "{colour:?}");
            }
        }
    }
}
