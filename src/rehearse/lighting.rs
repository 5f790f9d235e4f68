//! Light across a photo: lamps, unevenness, the angle of surfaces.

use rand::Rng;

use super::Evenness;
use super::plastics::below;
use super::shot::Spot;
use crate::scene::Spectrum;
use crate::scene::camera::unit_luminance;
use crate::scene::draws::{normal, uniform};
use crate::scene::tables::Illuminant;

/// Half the height of a 4:3 photo in half widths.
pub(super) const HALF_HEIGHT: f64 = 0.75;
/// Standard deviations of each of two tilts of the marked place of a part against the table, in degrees: of all
/// parts of a photo together, of each against others that are laid alike, and of one laid in another way; of
/// the card. Plausible for someone who marks what faces the camera, from memory.
const COMMON_TILT_SD_DEG: f64 = 7.0;
const ALIKE_TILT_SD_DEG: f64 = 5.0;
const OTHERWISE_TILT_SD_DEG: f64 = 12.0;
const CARD_TILT_SD_DEG: f64 = 2.0;

/// Two lamps, their strengths over the photo, and where the first one stands.
#[derive(Debug, Clone)]
pub(super) struct Lighting {
    /// Spectra of unit luminance.
    pub lamps: [Spectrum; 2],
    /// Share of the second lamp at the middle, and its slope along x and y per half width.
    share: [f64; 3],
    /// Slope of the logarithm of strength along x and y per half width.
    slope: [f64; 2],
    /// Curvature of it.
    bow: f64,
    /// How each lamp stands. Under even light both stand alike.
    stands: [Stand; 2],
    /// Distance of the key light in millimetres.
    distance_mm: f64,
    /// Tilt that all parts of the photo share.
    common_tilt: [f64; 2],
}

/// Where a lamp's light comes from.
#[derive(Debug, Clone, Copy)]
struct Stand {
    /// Angle from straight above, and bearing, in radians.
    from_above: f64,
    bearing: f64,
    /// Share of its light that comes from all sides.
    diffuse: f64,
}

impl Stand {
    fn drawn(rng: &mut impl Rng) -> Self {
        Self {
            from_above: (10.0 + 40.0 * uniform(rng)).to_radians(),
            bearing: std::f64::consts::TAU * uniform(rng),
            diffuse: 0.4 + 0.5 * uniform(rng),
        }
    }
}

/// How a part lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Laid {
    /// As the others of the photo.
    Alike,
    /// In a way of its own.
    Otherwise,
}

impl Lighting {
    pub(super) fn drawn(evenness: Evenness, rng: &mut impl Rng) -> Self {
        let lamp = |rng: &mut _| unit_luminance(Illuminant::ALL[below(11, rng)].spectrum());
        let lamps = [lamp(rng), lamp(rng)];
        let (range, share_range) = match evenness {
            // A careful table: 5 % of strength and one kind of lamp, or two that mix well.
            Evenness::Even => (0.05 * uniform(rng), 0.05 * uniform(rng)),
            // Brightest to darkest place of the photo differ by 30 %, and a second lamp comes in from a side.
            Evenness::Uneven => (0.3, 0.1 + 0.3 * uniform(rng)),
        };
        let middle = match evenness {
            Evenness::Even if uniform(rng) < 0.6 => 0.0,
            _ => 0.2 + 0.6 * uniform(rng),
        };
        let [x, y] = direction(rng);
        // Across the photo in direction (x, y) the corners are apart by 2 (|x| + 0.75 |y|) half widths.
        let reach = 2.0 * (x.abs() + HALF_HEIGHT * y.abs());
        let log_slope = -libm::log(1.0 - range) / reach;
        let [u, v] = direction(rng);
        let share_slope = share_range / (2.0 * (u.abs() + HALF_HEIGHT * v.abs()));
        let (bow, first) = (-0.2 * range * uniform(rng), Stand::drawn(rng));
        let distance_mm = 500.0 + 1000.0 * uniform(rng);
        let common_tilt = tilt(COMMON_TILT_SD_DEG, rng);
        // Two lamps that mix well come from one side; a second one from a side of its own.
        let second = match evenness {
            Evenness::Even => first,
            Evenness::Uneven => Stand::drawn(rng),
        };
        Self {
            lamps,
            share: [middle, share_slope * u, share_slope * v],
            slope: [log_slope * x, log_slope * y],
            bow,
            stands: [first, second],
            distance_mm,
            common_tilt,
        }
    }

