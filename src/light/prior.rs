//! The prior over the parameters, as independent parts that the budget can name.

use nalgebra::{DMatrix, DVector};

use super::budget::Source;
use super::constants::{Constants, LearnedCoding};
use super::forward::{
    BEND, CROSS, CROSS_TERMS, CURVE, FLARE, GAIN, LUMINANCE, PARAMETERS, SLOPE_X, SLOPE_Y, Theta, column,
    is_of_camera,
};

/// Gaussian prior of one coding: mean, and a list of directions with their sources.
///
/// The covariance is the sum of direction × directionᵀ; independent directions of one source belong together. Directions and
/// covariance are over the parameters of all photos that are read together, see [`column`]: photos of one camera share its
/// curve and its colours, and each has exposure, white balance, flare and the fall of the light by itself.
#[derive(Debug, Clone)]
pub(super) struct Prior {
    /// Of the parameters of each photo.
    pub mean: Theta,
    pub directions: Vec<(Source, DVector<f64>)>,
    /// Sum of direction × directionᵀ; zero where a later photo's camera would stand.
    pub cov: DMatrix<f64>,
}

impl Prior {
    /// Number of photos that are read together.
    pub(super) fn photos(&self) -> usize {
        self.cov.nrows() / PARAMETERS
    }

    /// Whether a place among them holds a parameter: a later photo has no camera of its own.
    pub(super) fn has(&self, column: usize) -> bool {
        column < PARAMETERS || !is_of_camera(column % PARAMETERS)
    }
}

/// A move of the cross terms towards luminance: mixing channel `from` in by its share of luminance.
fn towards_luminance() -> Theta {
    let mut direction = Theta::zeros();
    for (k, &(_, from)) in CROSS_TERMS.iter().enumerate() {
        direction[CROSS + k] = LUMINANCE[from];
    }
    direction
}

fn unit(parameter: usize) -> Theta {
    let mut direction = Theta::zeros();
    direction[parameter] = 1.0;
    direction
}

fn all_channels(first: usize) -> Theta {
    unit(first) + unit(first + 1) + unit(first + 2)
}

/// How much the light may turn from daylight to a lamp's across the photo: standard deviation of the logarithm of blue
/// per length unit. Two lamps over one table are no odd case, and a card in the light of one says nothing of the other's.
/// One part in eight of daylight (CIE D65) replaced by a tungsten lamp's (A) over a length unit. The charts hardly show
/// it, as they lie under one lamp each; in the rehearsal it costs next to nothing.
const WARM_SLOPE_SD: f64 = 0.06;

/// How much the light curves: standard deviation of the logarithm of its strength, a length unit from the middle of the
/// known areas. A near lamp and the corners of a lens fall off so; few known areas leave it at its prior, many bring it
/// out. Of 0, 0.02, 0.05 and 0.1 this has the best log score on owners left out: over the 17 sources 8.17 against 8.23
/// without on greens, 10.62 against 10.63 after all greys, where the 95 % region then holds 89 % and not 87.
const LIGHT_CURVE_SD: f64 = 0.05;

/// From daylight towards a lamp's light, in the logarithms of the channels from `first` on, blue by −1: CIE A over D65
/// in linear sRGB is (1.84, 0.83, 0.23), in logarithms (0.61, -0.19, -1.46).
fn towards_warm(first: usize) -> Theta {
    unit(first) * 0.42 - unit(first + 1) * 0.13 - unit(first + 2)
}

/// The prior of one coding over so many photos of one camera, with the trouble with chroma at `chroma_scale`.
pub(super) fn prior_of(
    coding: &LearnedCoding,
    chroma_scale: f64,
    photos: usize,
    constants: &Constants,
) -> Prior {
    let mut mean = all_channels(GAIN) * coding.log_gain
        + (all_channels(GAIN) * 0.5 - unit(GAIN + 1) * 1.5) * coding.log_gain_green
        + all_channels(FLARE) * coding.flare
        + towards_luminance() * coding.saturation;
    let mut directions = Vec::with_capacity(32);
    let mut both = |source_of_all, source_of_each, first: usize, sd_of_all: f64, sd_of_each: f64| {
        directions.push((source_of_all, all_channels(first) * sd_of_all));
        directions.extend((0..3).map(|channel| (source_of_each, unit(first + channel) * sd_of_each)));
    };
    let k = constants;
    both(Source::Exposure, Source::WhitePoint, GAIN, k.exposure_sd, coding.white_point_sd);
    both(Source::Flare, Source::Flare, FLARE, k.flare_sd, k.flare_tint_sd);
    for first in [SLOPE_X, SLOPE_Y] {
        both(Source::UnevenLight, Source::UnevenTint, first, k.light_slope_sd, k.tint_slope_sd);
    }
    for first in [SLOPE_X, SLOPE_Y] {
        directions.push((Source::UnevenTint, towards_warm(first) * WARM_SLOPE_SD));
    }
    directions.extend((0..3).map(|term| (Source::UnevenLight, unit(CURVE + term) * LIGHT_CURVE_SD)));
    for j in 0..4 {
        mean[BEND + j] = coding.bends[j];
        directions.push((Source::ToneCurve, unit(BEND + j) * coding.bend_sds[j]));
    }
    directions.push((Source::CameraColours, towards_luminance() * (coding.saturation_sd * chroma_scale)));
    directions
        .extend((0..6).map(|term| (Source::CameraColours, unit(CROSS + term) * (k.cross_sd * chroma_scale))));
    let directions = of_each_photo(&directions, photos);
    let mut cov = DMatrix::zeros(PARAMETERS * photos, PARAMETERS * photos);
    directions.iter().for_each(|(_, direction)| cov.ger(1.0, direction, direction, 1.0));
    Prior { mean, directions, cov }
}

/// The directions of one photo as those of all: once for each photo, and those of the camera once.
fn of_each_photo(directions: &[(Source, Theta)], photos: usize) -> Vec<(Source, DVector<f64>)> {
    let all = (0..photos).flat_map(|photo| directions.iter().map(move |of_one| (photo, of_one)));
    let own = all.filter(|(photo, (source, _))| *photo == 0 || !source.is_of_camera());
    let of_photo = |photo: usize, direction: &Theta| {
        over_photos((0..photos).map(|other| if other == photo { *direction } else { Theta::zeros() }))
    };
    own.map(|(photo, (source, direction))| (*source, of_photo(photo, direction))).collect()
}

/// The parameters of each photo as those of all; those of the camera are the first photo's.
pub(super) fn over_photos(thetas: impl ExactSizeIterator<Item = Theta>) -> DVector<f64> {
    let mut all = DVector::zeros(PARAMETERS * thetas.len());
    for (photo, theta) in thetas.enumerate() {
        let own = |parameter: &usize| photo == 0 || !is_of_camera(*parameter);
        for parameter in (0..PARAMETERS).filter(own) {
            all[column(photo, parameter)] = theta[parameter];
        }
    }
    all
}
