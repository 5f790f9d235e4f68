//! What there is to see of a family: its picture, the same in words, how often its shades are confused, what does not fit.

use egui::Ui;

use crate::shade::References;

use super::looking::Seen;
use super::panel::wrapped;
use super::plot;
use crate::app::theme;
use crate::app::words;

/// Shows it.
pub(super) fn show(ui: &mut Ui, references: &References, seen: &Seen) {
    plot::show(ui, &seen.picture);
    for shade in &seen.picture.shades {
        let [l, a, b] = shade.next_part;
        let counted = match shade.counted {
            1 => "one specimen, so its spread is a guess".to_owned(),
            few @ 2..=4 => format!("{few} specimens, which are few"),
            many => format!("{many} specimens"),
        };
        wrapped(
            ui,
            &format!(
                "{} {}: L* {:.1} to {:.1}, a* {:.1} to {:.1}, b* {:.1} to {:.1} ({counted})",
                shade.letter, shade.name, l[0], l[2], a[0], a[2], b[0], b[2]
            ),
        );
    }
    ui.add_space(theme::SPACE_M);
    ui.heading("How often would they be confused?");
    let [l, a, b] = seen.reading_sd;
    wrapped(
        ui,
        &format!("Parts read with an error of {l:.1}, {a:.1}, {b:.1} in L*, a*, b*; a call needs 95 %."),
    );
    let name = |id: &str| {
        references.shades.iter().find(|s| s.id == id).map_or(id.to_owned(), |s| s.name().to_owned())
    };
    for (i, id) in seen.confusion.shades.iter().enumerate() {
        let wrong: Vec<String> = seen
            .confusion
            .shades
            .iter()
            .enumerate()
            .filter(|(j, _)| *j != i && seen.confusion.called[i][*j] >= 0.005)
            .map(|(j, other)| format!("{} {}", name(other), words::percent(seen.confusion.called[i][j])))
            .collect();
        let wrong = if wrong.is_empty() { "another shade hardly ever".to_owned() } else { wrong.join(", ") };
        wrapped(
            ui,
            &format!(
                "{}: rightly {}, undecided {}, {wrong}",
                name(id),
                words::percent(seen.confusion.called[i][i]),
                words::percent(seen.confusion.undecided[i])
            ),
        );
    }
    wrapped(ui, &format!("Called rightly now: {}. What would help:", words::percent(seen.confusion.right())));
    for help in &seen.helps {
        wrapped(ui, &format!("•  {}: {}", help.what, words::percent(help.right)));
    }
    if !seen.outliers.is_empty() {
        ui.add_space(theme::SPACE_M);
        ui.heading("These do not fit the others");
        wrapped(ui, "Nothing was left out. Look at them, and set aside what is wrong.");
        for outlier in &seen.outliers {
            let [l, a, b] = outlier.away;
            let photo = outlier.photo.as_ref().map_or(String::new(), |photo| format!(", photo {photo}"));
            wrapped(
                ui,
                &format!(
                    "! {} of {}{photo}: away by L* {l:+.1}, a* {a:+.1}, b* {b:+.1}",
                    outlier.specimen,
                    name(&outlier.shade)
                ),
            );
        }
    }
}
