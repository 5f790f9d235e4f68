//! Records as lines, of which only those in sight are laid out.

use egui::{Rect, Response, Role, ScrollArea, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::collection::{Row, SortBy};
use crate::report::who_words;

use super::records::{CollectionAction, CollectionPage, Seen};
use crate::app::one_stop::{Arrows, one_stop};
use crate::app::results::bars::cut_text;
use crate::app::scrolling::by_keys;
use crate::app::theme;

/// Names of the columns, what each is ordered by, and its share of the width.
const COLUMNS: [(&str, SortBy, f32); 6] = [
    ("Name", SortBy::Name, 0.25),
    ("Who it is", SortBy::Character, 0.25),
    ("How sure", SortBy::Doubt, 0.1),
    ("Missing", SortBy::Missing, 0.15),
    ("Doubtful", SortBy::DoubtfulParts, 0.13),
    ("Date", SortBy::Date, 0.12),
];

/// Where the text of a cell begins: in line with that of its column's button.
const INSET: f32 = theme::SPACE_M;

/// Shows the table.
pub(super) fn show(ui: &mut Ui, page: &CollectionPage, seen: &Seen, asked: &mut Vec<CollectionAction>) {
    heads(ui, page, asked);
    let in_hand = page.form.as_ref().and_then(|form| form.file.as_deref());
    ui.spacing_mut().item_spacing.y = 0.0;
    ScrollArea::vertical().auto_shrink(false).show_rows(ui, theme::TOUCH, page.chosen.len(), |ui, range| {
        by_keys(ui);
        one_stop(ui, "records", Arrows::Rows(1), |ui, members| {
            for row in page.chosen.get(range).unwrap_or_default().iter().filter_map(|i| seen.rows.get(*i)) {
                let size = vec2(ui.available_width(), theme::TOUCH);
                let (rect, response) = ui.allocate_exact_size(size, Sense::click());
                let chosen = in_hand == Some(&*row.file);
                line(ui, rect, row, chosen);
                members.add(&response, chosen);
                if pressed(ui, &response, row, chosen, rect) {
                    asked.push(CollectionAction::Take(Some(row.file.clone())));
                }
            }
        });
    });
}

/// Names the widget of a record, draws its focus, and tells whether it was pressed.
pub(super) fn pressed(ui: &Ui, response: &Response, row: &Row, chosen: bool, rect: Rect) -> bool {
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, chosen, spoken(row)));
    if chosen || response.has_focus() || response.hovered() {
        let width = if response.has_focus() { 3.0 } else { f32::from(u8::from(chosen)) + 1.0 };
        let ring = Stroke::new(width, theme::palette(ui).text);
        ui.painter().rect_stroke(rect, 3.0, ring, egui::StrokeKind::Inside);
    }
    if response.gained_focus() {
        response.scroll_to_me(Some(egui::Align::Center));
    }
    response.clicked()
}

fn spoken(row: &Row) -> String {
    let list = |what: &str, slots: &[String]| match slots.is_empty() {
        true => String::new(),
        false => format!("; {what} {}", slots.join(", ")),
    };
    let (missing, doubtful) = (list("missing", &row.missing), list("doubtful", &row.doubtful));
    format!("Record {}: {}{missing}{doubtful}", row.name, who_words(row))
}

fn heads(ui: &mut Ui, page: &CollectionPage, asked: &mut Vec<CollectionAction>) {
    let (full, _) = ui.allocate_exact_size(vec2(ui.available_width(), theme::TOUCH), Sense::hover());
    let mut left = full.left();
    for (name, by, share) in COLUMNS {
        let rect = Rect::from_min_size(pos2(left, full.top()), vec2(share * full.width(), full.height()));
        left = rect.right();
        let turned = page.order == (by, true);
        let text = if turned { format!("{name} (turned)") } else { name.to_owned() };
        // At the left, as what stands below it.
        let button = crate::app::toolbar::choice_button(page.order.0 == by, &text);
        let button = button.right_text("").min_size(rect.size());
        let at = rect.shrink2(vec2(1.0, 0.0));
        let button = ui.put(at, button).accessible_name(&text);
        if button.on_hover_text("Order by this; again, the other way round.").clicked() {
            asked.push(CollectionAction::Sort(by));
        }
    }
}

fn line(ui: &Ui, rect: Rect, row: &Row, chosen: bool) {
    let grey = theme::palette(ui);
    let ink = if chosen { grey.on_chosen } else { grey.text };
    if chosen {
        ui.painter().rect_filled(rect, 3.0, grey.chosen);
    }
    let who = row.who.as_ref();
    let sure = who.map_or(String::new(), |who| crate::app::words::percent(who.probability));
    let name = who.map(|who| crate::figure::name_and_run(&who.character, &who.run));
    let name = match (row.settled, name) {
        (true, Some(name)) => name,
        (false, Some(name)) => format!("? {name}"),
        (_, None) => who_words(row),
    };
    let date = row.date.clone().unwrap_or_default();
    let cells = [row.name.clone(), name, sure, row.missing.join(", "), row.doubtful.join(", "), date];
    let mut left = rect.left() + INSET;
    for (text, (_, _, share)) in cells.iter().zip(COLUMNS) {
        let width = share * rect.width();
        cut_text(ui.painter(), pos2(left, rect.center().y), width - theme::SPACE_M, text, ink);
        left += width;
    }
    ui.painter().hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, grey.line));
}
