//! What is said of a guide that cannot be used, or could be better.

use std::fmt;

/// Something the matter with a guide.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Where: "characters › Keeper › second › arm-left › mould".
    pub place: String,
    /// What is the matter, a full sentence.
    pub text: String,
    /// What to do about it.
    pub remedy: String,
}

impl Problem {
    pub(super) fn new(place: impl Into<String>, text: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { place: place.into(), text: text.into(), remedy: remedy.into() }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {} {}", self.place, self.text, self.remedy)
    }
}

impl std::error::Error for Problem {}

/// "a", "b" and "c", for people.
pub(super) fn list<T: AsRef<str>>(names: &[T]) -> String {
    match names {
        [] => "nothing".into(),
        [one] => format!("“{}”", one.as_ref()),
        [head @ .., last] => {
            let head: Vec<_> = head.iter().map(|n| format!("“{}”", n.as_ref())).collect();
            format!("{} and “{}”", head.join(", "), last.as_ref())
        }
    }
}
