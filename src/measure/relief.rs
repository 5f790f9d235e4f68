//! What rounded, glossy surfaces add to the uncertainty of a photo's areas.
//!
//! A surface gets light by its angle to the lamp. Nobody knows the angles of the marked places, but how much they matter
//! can be seen: in light from all sides a limb is evenly bright, under one lamp from the side it is shaded. Let S be the root
//! mean square, over all rounded areas of the photo, of [`Area::shading`] (how far the light varies inside one, standard
//! deviation of its natural logarithm). A place that is turned by a few degrees against the others then gets light that
//! differs by a share of S, and so does all of them together from a flat card: a marked place bends by 15 to 40° each way, so
//! that its normals have a standard deviation of some 16°, and places are turned by 5° against each other. One place alone
//! shows only how the light changes in the direction in which it bends; the others bend otherwise, hence S beside its own.

use nalgebra::{Matrix3, Vector3};

use super::Marked;
use crate::light::{LightSpread, Patch, Relief};
use crate::plastic::Area;

/// White light from gloss and haze that sorting the pixels leaves, over a white's: what is expected, and the standard
/// deviations of one part against others and of all parts of a photo together. Plastic of index 1.5 mirrors
/// ((1.5 − 1)/(1.5 + 1))² = 4 % (Fresnel) of the luminance around it, at any polish: a lamp's own picture stands out and is
/// left away, that of a ceiling or a wall lies over all of the part. Those have 0.05 to 0.3 of the luminance of a white under
/// the lamp, from a dark room to a bright one (plausible, from memory), and parts turned otherwise see other walls. Half a
/// per cent moves a mid green by 0.8 CIEDE2000. A flat card is matt and its values hold for what it throws back.
const GLOSS: f64 = 0.007;
const GLOSS_SD: f64 = 0.002;
const SHARED_GLOSS_SD: f64 = 0.004;

/// How the colour of the light on one rounded surface may differ from that on others, per standard deviation of it inside the
/// marked areas of the photo's parts, and that on all of them from that on a flat card. The share of each of two lamps goes
/// nearly straight with the tilt of a surface: a marked place that bends by 15 to 40° each way has a spread of some 16°, and
/// is tilted by 5° against others and 7° in common with them, as the rehearsal has it.
const OWN_TINT_PER_SPREAD: f64 = 0.35;
const SHARED_TINT_PER_SPREAD: f64 = 0.5;

/// One part's worth of what is usual is counted in with S, so that a single place that is flat, or too small to bend, does not
/// pass for a sign of even light. In the rehearsal S is 0.016 to 0.11 in four photos of five, 0.045 in the middle; taken on the
/// safe side of that.
const USUAL_SHADING: f64 = 0.06;

/// How unsure the light is: its least standard deviation, and how much of the shading of the place itself and of S comes to
/// it, each in the natural logarithm of light.
#[derive(Debug, Clone, Copy)]
struct BySeen {
    least: f64,
    per_shading: f64,
    per_shading_of_all: f64,
}

impl BySeen {
    fn spread(self, shading: f64, of_all: f64) -> LightSpread {
        let seen = libm::hypot(self.per_shading * shading, self.per_shading_of_all * of_all);
        LightSpread { least: self.least, seen }
    }
}

/// The light on one part against others, and that on all of them against a flat card.
///
/// **Places marked by hand.** The rehearsal's geometry (key light 10 to 50° off, 40 to 90 % of the light from all sides, marked
/// places that span 30 to 80° of normals, are turned by 5° against others and by 7° in common, and lie 5 to 20 mm above the
/// card) has, over its photos, √(0.004² + (0.2 shading)² + (0.3 S)²) and 0.5 S. There the numbers here, of fourteen looked
/// at, have the best log score but for those that decide less (2100 scenes, seed 11; ladder 8.38, ladder and known part 3.73,
/// full chart 5.80; a fixed 1.5 % with 0.12 of the shading and a fixed 2.5 % with half of it had 8.41, 3.75 and 5.85). On the
/// demo's photos, which have another geometry, five of 21 parts more are called with them than with the fixed ones, all rightly.
/// Laid at quite another angle the same plastic is still called different in at most 2 % of the scenes.
///
/// **Places that a program chose.** They run along a limb and lie on any of its flanks: in twelve rendered trays the light on
/// them scatters by 6 %. Of 480 limbs the numbers here call 451 rightly and 1 wrongly (a fixed 5 % with 0.4 and half of the
/// shading: 433 and 1), and the bars still hold 99 %.
fn of_light(marked: Marked) -> [BySeen; 2] {
    let by_seen = |[least, per_shading, per_shading_of_all]: [f64; 3]| BySeen {
        least,
        per_shading,
        per_shading_of_all,
    };
    match marked {
        Marked::ByHand => [[0.006, 0.15, 0.2], [0.01, 0.0, 0.35]],
        Marked::ByProgram => [[0.02, 0.3, 0.15], [0.02, 0.0, 0.2]],
    }
    .map(by_seen)
}

