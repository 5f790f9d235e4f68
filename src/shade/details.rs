//! What is kept of a specimen besides its colour: its photos, date, condition, side, and why it was set aside. These are
//! fields beside the others in the file; see `reference-swatches/README.md`.

use nalgebra::Matrix3;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::covariance::{can_be, covariance};
use super::references::Specimen;
use crate::json::{self, Flaw, Step, plain_words};

/// Further fields of a specimen.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Details {
    /// Its readings, one a photo; its Lab is pooled from those that are not set aside.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<PhotoReading>,
    /// When it was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// What time has done to it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub condition: Option<Condition>,
    /// Which side of the part was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// The real part, where two specimens are two places of one; the sheltered one then stands for the shade, and both
    /// together teach how the line ages.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Why it does not count; it counts where this is missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_aside: Option<String>,
    /// That part of the standard deviation which it shares with the others of `shared_with`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sd_shared: Option<[f64; 3]>,
    /// Correlations of the measurement's errors in L\*a\*, L\*b\*, a\*b\*; none where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub correlation: Option<[f64; 3]>,
    /// Correlations of the shared errors; none where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub correlation_shared: Option<[f64; 3]>,
    /// The camera or instrument whose errors it shares; its method where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shared_with: Option<String>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// One reading of a specimen from one photo.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PhotoReading {
    /// The photo's file name; readings of one photo share its error.
    pub photo: String,
    /// The name of the mark in its case.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<String>,
    /// The camera; readings of one camera share its error. All unnamed cameras count as one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub camera: Option<String>,
    /// When it was taken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// L\*, a\*, b\* under D50.
    pub lab: [f64; 3],
    /// Standard deviation of each.
    pub sd: [f64; 3],
    /// That part of it which the readings of this photo have in common; all of it where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sd_shared: Option<[f64; 3]>,
    /// Correlations of its errors in L\*a\*, L\*b\*, a\*b\*; none where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub correlation: Option<[f64; 3]>,
    /// Correlations of the shared errors; none where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub correlation_shared: Option<[f64; 3]>,
    /// Why it does not count.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_aside: Option<String>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// What time has done to a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Condition {
    /// As moulded, so far as can be seen.
    Sound,
    /// Paler than it was.
    Faded,
    /// Yellower than it was.
    Yellowed,
}

/// Which side of a part was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// Where no light came: inside a joint, under a strap.
    Sheltered,
    /// Open to light and air.
    Exposed,
}

impl Condition {
    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Condition::Sound => "sound",
            Condition::Faded => "faded",
            Condition::Yellowed => "yellowed",
        }
    }

    /// The condition of a name.
    pub fn of_name(name: &str) -> Option<Self> {
        [Condition::Sound, Condition::Faded, Condition::Yellowed].into_iter().find(|c| c.name() == name)
    }
}

impl Side {
    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Side::Sheltered => "sheltered",
            Side::Exposed => "exposed",
        }
    }

    /// The side of a name.
    pub fn of_name(name: &str) -> Option<Self> {
        [Side::Sheltered, Side::Exposed].into_iter().find(|s| s.name() == name)
    }
}

impl PhotoReading {
    /// The camera's name, one for all that have none.
    pub fn camera_name(&self) -> &str {
        self.camera.as_deref().unwrap_or("a camera without a name")
    }

    /// Covariance of its error in L\*, a\*, b\*.
    pub fn cov(&self) -> Matrix3<f64> {
        covariance(self.sd, self.correlation)
    }

    /// That part of it which the readings of its photo have in common.
    pub fn shared_cov(&self) -> Matrix3<f64> {
        match self.sd_shared {
            Some(sd) => {
                let sd = [0, 1, 2].map(|axis| sd[axis].clamp(0.0, self.sd[axis]));
                covariance(sd, self.correlation_shared)
            }
            None => self.cov(),
        }
    }
}

impl Specimen {
    /// Its further fields. Files are checked when they are read, so this only fails for a specimen made in memory; then
    /// its further fields count as unknown.
    pub fn details(&self) -> Details {
        read(&self.rest).unwrap_or_else(|_| Details { rest: self.rest.clone(), ..Details::default() })
    }

