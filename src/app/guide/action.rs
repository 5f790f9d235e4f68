//! What the page of the guide asks for.

use crate::guide::{GuideEdit, List};
use crate::problem::Problem;

/// What the page asks for.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) enum GuideAction {
    /// Begin a guide with nothing in it.
    New,
    /// Go on in a copy that is in no file yet.
    Copy,
    /// Show another part of the guide.
    Page(Page),
    /// Show another member of the list.
    Choose(usize),
    /// Show another run of the character.
    Run(String),
    /// A change that is a step of its own.
    Edit(GuideEdit),
    /// A key was pressed in a field: its key, its text now, and what that would change.
    Type(String, String, Result<GuideEdit, Problem>),
    /// The field was left.
    EndTyping,
    /// What was typed into the field for a new name (first: which field).
    Draft(String, String),
    /// The new name becomes a member or a value.
    AddDraft(GuideEdit),
    /// Show where a remark belongs.
    GoTo(String),
    /// The path typed.
    Path(String),
    /// Write the guide there.
    Save,
    /// Weigh the figure of the open case with it.
    Use,
    /// Back to the photo; what was written stays.
    Close,
    /// And to the guide again.
    Show,
}

/// A part of the guide.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(in crate::app) enum Page {
    /// The line as a whole.
    #[default]
    Line,
    /// One of its lists.
    List(List),
    /// The error rates.
    Rates,
    /// Everything there is to remark.
    Remarks,
}
