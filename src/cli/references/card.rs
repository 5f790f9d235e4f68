//! A printed card's own greys: from a measured table, or from a photo beside a bought grey reference.

use std::path::Path;

use crate::card::CardFile;
use crate::card::known::{CARD_VERSION, KnownStep, card_to_text};
use crate::cli::output::print;
use crate::problem::Problem;
use crate::storage::save_atomically;

/// Writes `*.card.json`. The lightest of the colours is step 1; there must be as many as the card has steps, each clearly
/// darker than the one before.
pub(super) fn write_card(
    path: &Path,
    name: &str,
    mut steps: Vec<KnownStep>,
    replace: bool,
) -> Result<(), Problem> {
    if path.exists() && !replace {
        return Err(Problem::new(
            format!("{} is there already; nothing was written.", path.display()),
            "Name another file, or take that one away first.",
        ));
    }
    steps.sort_by(|p, q| q.lab[0].total_cmp(&p.lab[0]));
    let said: String = (1..)
        .zip(&steps)
        .map(|(number, step)| {
            let ([l, a, b], [sl, sa, sb]) = (step.lab, step.sd);
            format!("  step {number}: L* {l:.1} ± {sl:.1}, a* {a:.1} ± {sa:.1}, b* {b:.1} ± {sb:.1}\n")
        })
        .collect();
    let card =
        CardFile { sameshot_card: CARD_VERSION, print: name.to_owned(), steps, rest: serde_json::Map::new() };
    save_atomically(path, card_to_text(&card)?.as_bytes())?;
    print(&format!("{name}\n{said}Written to {}.\n", path.display()));
    Ok(())
}
