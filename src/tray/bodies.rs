//! Loose limbs and the bodies they may belong to, as far as their plastic says.
//!
//! A reading whose slot is "torso" is a body; one with any other slot is a limb: "arm" goes to either arm of a body,
//! "arm-left" to the left one alone. The limbs are assigned so that the joint probability is greatest; where another
//! assignment is nearly as good the limb is left open.

use nalgebra::{Matrix3, Vector3};

use super::matching::assign_to_bodies;
use crate::case::{BodyElsewhere, CaseDocument};
use crate::measure::{Measurement, ReadingResult};
use crate::shade::different_plastic;
use crate::stats::Mixture;

/// Where a limb fits.
#[derive(Debug, Clone, PartialEq)]
pub struct LimbFit {
    /// The limb's reading.
    pub limb: String,
    /// Its slot.
    pub slot: String,
    /// What follows.
    pub fit: Fit,
}

/// What follows for a limb.
#[derive(Debug, Clone, PartialEq)]
pub enum Fit {
    /// It fits one body much better than any other.
    Body {
        /// The body's reading.
        body: String,
        /// The place there.
        place: String,
        /// How much more probable than anything else.
        odds: f64,
        /// Probability that both are of one plastic.
        same_plastic: f64,
    },
    /// It is left open.
    Open {
        /// Why.
        why: String,
    },
}

/// The slot of a body.
pub const BODY: &str = "torso";
/// What has a left and a right one on a body.
const PAIRED: [&str; 8] = ["arm", "leg", "hand", "foot", "forearm", "thigh", "shin", "boot"];
/// Probability that a limb without a body at hand is taken to be of the plastic of one. Common practice, no source: two
/// figures in a box of twenty share a batch of plastic.
const UNMATCHED: f64 = 0.05;
/// A limb is assigned where that is so much more probable than anything else: 95 %.
const LEAST_ODDS: f64 = 19.0;

/// Assigns the limbs of a case to its bodies. Empty where there is no body or no limb.
pub fn fits(case: &CaseDocument, measurement: &Measurement) -> Vec<LimbFit> {
    let measured = |id: &str| measurement.readings.iter().any(|reading| reading.id == id);
    let with_slot = || {
        let slots = case.readings.iter().filter(|reading| measured(&reading.id));
        slots.filter_map(|reading| Some((reading.id.as_str(), reading.slot.as_deref()?)))
    };
    let elsewhere = case.tray.as_ref().map(|tray| tray.bodies.as_slice()).unwrap_or_default();
    let here = with_slot().filter(|(_, slot)| *slot == BODY).map(|(id, _)| id);
    let bodies: Vec<&str> = here.chain(elsewhere.iter().map(|body| body.id.as_str())).collect();
    let limbs: Vec<(&str, &str)> = with_slot().filter(|(_, slot)| *slot != BODY).collect();
    if bodies.is_empty() || limbs.is_empty() {
        return Vec::new();
    }
    let places = places(&bodies, &limbs);
    let same = |a: &str, b: &str| {
        if let Some(body) = elsewhere.iter().find(|body| body.id == b) {
            let limb = measurement.readings.iter().find(|reading| reading.id == a);
            return limb.map_or(0.0, |limb| same_as(limb, body));
        }
        let pairs = &measurement.pairs;
        let pair = pairs.iter().find(|pair| (pair.a == a && pair.b == b) || (pair.a == b && pair.b == a));
        pair.map_or(0.0, |pair| 1.0 - pair.different_plastic)
    };
    let row = |(limb, slot): &(&str, &str)| -> Vec<f64> {
        let of = |(body, place): &(usize, String)| {
            if takes(place, slot) { same(limb, bodies[*body]) } else { 0.0 }
        };
        places.iter().map(of).collect()
    };
    let probability: Vec<Vec<f64>> = limbs.iter().map(row).collect();
    let body_of: Vec<usize> = places.iter().map(|(body, _)| *body).collect();
    let assigned = assign_to_bodies(&probability, &body_of, UNMATCHED);
    let fit = |(n, (limb, slot)): (usize, &(&str, &str))| {
        let Some(to) = assigned.get(n) else { return Fit::Open { why: "it was not weighed".into() } };
        let name = |place: usize| places.get(place).and_then(|(body, _)| bodies.get(*body)).copied();
        let best = probability[n].iter().copied().fold(0.0, f64::max);
        match (to.place.and_then(|place| Some((place, name(place)?))), to.instead.and_then(name)) {
            (Some((place, body)), _) if to.odds >= LEAST_ODDS => Fit::Body {
                body: body.into(),
                place: places[place].1.clone(),
                odds: to.odds,
                same_plastic: same(limb, body),
            },
            (Some((_, body)), Some(other)) => {
                Fit::Open { why: format!("it fits {body} and {other} nearly alike (odds {:.1})", to.odds) }
            }
            (Some((_, body)), None) => Fit::Open {
                why: format!(
                    "it may be of the plastic of {body}, but that is not sure enough ({:.0} %)",
                    100.0 * same(limb, body)
                ),
            },
            (None, _) if best < UNMATCHED => Fit::Open { why: "no body here is of its plastic".into() },
            (None, Some(other)) => Fit::Open {
                why: format!(
                    "it would fit {other} ({:.0} %), but others fit there better",
                    100.0 * same(limb, other)
                ),
            },
            (None, None) => {
                Fit::Open { why: format!("no body here has a free place for a part named {slot}") }
            }
        }
    };
    let fits = limbs.iter().enumerate().map(|(n, limb)| (limb, fit((n, limb))));
    fits.map(|((limb, slot), fit)| LimbFit { limb: (*limb).into(), slot: (*slot).into(), fit }).collect()
}

