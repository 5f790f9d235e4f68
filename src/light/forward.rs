//! From coded values to Lab, with derivatives.

use std::sync::LazyLock;

use nalgebra::{Matrix3, SMatrix, SVector, Vector3};

use super::Relief;

/// Number of parameters θ: gains 0..3, bends 3..7, flare 7..10, slope in x 10..13, slope in y 13..16,
/// cross terms 16..22, curve of the light over x², xy and y² 22..25.
pub(super) const PARAMETERS: usize = 25;
pub(super) const GAIN: usize = 0;
pub(super) const BEND: usize = 3;
pub(super) const FLARE: usize = 7;
pub(super) const SLOPE_X: usize = 10;
pub(super) const SLOPE_Y: usize = 13;
pub(super) const CROSS: usize = 16;
pub(super) const CURVE: usize = 22;

/// Which channel (second) is mixed into which (first) by each cross term.
pub(super) const CROSS_TERMS: [(usize, usize); 6] = [(0, 1), (0, 2), (1, 0), (1, 2), (2, 0), (2, 1)];

/// Whether a parameter belongs to the camera, and so is the same in all photos that are read together.
pub(super) fn is_of_camera(parameter: usize) -> bool {
    (BEND..FLARE).contains(&parameter) || (CROSS..CURVE).contains(&parameter)
}

/// The place of a photo's parameter among those of all photos: those of the first come first, as of one photo alone, and
/// those of the camera stand there only.
pub(super) fn column(photo: usize, parameter: usize) -> usize {
    if is_of_camera(parameter) { parameter } else { PARAMETERS * photo + parameter }
}

/// Luminance weights of linear sRGB (IEC 61966-2-1).
pub(super) const LUMINANCE: [f64; 3] = [0.212_672_9, 0.715_152_2, 0.072_175_0];

/// The parameters of the forward model; see [`crate::light`].
pub type Theta = SVector<f64, PARAMETERS>;
pub(super) type Jacobian = SMatrix<f64, 3, PARAMETERS>;

/// Lab of an area and how it moves with the parameters and with the coded values.
#[derive(Debug, Clone)]
pub(super) struct Forward {
    pub lab: Vector3<f64>,
    /// dLab / dθ.
    pub by_theta: Jacobian,
    /// dLab / dc.
    pub by_coded: Matrix3<f64>,
    /// How many times as strongly the light varies here as the decoded values do: the slope of the curve in logarithms,
    /// mean over the channels.
    pub contrast: f64,
}

/// White points of D50 (ICC, as palette has it) and Bradford's matrix.
const D50: [f64; 3] = [0.964_22, 1.0, 0.825_21];
const SRGB_TO_XYZ: [[f64; 3]; 3] = [
    [0.412_456_4, 0.357_576_1, 0.180_437_5],
    [0.212_672_9, 0.715_152_2, 0.072_175_0],
    [0.019_333_9, 0.119_192_0, 0.950_304_1],
];
const BRADFORD: [[f64; 3]; 3] =
    [[0.895_1, 0.266_4, -0.161_4], [-0.750_2, 1.713_5, 0.036_7], [0.038_9, -0.068_5, 1.029_6]];

fn matrix(rows: [[f64; 3]; 3]) -> Matrix3<f64> {
    Matrix3::from_fn(|row, column| rows[row][column])
}

/// Linear sRGB → XYZ D50 over its white; every row adds up to 1, so equal channels are exactly neutral.
static TO_RELATIVE_XYZ: LazyLock<Matrix3<f64>> = LazyLock::new(|| {
    let (to_xyz, bradford, d50) = (matrix(SRGB_TO_XYZ), matrix(BRADFORD), Vector3::from(D50));
    let white = to_xyz * Vector3::repeat(1.0);
    let ratio = (bradford * d50).component_div(&(bradford * white));
    let back = bradford.try_inverse().unwrap_or_else(Matrix3::identity);
    Matrix3::from_diagonal(&d50.map(|v| 1.0 / v)) * back * Matrix3::from_diagonal(&ratio) * bradford * to_xyz
});

static FROM_RELATIVE_XYZ: LazyLock<Matrix3<f64>> =
    LazyLock::new(|| TO_RELATIVE_XYZ.try_inverse().unwrap_or_else(Matrix3::identity));

const DELTA: f64 = 6.0 / 29.0;

/// Real surfaces have X, Y, Z above zero; without this smooth floor b* of strong colours runs away where the
/// model is linearised. Least Y, and least X and Z as a share of Y; white = 1.
const LEAST_Y: f64 = 0.002;
const LEAST_SHARE: f64 = 0.1;

/// `z` held above zero smoothly at the scale `floor`, and its derivatives by both.
fn held(z: f64, floor: f64) -> (f64, f64, f64) {
    let root = libm::hypot(z, floor);
    (0.5 * (z + root), 0.5 * (1.0 + z / root), 0.5 * floor / root)
}

