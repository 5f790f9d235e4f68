//! The place on a part where its plastic can be read.

use super::mask::{self, Size};

/// Middle and radius of the best disc of bare, lit, matt plastic. Paint and glare have another tint than most of the
/// part; deep shade is noisy and takes colour from what is beside it.
///
/// The disc lies on the ridge of the part, halfway between its sides: there the surface faces the camera, on this part
/// as on the others and on the known ones, so that the angle to the light is alike on all.
pub(super) fn matt_place(
    own: &[bool],
    light: &[f32],
    tint: &[[f32; 2]],
    size: Size,
) -> Option<([f64; 2], f64)> {
    const RIDGE_SHARE: f32 = 0.55;
    const TINT_NEAR: f32 = 0.16;
    const DARKER: f32 = 0.75;
    const LIGHTER: f32 = 0.22;
    let inner = mask::depth(own, size);
    let core: Vec<usize> = (0..own.len()).filter(|n| inner[*n] > 2.0).collect();
    if core.len() < 12 {
        return None;
    }
    let middle = |value: &dyn Fn(usize) -> f32, share: f64| {
        let mut values: Vec<f32> = core.iter().map(|n| value(*n)).collect();
        let at = ((values.len() - 1) as f64 * share) as usize;
        *values.select_nth_unstable_by(at, f32::total_cmp).1
    };
    let [red, blue] = [0, 1].map(|axis| middle(&|n| tint[n][axis], 0.5));
    let lit = middle(&|n| light[n], 0.75);
    let is_matt = |n: usize| {
        inner[n] > 1.5
            && libm::hypotf(tint[n][0] - red, tint[n][1] - blue) < TINT_NEAR
            && light[n] > lit - DARKER
            && light[n] < lit + LIGHTER
    };
    let matt = mask::smoothed(&(0..own.len()).map(is_matt).collect::<Vec<_>>(), size, 5);
    let depth = mask::depth(&matt, size);
    let reach = |n: usize| depth[n].min(RIDGE_SHARE * inner[n]);
    let best = (0..own.len())
        .max_by(|a, b| (reach(*a) * inner[*a]).total_cmp(&(reach(*b) * inner[*b])))
        .filter(|best| depth[*best] > 0.0)?;
    // The chamfer distance is up to 8 % too long.
    let radius = 0.95 * f64::from(reach(best)) / 1.08;
    (radius >= 2.0).then(|| (size.centre(best), radius))
}
