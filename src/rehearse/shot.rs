//! One photo: a camera with its settings under a lighting; surfaces in, statistics of areas out.

use nalgebra::Vector3;
use rand::Rng;

use super::lighting::Lighting;
use super::plastics::below;
use crate::color::srgb_decode;
use crate::plastic::{Area, PixelCounts, levelled, tint_across};
use crate::scene::camera::balance::Automatic;
use crate::scene::camera::noise::with_flare;
use crate::scene::camera::{Gains, Noise, Tone, sensitivity, to_8_bit, unit_luminance};
use crate::scene::draws::{normal, uniform};
use crate::scene::tables::{Illuminant, chart};
use crate::scene::{Camera, Spectrum};
use crate::stats::{mad, median};

/// Neighbouring pixels share demosaicing and compression; so many count as one look, as the plastic room has it.
const PIXELS_PER_LOOK: usize = 64;
/// Fewer looks that are neither burnt out nor black give no area.
const FEWEST_LOOKS: usize = 4;

/// Linear level of a perfect white in the middle of a photo: its median, and the standard deviation of its logarithm.
/// Over the 17 sources of `tests/data/chart-patches-wide.csv` the third and the fourth lightest grey, over their
/// reflectance, have medians 0.88 and 0.83 and deviations 0.40 and 0.55, with the curves of the cameras in them.
const WHITE_LEVEL: f64 = 0.85;
const WHITE_LOG_SD: f64 = 0.45;

/// A camera set up before a scene.
#[derive(Debug, Clone)]
pub(super) struct Shot {
    camera: Camera,
    gains: Gains,
    /// Lamp × sensitivity, so that a raw value is one sum over wavelengths.
    weights: [[Spectrum; 3]; 2],
    /// Raw of a perfect white under either lamp.
    whites: [[f64; 3]; 2],
    /// Mean raw of the picture, for flare.
    mean_raw: [f64; 3],
    lighting: Lighting,
}

/// A surface in a photo.
#[derive(Debug, Clone, Copy)]
pub(super) struct Surface<'a> {
    pub reflectance: &'a Spectrum,
    /// Place in half photo widths from the middle.
    pub at: [f64; 2],
    /// The spots at which it is looked at, as many as independent looks.
    pub spots: &'a [Spot],
    /// White light from gloss and haze that sorting pixels leaves; a white's = 1.
    pub gloss: f64,
}

/// A spot of a surface.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot {
    /// Its place on the surface, in any unit.
    pub place: [f64; 2],
    /// Light of each lamp there over that on a flat card.
    pub lights: [f64; 2],
}

impl Shot {
    pub(super) fn drawn(lighting: Lighting, rng: &mut impl Rng) -> Self {
        let camera = camera(&lighting, rng);
        let weights =
            lighting.lamps.each_ref().map(|lamp| camera.sensitivities.each_ref().map(|s| s.times(lamp)));
        let whites = lighting.lamps.each_ref().map(|lamp| camera.raw_of_light(lamp));
        let strengths = lighting.strengths([0.0; 2]);
        let white = mixed(whites, strengths);
        // A table or a cloth: part grey, part of some colour.
        let grey = 0.1 + 0.4 * uniform(rng);
        let table = chart()[below(24, rng)].scaled(0.4).plus(&Spectrum::flat(0.6 * grey));
        let mean_raw =
            mixed(weights.each_ref().map(|w| w.each_ref().map(|curve| curve.dot(&table))), strengths);
        let daylight = camera.raw_of_light(&unit_luminance(Illuminant::D65.spectrum()));
        let balance = match uniform(rng) {
            choice if choice < 0.6 => {
                let habits =
                    Automatic { grey_world: 0.4 * uniform(rng), completeness: 0.7 + 0.3 * uniform(rng) };
                Gains::automatic(white, mean_raw, daylight, habits)
            }
            choice if choice < 0.8 => Gains::from_neutral(daylight),
            _ => Gains::from_neutral(white),
        };
        let white_level = WHITE_LEVEL * libm::exp(WHITE_LOG_SD * normal(rng));
        let exposure = white_level / balance.applied(white).into_iter().fold(1e-9, f64::max);
        Self { gains: balance.exposed(exposure), camera, weights, whites, mean_raw, lighting }
    }

    /// The same camera and light, exposed so many times as long.
    pub(super) fn exposed(&self, times: f64) -> Self {
        Self { gains: self.gains.exposed(times), ..self.clone() }
    }

    /// The same camera and light, with things laid anew.
    pub(super) fn laid_anew(&self, rng: &mut impl Rng) -> Self {
        Self { lighting: self.lighting.laid_anew(rng), ..self.clone() }
    }

    pub(super) fn lighting(&self) -> &Lighting {
        &self.lighting
    }

