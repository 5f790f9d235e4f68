//! The table for people: Markdown, which reads well on a terminal and in a document.

use std::fmt::Write;

use super::{Rehearsal, Row};

impl Rehearsal {
    /// Three tables: single parts, pairs of parts, and the same scenes by simpler ways.
    pub fn text(&self) -> String {
        let mut text = format!(
            "{} invented scenes, seed {}, board: {}, photos of each: {}.\n\n",
            self.scenes, self.seed, self.board, self.photos
        );
        self.write_rows(&mut text);
        self.write_pairs(&mut text);
        self.write_today(&mut text);
        text
    }

    fn write_rows(&self, text: &mut String) {
        text.push_str(
            "Single parts. Inside: share of true colours inside the 68 and the 95 % region. Off by: median \
             CIEDE2000 to the truth. At best: decided if colours were known exactly. Wrong of decided, and in brackets \
             what the probabilities promise. Calibration error, and in brackets \
             the mean probability of an answer less the share of right ones: + claims too much, - too little.\n\n",
        );
        text.push_str("| family | known | light | inside 68 | inside 95 | decided | at best | wrong of decided | calibration error | log score | off by |\n");
        text.push_str("|---|---|---|--:|--:|--:|--:|--:|--:|--:|--:|\n");
        for row in &self.rows {
            let inside = |level: &str| percent(row.coverage.get(level).copied());
            let _ = writeln!(
                text,
                "| {} | {} | {} | {} | {} | {} | {} | {} | {:.3} ({:+.3}) | {:.1} | {:.1} |",
                row.family,
                row.known,
                row.light,
                inside("68"),
                inside("95"),
                percent(Some(row.decided)),
                percent(Some(row.decided_at_best)),
                wrong(row),
                row.calibration_error,
                row.overconfidence,
                row.log_score,
                row.median_de00
            );
        }
    }

    fn write_pairs(&self, text: &mut String) {
        text.push_str("\nTwo parts of one photo, called different at 95 %.\n\n");
        text.push_str("| family | known | light | same plastic, two angles | neighbouring shades |\n");
        text.push_str("|---|---|---|--:|--:|\n");
        for pair in &self.pairs {
            let _ = writeln!(
                text,
                "| {} | {} | {} | {} | {} |",
                pair.family,
                pair.known,
                pair.light,
                percent(Some(pair.same_called_different)),
                percent(Some(pair.neighbours_called_different))
            );
        }
    }

    fn write_today(&self, text: &mut String) {
        text.push_str(
            "\nWrong calls when each way calls the same share, its surest; in brackets when it must call all. Parts \
             of no shade are left out, as the simpler ways cannot say so.\n\n",
        );
        let habits = self.today.first().map(|row| row.habits.as_slice()).unwrap_or_default();
        let names: String = habits.iter().map(|habit| format!(" {} |", habit.habit)).collect();
        let _ = writeln!(text, "| family | known | light | share called | Sameshot |{names}");
        let _ = writeln!(text, "|---|---|---|--:|--:|{}", "--:|".repeat(habits.len()));
        for row in &self.today {
            let both = |some: f64, all: f64| format!("{} ({})", percent(Some(some)), percent(Some(all)));
            let habits: String =
                row.habits.iter().map(|h| format!(" {} |", both(h.wrong, h.wrong_if_all))).collect();
            let _ = writeln!(
                text,
                "| {} | {} | {} | {} | {} |{habits}",
                row.family,
                row.known,
                row.light,
                percent(Some(row.decided)),
                both(row.wrong, row.wrong_if_all)
            );
        }
    }
}

fn wrong(row: &Row) -> String {
    let promised = row.expected_wrong_among_decided.map(|share| format!(" ({:.1})", 100.0 * share));
    format!("{}{}", percent(row.wrong_among_decided), promised.unwrap_or_default())
}

fn percent(share: Option<f64>) -> String {
    share.map_or_else(|| "–".to_owned(), |share| format!("{:.1} %", 100.0 * share))
}
