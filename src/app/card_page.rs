//! The grey card to print, written from the window.

use egui::{RichText, Ui};

use crate::card::Variant;
use crate::card::page::{Paper, card_pdf};
use crate::problem::Problem;
use crate::storage::save_atomically;

use super::action::{Action, Sheet};
use super::session::Session;
use super::sheets::{buttons, expanded, path_field};
use super::state::State;
use super::theme;
use super::toolbar::choice_button;

/// What the card is called unless the person says otherwise.
const NAME: &str = "grey-card.pdf";

/// The sheet that asks for it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct CardPage {
    /// The path as typed.
    pub path: String,
    /// For paper of 8.5 × 11 inches, not A4.
    pub letter: bool,
    /// With boxes for parts of certain shade.
    pub strip: bool,
}

/// Shows the sheet.
pub(super) fn show(ui: &mut Ui, page: &mut CardPage) -> Option<Action> {
    ui.heading("Grey card to print");
    ui.label(
        "A page with greys, a ruler, and corner marks by which “Find the card” finds it in a photo. Print it at 100 % \
         on matt paper, check the ruler, and cut it out.",
    );
    ui.add_space(theme::SPACE_S);
    ui.horizontal(|ui| {
        ui.label("Paper");
        for (letter, name) in [(false, "A4"), (true, "Letter")] {
            if ui.add(choice_button(page.letter == letter, name)).clicked() {
                page.letter = letter;
            }
        }
    });
    ui.checkbox(&mut page.strip, "With boxes for parts of certain shade").on_hover_text(
        "Known parts beside the unknown ones are the best help there is for telling near shades apart.",
    );
    ui.add_space(theme::SPACE_S);
    let entered = path_field(ui, "Path of the PDF to write", &mut page.path);
    let fine = "A home printer’s greys are not neutral. Have one print measured, or photograph it beside a card that was, \
                and write the values under “Card values…”: the bars become shorter.";
    ui.label(RichText::new(fine).color(theme::palette(ui).weak));
    let typed = !page.path.trim().is_empty();
    let clicked = buttons(ui, "Write the card", typed);
    ((clicked || entered) && typed).then(|| Action::WriteCardPage(page.clone()))
}

impl State {
    /// Asks where the card shall go: beside the photo, else at home.
    pub(super) fn ask_for_card_page(&mut self) {
        let home = || directories::UserDirs::new().map(|dirs| dirs.home_dir().to_owned());
        let folder = self.session.as_ref().map(Session::folder).or_else(home).unwrap_or_default();
        let path = folder.join(NAME).display().to_string();
        self.sheet = Some(Sheet::CardPage(CardPage { path, ..CardPage::default() }));
    }

    /// Writes the card; a file that is there stays.
    pub(super) fn write_card_page(&mut self, page: &CardPage) {
        let typed = expanded(page.path.trim());
        let ends = typed.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("pdf"));
        let path = if ends { typed } else { format!("{}.pdf", typed.display()).into() };
        if path.exists() {
            return self.tell(
                format!("{} is there already; nothing was written.", path.display()),
                "Type another name.",
            );
        }
        let paper = if page.letter { Paper::Letter } else { Paper::A4 };
        let variant = if page.strip { Variant::WithStrip } else { Variant::Plain };
        let written = card_pdf(paper, variant)
            .map_err(|problem| {
                Problem::new(format!("The card could not be made: {problem}."), "Please report this.")
            })
            .and_then(|bytes| save_atomically(&path, &bytes));
        match written {
            Ok(()) => {
                self.sheet = None;
                self.tell(
                    format!("The card is in {}. Print it at 100 % and check the ruler.", path.display()),
                    "",
                );
            }
            Err(problem) => self.message = Some(problem.into()),
        }
    }
}
