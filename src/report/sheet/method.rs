//! What was assumed, what the result rests on, and how its numbers were made.

use serde_json::{Map, Value};

use super::ReportInputs;
use super::blocks::{Blocks, Sort, words};
use super::plain::name_of;
use crate::report::words::other_photos;
use crate::shade::Priors;

pub(super) fn blocks(inputs: &ReportInputs, blocks: &mut Blocks) {
    blocks.heading("The light of the photo, and what was assumed");
    let mut lines: Vec<String> = match inputs.measurement.light.zones {
        // The warnings say so.
        0 => Vec::new(),
        1 => vec!["The light of the photo was worked out from 1 area of known colour.".into()],
        n => vec![format!("The light of the photo was worked out from {n} areas of known colour.")],
    };
    let light = &inputs.measurement.light;
    for (places, where_) in
        [(light.board, "this photo"), (light.flat_field, "a photo of it empty, under the same light")]
    {
        if places > 0 {
            lines.push(format!(
                "How the light falls was also taken from {places} places of a plain board in {where_}."
            ));
        }
    }
    lines.extend(other_photos(light));
    lines.extend(inputs.measurement.light.warnings.iter().map(|w| format!("{} {}", w.text, w.remedy)));
    lines.extend(assumed(inputs));
    blocks.list(lines);
    blocks.heading("What it rests on");
    sources(inputs, blocks);
    blocks.heading("How the numbers were made");
    blocks.text(format!(
        "In each marked area the pixels of the matt plastic were kept, and glare, burnt-out, dark and edge pixels dropped. What \
         the light and the camera did to the colours was fitted for all marks together, so that errors which the parts share \
         fall out of their comparison. L*, a* and b* are CIE 1976 under D50 for the 2° observer (ISO/CIE 11664-4), differences \
         are CIEDE2000 (ISO/CIE 11664-6). Medians, 95 % intervals and probabilities come from random draws out of the joint \
         distribution (JCGM 101:2008, Monte Carlo), seed {}.",
        inputs.seed
    ));
}

fn assumed(inputs: &ReportInputs) -> Vec<String> {
    let facts = inputs.facts;
    // Where there is no profile, the notes say what was assumed.
    let profile = facts.profile.as_deref().map(name_of);
    let profile = profile.map(|name| format!("The photo's colours are coded as its file says: {name}."));
    let mut lines: Vec<String> = profile.into_iter().collect();
    if inputs.references.is_some() {
        lines.push(format!(
            "Before looking, every shade was held equally likely, and \"none of these\" {:.0} % likely. A shade is called from {} % on.",
            Priors::default().none * 100.0,
            (inputs.confidence * 1000.0).round() / 10.0
        ));
    }
    lines.push(
        "The marks lie on clean, unpainted plastic; paint, dirt or yellowing change what is measured.".into(),
    );
    let camera = [&facts.camera, &facts.exposure, &facts.taken].into_iter().flatten();
    let camera: Vec<String> = camera.map(|text| name_of(text)).collect();
    if !camera.is_empty() {
        lines.push(format!("The photo's file says: {}.", camera.join("; ")));
    }
    lines.extend(facts.notes.iter().map(|note| match note.meaning.is_empty() {
        true => format!("{}.", note.fact),
        false => format!("{}: {}", note.fact, note.meaning),
    }));
    lines
}

/// The files with their versions.
fn sources(inputs: &ReportInputs, blocks: &mut Blocks) {
    let rows = inputs.files.iter().map(|file| {
        let about = match file.role {
            "references" => inputs.references.map(|references| {
                let specimens: usize = references.shades.iter().map(|shade| shade.specimens.len()).sum();
                let family = name_of(&references.family);
                let version = version(&references.rest);
                format!("family {family}, {} shades, {specimens} specimens{version}", references.shades.len())
            }),
            "guide" => inputs.figure.map(|(guide, _)| {
                let maker =
                    guide.maker.as_deref().map_or(String::new(), |maker| format!(" by {}", name_of(maker)));
                let version = version(&guide.rest);
                format!("{}{maker}, {} characters{version}", name_of(&guide.line), guide.characters.len())
            }),
            _ => Some(format!(
                "{} by {} pixels, {}",
                inputs.raster.width(),
                inputs.raster.height(),
                inputs.facts.format
            )),
        };
        [
            words(file.role),
            words(name_of(&file.name)),
            words(about.unwrap_or_default()),
            words(file.sha256.chars().take(16).collect::<String>()),
        ]
    });
    blocks.table(
        "The files, and the first 16 digits of the SHA-256 of each, which tell its version",
        [
            ("role", Sort::Words, 0.13),
            ("file", Sort::Words, 0.29),
            ("what it holds", Sort::Words, 0.35),
            ("SHA-256", Sort::Words, 0.23),
        ],
        rows,
    );
}

/// The version that a file's author gave it, where there is one.
fn version(rest: &Map<String, Value>) -> String {
    match rest.get("version") {
        Some(Value::String(text)) => format!(", version {}", name_of(text)),
        Some(Value::Number(number)) => format!(", version {number}"),
        _ => String::new(),
    }
}
