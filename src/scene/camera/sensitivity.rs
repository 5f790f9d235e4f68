//! Sensitivities: the two measured cameras, and plausible variants of the mosaic one.

use rand::Rng;

use crate::scene::draws::{normal, uniform};
use crate::scene::spectrum::Spectrum;
use crate::scene::tables::{mosaic_camera, stacked_camera};

/// A seeded camera: one in eight has the stacked sensor, all others are variants of the mosaic.
pub fn any(rng: &mut impl Rng) -> [Spectrum; 3] {
    let measured = if uniform(rng) < 0.125 { stacked_camera() } else { mosaic_camera() };
    variant(measured, rng)
}

/// A variant of measured sensitivities: each channel moved by a few nm and narrowed or widened, neighbours mixed
/// by a few per cent, and the infrared filter's edge moved. Spreads are chosen so that the
/// variants differ about as measured cameras do (judged from published curves, from memory).
pub fn variant(measured: &[Spectrum; 3], rng: &mut impl Rng) -> [Spectrum; 3] {
    let filter_edge_nm = 680.0 + 12.0 * normal(rng);
    let warped = measured.each_ref().map(|curve| {
        let shift_nm = 4.0 * normal(rng);
        let width = libm::exp(0.06 * normal(rng));
        let peak_nm = centre_nm(curve);
        Spectrum::from_fn(|nm| {
            let filter = 1.0 / (1.0 + libm::exp((nm - filter_edge_nm) / 8.0));
            curve.at_nm(peak_nm + (nm - peak_nm - shift_nm) / width).max(0.0) * filter
        })
    });
    std::array::from_fn(|channel| {
        let others = [(channel + 1) % 3, (channel + 2) % 3];
        others.iter().fold(warped[channel], |sum, &other| {
            let leak = (0.03 * normal(rng)).clamp(-0.06, 0.1);
            sum.plus(&warped[other].scaled(leak))
        })
    })
}

/// Centre of gravity of a curve in nm.
fn centre_nm(curve: &Spectrum) -> f64 {
    curve.dot(&Spectrum::from_fn(|nm| nm)) / curve.dot(&Spectrum::flat(1.0))
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use rand_xoshiro::Xoshiro256PlusPlus;

    use super::*;
    use crate::color::{ciede2000, lab_in_d50_from_linear_srgb};
    use crate::scene::camera::{Camera, Gains, unit_luminance};
    use crate::scene::tables::{Illuminant, chart};
    use crate::scene::truth::lab_in_d50_of;

    /// White known, linear raw, over 28 measured cameras and 99 measured reflectances: mean 1.21 under D65, 3.09
    /// under LED-B3, 3.98 under FL11, 4.93 under A (computed from published data); the variants must come
    /// within a quarter of each.
    #[test]
    fn variants_err_about_as_measured_cameras_do() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(3);
        let cameras: Vec<Camera> = (0..40).map(|_| Camera::faithful(&any(&mut rng))).collect();
        for (light, known) in [
            (Illuminant::D65, 1.21),
            (Illuminant::LedB3, 3.09),
            (Illuminant::Fl11, 3.98),
            (Illuminant::A, 4.93),
        ] {
            let spectrum = unit_luminance(light.spectrum());
            let mut sum = 0.0;
            for camera in &cameras {
                let gains = Gains::from_white(camera.raw_of_light(&spectrum));
                for patch in chart() {
                    let linear = camera.linear_srgb(camera.raw_of(&spectrum, patch), gains);
                    sum += ciede2000(lab_in_d50_of(patch), lab_in_d50_from_linear_srgb(linear));
                }
            }
            let mean = sum / (40.0 * 24.0);
            println!("{}: mean CIEDE2000 {mean:.2}", light.name());
            assert!((mean / known - 1.0).abs() < 0.25, "{}: {mean}, {known}", light.name());
        }
    }
}
