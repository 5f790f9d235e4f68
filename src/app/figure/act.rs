//! What the panel of the figure asks for, as changes of the case: each statement is one step of undo.

use std::path::PathBuf;

use crate::case::{CaseDocument, Edit, Observation};
use crate::jobs::Task;
use crate::storage;

use super::weighing::OpenGuide;
use crate::app::state::State;

/// The feature under which a case says that there is a part or none.
pub(super) const PRESENCE: &str = "presence";
/// The value for a slot without a part.
pub(super) const MISSING: &str = "missing";
pub(super) use crate::case::CONDITION;
/// Looked, but it cannot be seen.
pub(super) const CANT_SEE: &str = "can't see";
/// Paint of which only traces are left.
pub(super) const WORN_OFF: &str = "worn off";

/// What the panel asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::app) enum FigureAction {
    /// Look at a slot.
    Choose(String),
    /// Something was seen in a slot.
    State {
        /// The slot.
        slot: String,
        /// Which feature.
        feature: String,
        /// What was seen.
        value: String,
        /// Whether the person is sure.
        sure: bool,
    },
    /// Nothing was seen of this feature (second) in this slot (first) after all.
    Forget(String, String),
    /// The part of this slot (first) is not in this state (second) after all.
    ForgetState(String, String),
}

impl State {
    /// Does what the panel asked for.
    pub(in crate::app) fn act_on_figure(&mut self, action: FigureAction) {
        match action {
            FigureAction::Choose(slot) => self.figure_slot = Some(slot),
            FigureAction::State { slot, feature, value, sure } => self.try_edit(|session| {
                let edits = stating(session.case(), &slot, &feature, &value, sure);
                let label = edits.last().map(Edit::label).unwrap_or_default();
                session.edit_together(&label, edits)
            }),
            FigureAction::ForgetState(slot, state) => {
                self.try_edit(|session| session.edit(Edit::ForgetState(slot, state)));
            }
            FigureAction::Forget(slot, feature) => {
                self.try_edit(|session| session.edit(Edit::Forget(slot, feature)));
            }
        }
    }

    /// Reads a guide on a thread.
    pub(in crate::app) fn read_guide(&mut self, path: PathBuf) {
        let work = move |_: &_| {
            let guide = storage::open_guide(&path).map(|guide| OpenGuide::new(guide, &path));
            (path, guide)
        };
        self.reading_guide = Some(Task::start("Reading the guide".into(), self.wake.clone(), work));
    }

    /// Takes in a guide that was read.
    pub(in crate::app) fn poll_guide(&mut self) {
        let Some(result) = self.reading_guide.as_ref().and_then(Task::poll) else { return };
        self.reading_guide = None;
        match result {
            Ok((path, Ok(guide))) => self.try_edit(|session| session.use_guide(path, guide)),
            Ok((_, Err(problem))) => self.message = Some(problem.into()),
            Err(text) => self.tell(text, "Try another file."),
        }
    }
}

/// The changes that state something. A part that is missing has nothing to be seen, and one of which something is seen is
/// not missing: the newer word counts.
fn stating(case: &CaseDocument, slot: &str, feature: &str, value: &str, sure: bool) -> Vec<Edit> {
    let here = || case.observations.iter().filter(|seen| seen.slot == slot);
    let missing = feature == PRESENCE && value == MISSING;
    let contradicts = |seen: &&Observation| {
        if missing { seen.feature != PRESENCE } else { seen.feature == PRESENCE && seen.value == MISSING }
    };
    let mut edits: Vec<Edit> =
        here().filter(contradicts).map(|seen| Edit::Forget(slot.to_owned(), seen.feature.clone())).collect();
    let before = here().find(|seen| seen.feature == feature && (feature != CONDITION || seen.value == value));
    edits.push(Edit::Observe(Observation {
        slot: slot.into(),
        feature: feature.into(),
        value: value.into(),
        sure,
        rest: before.map(|seen| seen.rest.clone()).unwrap_or_default(),
    }));
    edits
}

#[cfg(test)]
mod tests {
    use super::*;

    fn applied(case: &mut CaseDocument, slot: &str, feature: &str, value: &str) {
        for edit in stating(case, slot, feature, value, true) {
            edit.apply(case).unwrap();
        }
    }

    #[test]
    fn a_missing_part_has_nothing_to_be_seen_and_a_seen_one_is_there() {
        let mut case = CaseDocument::new("a.jpg");
        applied(&mut case, "head", "mould", "H1");
        applied(&mut case, "torso", "mould", "T1");
        applied(&mut case, "head", PRESENCE, MISSING);
        let said: Vec<_> = case.observations.iter().map(|o| (&*o.slot, &*o.feature, &*o.value)).collect();
        assert_eq!(said, [("torso", "mould", "T1"), ("head", "presence", "missing")]);
        applied(&mut case, "head", "neck", "ring");
        let said: Vec<_> = case.observations.iter().map(|o| (&*o.slot, &*o.feature, &*o.value)).collect();
        assert_eq!(said, [("torso", "mould", "T1"), ("head", "neck", "ring")]);
    }

    #[test]
    fn a_part_may_be_in_several_states_at_once() {
        let mut case = CaseDocument::new("a.jpg");
        for state in ["yellowed", "loose joint", "yellowed"] {
            applied(&mut case, "head", CONDITION, state);
        }
        let states = |case: &CaseDocument| -> Vec<String> {
            case.observations.iter().map(|seen| seen.value.clone()).collect()
        };
        assert_eq!(states(&case), ["yellowed", "loose joint"]);
        Edit::ForgetState("head".into(), "yellowed".into()).apply(&mut case).unwrap();
        assert_eq!(states(&case), ["loose joint"]);
        applied(&mut case, "head", PRESENCE, MISSING);
        assert_eq!(states(&case), ["missing"]);
    }

    #[test]
    fn what_a_later_version_noted_on_an_observation_is_kept() {
        let text = serde_json::json!({"sameshot_case": 1, "photo": "a.jpg", "observations": [
            {"slot": "head", "feature": "mould", "value": "H1", "by": "loupe"}]});
        let mut case: CaseDocument = serde_json::from_value(text).unwrap();
        applied(&mut case, "head", "mould", "H2");
        assert_eq!(case.observations[0].value, "H2");
        assert_eq!(case.observations[0].rest["by"], "loupe");
    }
}
