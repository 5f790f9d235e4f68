//! ICC profiles (ICC.1:2022), read by `moxcms`: curves and a matrix become a [`Coding`], tables are
//! followed to linear light.

use std::panic::{AssertUnwindSafe, catch_unwind};

use moxcms::{
    ColorProfile, DataColorSpace, Layout, Matrix3d, ProfileText, RenderingIntent, ToneReprCurve,
    TransformOptions, Xyz, Xyzd, adaption_matrix_d,
};
use palette::convert::IntoColorUnclamped;
use palette::white_point::D65;

use crate::color::srgb_encode;
use crate::raster::{Coding, Samples};

/// Reads a profile; an error says in words why it is left aside.
pub(super) fn read(bytes: &[u8]) -> Result<ColorProfile, String> {
    let parsed = catch_unwind(|| ColorProfile::new_from_slice(bytes));
    let profile = match parsed {
        Ok(Ok(profile)) => profile,
        Ok(Err(_)) | Err(_) => return Err("it cannot be read".to_owned()),
    };
    match profile.color_space {
        DataColorSpace::Rgb | DataColorSpace::Gray => Ok(profile),
        other => Err(format!("it is for {other:?}, not for RGB")),
    }
}

/// The profile's own name.
pub(super) fn name(profile: &ColorProfile) -> Option<String> {
    let text = match profile.description.as_ref()? {
        ProfileText::PlainString(text) => text.clone(),
        ProfileText::Localizable(texts) => texts.first()?.value.clone(),
        ProfileText::Description(text) => text.ascii_string.clone(),
    };
    let clean: String = text.chars().filter(|c| !c.is_control()).take(80).collect();
    let clean = clean.trim();
    (!clean.is_empty()).then(|| clean.to_owned())
}

/// The coding of a profile made of curves and a matrix (or of a grey curve); `None` where it is not, or
/// where its numbers make no sense. `levels`: number of codes, 256 or 65536.
pub(super) fn coding(profile: &ColorProfile, levels: usize, grey: bool) -> Option<Coding> {
    if profile.color_space == DataColorSpace::Gray {
        // A grey profile cannot describe three channels.
        let curve = if grey { linear_curve(profile.gray_trc.as_ref()?, levels)? } else { return None };
        let curve = if profile.pcs == DataColorSpace::Lab { luminance_of_lightness(&curve) } else { curve };
        return Some(plain_if_srgb(Coding { curves: [curve.clone(), curve.clone(), curve], to_srgb: None }));
    }
    // A colorimetric table describes a device better than its matrix; the perceptual one is made to please.
    if profile.lut_a_to_b_colorimetric.is_some() || !profile.is_matrix_shaper() {
        return None;
    }
    let columns = [profile.red_colorant, profile.green_colorant, profile.blue_colorant];
    if !usable_colorants(columns) {
        return None;
    }
    let curves = [
        linear_curve(profile.red_trc.as_ref()?, levels)?,
        linear_curve(profile.green_trc.as_ref()?, levels)?,
        linear_curve(profile.blue_trc.as_ref()?, levels)?,
    ];
    Some(plain_if_srgb(Coding { curves, to_srgb: Some(matrix_to_srgb(columns)) }))
}

/// Whether three colorants (XYZ of full red, green and blue) span a space and add up to a white.
pub(super) fn usable_colorants(columns: [Xyzd; 3]) -> bool {
    let white = sum(columns);
    let all = columns.iter().flat_map(|c| [c.x, c.y, c.z]);
    let matrix = nalgebra::Matrix3::from_iterator(all.clone());
    all.clone().all(|v| v.is_finite() && v.abs() < 4.0)
        && [white.x, white.y, white.z].iter().all(|&v| (0.3..3.0).contains(&v))
        && matrix.determinant().abs() > 1e-4
}

fn sum(columns: [Xyzd; 3]) -> Xyzd {
    let total = |axis: fn(&Xyzd) -> f64| columns.iter().map(axis).sum();
    Xyzd { x: total(|c| c.x), y: total(|c| c.y), z: total(|c| c.z) }
}

