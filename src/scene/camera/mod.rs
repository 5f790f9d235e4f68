//! Cameras: spectral sensitivities, then the rendering that a maker chose, down to 8 bit.
//!
//! The way of a colour: raw response ([`Camera::raw_of`], linear in the light) → flare and noise
//! ([`noise`]) → white-balance gains ([`balance`]) → matrix to linear sRGB ([`matrix`]) → saturation → tone
//! curve ([`tone`]) → 8-bit code.

pub mod balance;
pub mod matrix;
pub mod noise;
pub mod sensitivity;
pub mod tone;

pub use balance::Gains;
pub use noise::Noise;
pub use tone::Tone;

use super::spectrum::Spectrum;
use super::tables::{Illuminant, observer};

/// A camera and its settings, all but exposure and white balance, which belong to a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Camera {
    /// Red, green and blue sensitivity, scaled so that a perfect white under D65 of unit luminance gives a green of 1.
    pub sensitivities: [Spectrum; 3],
    /// Balanced raw → linear sRGB; each row adds up to 1, so that a balanced neutral stays neutral.
    pub matrix: [[f64; 3]; 3],
    /// Distance from grey multiplied by this in linear light; 1 is faithful.
    pub saturation: f64,
    /// The tone curve.
    pub tone: Tone,
    /// Noise of the sensor.
    pub noise: Noise,
    /// Share of the picture's mean light that is spread over all of it.
    pub flare: f64,
}

/// A light of unit luminance: ∫ E ȳ dλ = 1.
pub fn unit_luminance(light: &Spectrum) -> Spectrum {
    light.scaled(1.0 / light.dot(&observer()[1]))
}

impl Camera {
    /// A camera with the given sensitivities (of any scale), the matrix fitted on the chart under D65 as a
    /// maker would, and everything else faithful: no boost, sRGB curve, no noise, no flare.
    pub fn faithful(sensitivities: &[Spectrum; 3]) -> Self {
        let daylight = unit_luminance(Illuminant::D65.spectrum());
        let scale = 1.0 / sensitivities[1].dot(&daylight);
        let sensitivities = sensitivities.map(|curve| curve.scaled(scale));
        Self {
            matrix: matrix::fitted_on_chart(&sensitivities, &daylight),
            sensitivities,
            saturation: 1.0,
            tone: Tone::Straight,
            noise: Noise::NONE,
            flare: 0.0,
        }
    }

    /// A camera that measures: its sensitivities are the observer's colour-matching functions turned into sRGB
    /// primaries, so that the balanced raw of anything under D65 is its linear sRGB.
    pub fn ideal() -> Self {
        let [x, y, z] = observer();
        // The matrix of IEC 61966-2-1.
        const FROM_XYZ: [[f64; 3]; 3] = [
            [3.240_625_5, -1.537_208_0, -0.498_628_6],
            [-0.968_930_7, 1.875_756_1, 0.041_517_5],
            [0.055_710_1, -0.204_021_1, 1.056_995_9],
        ];
        Self::faithful(&FROM_XYZ.map(|row| x.scaled(row[0]).plus(&y.scaled(row[1])).plus(&z.scaled(row[2]))))
    }

    /// The camera with a matrix that the maker fitted for another light too: `share` 0 keeps the matrix for D65,
    /// 1 takes the one for `light`.
    pub fn tuned_for(&self, light: &Spectrum, share: f64) -> Self {
        let other = matrix::fitted_on_chart(&self.sensitivities, &unit_luminance(light));
        let mixed = |row: usize, column: usize| {
            self.matrix[row][column] + share * (other[row][column] - self.matrix[row][column])
        };
        Self { matrix: [0, 1, 2].map(|row| [0, 1, 2].map(|column| mixed(row, column))), ..self.clone() }
    }

    /// Raw response to a reflectance under a light: ∫ S E R dλ for each channel, linear in both.
    pub fn raw_of(&self, light: &Spectrum, reflectance: &Spectrum) -> [f64; 3] {
        let stimulus = light.times(reflectance);
        self.sensitivities.each_ref().map(|curve| curve.dot(&stimulus))
    }