/// Tells the rounded ones of all areas of a photo what their surfaces add.
pub(crate) fn set_reliefs(patches: &mut [(&mut Patch, &Area)], marked: Marked) {
    let (mut tint, mut shading2, mut parts) = (Matrix3::zeros(), USUAL_SHADING * USUAL_SHADING, 0.0);
    for (_, area) in patches.iter().filter(|(patch, _)| patch.relief.is_some()) {
        tint += area.tint;
        shading2 += area.shading * area.shading;
        parts += 1.0;
    }
    let shading = (shading2 / (parts + 1.0)).sqrt();
    let tint = main_direction(&(tint / f64::max(parts, 1.0)));
    let [own, shared] = of_light(marked);
    for (patch, area) in patches {
        patch.relief = patch.relief.map(|_| Relief {
            light: own.spread(area.shading, shading),
            shared_light: shared.spread(area.shading, shading),
            gloss: GLOSS,
            gloss_sd: GLOSS_SD,
            shared_gloss_sd: SHARED_GLOSS_SD,
            log_tint: tint * OWN_TINT_PER_SPREAD,
            shared_log_tint: tint * SHARED_TINT_PER_SPREAD,
        });
    }
}

/// One standard deviation along the main direction of a covariance: that of what is seen across all parts on average,
/// since a torso's flat front does not show what its tilt did.
fn main_direction(cov: &Matrix3<f64>) -> Vector3<f64> {
    let eigen = cov.symmetric_eigen();
    let main = eigen.eigenvalues.imax();
    eigen.eigenvectors.column(main) * eigen.eigenvalues[main].max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::Surface;
    use crate::measure::patch_at;
    use crate::plastic::PixelCounts;

    fn area(shading: f64) -> Area {
        Area {
            linear: Vector3::repeat(0.2),
            linear_cov: Matrix3::identity() * 1e-6,
            shading,
            tint: Matrix3::from_diagonal(&Vector3::new(4e-4, 0.0, 1e-4)),
            centre_px: [0.0; 2],
            pixels: PixelCounts::default(),
            inset_px: 0.0,
        }
    }

    fn reliefs(shadings: &[f64], marked: Marked) -> Vec<Relief> {
        let areas: Vec<Area> = shadings.iter().map(|shading| area(*shading)).collect();
        let mut patches: Vec<Patch> =
            areas.iter().map(|area| patch_at(area, Surface::Rounded, [0.0; 2])).collect();
        set_reliefs(&mut patches.iter_mut().zip(&areas).collect::<Vec<_>>(), marked);
        patches.iter().filter_map(|patch| patch.relief).collect()
    }

    #[test]
    fn what_one_part_shows_of_the_light_is_true_for_all() {
        let even = reliefs(&[0.01; 8], Marked::ByHand);
        let shaded = reliefs(&[0.01, 0.01, 0.2], Marked::ByHand);
        assert!(even[0].light.seen < 0.006 && even[0].shared_light.seen < 0.009, "{even:?}");
        // S is 0.105.
        assert!(shaded[0].light.seen > 0.02 && shaded[0].shared_light.seen > 0.03, "{shaded:?}");
        assert!(shaded[2].light.seen > shaded[0].light.seen, "its own shading counts besides");
        assert_eq!(shaded[2].shared_light, shaded[0].shared_light);
        let by_program = reliefs(&[0.01, 0.01, 0.2], Marked::ByProgram);
        assert!(by_program[2].light.seen > shaded[2].light.seen);
    }

    #[test]
    fn one_flat_place_is_no_sign_of_even_light() {
        let (one, many) = (reliefs(&[0.0], Marked::ByHand), reliefs(&[0.0; 12], Marked::ByHand));
        assert!(one[0].shared_light.seen > 2.0 * many[0].shared_light.seen, "{one:?} {many:?}");
        assert!(one[0].light.seen > 0.008, "{one:?}");
    }

    #[test]
    fn tint_goes_along_its_main_direction() {
        let relief = reliefs(&[0.1, 0.1], Marked::ByHand)[0];
        assert!((relief.log_tint.norm() - 0.02 * OWN_TINT_PER_SPREAD).abs() < 1e-9, "{relief:?}");
        assert!(relief.log_tint[0].abs() > 0.999 * relief.log_tint.norm());
    }

    #[test]
    fn a_flat_area_stays_flat() {
        let area = area(0.3);
        let mut patch = patch_at(&area, Surface::Flat, [0.0; 2]);
        set_reliefs(&mut [(&mut patch, &area)], Marked::ByHand);
        assert_eq!(patch.relief, None);
    }
}
