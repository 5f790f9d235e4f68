//! What a file says of its colour space → the way from its codes to linear sRGB.

use moxcms::{
    Chromaticity, CicpColorPrimaries, CicpProfile, ColorPrimaries, ColorProfile, MatrixCoefficients,
    ToneReprCurve, TransferCharacteristics,
};

use crate::raster::{Coding, FactNote, Samples};

use super::error::PhotoProblem;
use super::{Limits, icc};

/// A file's statement about its colour space.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum StatedColour {
    /// An embedded ICC profile, not yet judged.
    Icc(Vec<u8>),
    /// Code points of ITU-T H.273 (PNG's cICP, HEIC's nclx).
    Cicp { primaries: u16, transfer: u16 },
    /// sRGB, with where that is said.
    Srgb(&'static str),
    /// Adobe RGB (1998), with where that is said.
    AdobeRgb(&'static str),
    /// Coded value = light ^ gamma; chromaticities x, y of white, red, green and blue.
    Gamma { gamma: f64, chromaticities: Option<[f64; 8]> },
    /// Nothing: sRGB is assumed.
    Nothing,
}

/// Samples with the way to linear sRGB.
pub(super) struct Interpreted {
    pub(super) samples: Samples,
    pub(super) coding: Coding,
    /// Name of the colour space; `None` where sRGB had to be assumed.
    pub(super) name: Option<String>,
    /// What a person should know about it.
    pub(super) note: Option<FactNote>,
}

/// Finds the coding of a picture's samples.
pub(super) fn interpret(
    stated: &StatedColour,
    samples: Samples,
    grey: bool,
    limits: &Limits,
) -> Result<Interpreted, PhotoProblem> {
    let levels = match samples {
        Samples::U8(_) => 256,
        Samples::U16(_) => 65_536,
        Samples::Linear(_) => 0,
    };
    let assumed = |samples, note| Interpreted { samples, coding: Coding::srgb(levels), name: None, note };
    let (profile, name) = match stated {
        StatedColour::Nothing => return Ok(assumed(samples, Some(no_profile()))),
        StatedColour::Srgb(name) => {
            let name = Some((*name).to_owned());
            return Ok(Interpreted { samples, coding: Coding::srgb(levels), name, note: None });
        }
        StatedColour::Icc(bytes) => match icc::read(bytes) {
            Ok(profile) => {
                let name =
                    icc::name(&profile).unwrap_or_else(|| "a colour profile without a name".to_owned());
                (profile, name)
            }
            Err(why) => return Ok(assumed(samples, Some(broken_profile(&why)))),
        },
        StatedColour::AdobeRgb(name) => (ColorProfile::new_adobe_rgb(), (*name).to_owned()),
        StatedColour::Gamma { gamma, chromaticities } => from_gamma(*gamma, *chromaticities),
        StatedColour::Cicp { primaries, transfer } => match from_code_points(*primaries, *transfer)? {
            Some(found) => found,
            None => return Ok(assumed(samples, Some(no_profile()))),
        },
    };
    if let Some(coding) = icc::coding(&profile, levels, grey) {
        return Ok(Interpreted { samples, coding, name: Some(name), note: None });
    }
    if grey || !icc::has_table(&profile) {
        let why = "it does not fit the picture's channels, or has no usable curves";
        return Ok(assumed(samples, Some(broken_profile(why))));
    }
    // Floating-point samples take four times the memory of 8-bit ones.
    limits.check_memory(12 * samples_count(&samples) / 3)?;
    match icc::through_table(&profile, &samples) {
        Ok(linear) => {
            let coding = Coding { curves: [vec![], vec![], vec![]], to_srgb: None };
            let note = FactNote {
                fact: format!("colour profile with tables ({name})"),
                meaning: "It is applied; its steps add a little to the error of a colour.".into(),
            };
            Ok(Interpreted { samples: Samples::Linear(linear), coding, name: Some(name), note: Some(note) })
        }
        Err(why) => Ok(assumed(samples, Some(broken_profile(&why)))),
    }
}

fn samples_count(samples: &Samples) -> u64 {
    match samples {
        Samples::U8(v) => v.len() as u64,
        Samples::U16(v) => v.len() as u64,
        Samples::Linear(v) => v.len() as u64,
    }
}

/// A profile of a power curve. Without chromaticities, and where they are impossible, sRGB's are taken.
fn from_gamma(gamma: f64, chromaticities: Option<[f64; 8]>) -> (ColorProfile, String) {
    let mut profile = ColorProfile::new_srgb();
    profile.cicp = None;
    // 0.45455 is what writers of sRGB put there; the power curve of 2.2 itself is hardly ever meant.
    if (gamma - 0.45455).abs() > 0.001 {
        let curve = Some(ToneReprCurve::Parametric(vec![(1.0 / gamma) as f32]));
        profile.red_trc.clone_from(&curve);
        profile.green_trc.clone_from(&curve);
        profile.blue_trc = curve;
    }
    if let Some([white_x, white_y, red_x, red_y, green_x, green_y, blue_x, blue_y]) = chromaticities {
        let at = |x: f64, y: f64| Chromaticity::new(x as f32, y as f32);
        let primaries =
            ColorPrimaries { red: at(red_x, red_y), green: at(green_x, green_y), blue: at(blue_x, blue_y) };
        // Not yet adapted to D50: the coding takes whatever white the three colorants add up to.
        let to_xyz = primaries.transform_to_xyz_d(at(white_x, white_y).to_xyyb());
        let columns =
            [0, 1, 2].map(|j| moxcms::Xyzd { x: to_xyz.v[0][j], y: to_xyz.v[1][j], z: to_xyz.v[2][j] });
        if white_y > 0.0 && icc::usable_colorants(columns) {
            [profile.red_colorant, profile.green_colorant, profile.blue_colorant] = columns;
        }
    }
    (profile, format!("gamma {:.2}, as the PNG says", 1.0 / gamma))
}

/// A profile for code points of ITU-T H.273, with its name; `None` where they say nothing.
fn from_code_points(primaries: u16, transfer: u16) -> Result<Option<(ColorProfile, String)>, PhotoProblem> {
    match transfer {
        16 => return Err(PhotoProblem::Hdr("PQ")),
        18 => return Err(PhotoProblem::Hdr("HLG")),
        _ => {}
    }
    let known = u8::try_from(primaries).ok().and_then(|p| CicpColorPrimaries::try_from(p).ok());
    let (primaries, gamut) = match known {
        Some(p @ CicpColorPrimaries::Bt709) => (p, "sRGB"),
        Some(p @ CicpColorPrimaries::Smpte432) => (p, "Display P3"),
        Some(p @ CicpColorPrimaries::Bt2020) => (p, "BT.2020"),
        _ => return Ok(None),
    };
    let mut profile = ColorProfile::new_from_cicp(CicpProfile {
        color_primaries: primaries,
        transfer_characteristics: TransferCharacteristics::Srgb,
        matrix_coefficients: MatrixCoefficients::Identity,
        full_range: true,
    });
    // Phones tag stills with the camera curves 1, 6, 14 and 15 of video, and code them as sRGB.
    let curve = match transfer {
        1 | 2 | 6 | 13 | 14 | 15 => ColorProfile::new_srgb().red_trc,
        4 => Some(ToneReprCurve::Parametric(vec![2.2])),
        5 => Some(ToneReprCurve::Parametric(vec![2.8])),
        8 => Some(ToneReprCurve::Lut(vec![])),
        _ => return Ok(None),
    };
    profile.red_trc.clone_from(&curve);
    profile.green_trc.clone_from(&curve);
    profile.blue_trc = curve;
    Ok(Some((profile, format!("{gamut}, as the file's colour codes say"))))
}

fn no_profile() -> FactNote {
    FactNote {
        fact: "no colour profile".into(),
        meaning:
            "sRGB is assumed. If the camera wrote a wider colour space, greens come out too grey by 2 to 3 \
                  CIEDE2000; take the original file rather than one passed on by a messenger or a web page."
                .into(),
    }
}

fn broken_profile(why: &str) -> FactNote {
    FactNote {
        fact: format!("broken colour profile ({why})"),
        meaning:
            "It is left aside and sRGB is assumed, so colours can be off by 2 to 3 CIEDE2000 together; a \
                  known part of the line in the photo evens that out."
                .into(),
    }
}
