//! What is known of the second photo, and how both are seen. No widget here; the page is `page`.

use std::path::PathBuf;

use crate::app::bench::view::{Bench, View};
use crate::app::files::open::{Opened, Refusal};
use crate::app::session::Session;
use crate::jobs::{Task, Wake};
use crate::tray::shade_gains::GainsFrom;

/// What the page asks for.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) enum CompareAction {
    /// Show that photo or case beside the first.
    Open(PathBuf),
    /// Show one of them this way.
    Look(Side, View),
    /// Let both move together, or each by itself.
    Together(bool),
    /// Show both as their cards' greys ask for, or as the files hold them.
    Levelled(bool),
    /// One of them has the keys.
    Focus(Side),
    /// Back to the first alone.
    Close,
}

/// Which photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::app) enum Side {
    /// The open one.
    First,
    /// The one beside it.
    Second,
}

/// What a photo's red, green and blue are multiplied by to make the greys of its card look grey.
pub(in crate::app) type Level = ([f64; 3], GainsFrom);

/// Being read: the second photo, and the levels of both.
pub(in crate::app) type OpeningBeside = Task<Option<Result<(Box<Opened>, [Level; 2]), Refusal>>>;

/// The second photo, and how both are seen.
pub(in crate::app) struct Beside {
    /// Its marks and what was measured, which nobody changes here.
    pub session: Session,
    /// Which part of it is seen.
    pub view: Option<View>,
    /// Where it is shown.
    pub bench: Bench,
    /// Which photo the keys move.
    pub keys: Side,
    /// Whether both move together.
    pub together: bool,
    /// Whether both are shown as their greys ask for.
    pub levelled: bool,
    levels: [Level; 2],
}

impl Beside {
    /// Shows what was read, moving with the first.
    pub(super) fn new(opened: Opened, levels: [Level; 2], wake: Wake) -> Self {
        Self {
            session: Session::new(opened, wake),
            view: None,
            bench: Bench { min: [0.0; 2], size: [1.0; 2], pixels_per_point: 1.0 },
            keys: Side::First,
            together: false,
            levelled: false,
            levels,
        }
    }

    /// How it is seen, the whole of it where nothing else was chosen.
    pub(super) fn current_view(&self) -> View {
        let chosen = self.view.filter(|view| !view.fitted);
        chosen.unwrap_or_else(|| View::fit(self.session.photo_px(), &self.bench))
    }

    /// Whether greys are known in both.
    pub(super) fn can_be_levelled(&self) -> bool {
        self.levels.iter().all(|(_, from)| *from != GainsFrom::Nothing)
    }

    /// What a photo is multiplied by for the screen.
    pub(super) fn gains(&self, side: Side) -> [f64; 3] {
        match (self.levelled && self.can_be_levelled(), side) {
            (false, _) => [1.0; 3],
            (true, Side::First) => self.levels[0].0,
            (true, Side::Second) => self.levels[1].0,
        }
    }
}
