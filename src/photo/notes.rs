//! What the facts of a photo mean for the measurement, in plain words.

use crate::raster::{BlockTraces, FactNote};

use super::camera::Shot;

/// Facts about the picture itself.
pub(super) struct Picture {
    pub(super) width: u32,
    pub(super) height: u32,
    pub(super) grey: bool,
    pub(super) transparent: bool,
    pub(super) chroma_subsampled: bool,
    /// An orientation entry that is none.
    pub(super) odd_orientation: Option<u32>,
}

/// Below this many pixels a photo is most likely a reduced copy.
const SMALL_PICTURE_PX: u64 = 1_000_000;
/// From this sensitivity on, small sensors need larger areas to average the noise away. Common practice, no
/// source.
const NOISY_ISO: u32 = 1600;
/// From this correction on, tones lie far from the middle of the camera's curve. Common practice, no source.
const STRONG_BIAS_EV: f64 = 1.0;

/// Notes on the picture, most important first.
pub(super) fn on_picture(picture: &Picture) -> Vec<FactNote> {
    let mut notes = Vec::new();
    if picture.grey {
        notes.push(note(
            "grey picture",
            "It holds lightness only, so a shade can be told by its lightness alone. Take the colour original.",
        ));
    }
    if u64::from(picture.width) * u64::from(picture.height) < SMALL_PICTURE_PX {
        notes.push(note(
            &format!("small picture ({}×{} pixels)", picture.width, picture.height),
            "It is probably a reduced copy: edges are blended and parts have few pixels. Take the original file.",
        ));
    }
    if picture.chroma_subsampled {
        notes.push(note(
            "colour stored coarser than lightness",
            "Usual in photos. Colours bleed some pixels over edges, so areas are read well inside their outline.",
        ));
    }
    if picture.transparent {
        notes.push(note(
            "partly transparent",
            "Pixels that are not fully opaque are not measured; what lay behind them would show through.",
        ));
    }
    if let Some(value) = picture.odd_orientation {
        notes.push(note(
            &format!("orientation entry {value} has no meaning"),
            "The picture is shown as it is stored; nothing else follows.",
        ));
    }
    notes
}

/// Notes on the shot, most important first; `None` where the camera wrote nothing.
pub(super) fn on_shot(shot: Option<&Shot>) -> Vec<FactNote> {
    let Some(shot) = shot else {
        return vec![note(
            "no camera data",
            "The file was probably passed on by a messenger, a web page or an editor, which also compress and \
             change colours. Take the original file where you can.",
        )];
    };
    let mut notes = Vec::new();
    if shot.flash_fired == Some(true) {
        notes.push(note(
            "flash fired",
            "It makes glare and falls off quickly with distance, so card and part are lit unlike. Switch the \
             flash off and take the photo by a window, out of direct sun.",
        ));
    }
    if shot.rendered_specially {
        notes.push(note(
            "rendered specially by the camera (HDR, portrait or night mode, or the like)",
            "Such modes brighten and tint parts of a photo each in its own way. Switch them off, and lay the \
             card right beside the part.",
        ));
    }
    match shot.white_balance_automatic {
        Some(true) => notes.push(note(
            "white balance automatic",
            "The camera chose the tint for this one photo. Within the photo that does no harm; compare with \
             another photo only through a card or a known part in both.",
        )),
        Some(false) => notes.push(note("white balance set by hand", "")),
        None => {}
    }
    if let Some(light) = shot.light_source {
        notes.push(note(&format!("white balance for {light}"), ""));
    }
    if let Some(ev) = shot.bias_ev.filter(|ev| ev.abs() >= STRONG_BIAS_EV) {
        let (word, harm) = if ev > 0.0 { ("brighter", "light") } else { ("darker", "dark") };
        notes.push(note(
            &format!("exposure corrected by {ev:+.1} EV"),
            &format!(
                "The photo was made {word} on purpose: {harm} parts may have lost their colour. Set the \
                 correction to 0 unless the card itself is clipped.",
            ),
        ));
    }
    if let Some(zoom) = shot.digital_zoom {
        notes.push(note(
            &format!("digital zoom {zoom:.1}×"),
            "The pixels were made up between fewer true ones. Go nearer instead of zooming.",
        ));
    }
    for style in &shot.style {
        notes.push(note(
            style,
            "Differences between colours are stretched or squeezed. Set the camera's picture style to normal; a \
             ladder of greys or a known part in the photo evens it out.",
        ));
    }
    if let Some(iso) = shot.iso.filter(|&iso| iso >= NOISY_ISO) {
        notes.push(note(
            &format!("high sensitivity (ISO {iso})"),
            "Noise, and the smoothing against it, change colours of small areas. More light helps; mark large areas.",
        ));
    }
    notes
}

fn note(fact: &str, meaning: &str) -> FactNote {
    FactNote { fact: fact.to_owned(), meaning: meaning.to_owned() }
}

/// Blocks of an earlier compression; blocks of a JPEG's own are what its noise is made of, unless they are strong or were
/// cut since.
pub(super) fn on_blocks(is_jpeg: bool, traces: &BlockTraces) -> Option<FactNote> {
    let meaning = "Use the file as the camera wrote it, not a copy from a web page or a message. Areas are read farther from \
                   their edges, where colour has bled.";
    let fact = match (is_jpeg, traces.offset) {
        (true, 0) if traces.excess < STRONG_BLOCKS => return None,
        (true, 0) => "strong compression: blocks can be seen",
        (true, _) => "compressed more than once and cut in between",
        (false, _) => "compressed as JPEG before it became what it is now",
    };
    Some(FactNote { fact: fact.into(), meaning: meaning.into() })
}

/// Blocks as of JPEG quality 50 and below.
const STRONG_BLOCKS: f64 = 0.15;