/// Rows that give linear sRGB from the channels' linear light.
///
/// The white that the colorants add up to (D50 in a sound profile) is carried to the D65 of `palette` by
/// Bradford's transform, the inverse of what [`crate::color`] does next, so that full white is exactly
/// (1, 1, 1) and differences between published D50s cannot tint anything.
fn matrix_to_srgb(columns: [Xyzd; 3]) -> [[f32; 3]; 3] {
    let white = sum(columns);
    let d65 = Xyz { x: 0.950_47, y: 1.0, z: 1.088_83 };
    let scale = 1.0 / white.y;
    let white = Xyz { x: (white.x * scale) as f32, y: 1.0, z: (white.z * scale) as f32 };
    let adapt: Matrix3d = adaption_matrix_d(white, d65);
    let srgb = columns.map(|c| {
        let column = [c.x * scale, c.y * scale, c.z * scale];
        let [x, y, z] = adapt.v.map(|row| row.iter().zip(column).map(|(m, v)| m * v).sum::<f64>());
        let rgb: palette::LinSrgb<f64> = palette::Xyz::<D65, f64>::new(x, y, z).into_color_unclamped();
        [rgb.red as f32, rgb.green as f32, rgb.blue as f32]
    });
    [0, 1, 2].map(|row| [srgb[0][row], srgb[1][row], srgb[2][row]])
}

/// Linear light of each code; `None` where the curve is no rising curve of finite numbers.
fn linear_curve(curve: &ToneReprCurve, levels: usize) -> Option<Vec<f32>> {
    let top = (levels - 1) as f64;
    let values: Option<Vec<f32>> =
        (0..levels).map(|code| curve_value(curve, code as f64 / top).map(|v| v as f32)).collect();
    let values = values?;
    let sound = values.iter().all(|v| (-0.1..=1.5).contains(v));
    let rises = values.last()? - values.first()? > 0.5;
    (sound && rises).then_some(values)
}

/// A curve at `x` in 0..=1 (ICC.1:2022, 10.6 and 10.18). `moxcms` has evaluators, but that of version
/// 0.8.1 for a pure gamma is a quick approximation, which fails for an exponent of 1.8.
fn curve_value(curve: &ToneReprCurve, x: f64) -> Option<f64> {
    match curve {
        ToneReprCurve::Lut(points) => match points.as_slice() {
            [] => Some(x),
            [gamma] => Some(libm::pow(x, f64::from(*gamma) / 256.0)),
            points => {
                let at = x * (points.len() - 1) as f64;
                let left = (at as usize).min(points.len() - 2);
                let [p, q] = [points[left], points[left + 1]].map(|v| f64::from(v) / 65_535.0);
                Some(p + (q - p) * (at - left as f64))
            }
        },
        ToneReprCurve::Parametric(parameters) => {
            let all: Vec<f64> = parameters.iter().map(|&v| f64::from(v)).collect();
            // Y = (aX + b)^g + e above d, cX + f below.
            let [g, a, b, c, d, e, f] = match *all.as_slice() {
                [g] => [g, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0],
                [g, a, b] => [g, a, b, 0.0, -b / a, 0.0, 0.0],
                [g, a, b, c] => [g, a, b, 0.0, -b / a, c, c],
                [g, a, b, c, d] => [g, a, b, c, d, 0.0, 0.0],
                [g, a, b, c, d, e, f] => [g, a, b, c, d, e, f],
                _ => return None,
            };
            Some(if x >= d { libm::pow((a * x + b).max(0.0), g) + e } else { c * x + f })
        }
    }
}

/// L*/100 → Y, for grey profiles whose connection space is Lab (CIE 15:2004, 8.2.1).
fn luminance_of_lightness(curve: &[f32]) -> Vec<f32> {
    let luminance = |l: f32| {
        let f = (f64::from(l) * 100.0 + 16.0) / 116.0;
        if f > 6.0 / 29.0 { f * f * f } else { (f - 4.0 / 29.0) * 108.0 / 841.0 }
    };
    curve.iter().map(|&l| luminance(l) as f32).collect()
}