/// Probability that a limb is of the plastic of a body in another photo: their errors have nothing in common, so that this
/// is never as sure as within one photo.
fn same_as(limb: &ReadingResult, body: &BodyElsewhere) -> f64 {
    let difference = Vector3::from(limb.lab) - Vector3::from(body.lab);
    let cov = Matrix3::from_fn(|row, column| limb.cov[row][column] + body.cov[row][column]);
    different_plastic(&Mixture::normal(difference, cov)).map_or(0.0, |different| 1.0 - different)
}

/// The places of each body that any limb could take: a left and a right one of what comes in pairs.
fn places(bodies: &[&str], limbs: &[(&str, &str)]) -> Vec<(usize, String)> {
    let mut kinds: Vec<String> = Vec::new();
    for (_, slot) in limbs {
        let stem = stem(slot);
        let names = if PAIRED.contains(&stem) {
            vec![format!("{stem}-left"), format!("{stem}-right")]
        } else {
            vec![(*slot).to_owned()]
        };
        kinds.extend(names.into_iter().filter(|name| !kinds.contains(name)).collect::<Vec<_>>());
    }
    (0..bodies.len()).flat_map(|body| kinds.iter().map(move |kind| (body, kind.clone()))).collect()
}

fn stem(slot: &str) -> &str {
    slot.strip_suffix("-left").or(slot.strip_suffix("-right")).unwrap_or(slot)
}

/// Whether a limb of this slot may go to that place.
fn takes(place: &str, slot: &str) -> bool {
    place == slot || stem(place) == slot
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::ReadingMark;
    use crate::measure::{Interval, PairResult, ReadingResult};
    use crate::raster::Shape;

    /// Readings with their slots, and for every two of one name's first letter the same plastic.
    fn case(readings: &[(&str, &str)]) -> (CaseDocument, Measurement) {
        let mut case = CaseDocument::new("a.jpg");
        let mut measurement = Measurement::default();
        let json = serde_json::json!({"id": "", "lab": [50.0, 0.0, 0.0], "cov": [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
            "pixels": {"inside": 1, "used": 1, "glare": 0, "clipped": 0, "dark": 0}, "differences": [], "shades": [],
            "call": null, "budget": [], "warnings": []});
        for (n, (id, slot)) in readings.iter().enumerate() {
            let mut mark = ReadingMark::new(*id, Shape::Circle { centre: [5.0, 5.0], radius: 3.0 });
            mark.slot = Some((*slot).into());
            case.readings.push(mark);
            let mut result: ReadingResult = serde_json::from_value(json.clone()).unwrap();
            result.id = (*id).into();
            measurement.readings.push(result);
            for (other, _) in &readings[..n] {
                let different_plastic = if id[..1] == other[..1] { 0.02 } else { 0.97 };
                let de00 = Interval { median: 1.0, low: 0.5, high: 2.0 };
                measurement.pairs.push(PairResult {
                    a: (*other).into(),
                    b: (*id).into(),
                    de00,
                    different_plastic,
                });
            }
        }
        (case, measurement)
    }

    #[test]
    fn limbs_go_to_the_body_of_their_plastic_and_one_too_many_stays_open() {
        let (case, measurement) = case(&[
            ("a torso", "torso"),
            ("b torso", "torso"),
            ("a one", "arm"),
            ("a two", "arm-left"),
            ("b one", "arm"),
            ("c one", "leg"),
        ]);
        let fits = fits(&case, &measurement);
        let to = |limb: &str| match &fits.iter().find(|fit| fit.limb == limb).unwrap().fit {
            Fit::Body { body, place, .. } => format!("{body}: {place}"),
            Fit::Open { why } => why.clone(),
        };
        assert_eq!(to("a two"), "a torso: arm-left");
        assert_eq!(to("a one"), "a torso: arm-right");
        assert!(to("b one").starts_with("b torso: arm-"));
        assert_eq!(to("c one"), "no body here is of its plastic");
    }

    #[test]
    fn a_body_of_another_case_is_weighed_by_its_own_error() {
        let (mut case, measurement) = case(&[("a arm", "arm")]);
        let with_body = |case: &mut CaseDocument, lab: [f64; 3]| {
            let cov = [[0.2, 0.0, 0.0], [0.0, 0.2, 0.0], [0.0, 0.0, 0.2]];
            let body =
                BodyElsewhere { id: "torso of b.case.json".into(), lab, cov, rest: Default::default() };
            case.tray = Some(crate::case::TrayMarks { bodies: vec![body], ..Default::default() });
            super::fits(case, &measurement).remove(0).fit
        };
        let near = with_body(&mut case, [50.1, 0.0, 0.0]);
        assert!(
            matches!(&near, Fit::Open { why } if why.contains("torso of b.case.json"))
                || matches!(&near, Fit::Body { .. }),
            "{near:?}"
        );
        let far = with_body(&mut case, [50.0, 30.0, 0.0]);
        assert_eq!(far, Fit::Open { why: "no body here is of its plastic".into() });
    }

    #[test]
    fn two_bodies_of_one_plastic_leave_the_limb_open_and_name_both() {
        let (case, measurement) = case(&[("a torso", "torso"), ("a other", "torso"), ("a arm", "arm")]);
        let fits = fits(&case, &measurement);
        let Fit::Open { why } = &fits[0].fit else { panic!("{fits:?}") };
        assert!(why.contains("a torso") && why.contains("a other") && why.contains("alike"), "{why}");
        let (none, measurement) = self::case(&[("a arm", "arm")]);
        assert!(super::fits(&none, &measurement).is_empty());
    }
}
