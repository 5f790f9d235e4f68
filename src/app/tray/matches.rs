//! Which loose parts may be left and right, and which body each limb fits.

use egui::{Label, Ui};

use super::act::TrayAction;
use super::panel::weak;
use super::piles::number_button;
use crate::app::action::{Action, Sheet};
use crate::app::one_stop::{Arrows, Members, one_stop};
use crate::app::session::Session;
use crate::app::theme;
use crate::app::words;
use crate::tray::bodies::{Fit, LimbFit};
use crate::tray::overview::Overview;

pub(super) fn pairs(ui: &mut Ui, overview: &Overview, actions: &mut Vec<Action>) {
    if overview.pairs.is_empty() {
        return;
    }
    ui.add_space(theme::SPACE_M);
    ui.heading("May be left and right");
    weak(
        ui,
        "Alike in size and plastic, one the mirror image of the other; a part turned over looks so, too.",
    );
    let facts = |number: u32| overview.parts.iter().find(|part| part.number == number);
    one_stop(ui, "pairs", Arrows::Rows(2), |ui, members| {
        for (a, b, mirrored) in &overview.pairs {
            let (Some(first), Some(second)) = (facts(*a), facts(*b)) else { continue };
            ui.horizontal(|ui| {
                members.add(&number_button(ui, first, false, actions), false);
                ui.label("with");
                members.add(&number_button(ui, second, false, actions), false);
                ui.label(format!("({:.0}\u{a0}%\u{a0}alike)", 100.0 * mirrored));
            });
        }
    });
}

pub(super) fn limbs(ui: &mut Ui, session: &Session, overview: &Overview, actions: &mut Vec<Action>) {
    ui.add_space(theme::SPACE_M);
    ui.heading("Limbs and bodies");
    ui.horizontal_wrapped(|ui| {
        let hint =
            "Compare with the torsos of a case saved earlier; two photos are never compared as well as one.";
        if ui.button("Bodies of another case…").on_hover_text(hint).clicked() {
            let folder = session.folder().display().to_string();
            actions.push(Action::Show(Some(Sheet::BodiesPath(folder))));
        }
        let elsewhere = session.case().tray.as_ref().map_or(0, |tray| tray.bodies.len());
        if elsewhere > 0 && ui.button(format!("Forget {elsewhere} of other cases")).clicked() {
            actions.push(Action::Tray(TrayAction::ForgetBodies));
        }
    });
    if overview.fits.is_empty() {
        return weak(
            ui,
            "Say of the parts what they are: a torso is a body, all else a limb. Then each limb is given to the body \
             whose plastic it fits best.",
        );
    }
    one_stop(ui, "limbs", Arrows::Rows(1), |ui, members| {
        overview.fits.iter().for_each(|fit| one_fit(ui, session, overview, fit, members, actions));
    });
    weak(ui, "One plastic does not prove one figure: others were made of it, too.");
}

/// A limb with the body it fits.
fn one_fit(
    ui: &mut Ui,
    session: &Session,
    overview: &Overview,
    fit: &LimbFit,
    members: &mut Members,
    actions: &mut Vec<Action>,
) {
    let part = session.case().tray.as_ref().and_then(|tray| tray.part_of(&fit.limb));
    let facts = part.and_then(|part| overview.parts.iter().find(|facts| facts.number == part.number));
    ui.horizontal_wrapped(|ui| {
            if let Some(facts) = facts {
                members.add(&number_button(ui, facts, false, actions), false);
            }
            let slot = session.slot_words(&fit.slot);
            let text = match &fit.fit {
                Fit::Body { body, place, odds, same_plastic } => format!(
                    "{} ({slot}) fits {body} as {}: same plastic {}, {odds:.0} times as probable as anything else.",
                    fit.limb,
                    session.slot_words(place),
                    words::percent(*same_plastic)
                ),
                Fit::Open { why } => format!("{} ({slot}) is left open: {why}.", fit.limb),
            };
            ui.add(Label::new(text).wrap());
        });
}