/// sRGB itself, where a coding is sRGB up to the rounding of profiles: a fortieth of an 8-bit step in
/// the matrix, an eighth in the curves.
fn plain_if_srgb(coding: Coding) -> Coding {
    const MATRIX: f32 = 1e-4;
    const CURVE: f64 = 5e-4;
    let identity = |m: &[[f32; 3]; 3]| {
        (0..3).all(|i| (0..3).all(|j| (m[i][j] - if i == j { 1.0 } else { 0.0 }).abs() < MATRIX * 10.0))
    };
    let levels = coding.curves[0].len();
    let same_curve = |curve: &Vec<f32>| {
        let top = (levels - 1) as f64;
        curve.iter().enumerate().all(|(i, &v)| (srgb_encode(v.into()) - i as f64 / top).abs() < CURVE)
    };
    if coding.to_srgb.as_ref().is_none_or(identity) && coding.curves.iter().all(same_curve) {
        return Coding::srgb(levels);
    }
    coding
}

/// Whether the profile has tables from the device to the connection space.
pub(super) fn has_table(profile: &ColorProfile) -> bool {
    profile.lut_a_to_b_colorimetric.is_some() || profile.lut_a_to_b_perceptual.is_some()
}

/// Linear sRGB of every sample through the profile's tables, by the colorimetric one where there is one.
///
/// `moxcms` resamples the tables to a grid and clips what it gives to 0..1. So the way leads over XYZ, scaled
/// so that white is (1, 1, 1): no surface colour lies outside; and coded by sRGB's curve, near to that of
/// most pictures, so that between the nodes of the grid little is lost.
pub(super) fn through_table(profile: &ColorProfile, samples: &Samples) -> Result<Vec<f32>, String> {
    let failed = || "its tables cannot be followed".to_owned();
    let work = || -> Result<Vec<f32>, moxcms::CmsError> {
        let rendering_intent = if profile.lut_a_to_b_colorimetric.is_some() {
            RenderingIntent::RelativeColorimetric
        } else {
            RenderingIntent::Perceptual
        };
        let options =
            TransformOptions { rendering_intent, prefer_fixed_point: false, ..TransformOptions::default() };
        let mut xyz = ColorProfile::new_srgb();
        xyz.cicp = None;
        [xyz.red_colorant, xyz.green_colorant, xyz.blue_colorant] = XYZ_COLUMNS;
        let transform = profile.create_transform_16bit(Layout::Rgb, &xyz, Layout::Rgb, options)?;
        let [decode, ..] = Coding::srgb(65_536).curves;
        let to_srgb = matrix_to_srgb(XYZ_COLUMNS);
        let mut linear = Vec::new();
        let mut follow = |codes: &[u16]| -> Result<(), moxcms::CmsError> {
            let mut out = vec![0; codes.len()];
            transform.transform(codes, &mut out)?;
            for pixel in out.as_chunks::<3>().0 {
                let [x, y, z] = pixel.map(|code| decode[usize::from(code)]);
                linear.extend(to_srgb.map(|m| m[0] * x + m[1] * y + m[2] * z));
            }
            Ok(())
        };
        const CHUNK: usize = 3 * 65_536;
        match samples {
            Samples::U8(v) => v.chunks(CHUNK).try_for_each(|chunk| {
                follow(&chunk.iter().map(|&c| u16::from(c) * 257).collect::<Vec<_>>())
            })?,
            Samples::U16(v) => v.chunks(CHUNK).try_for_each(follow)?,
            Samples::Linear(_) => return Err(moxcms::CmsError::InvalidLayout),
        }
        Ok(linear)
    };
    catch_unwind(AssertUnwindSafe(work)).map_err(|_| failed())?.map_err(|_| failed())
}

/// XYZ of D50 white (ICC.1:2022, 7.2.16), one component a column; the first takes a tenth of the third with
/// it, since the reds of wide spaces have a Z just below 0.
const XYZ_COLUMNS: [Xyzd; 3] = [
    Xyzd { x: 0.9642, y: 0.0, z: -0.1 * 0.8249 },
    Xyzd { x: 0.0, y: 1.0, z: 0.0 },
    Xyzd { x: 0.0, y: 0.0, z: 1.1 * 0.8249 },
];
