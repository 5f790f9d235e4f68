//! Many photos of many specimens → one colour a specimen: ten photos of one torso are not ten torsos.
//!
//! # Model
//!
//! In L\*, a\*, b\* together, reading r of specimen i in photo p of camera c is
//!
//! x_r = θ_i + camera_c + photo_p + own_r,
//!
//! θ_i the specimen's own colour (flat prior here: the spread of specimens about their shade is the business of
//! [`super::predictive`], which gets each specimen once). The light model says of each reading its covariance, and how much
//! of it the readings of one photo share; two that share an error with covariances S and T vary together by S^½ T^½. Of
//! the shared part, half of the variance is the camera's and stays the
//! same in all its photos; the rest is the photo's. A specimen's colour is the mean of its readings, each weighed by its
//! own variance, and the joint covariance of all specimens is that of these means under the model. The best linear weights
//! would lie outside 0 to 1 where readings of unequal bars share nearly all their error, and so carry a colour beyond all
//! its readings on the strength of correlations that are only guessed (R. W. Peelle's puzzle); a mean cannot.
//!
//! Repeated photos also tell whether photos scatter more than the light model says: a factor on the photo's and the own
//! part, the same for all, is estimated by restricted maximum likelihood with a prior of 8 degrees of freedom about 1,
//! coordinate by coordinate (taken as independent for this one number).
//! It never shrinks a bar, since what photos of one camera and card share cannot be seen between them (the same
//! one-sidedness as that of the Birge ratio, R. T. Birge, Phys. Rev. 40:207, 1932).
//!
//! # Constants
//!
//! | constant | value | where from |
//! |---|---|---|
//! | camera's share of a photo's variance | one half | common practice, no source; the repeated photos of one telephone in the chart set scatter by 1.6 to 1.9 CIEDE2000 where their error is 5 |
//! | prior of the factor | 8 degrees of freedom | common practice, no source |

use nalgebra::{Cholesky, DMatrix, DVector, Matrix3, Vector3};

use super::covariance::{parts, positive, root, rounded};
use super::details::{Details, PhotoReading};
use super::references::{Method, References};

/// Share of a photo's common variance that all photos of its camera have in common.
const CAMERA_SHARE: f64 = 0.5;
/// Degrees of freedom of the prior of the squared factor.
const FACTOR_DOF: f64 = 8.0;
/// Step and ends of the grid over the logarithm of the factor.
const FACTOR_STEP: f64 = 0.1;
const FACTOR_STEPS: std::ops::RangeInclusive<i32> = -10..=18;

/// What pooling found.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Pooling {
    /// Specimens whose colour was pooled from photos.
    pub specimens: usize,
    /// Readings that went into them.
    pub readings: usize,
    /// Photos scatter so many times as much as they said; 1 or more.
    pub photo_factor: f64,
}

/// Pools the photos of every specimen that has some, and writes its Lab, standard deviation and the part of it that is
/// shared. Readings and specimens that were set aside stay in the file and do not count. Specimens without photos are
/// left as they are.
pub fn pool(references: &mut References) -> Pooling {
    let data = Data::of(references);
    if data.readings.is_empty() {
        return Pooling { photo_factor: 1.0, ..Pooling::default() };
    }
    let photo_factor = data.photo_factor();
    let solved = data.solve(photo_factor);
    let mut pooled = 0;
    for (index, (shade, specimen)) in data.specimens.iter().enumerate() {
        let group: Vec<usize> = (0..data.specimens.len())
            .filter(|other| {
                data.specimens[*other].0 == *shade && data.camera_of(*other) == data.camera_of(index)
            })
            .collect();
        let Some(target) = references.shades.get_mut(*shade).and_then(|s| s.specimens.get_mut(*specimen))
        else {
            continue;
        };
        let (sd, correlation) = parts(&solved.cov(index, index));
        target.lab = solved.estimates[index].map(rounded);
        target.sd = sd.map(|sd| sd.max(0.001));
        target.method = Method::Photo;
        let mut details = target.details();
        let (shared, correlation_shared) = parts(&solved.shared(index, &group));
        details.sd_shared = Some([0, 1, 2].map(|i| shared[i].min(target.sd[i])));
        (details.correlation, details.correlation_shared) = (Some(correlation), Some(correlation_shared));
        details.shared_with = Some(data.camera_of(index).to_owned());
        target.set_details(&details);
        pooled += 1;
    }
    Pooling { specimens: pooled, readings: data.readings.len(), photo_factor }
}