/// XYZ over white, held above zero, and its derivative by the XYZ given.
fn real_xyz(raw: &Vector3<f64>) -> (Vector3<f64>, Matrix3<f64>) {
    let (y, dy, _) = held(raw[1], LEAST_Y);
    let mut xyz = Vector3::new(0.0, y, 0.0);
    let mut slope = Matrix3::zeros();
    slope[(1, 1)] = dy;
    for axis in [0, 2] {
        let (value, by_raw, by_floor) = held(raw[axis], LEAST_SHARE * y);
        xyz[axis] = value;
        slope[(axis, axis)] = by_raw;
        slope[(axis, 1)] = by_floor * LEAST_SHARE * dy;
    }
    (xyz, slope)
}

/// Linear sRGB → Lab D50 and dLab / dlinear, for real surfaces: see [`LEAST_Y`].
pub(super) fn lab_of_linear(linear: &Vector3<f64>) -> (Vector3<f64>, Matrix3<f64>) {
    let (xyz, held) = real_xyz(&(*TO_RELATIVE_XYZ * linear));
    let cubic = |t: f64| t > DELTA * DELTA * DELTA;
    let f = xyz.map(|t| if cubic(t) { libm::cbrt(t) } else { t / (3.0 * DELTA * DELTA) + 4.0 / 29.0 });
    let slope = Vector3::from_fn(|axis, _| {
        if cubic(xyz[axis]) { 1.0 / (3.0 * f[axis] * f[axis]) } else { 1.0 / (3.0 * DELTA * DELTA) }
    });
    let lab = Vector3::new(116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2]));
    let mix = matrix([[0.0, 116.0, 0.0], [500.0, -500.0, 0.0], [0.0, 200.0, -200.0]]);
    (lab, mix * Matrix3::from_diagonal(&slope) * held * *TO_RELATIVE_XYZ)
}

/// Lab D50 → linear sRGB.
pub(super) fn linear_of_lab(lab: &Vector3<f64>) -> Vector3<f64> {
    let fy = (lab[0] + 16.0) / 116.0;
    let f = Vector3::new(fy + lab[1] / 500.0, fy, fy - lab[2] / 200.0);
    let xyz = f.map(|v| if v > DELTA { v * v * v } else { 3.0 * DELTA * DELTA * (v - 4.0 / 29.0) });
    *FROM_RELATIVE_XYZ * xyz
}

/// Least and most [`Forward::contrast`], so that a curve that bends back at an end gives no nonsense.
const CONTRAST: (f64, f64) = (0.3, 3.0);
/// Less light than any code has.
const LEAST_LIGHT: f64 = 1e-12;

/// sRGB decoding (odd beyond zero) and its derivative.
pub(super) fn decode(coded: f64) -> (f64, f64) {
    let v = coded.abs();
    if v <= 0.040_45 {
        return (coded / 12.92, 1.0 / 12.92);
    }
    let base = (v + 0.055) / 1.055;
    let power = libm::pow(base, 1.4);
    ((base * power).copysign(coded), 2.4 / 1.055 * power)
}

/// Legendre P1 to P4 of 2|c| − 1 (|c| held at 1.1) and their derivatives by c.
pub(super) fn bends(coded: f64) -> ([f64; 4], [f64; 4]) {
    let v = coded.abs();
    let t = 2.0 * v.min(1.1) - 1.0;
    let (t2, t3) = (t * t, t * t * t);
    let values =
        [t, (3.0 * t2 - 1.0) / 2.0, (5.0 * t3 - 3.0 * t) / 2.0, (35.0 * t2 * t2 - 30.0 * t2 + 3.0) / 8.0];
    let inner = if v < 1.1 { 2.0_f64.copysign(coded) } else { 0.0 };
    let slopes = [1.0, 3.0 * t, (15.0 * t2 - 3.0) / 2.0, (140.0 * t3 - 60.0 * t) / 8.0].map(|d| d * inner);
    (values, slopes)
}

/// The parameters as they are for one area: gloss veils it as flare does.
pub(super) fn veiled(theta: &Theta, relief: Option<Relief>) -> Theta {
    let mut own = *theta;
    own.fixed_rows_mut::<3>(FLARE).add_scalar_mut(relief.map_or(0.0, |relief| relief.gloss));
    own
}

/// What of the forward model a coded channel alone decides.
#[derive(Debug, Clone, Copy)]
pub(super) struct Channel {
    /// Light and its derivative, see [`decode`].
    light: (f64, f64),
    /// See [`bends`].
    bends: ([f64; 4], [f64; 4]),
}

/// An area's coded values for [`forward`].
pub(super) fn channels(coded: &Vector3<f64>) -> [Channel; 3] {
    coded.data.0[0].map(|coded| Channel { light: decode(coded), bends: bends(coded) })
}

