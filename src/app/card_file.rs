//! The measured greys of a print from and to a `*.card.json`, and given to the steps that are marked.

use std::path::PathBuf;

use crate::card::CardFile;
use crate::card::known::{CARD_VERSION, KnownStep, card_to_text};
use crate::case::{CaseDocument, Known, card_values};
use crate::jobs::Task;
use crate::problem::Problem;
use crate::storage::{open_card, save_atomically};

use super::action::{CardSheet, Sheet};
use super::card::{self, CardStep, step_id};
use super::state::State;

/// A card file being read or written.
pub(super) type CardTask = Task<Result<CardDone, Problem>>;

/// What came of it.
pub(super) enum CardDone {
    /// It was read.
    Read(CardFile),
    /// It was written.
    Written(PathBuf),
}

impl State {
    /// Reads a card file on a thread.
    pub(super) fn read_card(&mut self, path: PathBuf) {
        let work = move |_: &_| open_card(&path).map(CardDone::Read);
        self.card_task = Some(Task::start("Reading the card".into(), self.wake.clone(), work));
    }

    /// Writes the listed values to a card file, which must not be there yet.
    pub(super) fn write_card(&mut self, path: PathBuf, list: &str) {
        let steps = match card::read_list(list) {
            Ok(steps) => steps.iter().map(|step| KnownStep { lab: step.lab, sd: step.sd }).collect(),
            Err(text) => return self.tell(text, "Correct the list, then write it again."),
        };
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let path = if name.ends_with(".card.json") {
            path
        } else {
            path.with_file_name(format!("{}.card.json", name.trim_end_matches(".json")))
        };
        let print = name.trim_end_matches(".card.json").to_owned();
        let file = CardFile { sameshot_card: CARD_VERSION, print, steps, rest: serde_json::Map::new() };
        let work = move |_: &_| {
            if path.exists() {
                return Err(Problem::new(
                    format!("{} is there already; nothing was written.", path.display()),
                    "Type another name.",
                ));
            }
            let text = card_to_text(&file)?;
            save_atomically(&path, text.as_bytes()).map(|()| CardDone::Written(path))
        };
        self.card_task = Some(Task::start("Writing the card".into(), self.wake.clone(), work));
    }

    /// Takes in what has become of a card file.
    pub(super) fn poll_card(&mut self) {
        let Some(result) = self.card_task.as_ref().and_then(Task::poll) else { return };
        self.card_task = None;
        match result {
            Ok(Ok(CardDone::Read(file))) => {
                let steps: Vec<_> =
                    file.steps.iter().map(|step| CardStep { lab: step.lab, sd: step.sd }).collect();
                if let Some(Sheet::CardList(sheet)) = &mut self.sheet {
                    *sheet =
                        CardSheet { list: card::write_list(&steps), error: None, ..std::mem::take(sheet) };
                } else {
                    self.use_card(steps);
                    let name = if file.print.is_empty() { "without a name" } else { &file.print };
                    self.tell(format!("The values of the card {name} are in use now."), "");
                }
            }
            Ok(Ok(CardDone::Written(path))) => {
                self.tell(
                    format!("The card is kept in {}.", path.display()),
                    "Read it there for other photos.",
                );
            }
            Ok(Err(problem)) => self.message = Some(problem.into()),
            Err(text) => self.tell(text, "Try again."),
        }
    }

    /// These are the card's values from now on, those of the marked steps too.
    pub(super) fn use_card(&mut self, steps: Vec<CardStep>) {
        let known: Vec<_> = steps.iter().map(|step| KnownStep { lab: step.lab, sd: step.sd }).collect();
        self.card = steps;
        self.try_edit(|session| {
            let edits = card_values(session.case(), &known);
            if edits.is_empty() { Ok(()) } else { session.edit_together("change the card's values", edits) }
        });
    }
}

/// The card of a case as its marked steps say it; `None` where fewer than two are marked.
pub(super) fn card_of(case: &CaseDocument) -> Option<Vec<CardStep>> {
    let step = |number| {
        let zone = case.zones.iter().find(|zone| zone.id == step_id(number))?;
        match zone.known {
            Known::Lab { lab, sd } => Some(CardStep { lab, sd }),
            Known::Shade { .. } => None,
        }
    };
    let steps: Vec<_> = (1..).map_while(step).collect();
    (steps.len() >= 2).then_some(steps)
}
