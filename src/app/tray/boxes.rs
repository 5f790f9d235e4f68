//! The card among the loose parts, and the parts of certain shade in its boxes.

use egui::{Label, Ui};

use super::act::TrayAction;
use super::panel::weak;
use crate::app::action::Action;
use crate::app::choosing::{Choosing, choose};
use crate::app::session::Session;
use crate::app::words;
use crate::case::Known;
use crate::tray::found::box_id;

/// The card and the parts in its boxes.
pub(super) fn card(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) {
    let Some(card) = &session.case().card_found else { return };
    let text = format!("The card is found by {} of its 4 corner marks.", card.marks);
    let more = format!("Card {}; its marks agree with a quality of {:.2} of 1.", card.card, card.quality);
    ui.add(Label::new(text).wrap()).on_hover_text(more);
    let taken: Vec<usize> =
        (1..).zip(&card.boxes).filter(|(_, place)| place.is_some()).map(|(n, _)| n).collect();
    let Some(references) = session.references.as_deref().filter(|_| !taken.is_empty()) else {
        if !taken.is_empty() {
            weak(ui, "Choose the shades, then say which shade the parts in the card’s boxes are.");
        }
        return;
    };
    ui.horizontal_wrapped(|ui| {
        ui.label("In its boxes, from the left:");
        let unused = |number: &usize| session.case().zones.iter().all(|zone| zone.id != box_id(*number));
        if taken.iter().all(unused) && taken.len() <= references.shades.len() {
            let listed = ui
                .button("In the order of the shades")
                .on_hover_text("The first shade of the list lies in the first box, and so on.");
            if listed.clicked() {
                actions.push(Action::Tray(TrayAction::BoxesAsListed));
            }
        }
        for number in taken {
            let id = box_id(number);
            let zone = session.case().zones.iter().find(|zone| zone.id == id);
            let now = zone.and_then(|zone| match &zone.known {
                Known::Shade { shade, .. } => Some(shade.as_str()),
                Known::Lab { .. } => None,
            });
            let name = |id: &str| words::shade_name(Some(references), id);
            let shown = now.map_or("not used".into(), name);
            let shades = references.shades.iter().map(|shade| (Some(shade.id.as_str()), shade.name()));
            let choices: Vec<(Option<&str>, &str)> =
                std::iter::once((None, "not used")).chain(shades).collect();
            let values = choices.iter().map(|(shade, text)| (*shade == now, (*text).to_owned())).collect();
            let list = Choosing { width: 112.0, grows: true, now: &shown, values, spoken: None };
            let (taken, response) = choose(ui, ("box", number), list);
            if let Some((shade, _)) = taken.and_then(|at| choices.get(at)) {
                actions.push(Action::Tray(TrayAction::Box(number, shade.map(str::to_owned))));
            }
            response
                .accessible_name(format!("Shade of the part in box {number}"))
                .on_hover_text("A part of certain shade in a box of the card is the best card there is.");
        }
    });
}