/// The forward model for one area; `at` in the model's length units.
pub(super) fn forward(theta: &Theta, coded: &[Channel; 3], at: [f64; 2]) -> Forward {
    let mut lit = Vector3::zeros();
    let mut by_code = Vector3::zeros();
    // Of a black area, where there is no light to weigh by, it is 1.
    let (mut lights, mut contrast) = (LEAST_LIGHT, LEAST_LIGHT);
    let mut bend_values = [[0.0; 4]; 3];
    let squares = [at[0] * at[0], at[0] * at[1], at[1] * at[1]];
    let curve: f64 = (0..3).map(|term| theta[CURVE + term] * squares[term]).sum();
    for channel in 0..3 {
        let Channel { light: (light, slope), bends: (values, slopes) } = coded[channel];
        let dot = |shapes: &[f64; 4]| (0..4).map(|j| theta[BEND + j] * shapes[j]).sum::<f64>();
        let gain = libm::exp(
            theta[GAIN + channel]
                + dot(&values)
                + at[0] * theta[SLOPE_X + channel]
                + at[1] * theta[SLOPE_Y + channel]
                + curve,
        );
        lit[channel] = light * gain;
        by_code[channel] = slope * gain + lit[channel] * dot(&slopes);
        // d ln lit / d ln light, weighed by the light.
        lights += light.abs();
        contrast += light.abs() * (1.0 + light * dot(&slopes) / slope);
        bend_values[channel] = values;
    }
    let linear = lit - theta.fixed_rows::<3>(FLARE);
    let mut mix = Matrix3::identity();
    for (k, &(to, from)) in CROSS_TERMS.iter().enumerate() {
        mix[(to, from)] += theta[CROSS + k];
        mix[(to, to)] -= theta[CROSS + k];
    }
    let (lab, by_linear) = lab_of_linear(&(mix * linear));

    let mut mixed = Jacobian::zeros();
    for channel in 0..3 {
        let column: Vector3<f64> = mix.column(channel).into_owned();
        let mut set = |parameter: usize, value: Vector3<f64>| {
            let sum = mixed.column(parameter) + value;
            mixed.set_column(parameter, &sum);
        };
        set(GAIN + channel, column * lit[channel]);
        set(FLARE + channel, -column);
        set(SLOPE_X + channel, column * (lit[channel] * at[0]));
        set(SLOPE_Y + channel, column * (lit[channel] * at[1]));
        for (term, square) in squares.into_iter().enumerate() {
            set(CURVE + term, column * (lit[channel] * square));
        }
        for j in 0..4 {
            set(BEND + j, column * (lit[channel] * bend_values[channel][j]));
        }
    }
    for (k, &(to, from)) in CROSS_TERMS.iter().enumerate() {
        mixed[(to, CROSS + k)] = linear[from] - linear[to];
    }
    Forward {
        lab,
        by_theta: by_linear * mixed,
        by_coded: by_linear * mix * Matrix3::from_diagonal(&by_code),
        contrast: (contrast / lights).clamp(CONTRAST.0, CONTRAST.1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derivatives_agree_with_differences() {
        let mut theta = Theta::from_fn(|i, _| 0.02 * ((i * 7 % 5) as f64 - 2.0));
        let coded = Vector3::new(0.42, 0.31, 0.66);
        let at = [0.4, -0.3];
        let here = forward(&theta, &channels(&coded), at);
        for parameter in 0..PARAMETERS {
            let h = 1e-6;
            theta[parameter] += h;
            let there = forward(&theta, &channels(&coded), at);
            theta[parameter] -= h;
            let slope = (there.lab - here.lab) / h;
            assert!((slope - here.by_theta.column(parameter)).norm() < 1e-3, "parameter {parameter}");
        }
        for channel in 0..3 {
            let mut moved = coded;
            moved[channel] += 1e-6;
            let slope = (forward(&theta, &channels(&moved), at).lab - here.lab) / 1e-6;
            assert!((slope - here.by_coded.column(channel)).norm() < 1e-2, "channel {channel}");
        }
    }

    /// The slope of the curve in logarithms, by differences; 1 where nothing bends and where all is black.
    #[test]
    fn contrast_is_the_slope_of_the_curve() {
        let plain = Theta::zeros();
        let grey = |v: f64| Vector3::repeat(v);
        assert!((forward(&plain, &channels(&grey(0.5)), [0.0; 2]).contrast - 1.0).abs() < 1e-9);
        let mut bent = plain;
        bent[BEND] = 0.4;
        assert!((forward(&bent, &channels(&grey(0.0)), [0.0; 2]).contrast - 1.0).abs() < 1e-9);
        let light = |coded: f64| libm::log(decode(coded).0);
        let lit = |coded: f64| light(coded) + 0.4 * bends(coded).0[0];
        let slope = (lit(0.501) - lit(0.499)) / (light(0.501) - light(0.499));
        let here = forward(&bent, &channels(&grey(0.5)), [0.0; 2]).contrast;
        assert!(here > 1.1 && (here - slope).abs() < 1e-4, "{here} {slope}");
    }

    #[test]
    fn lab_and_back() {
        let lab = Vector3::new(44.0, -13.0, 22.0);
        // The smooth floor under X and Z moves a* and b* of such a green by 0.28 each.
        assert!((lab_of_linear(&linear_of_lab(&lab)).0 - lab).norm() < 0.4);
        let same = crate::color::lab_in_d50_from_linear_srgb(linear_of_lab(&lab).into());
        assert!((crate::color::column_of(same) - lab).norm() < 2e-3, "{same:?}");
    }
}
