//! Evidence about the parts of a figure → who it is, what does not belong, the next look.
#![doc = include_str!("ALGEBRA.md")]

mod condition;
mod evidence;
mod findings;
mod identify;
mod joint;
mod line;
mod look;
mod parts;
mod reasons;
pub mod rehearse;
mod signs;
mod slot_state;
mod text;
mod weigh;

#[cfg(test)]
mod brute;
#[cfg(test)]
mod demo_tests;
#[cfg(test)]
mod exact_tests;
#[cfg(test)]
mod looks_tests;

pub use evidence::{
    Condition, Evidence, EvidenceProblem, JointShades, JointTerm, Presence, Seen, ShadeLikelihood,
    SlotEvidence,
};
pub use findings::{
    Composite, ConditionFinding, Donor, FINDINGS_VERSION, FindingOptions, Findings, LookFinding, Missing,
    Ranked, SlotFinding, Who, find,
};
pub use identify::{PhotoShades, gather, identify};
pub use joint::joint_shades;
pub use line::{Host, Kind, Line, LineFeature, LineSlot, Sort};
pub use look::{LookOptions, NextLook, Question, next_looks};
pub use parts::PartView;
pub use reasons::Reason;
pub use signs::{Measured, OffColour, Sign, SlotPair, Surface, signs};
pub(crate) use text::name_and_run;
pub use weigh::{NoFit, Weighed, weigh};
