//! What stands in front in the window, and which commands can be used there: one answer for menu, toolbar and keys.

use super::Command;
use crate::app::guide::action::GuideAction;
use crate::app::state::State;

/// What stands in front.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::app) enum Front {
    /// Nothing is open.
    FirstPage,
    /// The photo with its marks.
    Photo,
    /// Two photos side by side.
    TwoPhotos,
    /// The collection.
    Collection,
    /// A guide being written.
    Guide,
}

/// Where a command can be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reach {
    /// Everywhere.
    Anywhere,
    /// Where a case is open, be it behind the collection.
    Case,
    /// Where a case is open; its photo comes to the front.
    ToPhoto,
    /// Where something can be saved: a case or a guide.
    Document,
    /// Where there is something to report on: a case or the collection.
    Findings,
    /// Where something has a past.
    Past,
    /// On the photo.
    Photo,
    /// On one photo or two.
    Photos,
    /// On the photo, or before there is one.
    PhotoOrNone,
    /// Where there is something to be let go of, or a way back.
    WayBack,
}

impl Reach {
    fn holds(self, front: Front, case: bool) -> bool {
        use Front::{Collection, FirstPage, Guide, Photo, TwoPhotos};
        match self {
            Self::Anywhere => true,
            Self::Case => case && front != Guide,
            Self::ToPhoto => case,
            Self::Document => case || front == Guide,
            Self::Findings => (case && front != Guide) || front == Collection,
            Self::Past => matches!(front, Photo | Collection | Guide),
            Self::Photo => front == Photo,
            Self::Photos => matches!(front, Photo | TwoPhotos),
            Self::PhotoOrNone => matches!(front, Photo | FirstPage),
            Self::WayBack => matches!(front, Photo | TwoPhotos | Collection),
        }
    }
}

impl State {
    /// What stands in front.
    pub(in crate::app) fn front(&self) -> Front {
        match (&self.session, &self.beside) {
            _ if self.open_editor().is_some() => Front::Guide,
            _ if self.collection.shown => Front::Collection,
            (None, _) => Front::FirstPage,
            (Some(_), Some(_)) => Front::TwoPhotos,
            (Some(_), None) => Front::Photo,
        }
    }

    /// Why a command cannot run now; nothing where it can.
    pub(in crate::app) fn why_not(&self, command: Command) -> Option<&'static str> {
        // A message can be put away wherever it is told.
        if command == Command::LetGo && self.message.is_some() {
            return None;
        }
        let (front, case) = (self.front(), self.session.is_some());
        if !command.entry().reach.holds(front, case) {
            return Some(match front {
                Front::Guide => "Close the guide first.",
                Front::Collection if case => "Go back to the photo first.",
                Front::TwoPhotos => "Close the comparison first.",
                _ => "Open a photo first.",
            });
        }
        match command {
            Command::Undo if !self.can_undo() => Some("There is nothing to take back."),
            Command::Redo if !self.can_redo() => Some("There is nothing to make again."),
            Command::FindCard | Command::FindParts if self.tray.looking.is_some() => Some("Still looking…"),
            _ => None,
        }
    }

    /// Brings the photo to the front where that is what a command shows something of.
    pub(super) fn bring_photo_for(&mut self, command: Command) {
        if command.entry().reach == Reach::ToPhoto {
            self.put_guide_behind();
            self.collection.shown = false;
            self.beside = None;
        }
    }

    /// What is written in the guide stays as it is.
    pub(in crate::app) fn put_guide_behind(&mut self) {
        self.act_on_guide(GuideAction::Close);
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Group, all};
    use super::*;

    const SCENES: [(Front, bool); 7] = [
        (Front::FirstPage, false),
        (Front::Photo, true),
        (Front::TwoPhotos, true),
        (Front::Collection, false),
        (Front::Collection, true),
        (Front::Guide, false),
        (Front::Guide, true),
    ];

    #[test]
    fn marks_are_out_of_reach_while_something_else_is_in_front() {
        // These have a meaning of their own elsewhere.
        let elsewhere = [Command::Undo, Command::Redo, Command::LetGo, Command::CardList];
        for entry in Group::Marks.entries().iter().filter(|entry| !elsewhere.contains(&entry.command)) {
            let there: Vec<_> =
                SCENES.into_iter().filter(|(front, case)| entry.reach.holds(*front, *case)).collect();
            assert_eq!(there, [(Front::Photo, true)], "{}", entry.text);
        }
    }

    #[test]
    fn every_command_is_of_use_somewhere_and_the_ways_out_everywhere() {
        for entry in all() {
            assert!(entry.reach.holds(Front::Photo, true), "{}", entry.text);
        }
        for command in [Command::Open, Command::Quit, Command::ShowKeys, Command::ToggleTheme] {
            assert!(SCENES.iter().all(|(front, case)| command.entry().reach.holds(*front, *case)));
        }
    }
}
