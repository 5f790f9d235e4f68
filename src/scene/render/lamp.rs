//! Rectangular lamps and the light of the room, on bodies and in gloss.

use super::trace::{Ray, lamp_seen};
use super::{Part, V3};
use crate::scene::spectrum::Spectrum;

/// A shining rectangle: a window, a softbox, a lamp's head.
#[derive(Debug, Clone, PartialEq)]
pub struct Lamp {
    /// Its spectrum, of unit luminance.
    pub light: Spectrum,
    /// Luminance of the rectangle.
    pub radiance: f64,
    /// Its middle in mm.
    pub centre: V3,
    /// Half its width as a vector.
    pub across: V3,
    /// Half its height as a vector, at a right angle to `across`.
    pub up: V3,
    /// Cells across and up for its shadow: few for a small lamp.
    pub cells: [u32; 2],
}

/// Light from all sides.
#[derive(Debug, Clone, PartialEq)]
pub struct Ambient {
    /// Its spectrum, of unit luminance.
    pub light: Spectrum,
    /// Luminance straight above and at the height of the eyes.
    pub radiance: [f64; 2],
}

/// A point of a surface and how it is turned.
#[derive(Debug, Clone, Copy)]
pub struct Spot {
    /// Where, in mm.
    pub at: V3,
    /// Unit normal.
    pub normal: V3,
}

impl Lamp {
    /// A lamp of half size `half_mm` (across, up) at `centre`, turned to shine on `target`; its upper edge is level.
    pub fn aimed(light: Spectrum, radiance: f64, centre: V3, target: V3, half_mm: [f64; 2]) -> Self {
        let shining = (target - centre).normalize();
        let across = V3::y().cross(&shining).try_normalize(1e-9).unwrap_or(V3::x());
        let up = shining.cross(&across);
        Self { light, radiance, centre, across: across * half_mm[0], up: up * half_mm[1], cells: [3, 3] }
    }

    /// Irradiance of a spot over π, that is the luminance of a white body there.
    pub fn on_body(&self, parts: &[Part], spot: &Spot) -> f64 {
        let [columns, rows] = self.cells;
        let cell_area = 4.0 * self.across.norm() * self.up.norm() / f64::from(columns * rows);
        let facing = self.facing();
        let mut sum = 0.0;
        for row in 0..rows {
            for column in 0..columns {
                let u = (2.0 * f64::from(column) + 1.0) / f64::from(columns) - 1.0;
                let v = (2.0 * f64::from(row) + 1.0) / f64::from(rows) - 1.0;
                let to = self.centre + self.across * u + self.up * v - spot.at;
                let far = to.norm();
                let along = to / far;
                let shining = -along.dot(&facing);
                // A cell is no point: towards its edge of sight the cosine fades instead of stopping.
                let spread = libm::sqrt(cell_area / std::f64::consts::PI) / far;
                let cosine = faded_cosine(spot.normal.dot(&along), spread);
                if cosine <= 0.0 || shining <= 0.0 {
                    continue;
                }
                let ray = Ray { from: spot.at + spot.normal * 0.12, along };
                let seen = lamp_seen(parts, &ray, spread, far);
                sum += seen * cosine * shining * cell_area / (far * far);
            }
        }
        self.radiance * sum / std::f64::consts::PI
    }

    /// Mean luminance that a gloss lobe of standard deviation `gloss_rad` around a direction sees of it: the
    /// rectangle folded with a Gaussian.
    pub fn in_gloss(&self, parts: &[Part], spot: &Spot, mirrored: &V3, gloss_rad: f64) -> f64 {
        let facing = self.facing();
        let approach = -mirrored.dot(&facing);
        if approach <= 1e-3 {
            return 0.0;
        }
        let far = (spot.at - self.centre).dot(&facing) / approach;
        if far <= 0.0 {
            return 0.0;
        }
        let on_plane = spot.at + mirrored * far - self.centre;
        let blur_mm = gloss_rad * far;
        let share = |half: &V3| {
            let size = half.norm();
            let place = on_plane.dot(half) / size;
            // The plane is seen at a slant; blur along it is wider, which the mean of both covers well enough.
            let wide = blur_mm / libm::sqrt(approach.max(0.2));
            (normal_share((place + size) / wide) - normal_share((place - size) / wide)).max(0.0)
        };
        let coverage = share(&self.across) * share(&self.up);
        if coverage < 1e-3 {
            return 0.0;
        }
        let ray = Ray { from: spot.at + spot.normal * 0.15, along: *mirrored };
        self.radiance * coverage * lamp_seen(parts, &ray, gloss_rad.clamp(0.03, 0.12), far)
    }

    fn facing(&self) -> V3 {
        self.across.cross(&self.up).normalize()
    }
}

impl Ambient {
    /// Luminance of the room in a direction.
    pub fn towards(&self, direction: &V3) -> f64 {
        let [above, level] = self.radiance;
        let height = direction.y.max(0.0);
        level + (above - level) * height
    }

    /// Irradiance over π on a body turned so, with nothing in the way; the lower half gives nothing.
    pub fn on_body(&self, normal: &V3) -> f64 {
        let sky = 0.5 + 0.5 * normal.y;
        let [above, level] = self.radiance;
        sky * (level + (above - level) * (0.35 + 0.3 * normal.y))
    }
}

/// max(cosine, 0) with its corner rounded over ±`width`.
fn faded_cosine(cosine: f64, width: f64) -> f64 {
    if cosine >= width {
        return cosine;
    }
    if cosine <= -width {
        return 0.0;
    }
    (cosine + width) * (cosine + width) / (4.0 * width)
}

/// Cumulative standard normal distribution.
fn normal_share(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}
