//! What the panel of the shades asks for, done.

use super::action::FamilyAction;
use super::gathering::Arrived;
use crate::app::action::Action;
use crate::app::state::State;

/// What new shades are called unless the person says otherwise.
pub(in crate::app) const NEW_SHADES: &str = "my.shades.json";

impl State {
    /// Does what the panel asked for.
    pub(in crate::app) fn act_on_family(&mut self, action: FamilyAction) {
        let done = match action {
            FamilyAction::Type(typed) => {
                self.gathering.note(typed);
                Ok(())
            }
            FamilyAction::Add => {
                self.suggest_path();
                self.session.as_ref().map_or(Ok(()), |session| {
                    self.gathering.add(&session.photo_file(), session.specimen_readings())
                })
            }
            FamilyAction::Aside(aside) => {
                self.gathering.aside = aside;
                Ok(())
            }
            FamilyAction::SetAside(aside) => self.gathering.set_aside(&aside),
            FamilyAction::Path(path) => {
                self.gathering.path = path;
                Ok(())
            }
            FamilyAction::Save => self.gathering.save(),
            FamilyAction::TablePath(path) => {
                self.gathering.table_path = path;
                Ok(())
            }
            FamilyAction::ReadTable | FamilyAction::WriteTable => {
                self.gathering.table(action == FamilyAction::ReadTable);
                Ok(())
            }
        };
        if let Err(problem) = done {
            self.message = Some(problem.into());
        }
    }

    /// New shades go beside the photo unless the person says otherwise.
    fn suggest_path(&mut self) {
        if let (true, Some(session)) = (self.gathering.path.is_empty(), &self.session) {
            self.gathering.path = session.folder().join(NEW_SHADES).display().to_string();
        }
    }

    /// Takes in what has become of the shades; saved ones are what the case is compared with from now on.
    pub(in crate::app) fn poll_family(&mut self) {
        if let Some(session) = &self.session {
            self.gathering.follow(session.references.as_ref(), session.references_file.as_deref());
        }
        match self.gathering.poll() {
            Some(Arrived::Saved(path)) => self.act(Action::UseReferences(path)),
            Some(Arrived::Told(text)) => self.tell(text, ""),
            Some(Arrived::Failed(problem)) => self.message = Some(problem.into()),
            None => {}
        }
    }
}
