//! What weakens a result, each with the step that would mend it.

use nalgebra::Vector3;

use super::areas::Areas;
use super::result::SHOWN_UNLIKE;
use super::{Inputs, MarkProblem, Warning};
use crate::case::{Doubt, Known};
use crate::plastic::PixelCounts;

/// Farther than this from the nearest zone, in half photo widths, the slope of the light is guessed.
const FAR: f64 = 0.5;
/// More lightness than this outside the range of the zones, in L\*, asks too much of the tone curve.
const LIGHTNESS_BEYOND: f64 = 12.0;
/// With fewer used pixels than this a single speck of dirt moves the result.
const FEW_PIXELS: usize = 150;
/// Chroma below which a zone counts as grey.
const GREY_CHROMA: f64 = 8.0;

fn warning(code: &str, text: impl Into<String>, remedy: &str) -> Warning {
    Warning { code: code.to_owned(), text: text.into(), remedy: remedy.to_owned() }
}

/// Warnings about the photo as a whole.
pub(super) fn of_photo(inputs: &Inputs, areas: &Areas) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let greys = areas.known.iter().filter(|zone| libm::hypot(zone.lab[1], zone.lab[2]) < GREY_CHROMA).count();
    let known_part = areas.zones.iter().any(|zone| matches!(zone.known, Known::Shade { .. }));
    if areas.known.is_empty() {
        warnings.push(warning(
            "no-zone",
            if areas.left_out.is_empty() {
                "Nothing in this photo has a known colour, so its light is guessed."
            } else {
                "No zone of this photo can be used, so its light is guessed."
            },
            "Mark the steps of a grey card or a part whose shade is certain; or compare parts with each other only.",
        ));
    } else if greys < 2 && !known_part {
        warnings.push(warning(
            "one-grey-step",
            "One known grey says nothing about the camera's tone curve.",
            "Mark more steps of the card, from near black to near white.",
        ));
    }
    warnings.extend(areas.left_out.iter().map(|zone| zone_left_out(zone, None)));
    let shades = inputs.references.iter().flat_map(|references| &references.shades);
    for shade in shades.filter(|shade| shade.specimens.is_empty()) {
        warnings.push(warning(
            "shade-without-specimen",
            format!(
                "The references hold no specimen of shade \"{}\", so no part can be called it.",
                shade.id
            ),
            "Add a measured part of this shade to the references, or take the shade out of them.",
        ));
    }
    if inputs.facts.flash_fired == Some(true) {
        warnings.push(warning(
            "flash",
            "The flash fired: light falls off fast and glare is strong.",
            "Photograph without flash, in diffuse light.",
        ));
    }
    if inputs.facts.profile.is_none() {
        warnings.push(warning(
            "no-profile",
            "The photo has no colour profile; sRGB is assumed.",
            "Use the file as the camera wrote it, not a copy from a message or a web page.",
        ));
    }
    warnings
}

/// Says which zone was not used; `photo` names another photo.
pub(super) fn zone_left_out(zone: &MarkProblem, photo: Option<&str>) -> Warning {
    let where_ = photo.map(|name| format!("In {name}: ")).unwrap_or_default();
    warning("zone-left-out", format!("{where_}{} It was left out.", zone.text), &zone.remedy)
}

/// Warnings about one reading; `lab` is its result.
pub(super) fn of_reading(inputs: &Inputs, areas: &Areas, index: usize, lab: &Vector3<f64>) -> Vec<Warning> {
    let read = &areas.readings[index];
    let mut warnings = of_pixels(&read.area.pixels);
    if inputs.facts.chroma_subsampled && read.area.inset_px < super::areas::INSET_SUBSAMPLED_PX {
        warnings.push(warning(
            "narrow-area",
            format!(
                "The area is so narrow that only {:.0} of {:.0} pixels of edge could be taken off, so colours from beside it bleed in.",
                read.area.inset_px,
                super::areas::INSET_SUBSAMPLED_PX
            ),
            "Draw the area larger or photograph the part closer.",
        ));
    }
    let nearest = areas
        .known
        .iter()
        .map(|zone| libm::hypot(zone.patch.at[0] - read.patch.at[0], zone.patch.at[1] - read.patch.at[1]))
        .fold(f64::INFINITY, f64::min);
    // A board shows how the light falls from there to here.
    if nearest.is_finite() && nearest > FAR && areas.alike.is_empty() {
        warnings.push(warning(
            "card-far",
            "The nearest zone is far away in the photo, where the light may differ.",
            "Lay the card right beside the part.",
        ));
    }
    let lightness = areas.known.iter().map(|zone| zone.lab[0]);
    let (low, high) = lightness.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    if low.is_finite() && (lab[0] < low - LIGHTNESS_BEYOND || lab[0] > high + LIGHTNESS_BEYOND) {
        warnings.push(warning(
            "lightness-apart",
            format!(
                "The part (L* {:.0}) is far in lightness from every zone (L* {low:.0} to {high:.0}).",
                lab[0]
            ),
            "Mark a step of the card that is about as light as the part.",
        ));
    }
    warnings
}

/// Why a loose part is not called.
pub(super) fn may_be_several() -> Warning {
    warning(
        Doubt::MaybeSeveral.code(),
        "What was outlined here may be several parts that touch, so it is called no shade.",
        "Cut it in two in the window, or redraw its outline; or lay the parts apart and photograph them again.",
    )
}

/// Why a part that several photos show is not called.
pub(super) fn shown_unlike() -> Warning {
    warning(
        SHOWN_UNLIKE,
        "The photos that are read together show this part more unlike than their light explains, so it is called no shade.",
        "Look whether its mark lies on the same part in every photo, away from glare and paint; else measure it in one photo.",
    )
}

fn of_pixels(pixels: &PixelCounts) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let share = |count: usize| count as f64 / pixels.looked_at().max(1) as f64;
    if share(pixels.clipped) > 0.05 {
        warnings.push(warning(
            "clipped",
            format!(
                "{:.0} % of the pixels are at the end of the camera's scale.",
                100.0 * share(pixels.clipped)
            ),
            "Photograph darker, or mark a place that is not burnt out.",
        ));
    }
    if share(pixels.glare) > 0.4 {
        warnings.push(warning(
            "glare",
            format!(
                "{:.0} % of the pixels are glare or of another colour than the rest.",
                100.0 * share(pixels.glare)
            ),
            "Mark a matt place of one colour, or turn the part until the shine is gone.",
        ));
    }
    if pixels.used < FEW_PIXELS {
        warnings.push(warning(
            "few-pixels",
            format!("Only {} pixels could be used.", pixels.used),
            "Draw the area larger or photograph the part closer.",
        ));
    }
    warnings
}
