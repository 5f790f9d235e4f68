//! The readings of a measured photo as a reference set keeps them.

use nalgebra::Matrix3;

use super::{Inputs, Outcome};
use crate::shade::{Belongs, Condition, PhotoReading, Side, covariance_parts, positive};

/// A reading with the specimen that its mark names, if it names one.
#[derive(Debug, Clone, PartialEq)]
pub struct SpecimenReading {
    /// The mark's id.
    pub id: String,
    /// What the mark's field `specimen` says.
    pub belongs: Option<Belongs>,
    /// The values.
    pub reading: PhotoReading,
}

/// Every reading of a photo: Lab, its covariance, and how much of that the readings of this photo share (the mean of the
/// covariances between them).
pub fn specimen_readings(inputs: &Inputs, outcome: &Outcome) -> Vec<SpecimenReading> {
    let Some(light) = &outcome.light else { return Vec::new() };
    let results = &outcome.measurement.readings;
    let count = results.len();
    let pairs = (0..count).flat_map(|i| (0..count).filter(move |j| *j != i).map(move |j| (i, j)));
    let between = pairs.map(|(i, j)| light.cov.fixed_view::<3, 3>(3 * i, 3 * j).into_owned());
    let sum: Matrix3<f64> = between.sum();
    let (shared, correlation_shared) =
        covariance_parts(&positive(&(sum / (count * count.saturating_sub(1)).max(1) as f64)));
    let name = std::path::Path::new(&inputs.case.photo).file_name();
    let photo = name.map_or_else(|| inputs.case.photo.clone(), |name| name.to_string_lossy().into_owned());
    let of = |result: &super::ReadingResult| {
        let cov = Matrix3::from_fn(|i, j| result.cov[i][j] + if i == j { 1e-6 } else { 0.0 });
        let (sd, correlation) = covariance_parts(&cov);
        let sd = sd.map(|sd| sd.max(0.01));
        let reading = PhotoReading {
            photo: photo.clone(),
            reading: Some(result.id.clone()),
            camera: inputs.facts.camera.clone(),
            date: inputs.facts.taken.clone(),
            lab: result.lab.map(rounded),
            sd,
            sd_shared: (count > 1).then(|| [0, 1, 2].map(|axis| shared[axis].min(sd[axis]))),
            correlation: Some(correlation),
            correlation_shared: (count > 1).then_some(correlation_shared),
            set_aside: None,
            rest: serde_json::Map::new(),
        };
        SpecimenReading { belongs: belongs(inputs, &result.id), id: result.id.clone(), reading }
    };
    results.iter().map(of).collect()
}

fn rounded(value: f64) -> f64 {
    libm::round(value * 1000.0) / 1000.0
}

/// The field `specimen` of a mark: `{"shade": …, "id": …, "condition": …, "side": …, "part": …}`.
fn belongs(inputs: &Inputs, id: &str) -> Option<Belongs> {
    let mark = inputs.case.readings.iter().find(|mark| mark.id == id)?;
    let fields = mark.rest.get("specimen")?.as_object()?;
    let text = |name: &str| fields.get(name).and_then(|value| value.as_str());
    Some(Belongs {
        shade: text("shade")?.to_owned(),
        specimen: text("id").unwrap_or(id).to_owned(),
        condition: text("condition").and_then(Condition::of_name),
        side: text("side").and_then(Side::of_name),
        part: text("part").map(str::to_owned),
    })
}