    /// Raw response to the light itself, as from a perfect white.
    pub fn raw_of_light(&self, light: &Spectrum) -> [f64; 3] {
        self.sensitivities.each_ref().map(|curve| curve.dot(light))
    }

    /// Raw → linear sRGB as the maker renders it, before the tone curve; may leave 0..1.
    pub fn linear_srgb(&self, raw: [f64; 3], gains: Gains) -> [f64; 3] {
        let balanced = gains.applied(raw);
        let linear =
            self.matrix.map(|row| row[0] * balanced[0] + row[1] * balanced[1] + row[2] * balanced[2]);
        let grey = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
        linear.map(|v| grey + (v - grey) * self.saturation)
    }

    /// Raw → coded sRGB, 0..1.
    pub fn coded(&self, raw: [f64; 3], gains: Gains) -> [f64; 3] {
        self.linear_srgb(raw, gains).map(|v| self.tone.coded(v))
    }
}

/// Coded 0..1 → 8-bit code.
pub fn to_8_bit(coded: [f64; 3]) -> [u8; 3] {
    coded.map(|v| libm::round(v.clamp(0.0, 1.0) * 255.0) as u8)
}

#[cfg(test)]
mod tests {
    use super::super::tables::{chart, mosaic_camera, stacked_camera};
    use super::super::truth::lab_in_d50_of;
    use super::*;
    use crate::color::{ciede2000, lab_in_d50_from_linear_srgb};

    /// CIEDE2000 of all patches of the chart, photographed under a light with its own white balanced.
    fn errors(camera: &Camera, light: Illuminant) -> Vec<f64> {
        let light = unit_luminance(light.spectrum());
        let gains = Gains::from_white(camera.raw_of_light(&light));
        let error = |patch| {
            let linear = camera.linear_srgb(camera.raw_of(&light, patch), gains);
            ciede2000(lab_in_d50_of(patch), lab_in_d50_from_linear_srgb(linear))
        };
        chart().iter().map(error).collect()
    }

    fn mean(values: &[f64]) -> f64 {
        values.iter().sum::<f64>() / values.len() as f64
    }

    /// The ideal camera under D65 sees each patch's XYZ under D65; what is left is Bradford's adaptation
    /// to D50 against the reflectance under D50 itself, which is around half a unit.
    #[test]
    fn the_ideal_camera_measures() {
        let errors = errors(&Camera::ideal(), Illuminant::D65);
        assert!(mean(&errors) < 0.5 && errors.iter().all(|&e| e < 2.0), "{errors:?}");
    }

    /// White known, linear raw: mean error 1.2 under D65 and 4.9 under A over 28 measured cameras and 99 measured
    /// reflectances (computed from published data).
    #[test]
    fn measured_cameras_are_as_wrong_as_cameras_are() {
        for sensitivities in [mosaic_camera(), stacked_camera()] {
            let camera = Camera::faithful(sensitivities);
            let (day, lamp) =
                (mean(&errors(&camera, Illuminant::D65)), mean(&errors(&camera, Illuminant::A)));
            assert!((0.3..3.0).contains(&day), "D65: {day}");
            assert!(lamp > day && lamp < 9.0, "A: {lamp}, D65: {day}");
        }
    }

    #[test]
    fn a_matrix_for_the_lamp_helps_under_the_lamp() {
        let plain = Camera::faithful(mosaic_camera());
        let tuned = plain.tuned_for(Illuminant::A.spectrum(), 1.0);
        let [before, after] = [&plain, &tuned].map(|camera| mean(&errors(camera, Illuminant::A)));
        assert!(after < 0.5 * before, "{before} {after}");
        assert_eq!(plain.tuned_for(Illuminant::A.spectrum(), 0.0), plain);
    }

    #[test]
    fn a_balanced_neutral_is_neutral() {
        let camera = Camera { saturation: 1.3, ..Camera::faithful(mosaic_camera()) };
        let light = unit_luminance(Illuminant::Fl11.spectrum());
        let grey = camera.raw_of_light(&light).map(|v| v * 0.18);
        let coded = camera.coded(grey, Gains::from_neutral(grey));
        assert!(coded.iter().all(|v| (v - coded[0]).abs() < 1e-12), "{coded:?}");
    }
}