/// A reading that counts.
struct Counted {
    specimen: usize,
    photo: usize,
    camera: usize,
    lab: [f64; 3],
    /// Standard deviations: what it shares and what is its own.
    shared: [f64; 3],
    own: [f64; 3],
    /// Symmetric root of the covariance that it shares, and the covariance that is its own.
    shared_root: Matrix3<f64>,
    own_cov: Matrix3<f64>,
}

struct Data {
    readings: Vec<Counted>,
    /// Places of the specimens in the references: shade, specimen.
    specimens: Vec<(usize, usize)>,
    /// For each of them the cameras it was seen by, one name.
    cameras_of: Vec<String>,
}

impl Data {
    fn of(references: &References) -> Self {
        let mut data = Self { readings: Vec::new(), specimens: Vec::new(), cameras_of: Vec::new() };
        let (mut photos, mut cameras) = (Names::default(), Names::default());
        for (k, shade) in references.shades.iter().enumerate() {
            for (i, specimen) in shade.specimens.iter().enumerate() {
                let details: Details = specimen.details();
                let counted: Vec<&PhotoReading> =
                    details.photos.iter().filter(|photo| photo.set_aside.is_none()).collect();
                if counted.is_empty() {
                    continue;
                }
                let mut seen_by: Vec<&str> = counted.iter().map(|photo| photo.camera_name()).collect();
                seen_by.sort_unstable();
                seen_by.dedup();
                data.cameras_of.push(seen_by.join(" and "));
                data.specimens.push((k, i));
                for photo in counted {
                    let shared_root = root(&photo.shared_cov());
                    let shared_cov = shared_root * shared_root;
                    let own_cov = positive(&(photo.cov() - shared_cov));
                    let sds = |cov: &Matrix3<f64>| [0, 1, 2].map(|axis| cov[(axis, axis)].max(0.0).sqrt());
                    data.readings.push(Counted {
                        specimen: data.specimens.len() - 1,
                        photo: photos.number(&photo.photo),
                        camera: cameras.number(photo.camera_name()),
                        lab: photo.lab,
                        shared: sds(&shared_cov),
                        own: sds(&own_cov),
                        shared_root,
                        own_cov,
                    });
                }
            }
        }
        data
    }

    fn camera_of(&self, specimen: usize) -> &str {
        self.cameras_of.get(specimen).map_or("", String::as_str)
    }

    /// Covariance of the readings' errors in one coordinate.
    fn errors(&self, axis: usize, photo_factor: f64) -> DMatrix<f64> {
        let n = self.readings.len();
        let square = photo_factor * photo_factor;
        DMatrix::from_fn(n, n, |i, j| {
            let (r, s) = (&self.readings[i], &self.readings[j]);
            let common = r.shared[axis] * s.shared[axis];
            let camera = if r.camera == s.camera { CAMERA_SHARE * common } else { 0.0 };
            let photo = if r.photo == s.photo { (1.0 - CAMERA_SHARE) * common } else { 0.0 };
            let own = if i == j { r.own[axis] * r.own[axis] } else { 0.0 };
            camera + square * (photo + own)
        })
    }

    /// Which specimen each reading is of.
    fn design(&self) -> DMatrix<f64> {
        DMatrix::from_fn(self.readings.len(), self.specimens.len(), |r, i| {
            if self.readings[r].specimen == i { 1.0 } else { 0.0 }
        })
    }

    /// Weights of the readings in the specimens' colours; each row adds up to 1.
    fn weights(&self, axis: usize) -> DMatrix<f64> {
        let precision = |r: &Counted| 1.0 / (r.shared[axis] * r.shared[axis] + r.own[axis] * r.own[axis]);
        let mut weights = self.design().transpose();
        for (i, mut row) in weights.row_iter_mut().enumerate() {
            let own = || self.readings.iter().filter(|r| r.specimen == i);
            let total: f64 = own().map(precision).sum();
            row.iter_mut().zip(&self.readings).for_each(|(weight, r)| *weight *= precision(r) / total);
        }
        weights
    }