    /// What reading this surface's pixels would give; `None` where nearly all are burnt out or black.
    pub(super) fn area(&self, surface: &Surface, rng: &mut impl Rng) -> Option<Area> {
        let strengths = self.lighting.strengths(surface.at);
        let body = self.weights.each_ref().map(|w| w.each_ref().map(|curve| curve.dot(surface.reflectance)));
        let gloss = mixed(self.whites, strengths).map(|v| v * surface.gloss);
        let (places, looks): (Vec<[f64; 2]>, Vec<Vector3<f64>>) = surface
            .spots
            .iter()
            .filter_map(|spot| {
                let body = mixed(body, [0, 1].map(|lamp| strengths[lamp] * spot.lights[lamp]));
                let raw = [0, 1, 2].map(|channel| body[channel] + gloss[channel]);
                let raw = with_flare(raw, self.mean_raw, self.camera.flare);
                let code = to_8_bit(self.camera.coded(self.camera.noise.added(raw, rng), self.gains));
                let usable = code.iter().all(|&v| v > 0 && v < 254);
                usable.then(|| (spot.place, Vector3::from(code.map(|v| srgb_decode(f64::from(v) / 255.0)))))
            })
            .unzip();
        (looks.len() >= FEWEST_LOOKS).then(|| area_of(&places, &looks, surface.spots.len()))
    }
}

/// As the plastic room makes of matt pixels: mean chromaticity at the median lightness.
fn area_of(places: &[[f64; 2]], looks: &[Vector3<f64>], of: usize) -> Area {
    let luminances: Vec<f64> = looks.iter().map(|look| look.sum()).collect();
    let logs: Vec<f64> = luminances.iter().map(|&v| libm::log(v)).collect();
    let (linear, linear_cov) = levelled(looks, median(&luminances), looks.len() as f64);
    Area {
        linear,
        linear_cov,
        shading: mad(&logs),
        tint: tint_across(places, looks, looks.len() as f64),
        centre_px: [0.0; 2],
        pixels: PixelCounts {
            inside: of * PIXELS_PER_LOOK,
            used: looks.len() * PIXELS_PER_LOOK,
            clipped: (of - looks.len()) * PIXELS_PER_LOOK,
            ..PixelCounts::default()
        },
        inset_px: 0.0,
    }
}

fn mixed(of_lamps: [[f64; 3]; 2], strengths: [f64; 2]) -> [f64; 3] {
    [0, 1, 2].map(|channel| of_lamps[0][channel] * strengths[0] + of_lamps[1][channel] * strengths[1])
}

/// How strongly cameras render colours: for most the logarithm scatters about a little less than is true, and some leave
/// them dull, as sensors see them. Chosen so that the chroma of the invented cards scatters as that of the photographed ones:
/// with the curve through the greys taken off, the quartiles of its logarithm over the true one's are −0.39, −0.16 and 0.00
/// (photographed −0.33, −0.11 and −0.04), and those of the greys' contrast 1.03, 1.17 and 1.34 (1.01, 1.22 and 1.38);
/// `tests/charts/invented.rs` holds them side by side.
const LOG_SATURATION: (f64, f64) = (-0.1, 0.15);
const DULL_SHARE: f64 = 0.15;
const DULL_LOG_SATURATION: (f64, f64) = (-1.2, -0.3);

/// A camera as people have them.
fn camera(lighting: &Lighting, rng: &mut impl Rng) -> Camera {
    let plain = Camera::faithful(&sensitivity::any(rng));
    let share = uniform(rng);
    let tuned = if uniform(rng) < 0.5 { plain.tuned_for(&lighting.lamps[0], share) } else { plain };
    let tone = match uniform(rng) {
        choice if choice < 0.25 => Tone::Straight,
        choice if choice < 0.8 => Tone::Curved(0.2 + 0.8 * uniform(rng)),
        _ => Tone::NearLinear,
    };
    let log_saturation = if uniform(rng) < DULL_SHARE {
        DULL_LOG_SATURATION.0 + (DULL_LOG_SATURATION.1 - DULL_LOG_SATURATION.0) * uniform(rng)
    } else {
        LOG_SATURATION.0 + LOG_SATURATION.1 * normal(rng)
    };
    Camera {
        matrix: twisted(tuned.matrix, rng),
        saturation: libm::exp(log_saturation),
        tone,
        noise: Noise { electrons_at_white: 8000.0 + 32_000.0 * uniform(rng), read_electrons: 5.0 },
        flare: 0.02 * uniform(rng),
        ..tuned
    }
}

/// Standard deviation of each cross term of [`twisted`].
const CROSS_SD: f64 = 0.1;

/// Cross terms that makers add to taste: each channel mixed into each other by so much, neutrals kept.
fn twisted(mut matrix: [[f64; 3]; 3], rng: &mut impl Rng) -> [[f64; 3]; 3] {
    for (index, row) in matrix.iter_mut().enumerate() {
        for other in (0..3).filter(|&other| other != index) {
            let move_by = CROSS_SD * normal(rng);
            row[other] += move_by;
            row[index] -= move_by;
        }
    }
    matrix
}
