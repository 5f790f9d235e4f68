//! A family as text: what is known of each shade, how often shades would be confused, what does not fit.

use std::fmt::Write;

use super::geometry::FamilyPicture;
use crate::report::percent;
use crate::shade::ageing::{Ageing, Hypothesis, settling_check};
use crate::shade::{Confusion, Help, OneWay, Outlier, References};

/// What is said of a family besides its shades.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FamilyOptions {
    /// Lists every specimen with its photos.
    pub specimens: bool,
}

/// The shades with their specimens.
pub fn family_text(references: &References, picture: &FamilyPicture, options: &FamilyOptions) -> String {
    let mut text = format!(
        "Family {}: {} shades. Where the next part of each lies with 95 % (Lab D50):\n\n",
        references.family,
        picture.shades.len()
    );
    let widest =
        picture.shades.iter().map(|shade| shade.name.chars().count()).max().unwrap_or(0).clamp(5, 30);
    let _ = writeln!(
        text,
        "  {:<w$}  specimens   L*                   a*                     b*",
        "shade",
        w = widest + 2
    );
    for shade in &picture.shades {
        let range = |axis: usize| {
            let [low, middle, high] = shade.next_part[axis];
            format!("{middle:.1} ({low:.1} to {high:.1})")
        };
        let name: String = shade.name.chars().take(widest).collect();
        let _ = writeln!(
            text,
            "  {} {name:<widest$}  {:>9}   {:<19}  {:<21}  {}",
            shade.letter,
            shade.counted,
            range(0),
            range(1),
            range(2)
        );
    }
    text.push('\n');
    text += &few_text(picture);
    if options.specimens {
        text += &specimens_text(references);
    }
    text += &scatter_text(references);
    text += &ageing_text(references);
    text
}

/// Few specimens are few.
fn few_text(picture: &FamilyPicture) -> String {
    let with = |count: std::ops::RangeInclusive<usize>| -> Vec<&str> {
        picture.shades.iter().filter(|s| count.contains(&s.counted)).map(|s| s.name.as_str()).collect()
    };
    let mut text = String::new();
    let (one, few) = (with(1..=1), with(2..=4));
    if !one.is_empty() {
        let _ = writeln!(
            text,
            "One specimen only: {}. How far its parts scatter cannot be seen from one; the range is that of the family's \
             other shades and of common moulding, with the long tails of a Student-t distribution.",
            one.join(", ")
        );
    }
    if !few.is_empty() {
        let _ = writeln!(
            text,
            "Few specimens: {}. Their ranges have long tails; five are a start, ten are good.",
            few.join(", ")
        );
    }
    text
}

fn specimens_text(references: &References) -> String {
    let mut text = String::from("\nSpecimens:\n");
    for shade in &references.shades {
        let _ = writeln!(text, "  {}", shade.name());
        for specimen in &shade.specimens {
            let details = specimen.details();
            let [l, a, b] = specimen.lab;
            let [sl, sa, sb] = specimen.sd;
            let mut said = vec![specimen.method.name().to_owned()];
            said.extend(details.condition.map(|condition| condition.name().to_owned()));
            said.extend(details.side.map(|side| format!("{} side", side.name())));
            said.extend(details.part.as_ref().map(|part| format!("of {part}")));
            said.extend((specimen.aged && details.condition.is_none()).then(|| "aged".to_owned()));
            said.extend(details.date.clone());
            said.extend(specimen.note.clone());
            let _ = writeln!(
                text,
                "    {}: L* {l:.1} ± {sl:.1}, a* {a:.1} ± {sa:.1}, b* {b:.1} ± {sb:.1} ({})",
                specimen.id,
                said.join(", ")
            );
            if let Some(reason) = &details.set_aside {
                let _ = writeln!(text, "      set aside: {reason}");
            }
            for photo in &details.photos {
                let [l, a, b] = photo.lab;
                let camera = photo.camera_name();
                let aside =
                    photo.set_aside.as_ref().map_or(String::new(), |reason| format!("; set aside: {reason}"));
                let _ = writeln!(text, "      {} ({camera}): {l:.1}, {a:.1}, {b:.1}{aside}", photo.photo);
            }
        }
    }
    text
}

/// How far photos of one specimen and specimens of one shade scatter, as an analysis of variance has it.
fn scatter_text(references: &References) -> String {
    let mut text = String::new();
    let axes = ["L*", "a*", "b*"];
    let photos = |axis: usize| -> Vec<Vec<f64>> {
        let specimens = references.shades.iter().flat_map(|shade| &shade.specimens);
        let of = |d: crate::shade::Details| {
            d.photos.iter().filter(|p| p.set_aside.is_none()).map(|p| p.lab[axis]).collect()
        };
        specimens.filter(|s| !s.is_set_aside()).map(|s| of(s.details())).collect()
    };
    let specimens = |axis: usize| -> Vec<Vec<f64>> {
        let of = |shade: &crate::shade::Shade| {
            shade.specimens.iter().filter(|s| !s.is_set_aside()).map(|s| s.lab[axis]).collect()
        };
        references.shades.iter().map(of).collect()
    };
    let mut line = |what: &str, groups: &dyn Fn(usize) -> Vec<Vec<f64>>| {
        let found: Option<Vec<String>> = (0..3)
            .map(|axis| {
                OneWay::of_groups(&groups(axis))
                    .map(|found| format!("{} {:.2}", axes[axis], found.within_sd()))
            })
            .collect();
        if let Some(found) = found {
            let _ =
                writeln!(text, "{what} scatter by {} (standard deviation, as measured).", found.join(", "));
        }
    };
    line("Photos of one specimen", &photos);
    line("Specimens of one shade", &specimens);
    text
}

