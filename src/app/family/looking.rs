//! What there is to see of a family of shades.

use crate::report::FamilyPicture;
use crate::shade::{
    Confusion, Help, Outlier, Predictive, References, ReferencesProblem, confusion, outliers,
    typical_reading_sd, what_helps,
};

/// What there is to see of a family; takes a moment to work out.
#[derive(Debug, Clone)]
pub(in crate::app) struct Seen {
    /// Where the shades lie.
    pub picture: FamilyPicture,
    /// How often they would be confused.
    pub confusion: Confusion,
    /// With readings of this standard deviation.
    pub reading_sd: [f64; 3],
    /// What would help.
    pub helps: Vec<Help>,
    /// What does not fit.
    pub outliers: Vec<Outlier>,
}

/// Works it out.
pub(super) fn seen(references: &References) -> Result<Seen, ReferencesProblem> {
    let reading_sd = typical_reading_sd(references);
    Ok(Seen {
        picture: FamilyPicture::of(references)?,
        confusion: confusion(&Predictive::from_references(references)?, reading_sd),
        reading_sd,
        helps: what_helps(references, reading_sd)?,
        outliers: outliers(references),
    })
}
