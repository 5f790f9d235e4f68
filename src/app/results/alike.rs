//! Which parts are of one plastic, of all parts of a photo together. No widget here; `alike_grid` paints it.

use crate::measure::{Measurement, PairResult};

use crate::app::words::{self, SamePlastic};

/// What is said of every two parts.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Alike<'a> {
    /// The parts, in the order of the measurement.
    pub names: Vec<&'a str>,
    pairs: Vec<(usize, usize, &'a PairResult)>,
}

impl<'a> Alike<'a> {
    /// Of a measurement.
    pub(super) fn of(measurement: &'a Measurement) -> Self {
        let names: Vec<&str> = measurement.readings.iter().map(|reading| reading.id.as_str()).collect();
        let at = |id: &str| names.iter().position(|name| *name == id);
        let place = |pair: &'a PairResult| Some((at(&pair.a)?, at(&pair.b)?, pair));
        let pairs = measurement.pairs.iter().filter_map(place).collect();
        Self { names, pairs }
    }

    /// The pair of two parts.
    pub(super) fn pair(&self, one: usize, other: usize) -> Option<&'a PairResult> {
        let found = self.pairs.iter().find(|(a, b, _)| (*a, *b) == (one, other) || (*b, *a) == (one, other));
        found.map(|(_, _, pair)| *pair)
    }

    /// Pairs of which that is said, the most different first.
    pub(super) fn said(&self, said: SamePlastic) -> Vec<&'a PairResult> {
        let pairs = self.pairs.iter().map(|(_, _, pair)| *pair);
        let mut pairs: Vec<_> = pairs.filter(|pair| words::same_plastic(pair) == said).collect();
        pairs.sort_by(|a, b| {
            b.different_plastic.total_cmp(&a.different_plastic).then(b.de00.median.total_cmp(&a.de00.median))
        });
        pairs
    }

    /// All of it in a sentence.
    pub(super) fn sentence(&self) -> String {
        let count = |said| self.pairs.iter().filter(|(_, _, pair)| words::same_plastic(pair) == said).count();
        let [differ, agree, open] =
            [SamePlastic::Different, SamePlastic::Agree, SamePlastic::Unknown].map(count);
        let (all, parts) = (self.pairs.len(), self.names.len());
        let is =
            |one, other, said| self.pair(one, other).is_some_and(|pair| words::same_plastic(pair) == said);
        let differs_from_all =
            |one: &usize| (0..parts).all(|other| other == *one || is(*one, other, SamePlastic::Different));
        let (apart, rest): (Vec<usize>, Vec<usize>) = (0..parts).partition(differs_from_all);
        let rest_agrees = rest
            .iter()
            .all(|one| rest.iter().all(|other| one == other || is(*one, *other, SamePlastic::Agree)));
        let apart: Vec<&str> = apart.into_iter().filter_map(|part| self.names.get(part).copied()).collect();
        match (apart.as_slice(), rest.len()) {
            _ if agree == all && parts == 2 => "Nothing speaks against one plastic in both parts.".into(),
            _ if agree == all => format!("Nothing speaks against one plastic in all {parts} parts."),
            (_, 0) if parts == 2 => "The two parts are of different plastic.".into(),
            (_, 0) => format!("All {parts} parts differ from each other."),
            ([one], rest) if rest_agrees => {
                format!(
                    "{} differs from all other parts; the other {rest} agree with each other.",
                    words::capital(one)
                )
            }
            ([first, .., last], rest) if rest_agrees && apart.len() <= MOST_NAMES => {
                let listed = apart[..apart.len() - 1].join(", ");
                let listed = if apart.len() == 2 { (*first).to_owned() } else { listed };
                format!(
                    "{} and {last} differ from each other and from all other parts; the other {rest} agree with each \
                     other.",
                    words::capital(&listed)
                )
            }
            _ => self.counted([differ, agree, open]),
        }
    }

    /// So many pairs differ, agree, or are open; a single pair that differs is named.
    fn counted(&self, [differ, agree, open]: [usize; 3]) -> String {
        let all = self.pairs.len();
        let first = self.said(SamePlastic::Different).first().copied();
        let differing = match (differ, first) {
            (0, _) => "No two parts are certainly of different plastic".into(),
            (1, Some(pair)) => format!("{} and {} differ", words::capital(&pair.a), pair.b),
            _ => format!("{differ} of {all} pairs differ"),
        };
        let agreeing = match agree {
            0 => String::new(),
            1 => ", 1 pair agrees".into(),
            _ => format!(", {agree} pairs agree"),
        };
        let left = match open {
            0 => String::new(),
            open => format!("; for {} the photo does not tell", words::count(open, "pair", "pairs")),
        };
        format!("{differing}{agreeing}{left}.")
    }
}

/// More parts than this are not listed in the sentence.
const MOST_NAMES: usize = 3;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Interval;

    /// Parts a, b, c, … and the probabilities that they differ, in the order ab, ac, bc, ad, …
    fn sentence(parts: usize, differ: &[f64]) -> String {
        let (mut measurement, _) = crate::app::sample::measurement_and_references();
        let reading = measurement.readings[0].clone();
        let name = |n: usize| char::from(b'a' + n as u8).to_string();
        measurement.readings =
            (0..parts).map(|n| crate::measure::ReadingResult { id: name(n), ..reading.clone() }).collect();
        let of = (0..parts).flat_map(|b| (0..b).map(move |a| (a, b)));
        let de00 = Interval { low: 0.0, median: 1.0, high: 2.0 };
        let pair = |((a, b), p): ((usize, usize), &f64)| PairResult {
            a: name(a),
            b: name(b),
            de00,
            different_plastic: *p,
        };
        measurement.pairs = of.zip(differ).map(pair).collect();
        Alike::of(&measurement).sentence()
    }

    #[test]
    fn what_stands_apart_is_told_by_name() {
        assert_eq!(sentence(2, &[0.01]), "Nothing speaks against one plastic in both parts.");
        assert_eq!(sentence(2, &[0.99]), "The two parts are of different plastic.");
        assert_eq!(sentence(3, &[0.0; 3]), "Nothing speaks against one plastic in all 3 parts.");
        assert_eq!(sentence(3, &[0.99; 3]), "All 3 parts differ from each other.");
        assert_eq!(
            sentence(3, &[0.0, 0.99, 0.99]),
            "C differs from all other parts; the other 2 agree with each other."
        );
        assert_eq!(
            sentence(4, &[0.0, 0.99, 0.99, 0.99, 0.99, 0.99]),
            "C and d differ from each other and from all other parts; the other 2 agree with each other."
        );
        assert_eq!(
            sentence(3, &[0.5, 0.0, 0.0]),
            "No two parts are certainly of different plastic, 2 pairs agree; for 1 pair the photo does not tell."
        );
        assert_eq!(
            sentence(3, &[0.99, 0.0, 0.5]),
            "A and b differ, 1 pair agrees; for 1 pair the photo does not tell."
        );
    }

    #[test]
    fn every_pair_is_found_from_both_sides_and_the_most_different_come_first() {
        let (measurement, _) = crate::app::sample::measurement_and_references();
        let alike = Alike::of(&measurement);
        for (one, other) in [(0, 1), (1, 0)] {
            assert!(alike.pair(one, other).is_some());
        }
        assert_eq!(alike.pair(0, 0), None);
        let all =
            [SamePlastic::Different, SamePlastic::Agree, SamePlastic::Unknown].map(|said| alike.said(said));
        assert_eq!(all.iter().map(Vec::len).sum::<usize>(), measurement.pairs.len());
    }
}
