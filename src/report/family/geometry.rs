//! Where the shades of a family lie: in the plane of a\* and b\*, and along L\*.

use nalgebra::{Matrix2, Vector2};

use crate::color::{Lab, to_srgb8};
use crate::shade::{Predictive, References, ReferencesProblem};
use crate::stats::{Mixture, chi_squared_cdf};

/// A family as it is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct FamilyPicture {
    /// Its shades, in the references' order; those without a specimen that counts are left out.
    pub shades: Vec<ShadePicture>,
    /// What is seen of a\*, b\* and L\*: lower and upper end of each.
    pub range: [[f64; 2]; 3],
}

/// One shade.
#[derive(Debug, Clone, PartialEq)]
pub struct ShadePicture {
    /// Its id.
    pub id: String,
    /// A letter that stands for it in the picture.
    pub letter: char,
    /// Its name for people.
    pub name: String,
    /// Its colour on a screen; approximate.
    pub srgb: [u8; 3],
    /// The region of a\* and b\* in which the next part lies with 95 %.
    pub ellipse: Ellipse,
    /// Median and central 95 % of the next part in L\*, a\*, b\*: low, median, high.
    pub next_part: [[f64; 3]; 3],
    /// Its specimens.
    pub specimens: Vec<Point>,
    /// How many of them count.
    pub counted: usize,
}

/// An ellipse in the plane of a\* and b\*.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ellipse {
    /// Its middle.
    pub centre: [f64; 2],
    /// Its half axes as vectors.
    pub axes: [[f64; 2]; 2],
}

/// A specimen.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Its id.
    pub id: String,
    /// L\*, a\*, b\*.
    pub lab: [f64; 3],
    /// Standard deviation of each.
    pub sd: [f64; 3],
    /// Whether it was set aside.
    pub set_aside: bool,
}

impl Ellipse {
    /// Points along it.
    pub fn outline(&self, count: usize) -> Vec<[f64; 2]> {
        let at = |i: usize| {
            let angle = std::f64::consts::TAU * i as f64 / count as f64;
            let (sin, cos) = (libm::sin(angle), libm::cos(angle));
            [0, 1].map(|axis| self.centre[axis] + cos * self.axes[0][axis] + sin * self.axes[1][axis])
        };
        (0..count).map(at).collect()
    }
}

impl FamilyPicture {
    /// The picture of a reference set.
    pub fn of(references: &References) -> Result<Self, ReferencesProblem> {
        let predictive = Predictive::from_references(references)?;
        let mut shades = Vec::new();
        for (expected, letter) in predictive.shades().iter().zip(('A'..='Z').chain('a'..='z').cycle()) {
            let Some(shade) = references.shades.iter().find(|shade| shade.id == expected.id) else {
                continue;
            };
            let points = shade.specimens.iter().map(|specimen| Point {
                id: specimen.id.clone(),
                lab: specimen.lab,
                sd: specimen.sd,
                set_aside: specimen.is_set_aside(),
            });
            let quantiles =
                |axis: usize| [0.025, 0.5, 0.975].map(|p| expected.next_part.marginal_quantile(axis, p));
            shades.push(ShadePicture {
                id: shade.id.clone(),
                letter,
                name: shade.name().to_owned(),
                srgb: to_srgb8(Lab::new(expected.mean[0], expected.mean[1], expected.mean[2])),
                ellipse: ellipse_of(&expected.next_part),
                next_part: [0, 1, 2].map(quantiles),
                specimens: points.collect(),
                counted: expected.specimens,
            });
        }
        let range = [1, 2, 0].map(|axis| range_of(&shades, axis));
        Ok(Self { shades, range })
    }
}

/// The ellipse of equal density that holds 95 % of a mixture in a\* and b\*. Its components have nearly one centre and
/// nearly proportional covariances, so each is taken as a multiple of the whole one.
fn ellipse_of(part: &Mixture<3>) -> Ellipse {
    let (mean, cov) = part.moments();
    let plane =
        |cov: &nalgebra::Matrix3<f64>| Matrix2::new(cov[(1, 1)], cov[(1, 2)], cov[(2, 1)], cov[(2, 2)]);
    let whole = plane(&cov);
    let inverse = whole.try_inverse().unwrap_or_else(Matrix2::identity);
    let inside = |reach: f64| -> f64 {
        let of = |c: &crate::stats::Component<3>| {
            let scale = 0.5 * (inverse * plane(&c.cov)).trace();
            c.weight * chi_squared_cdf(reach / scale.max(1e-9), 2.0)
        };
        part.components().iter().map(of).sum()
    };
    let (mut low, mut high) = (0.0, 100.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if inside(middle) < 0.95 { low = middle } else { high = middle }
    }
    let eigen = whole.symmetric_eigen();
    let axis = |i: usize| {
        let v: Vector2<f64> = eigen.eigenvectors.column(i) * (eigen.eigenvalues[i].max(0.0) * high).sqrt();
        [v[0], v[1]]
    };
    Ellipse { centre: [mean[1], mean[2]], axes: [axis(0), axis(1)] }
}

/// From the lowest to the highest that is drawn along an axis of Lab, with some room.
fn range_of(shades: &[ShadePicture], axis: usize) -> [f64; 2] {
    let mut ends = [f64::INFINITY, f64::NEG_INFINITY];
    let mut take = |v: f64| ends = [ends[0].min(v), ends[1].max(v)];
    for shade in shades {
        shade.next_part[axis].into_iter().for_each(&mut take);
        shade.specimens.iter().for_each(|point| take(point.lab[axis]));
        if axis > 0 {
            shade.ellipse.outline(64).iter().for_each(|point| take(point[axis - 1]));
        }
    }
    let room = 0.04 * (ends[1] - ends[0]) + 0.5;
    if ends[0] <= ends[1] { [ends[0] - room, ends[1] + room] } else { [0.0, 1.0] }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::demo::references;

    /// The ellipse holds 95 % of draws, and each axis's interval too.
    #[test]
    fn what_is_drawn_holds_95_per_cent() {
        let references = references();
        let picture = FamilyPicture::of(&references).unwrap();
        let predictive = Predictive::from_references(&references).unwrap();
        for (shade, expected) in picture.shades.iter().zip(predictive.shades()) {
            let draws = expected.next_part.draws(4000, 3).unwrap();
            let axes = shade.ellipse.axes.map(Vector2::from);
            let inside = |x: &nalgebra::Vector3<f64>| {
                let d = Vector2::new(x[1] - shade.ellipse.centre[0], x[2] - shade.ellipse.centre[1]);
                axes.iter().map(|a| (d.dot(a) / a.norm_squared()).powi(2)).sum::<f64>() < 1.0
            };
            let share = draws.iter().filter(|x| inside(x)).count() as f64 / 4000.0;
            assert!((0.935..0.965).contains(&share), "{}: {share}", shade.name);
            let [low, _, high] = shade.next_part[0];
            let share = draws.iter().filter(|x| (low..high).contains(&x[0])).count() as f64 / 4000.0;
            assert!((0.935..0.965).contains(&share), "{}: {share}", shade.name);
        }
        assert_eq!(picture.shades.iter().map(|s| s.letter).collect::<String>(), "ABC");
    }
}