fn ageing_text(references: &References) -> String {
    let ageing = Ageing::of_references(references);
    if ageing.pairs == 0 {
        return String::new();
    }
    let [l, a] = ageing.slope;
    let [sl, sa] = ageing.slope_sd;
    let mut text = format!(
        "Ageing, from {} pairs of a sheltered and an exposed place: for each unit that b* rises, L* changes by {l:.2} ± {sl:.2} and \
         a* by {a:.2} ± {sa:.2}; b* has risen by {:.1} on average.\n",
        ageing.pairs, ageing.amount
    );
    if !ageing.against.is_empty() {
        let _ = writeln!(
            text,
            "The exposed side is less yellow than the sheltered one: {}. Cleaned, faded, or mixed up? Look again.",
            ageing.against.join(", ")
        );
    }
    text
}

/// How often shades would be confused, and what would help.
pub fn confusion_text(
    references: &References,
    table: &Confusion,
    reading_sd: [f64; 3],
    helps: &[Help],
) -> String {
    let [l, a, b] = reading_sd;
    let name = |id: &str| {
        references.shades.iter().find(|shade| shade.id == id).map_or(id, |shade| shade.name()).to_owned()
    };
    let share = |v: f64| if v < 0.005 { "-".to_owned() } else { format!("{:.0} %", 100.0 * v) };
    let mut text = format!(
        "\nOf parts of each shade, read with an error of {l:.1}, {a:.1}, {b:.1} in L*, a*, b*, are called (invented parts; known to \
         about 2 %):\n"
    );
    for (i, id) in table.shades.iter().enumerate() {
        let mut said = vec![
            format!("rightly {}", share(table.called[i][i])),
            format!("undecided {}", share(table.undecided[i])),
        ];
        for (j, other) in table.shades.iter().enumerate() {
            if j != i && table.called[i][j] >= 0.005 {
                said.push(format!("{} {}", name(other), share(table.called[i][j])));
            }
        }
        if table.none[i] >= 0.005 {
            said.push(format!("none of these {}", share(table.none[i])));
        }
        let _ = writeln!(text, "  {}: {}", name(id), said.join(", "));
    }
    let _ = writeln!(text, "Together {} are called rightly. What would help:", share(table.right()));
    for help in helps {
        let _ = writeln!(text, "  {}: {}", help.what, share(help.right));
    }
    text
}

/// What does not fit, and what to do.
pub fn outliers_text(outliers: &[Outlier]) -> String {
    if outliers.is_empty() {
        return String::new();
    }
    let mut text = String::from(
        "\nThese do not fit the others. Nothing was left out; look at them, and set aside what is wrong, with a reason:\n",
    );
    for outlier in outliers {
        let [l, a, b] = outlier.away;
        let what = outlier.photo.as_ref().map_or_else(
            || format!("specimen {}", outlier.specimen),
            |photo| format!("photo {photo} of specimen {}", outlier.specimen),
        );
        let _ = writeln!(
            text,
            "  {what} ({}): away by L* {l:+.1}, a* {a:+.1}, b* {b:+.1}; by chance {}",
            outlier.shade,
            if outlier.by_chance < 0.001 {
                "under 0.1 %".to_owned()
            } else {
                format!("{:.1} %", 100.0 * outlier.by_chance)
            }
        );
    }
    text
}

/// What a reading may be, likeliest first, and the check that would settle it.
pub fn judgement_text(references: &References, hypotheses: &[Hypothesis], ageing: &Ageing) -> String {
    let name = |id: &str| {
        references.shades.iter().find(|shade| shade.id == id).map_or(id, |shade| shade.name()).to_owned()
    };
    let mut ranked: Vec<&Hypothesis> = hypotheses.iter().filter(|h| h.probability >= 0.001).collect();
    ranked.sort_by(|p, q| q.probability.total_cmp(&p.probability));
    let mut text = String::new();
    for hypothesis in ranked {
        let what = match &hypothesis.shade {
            None => "none of these".to_owned(),
            Some(id) if hypothesis.yellowed => {
                format!("{}, yellowed by {:.1} in b*", name(id), hypothesis.change[2])
            }
            Some(id) => format!("{}, as moulded", name(id)),
        };
        let _ = writeln!(text, "  {what}: {}", percent(hypothesis.probability));
    }
    let learned = if ageing.pairs == 0 {
        "No pairs of a sheltered and an exposed place are in this set, so the direction of ageing is a general one (b* up, L* \
         down a little) with a wide spread."
            .to_owned()
    } else {
        format!("The direction of ageing comes from {} pairs of this set.", ageing.pairs)
    };
    let _ = writeln!(text, "{learned}");
    if let Some(check) = settling_check(hypotheses, name) {
        let _ = writeln!(text, "-> {check}");
    }
    text
}
