//! Findings as readable text.

use std::fmt::Write;

use super::findings::{CERTAIN, Donor, Findings, Ranked, SlotFinding, Who};
use super::reasons::Reason;
use super::signs::percent;
use crate::guide::{Guide, slot_words};

/// Reasons shown for the first and for the others.
const REASONS: (usize, usize) = (6, 2);

impl Findings {
    /// The finding in one sentence.
    pub fn headline(&self) -> String {
        let Some(first) = self.ranking.first() else {
            return self.notes.first().cloned().unwrap_or_else(|| "No finding: the guide has nobody.".into());
        };
        if let Some(pair) = self.composites.first().filter(|pair| pair.probability > first.probability) {
            return format!(
                "Possibly put together from two: upper half {}, {}; lower half {}, {} ({}).",
                pair.upper.character,
                run(&pair.upper.run),
                pair.lower.character,
                run(&pair.lower.run),
                percent(pair.probability)
            );
        }
        let name = first.name();
        if first.probability >= CERTAIN {
            return format!("{name}: {}.", percent(first.probability));
        }
        let doubt = self.ranking.iter().skip(1).take_while(|r| r.probability >= 0.1);
        let others: Vec<String> = doubt.map(|r| format!("{} {}", r.name(), percent(r.probability))).collect();
        match others.is_empty() {
            true => format!("Undecided: most likely {name}, {}.", percent(first.probability)),
            false => format!("Undecided: {name} {}, {}.", percent(first.probability), others.join(", ")),
        }
    }

    /// The whole finding, line by line.
    pub fn text(&self, guide: &Guide) -> String {
        let named = |slot: &str| slot_words(Some(guide), slot);
        let mut out = format!("{}\n", self.headline());
        // Writing to a string cannot fail.
        let mut line = |text: String| _ = writeln!(out, "{text}");
        for (i, ranked) in self.ranking.iter().enumerate().take(5) {
            line(format!("\n{}. {}: {}", i + 1, ranked.name(), percent(ranked.probability)));
            let most = if i == 0 { REASONS.0 } else { REASONS.1 };
            let (against, speaks): (Vec<&Reason>, Vec<&Reason>) =
                ranked.reasons.iter().partition(|r| r.odds < 1.0);
            speaks.iter().take(most).for_each(|r| line(format!("   + {}", r.text)));
            against.iter().take(most).for_each(|r| line(format!("   − {}", r.text)));
        }
        for pair in &self.composites {
            line(format!(
                "\nPut together from two halves: {}, {} above and {}, {} below: {}",
                pair.upper.character,
                run(&pair.upper.run),
                pair.lower.character,
                run(&pair.lower.run),
                percent(pair.probability)
            ));
        }
        if !self.slots.is_empty() {
            line("\nParts".into());
        }
        for slot in &self.slots {
            let word = slot.word();
            let donors: Vec<String> = slot
                .donors
                .iter()
                .take(3)
                .map(|d| format!("{} {}", d.name(), percent(d.probability)))
                .collect();
            let from =
                if donors.is_empty() { String::new() } else { format!("; if not: {}", donors.join(" or ")) };
            line(format!(
                "  {:<12} {word} ({} that it belongs{from})",
                named(&slot.slot),
                percent(slot.belongs)
            ));
        }
        for missing in &self.missing {
            line(format!(
                "  {:<12} missing ({} that the figure had one)",
                named(&missing.slot),
                percent(missing.expected)
            ));
        }
        for condition in &self.condition {
            let state =
                if condition.state.is_empty() { "caution".into() } else { condition.state.join(", ") };
            line(format!("  {:<12} {state}: {}", named(&condition.slot), condition.cautions.join(" ")));
        }
        for sign in &self.signs {
            line(format!("\nSign, {}: {} ({})", named(&sign.slot), sign.sign, percent(sign.probability)));
            line(format!("  {}", sign.text));
            line(format!("  Innocent if: {}.", sign.innocent.join("; ")));
            sign.checks.iter().enumerate().for_each(|(i, check)| line(format!("  Check {}: {check}", i + 1)));
        }
        if !self.next_looks.is_empty() {
            line("\nNext look".into());
        }
        for (i, look) in self.next_looks.iter().enumerate() {
            let bits = format!("{:.2} bit", look.bits);
            line(format!("  {}. {} of {} ({bits}): {}", i + 1, look.feature, named(&look.slot), look.how));
        }
        let told = if self.ranking.is_empty() { 1 } else { 0 };
        for note in self.notes.iter().skip(told) {
            line(format!("\nNote: {note}"));
        }
        line("\nAn opinion from what was seen and measured; no authentication and no appraisal.".into());
        out
    }
}

/// A character and a run as people say them.
pub(crate) fn name_and_run(character: &str, run_id: &str) -> String {
    format!("{character}, {}", run(run_id))
}

macro_rules! named {
    ($($kind:ty),*) => {$(
        impl $kind {
            /// Character and run, for people.
            pub fn name(&self) -> String {
                name_and_run(&self.character, &self.run)
            }
        }
    )*};
}
named!(Ranked, Donor, Who);

impl SlotFinding {
    /// "belongs", "does not belong" or "doubtful", at 95 %.
    pub fn word(&self) -> &'static str {
        match self.belongs {
            p if p >= CERTAIN => "belongs",
            p if p <= 1.0 - CERTAIN => "does not belong",
            _ => "doubtful",
        }
    }
}

/// A run's id as people say it; ids such as "second" want the word "run", "1974 run" does not.
fn run(id: &str) -> String {
    if id.ends_with("run") { id.into() } else { format!("{id} run") }
}
