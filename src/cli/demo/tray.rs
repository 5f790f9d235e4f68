//! The tray of loose limbs: its case, which the program makes from its photo, and what it finds beside what is true.

use std::fmt::Write;
use std::path::Path;

use super::compare::{Score, score};
use super::files::{SHADES_NAME, TRAY};
use crate::card::KnownSteps;
use crate::card::known::KnownStep;
use crate::case::{CaseDocument, Known};
use crate::cli::measure::{load, measure_loaded};
use crate::measure::Options;
use crate::photo::{Limits, decode};
use crate::problem::Problem;
use crate::scene::demo::{Truth, case_of};
use crate::tray::Doubt;
use crate::tray::found::{box_edits, look};

/// The case of the tray's photo: its card, the parts in the boxes of the card and the loose parts, as they are found.
/// Told from outside are the greys of the card and which shades lie in its boxes.
pub(super) fn case_of_photo(jpeg: &[u8], truth: &Truth) -> Result<CaseDocument, Problem> {
    let photo = decode(jpeg, &Limits::default())
        .map_err(|error| Problem::new(format!("{error}."), error.remedy()))?;
    let believed: CaseDocument = serde_json::from_value(case_of(truth)).map_err(|error| {
        Problem::new(format!("The tray's truth is damaged: {error}."), "Render it again.")
    })?;
    let steps = believed.zones.iter().filter_map(|zone| match zone.known {
        Known::Lab { lab, sd } => Some(KnownStep { lab, sd }),
        Known::Shade { .. } => None,
    });
    let steps = KnownSteps { steps: steps.collect(), calibrated: true };
    let mut case = CaseDocument::new(&truth.photo);
    case.references = Some(SHADES_NAME.into());
    let found = look(&photo.raster, true);
    for edit in found.card_edits(&case, &steps)?.into_iter().chain(found.part_edits(&case)?) {
        edit.apply(&mut case)?;
    }
    for (n, part) in truth.parts.iter().filter(|part| part.known).enumerate() {
        for edit in box_edits(&case, n + 1, Some(&part.shade)) {
            edit.apply(&mut case)?;
        }
    }
    Ok(case)
}

/// Measures the tray in the folder: what was found in words, and the count.
pub(super) fn findings(folder: &Path) -> Result<(String, Score), Problem> {
    let path = folder.join(format!("{}.case.json", TRAY.name));
    let loaded = load(&path)?;
    // Advice on each open limb would take longer than all the rest.
    let (outcome, problem) = measure_loaded(&loaded, &Options { remedies: false, ..Options::default() });
    if let Some(problem) = problem {
        return Err(problem.in_file(path.display()));
    }
    let truth = super::truth_of(&TRAY)?;
    let limbs = truth.parts.iter().filter(|part| !part.known).count();
    let found = as_found(&truth, &loaded.case);
    let score = score(&outcome.measurement, &found);
    let outlines = loaded.case.loose_parts();
    let doubtful = outlines.iter().filter(|part| !part.doubts.is_empty()).count();
    let mut text = format!("\n{}: {}\n", truth.photo, truth.light);
    let _ = writeln!(
        text,
        "  in the photo: a card of {} greys with {} parts of known shade, {limbs} loose limbs",
        truth.steps.len(),
        truth.parts.len() - limbs
    );
    let _ = writeln!(
        text,
        "  {} outlines, {doubtful} of them doubtful; {} limbs are found apart: {} called as they are, {} called wrong, \
         {} left open",
        outlines.len(),
        found.parts.len(),
        score.right,
        score.wrong,
        score.undecided
    );
    Ok((text, score))
}

/// The truth of the limbs that have an outline and a reading of their own, under the reading's name. What may be several
/// is nobody's.
fn as_found(truth: &Truth, case: &CaseDocument) -> Truth {
    let loose: Vec<_> = truth.parts.iter().filter(|part| !part.known).collect();
    let mut found = Truth { parts: Vec::new(), ..truth.clone() };
    let several = Doubt::MaybeSeveral.code();
    for part in case.loose_parts().iter().filter(|part| part.doubts.iter().all(|doubt| doubt != several)) {
        let outline = part.shape();
        let inside: Vec<_> = loose.iter().filter(|limb| outline.contains(limb.shape.centre())).collect();
        if let ([limb], Some(reading)) = (inside.as_slice(), &part.reading) {
            let mut limb = (**limb).clone();
            limb.id.clone_from(reading);
            found.parts.push(limb);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::to_text;
    use crate::cli::demo::truth_of;

    /// Where this fails after a change of finding, copy the file it names to `assets/demo`.
    #[test]
    fn the_case_of_the_tray_is_what_the_program_finds() {
        let case = case_of_photo(TRAY.photo, &truth_of(&TRAY).unwrap()).unwrap();
        let path = std::env::temp_dir().join("tray.case.json");
        let text = to_text(&case).unwrap();
        std::fs::write(&path, &text).unwrap();
        assert!(text == TRAY.case, "{} is another one", path.display());
        assert_eq!(case.zones.iter().filter(|zone| matches!(zone.known, Known::Shade { .. })).count(), 3);
    }
}
