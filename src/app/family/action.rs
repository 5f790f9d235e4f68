//! What the panel of the shades asks for.

use crate::storage::TypedShade;

/// What the panel asks for.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) enum FamilyAction {
    /// What is typed for a part now.
    Type(TypedShade),
    /// Put every part that has a shade into the references.
    Add,
    /// Something is to be set aside, with the reason as typed so far; `None` gives that up.
    Aside(Option<Aside>),
    /// Set it aside, or, without a reason, let it count again.
    SetAside(Aside),
    /// The path typed.
    Path(String),
    /// Write the shades there.
    Save,
    /// The path of a table as typed.
    TablePath(String),
    /// Add what is in that table.
    ReadTable,
    /// Write the shades as that table.
    WriteTable,
}

/// A specimen or one of its photos, and why it is not to count.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(in crate::app) struct Aside {
    /// The shade's id.
    pub shade: String,
    /// The specimen's id.
    pub specimen: String,
    /// One photo of it, or the whole specimen.
    pub photo: Option<String>,
    /// Why.
    pub reason: String,
}