    /// Writes its further fields.
    pub fn set_details(&mut self, details: &Details) {
        if let Ok(Value::Object(fields)) = serde_json::to_value(details) {
            self.rest = fields;
        }
    }

    /// Whether it was set aside.
    pub fn is_set_aside(&self) -> bool {
        self.rest.contains_key("set_aside")
    }

    /// Standard deviation that it shares with the others of [`Self::error_group`]; where the file does not say, half of
    /// its variance (common practice, no source: errors of instrument and card do not average out).
    pub fn shared_sd(&self) -> [f64; 3] {
        let half = self.sd.map(|sd| sd * std::f64::consts::FRAC_1_SQRT_2);
        match self.rest.get("sd_shared").and_then(triple) {
            Some(shared) => [0, 1, 2].map(|axis| shared[axis].clamp(0.0, self.sd[axis])),
            None => half,
        }
    }

    /// Covariance of its measurement in L\*, a\*, b\*.
    pub fn cov(&self) -> Matrix3<f64> {
        covariance(self.sd, self.rest.get("correlation").and_then(triple))
    }

    /// That part of it which the others of [`Self::error_group`] have too.
    pub fn shared_cov(&self) -> Matrix3<f64> {
        let own = || self.rest.get("correlation").filter(|_| !self.rest.contains_key("sd_shared"));
        let stated = self.rest.get("correlation_shared").or_else(own);
        covariance(self.shared_sd(), stated.and_then(triple))
    }

    /// Whose errors it shares.
    pub fn error_group(&self) -> &str {
        self.rest.get("shared_with").and_then(Value::as_str).unwrap_or(self.method.name())
    }
}

fn triple(value: &Value) -> Option<[f64; 3]> {
    match value.as_array()?.as_slice() {
        [a, b, c] => Some([a.as_f64()?, b.as_f64()?, c.as_f64()?]),
        _ => None,
    }
}

fn read(fields: &Map<String, Value>) -> Result<Details, serde_path_to_error::Error<serde_json::Error>> {
    serde_path_to_error::deserialize(Value::Object(fields.clone()))
}

/// Checks the further fields of a specimen; paths start at it.
pub(super) fn check(fields: &Map<String, Value>) -> Result<(), Flaw> {
    let details = read(fields).map_err(|error| {
        let path = error.path().iter().filter_map(step_of).collect();
        let remedy = "Correct it there; reference-swatches/README.md has the fields of a specimen.";
        Flaw::new(path, plain_words(&error.inner().to_string()), remedy)
    })?;
    for (field, correlation) in
        [("correlation", details.correlation), ("correlation_shared", details.correlation_shared)]
    {
        correlated(correlation)
            .map_err(|(message, remedy)| Flaw::new(vec![field.into()], message, remedy))?;
    }
    for (index, photo) in details.photos.iter().enumerate() {
        for (field, correlation) in
            [("correlation", photo.correlation), ("correlation_shared", photo.correlation_shared)]
        {
            let path = || vec!["photos".into(), index.into(), field.into()];
            correlated(correlation).map_err(|(message, remedy)| Flaw::new(path(), message, remedy))?;
        }
        let flaws = [("lab", json::check_lab(&photo.lab)), ("sd", json::check_sd(&photo.sd))];
        for (field, flaw) in flaws {
            let Some((message, remedy)) = flaw else { continue };
            let path = vec!["photos".into(), index.into(), field.into()];
            return Err(Flaw { path, message, remedy });
        }
    }
    Ok(())
}

fn correlated(correlation: Option<[f64; 3]>) -> Result<(), (String, &'static str)> {
    match correlation {
        Some(found) if !can_be(found) => Err((
            format!("{found:?} cannot be the correlations of three errors"),
            "Three numbers of -1 to 1 that go together; take the field out where you do not know them.",
        )),
        _ => Ok(()),
    }
}

fn step_of(segment: &serde_path_to_error::Segment) -> Option<Step> {
    use serde_path_to_error::Segment;
    match segment {
        Segment::Seq { index } => Some(Step::Entry(*index)),
        Segment::Map { key } => Some(Step::Field(key.clone())),
        _ => None,
    }
}