    /// The same light on things that lie otherwise.
    pub(super) fn laid_anew(&self, rng: &mut impl Rng) -> Self {
        Self { common_tilt: tilt(COMMON_TILT_SD_DEG, rng), ..self.clone() }
    }

    /// How much light of each lamp falls on a flat card at a place, 1 in the middle.
    pub(super) fn strengths(&self, at: [f64; 2]) -> [f64; 2] {
        let radius_squared = at[0] * at[0] + at[1] * at[1];
        let strength = libm::exp(self.slope[0] * at[0] + self.slope[1] * at[1] + self.bow * radius_squared);
        let share = (self.share[0] + self.share[1] * at[0] + self.share[2] * at[1]).clamp(0.0, 1.0);
        [strength * (1.0 - share), strength * share]
    }

    /// Light of each lamp on a place with this slope along x and y, `height_mm` above the table, over that on a flat card: the
    /// key light by its cosine and the square of its distance, the diffuse light as it is.
    fn on_tilted(&self, tilt: [f64; 2], height_mm: f64) -> [f64; 2] {
        let [tx, ty] = tilt;
        let length = libm::sqrt(1.0 + tx * tx + ty * ty);
        self.stands.map(|Stand { from_above, bearing, diffuse }| {
            let towards = tx * libm::cos(bearing) + ty * libm::sin(bearing);
            let cosine = (libm::sin(from_above) * towards + libm::cos(from_above)) / length;
            let nearer = 1.0 + 2.0 * height_mm * libm::cos(from_above) / self.distance_mm;
            let key = (cosine / libm::cos(from_above)).max(0.0) * nearer;
            diffuse + (1.0 - diffuse) * key
        })
    }

    /// `looks` spots of a rounded part's marked place. The place is a piece of a limb: it bends much in one direction and
    /// little in the other.
    pub(super) fn on_part(&self, laid: Laid, looks: usize, rng: &mut impl Rng) -> Vec<Spot> {
        let own = tilt(if laid == Laid::Alike { ALIKE_TILT_SD_DEG } else { OTHERWISE_TILT_SD_DEG }, rng);
        let height_mm = 5.0 + 15.0 * uniform(rng);
        let [x, y] = direction(rng);
        let around = (15.0 + 25.0 * uniform(rng)).to_radians();
        let along = (5.0 + 15.0 * uniform(rng)).to_radians();
        // Evenly over the place: the golden ratio's multiples fill the second direction.
        (0..looks)
            .map(|look| {
                let u = around * (2.0 * (look as f64 + 0.5) / looks as f64 - 1.0);
                let v = along * (2.0 * (look as f64 * 0.618_033_988_75).fract() - 1.0);
                let turned = [x * u - y * v, y * u + x * v];
                let spot = [0, 1].map(|axis| libm::tan(self.common_tilt[axis] + own[axis] + turned[axis]));
                Spot { place: turned, lights: self.on_tilted(spot, height_mm) }
            })
            .collect()
    }

    /// Light on a card that does not lie quite flat.
    pub(super) fn on_card(&self, rng: &mut impl Rng) -> Spot {
        Spot { place: [0.0; 2], lights: self.on_tilted(tilt(CARD_TILT_SD_DEG, rng).map(libm::tan), 0.0) }
    }
}

fn tilt(sd_deg: f64, rng: &mut impl Rng) -> [f64; 2] {
    [sd_deg.to_radians() * normal(rng), sd_deg.to_radians() * normal(rng)]
}

fn direction(rng: &mut impl Rng) -> [f64; 2] {
    let angle = std::f64::consts::TAU * uniform(rng);
    [libm::cos(angle), libm::sin(angle)]
}