    fn solve(&self, photo_factor: f64) -> Solved {
        let count = self.specimens.len();
        let weights = [0, 1, 2].map(|axis| self.weights(axis));
        let mut solved = Solved {
            estimates: vec![[0.0; 3]; count],
            covs: vec![Matrix3::zeros(); count * count],
            cameras: vec![Matrix3::zeros(); count],
        };
        for axis in 0..3 {
            let estimate = &weights[axis] * self.values(axis);
            solved.estimates.iter_mut().zip(estimate.iter()).for_each(|(lab, value)| lab[axis] = *value);
        }
        let weight = |of: usize| -> Matrix3<f64> {
            let specimen = self.readings[of].specimen;
            Matrix3::from_diagonal(&Vector3::from([0, 1, 2].map(|axis| weights[axis][(specimen, of)])))
        };
        let square = photo_factor * photo_factor;
        for (i, r) in self.readings.iter().enumerate() {
            for (j, s) in
                self.readings.iter().enumerate().filter(|(_, s)| s.camera == r.camera || s.photo == r.photo)
            {
                let common = r.shared_root * s.shared_root;
                let camera = if r.camera == s.camera { common * CAMERA_SHARE } else { Matrix3::zeros() };
                let photo = if r.photo == s.photo { common * (1.0 - CAMERA_SHARE) } else { Matrix3::zeros() };
                let own = if i == j { r.own_cov } else { Matrix3::zeros() };
                let (left, right) = (weight(i), weight(j));
                let cov = camera + (photo + own) * square;
                solved.covs[r.specimen * count + s.specimen] += left * cov * right;
                if r.specimen == s.specimen {
                    solved.cameras[r.specimen] += left * camera * right;
                }
            }
        }
        solved
    }

    fn values(&self, axis: usize) -> DVector<f64> {
        DVector::from_iterator(self.readings.len(), self.readings.iter().map(|r| r.lab[axis]))
    }

    /// ln of the restricted likelihood of a factor in one coordinate, up to a constant (H. D. Patterson, R. Thompson,
    /// Biometrika 58:545-554, 1971).
    fn log_likelihood(&self, axis: usize, photo_factor: f64) -> Option<f64> {
        let (design, values) = (self.design(), self.values(axis));
        let factor = Cholesky::new(self.errors(axis, photo_factor))?;
        let inner = Cholesky::new(design.transpose() * factor.solve(&design))?;
        let rest = &values - &design * inner.solve(&(design.transpose() * factor.solve(&values)));
        let misfit = rest.dot(&factor.solve(&rest));
        let log_root = |l: &DMatrix<f64>| l.diagonal().iter().map(|v| libm::log(*v)).sum::<f64>();
        Some(-log_root(&factor.l()) - log_root(&inner.l()) - 0.5 * misfit)
    }

    /// Mean of the factor under its posterior, at least 1; 1 where no specimen has two photos.
    fn photo_factor(&self) -> f64 {
        if self.readings.len() == self.specimens.len() {
            return 1.0;
        }
        let mut weighed: Vec<(f64, f64)> = FACTOR_STEPS
            .filter_map(|step| {
                let log_factor = FACTOR_STEP * f64::from(step);
                let factor = libm::exp(log_factor);
                let prior = -FACTOR_DOF * log_factor - 0.5 * FACTOR_DOF / (factor * factor);
                let likelihood: Option<f64> = (0..3).map(|axis| self.log_likelihood(axis, factor)).sum();
                Some((factor * factor, prior + likelihood?))
            })
            .collect();
        let best = weighed.iter().map(|(_, log)| *log).fold(f64::NEG_INFINITY, f64::max);
        weighed.iter_mut().for_each(|(_, log)| *log = libm::exp(*log - best));
        let total: f64 = weighed.iter().map(|(_, weight)| weight).sum();
        let mean = weighed.iter().map(|(square, weight)| square * weight).sum::<f64>() / total;
        if mean.is_finite() { mean.sqrt().max(1.0) } else { 1.0 }
    }
}

/// The colours of all specimens.
struct Solved {
    estimates: Vec<[f64; 3]>,
    /// Covariances between every two specimens, row by row.
    covs: Vec<Matrix3<f64>>,
    /// The camera's part of each specimen's own covariance.
    cameras: Vec<Matrix3<f64>>,
}

impl Solved {
    fn cov(&self, i: usize, j: usize) -> Matrix3<f64> {
        self.covs[i * self.estimates.len() + j]
    }

    /// Covariance that a specimen has in common with the others of its group: the mean of the covariances between them, or
    /// the camera's part where it is alone.
    fn shared(&self, specimen: usize, group: &[usize]) -> Matrix3<f64> {
        if group.len() < 2 {
            return positive(&self.cameras[specimen]);
        }
        let pairs = group.iter().flat_map(|i| group.iter().filter(move |j| *j != i).map(move |j| (*i, *j)));
        let sum: Matrix3<f64> = pairs.map(|(i, j)| self.cov(i, j)).sum();
        positive(&(sum / (group.len() * (group.len() - 1)) as f64))
    }
}

#[derive(Default)]
struct Names(Vec<String>);

impl Names {
    fn number(&mut self, name: &str) -> usize {
        self.0.iter().position(|known| known == name).unwrap_or_else(|| {
            self.0.push(name.to_owned());
            self.0.len() - 1
        })
    }
}
