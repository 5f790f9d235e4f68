//! What people do today, on the same scenes: colours taken from the picture and the nearest reference.

use nalgebra::{Matrix3, Vector3};

use super::Known;
use super::scene::Scene;
use crate::color::{
    ciede2000, lab_in_d50_from_linear_srgb, lab_of, linear_srgb_from_lab_in_d50, srgb_decode,
};
use crate::light::{KnownPatch, Patch};

/// A way of calling a shade without any model of the light.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Habit {
    /// The mean colour of the area, taken for sRGB, and the nearest reference.
    PlainPicture,
    /// The channels scaled until one grey is right, and the nearest reference.
    GreyPoint,
    /// A 3×3 matrix fitted on the whole chart by least squares in linear light, and the nearest reference.
    Matrix,
}

impl Habit {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::PlainPicture, Self::GreyPoint, Self::Matrix];

    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::PlainPicture => "picture as it is",
            Self::GreyPoint => "grey point",
            Self::Matrix => "3x3 matrix",
        }
    }

    /// The shade it calls for the part in question, with the margin (CIEDE2000) by which the next shade is
    /// farther; `None` where its card is burnt out.
    pub(super) fn call(self, scene: &Scene) -> Option<(usize, f64)> {
        let reading = linear(scene.question());
        let corrected = match self {
            Self::PlainPicture => reading,
            Self::GreyPoint => {
                let grey = scene.known(Known::OneGrey);
                let zone = grey.first()?;
                reading.component_mul(&truth(zone).component_div(&linear(&zone.patch).map(|v| v.max(1e-6))))
            }
            Self::Matrix => fitted_matrix(&scene.known(Known::FullChart))? * reading,
        };
        let lab = lab_in_d50_from_linear_srgb(corrected.into());
        let mut distances: Vec<(f64, usize)> = scene
            .predictive
            .shades()
            .iter()
            .enumerate()
            .map(|(index, shade)| (ciede2000(lab, lab_of(shade.mean)), index))
            .collect();
        distances.sort_by(|p, q| p.0.total_cmp(&q.0));
        let (nearest, next) = (distances.first()?, distances.get(1)?);
        Some((nearest.1, next.0 - nearest.0))
    }
}

fn linear(patch: &Patch) -> Vector3<f64> {
    patch.coded.map(srgb_decode)
}

fn truth(zone: &KnownPatch) -> Vector3<f64> {
    Vector3::from(linear_srgb_from_lab_in_d50(lab_of(zone.lab)))
}

/// M with M · picture ≈ truth: normal equations over all patches that are not burnt out.
fn fitted_matrix(chart: &[KnownPatch]) -> Option<Matrix3<f64>> {
    let mut seen = Matrix3::zeros();
    let mut cross = Matrix3::zeros();
    for zone in chart {
        let picture = linear(&zone.patch);
        seen += picture * picture.transpose();
        cross += truth(zone) * picture.transpose();
    }
    Some(cross * seen.try_inverse()?)
}
