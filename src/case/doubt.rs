//! Why the outline of a loose part may be wrong.

/// Why an outline may be wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// It touches the edge of the photo.
    CutOff,
    /// It may be several parts that touch.
    MaybeSeveral,
    /// It was cut from a spot of several parts.
    Touching,
    /// There is no matt place to be read.
    NoMattPlace,
}

impl Doubt {
    const ALL: [Doubt; 4] = [Doubt::CutOff, Doubt::MaybeSeveral, Doubt::Touching, Doubt::NoMattPlace];

    /// Its name in a case file.
    pub fn code(self) -> &'static str {
        match self {
            Doubt::CutOff => "cut-off",
            Doubt::MaybeSeveral => "maybe-several",
            Doubt::Touching => "touching",
            Doubt::NoMattPlace => "no-matt-place",
        }
    }

    /// The inverse of [`Doubt::code`]; `None` for what a later version says.
    pub fn of_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|doubt| doubt.code() == code)
    }
}
