//! Beside the figure: who it is and why, where to look next, what does not belong, signs and cautions. The words are those
//! of the finding.

use egui::{CollapsingHeader, Label, RichText, Ui};

use crate::figure::{Findings, Line, Ranked, Reason, Sign, SlotFinding};

use super::act::FigureAction;
use crate::app::action::Action;
use crate::app::theme;
use crate::app::words::{capital, percent, unbroken};
use crate::report::look_worth;

/// So many are listed; the others are less likely than any of these.
const MOST_RANKED: usize = 6;
/// Reasons for, and as many against: the next look must stay in sight.
const MOST_REASONS: usize = 3;
/// Composites shown; the others are less likely.
const MOST_COMPOSITES: usize = 2;
/// Donors of one part.
const MOST_DONORS: usize = 3;

/// Shows the finding.
pub(super) fn show(ui: &mut Ui, findings: &Findings, line: &Line, actions: &mut Vec<Action>) {
    for (i, ranked) in findings.ranking.iter().take(MOST_RANKED).enumerate() {
        host(ui, i, ranked);
    }
    for pair in findings.composites.iter().take(MOST_COMPOSITES) {
        wrapped(
            ui,
            &format!(
                "Put together from two halves: {} above and {} below: {}",
                pair.upper.name(),
                pair.lower.name(),
                percent(pair.probability)
            ),
        );
    }
    looks(ui, findings, line, actions);
    parts(ui, findings, line);
    for sign in &findings.signs {
        of_sign(ui, sign, line);
    }
    // Where nobody fits, the first note is the headline already.
    let told = usize::from(findings.ranking.is_empty());
    for note in findings.notes.iter().skip(told) {
        wrapped(ui, &format!("! {note}"));
    }
    ui.add_space(theme::SPACE_M);
    let fine = "An opinion from what was seen and measured; no authentication and no appraisal.";
    ui.add(Label::new(RichText::new(fine).small().color(theme::palette(ui).weak)).wrap());
}

fn wrapped(ui: &mut Ui, text: &str) {
    ui.add(Label::new(unbroken(text)).wrap());
}

fn name<'a>(line: &'a Line, slot: &'a str) -> &'a str {
    line.slot(slot).and_then(|s| line.slots.get(s)).map_or(slot, |slot| &slot.label)
}

/// One character and run: probability as a number and a bar, reasons below.
fn host(ui: &mut Ui, i: usize, ranked: &Ranked) {
    let title = format!("{}. {}: {}", i + 1, ranked.name(), percent(ranked.probability));
    let title = if i == 0 { RichText::new(title).strong() } else { RichText::new(title) };
    let header = CollapsingHeader::new(title).id_salt(("host", i)).default_open(i == 0);
    let open = header.show_unindented(ui, |ui| {
        let (against, speaks): (Vec<&Reason>, Vec<&Reason>) =
            ranked.reasons.iter().partition(|reason| reason.odds < 1.0);
        if ranked.reasons.is_empty() {
            wrapped(ui, "Nothing that was seen speaks for it or against it.");
        }
        for (sign, reasons) in [("+", speaks), ("−", against)] {
            for reason in reasons.iter().take(MOST_REASONS) {
                wrapped(ui, &format!("{sign} {}", reason.text));
            }
        }
    });
    let grey = theme::palette(ui);
    let head = open.header_response.rect;
    let track = egui::Rect::from_min_max(
        egui::pos2(head.left(), head.bottom() - 1.0),
        egui::pos2(ui.max_rect().right(), head.bottom() + 2.0),
    );
    ui.painter().rect_filled(track, 1.0, grey.field);
    let mut bar = track;
    bar.set_width(track.width() * ranked.probability.clamp(0.0, 1.0) as f32);
    ui.painter().rect_filled(bar, 1.0, grey.bar);
    ui.add_space(theme::SPACE_S);
}

fn looks(ui: &mut Ui, findings: &Findings, line: &Line, actions: &mut Vec<Action>) {
    if findings.ranking.is_empty() {
        return;
    }
    ui.add_space(theme::SPACE_M);
    ui.heading("Next look");
    if findings.next_looks.is_empty() {
        wrapped(ui, "No look that is left would tell much more.");
    }
    for look in &findings.next_looks {
        let feature = line.slot(&look.slot).and_then(|s| line.slots.get(s));
        let feature = feature.and_then(|slot| slot.features.get(slot.feature(&look.feature)?));
        let feature = feature.map_or(&look.feature, |feature| &feature.label);
        let text = format!("{feature} of the {}", name(line, &look.slot));
        ui.horizontal_wrapped(|ui| {
            let button = ui.button(capital(&text)).on_hover_text("Choose this slot.");
            if button.clicked() {
                actions.push(Action::Figure(FigureAction::Choose(look.slot.clone())));
            }
            ui.label(look_worth(look.bits))
                .on_hover_text(format!("{:.2} bit are expected of it.", look.bits));
        });
        ui.indent((&look.slot, &look.feature), |ui| wrapped(ui, &look.how));
    }
}

fn parts(ui: &mut Ui, findings: &Findings, line: &Line) {
    let belong: Vec<&str> = findings
        .slots
        .iter()
        .filter(|slot| slot.word() == "belongs")
        .map(|slot| name(line, &slot.slot))
        .collect();
    let mut odd: Vec<&SlotFinding> = findings.slots.iter().filter(|s| s.word() != "belongs").collect();
    if belong.is_empty() && odd.is_empty() && findings.missing.is_empty() {
        return;
    }
    ui.add_space(theme::SPACE_M);
    ui.heading("Parts");
    odd.sort_by(|a, b| a.belongs.total_cmp(&b.belongs));
    for slot in odd {
        let donors: Vec<String> = slot
            .donors
            .iter()
            .take(MOST_DONORS)
            .map(|donor| format!("{} {}", donor.name(), percent(donor.probability)))
            .collect();
        let from =
            if donors.is_empty() { String::new() } else { format!("; if not: {}", donors.join(" or ")) };
        let name = capital(name(line, &slot.slot));
        wrapped(ui, &format!("! {name}: {} ({} that it belongs{from})", slot.word(), percent(slot.belongs)));
    }
    if !belong.is_empty() {
        wrapped(ui, &format!("Belong, at 95 %: {}", belong.join(", ")));
    }
    for missing in &findings.missing {
        let name = capital(name(line, &missing.slot));
        wrapped(ui, &format!("{name}: missing ({} that the figure had one)", percent(missing.expected)));
    }
    for condition in &findings.condition {
        let state = if condition.state.is_empty() { "caution".into() } else { condition.state.join(", ") };
        let name = capital(name(line, &condition.slot));
        wrapped(ui, &format!("{name}: {state}. {}", condition.cautions.join(" ")));
    }
}

fn of_sign(ui: &mut Ui, sign: &Sign, line: &Line) {
    ui.add_space(theme::SPACE_M);
    let name = capital(name(line, &sign.slot));
    ui.add(Label::new(RichText::new(format!("Sign, {name}: {}", sign.sign)).heading()).wrap());
    wrapped(ui, &sign.text);
    wrapped(ui, &format!("Innocent if: {}.", sign.innocent.join("; ")));
    if sign.checks.is_empty() {
        return;
    }
    CollapsingHeader::new(format!("Checks, the harmless first ({})", sign.sign))
        .id_salt((&sign.slot, &sign.sign))
        .show_unindented(ui, |ui| {
            for (i, check) in sign.checks.iter().enumerate() {
                wrapped(ui, &format!("{}. {check}", i + 1));
            }
        });
}
