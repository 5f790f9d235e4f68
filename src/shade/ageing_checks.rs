//! Is the direction found again, and are the probabilities of a yellowed part true?

use super::*;
use crate::shade::parse_references;
use crate::stats::Draws;

const SLOPE: [f64; 2] = [-0.35, 0.12];
const AMOUNT: f64 = 6.0;

fn change(source: &mut Draws) -> Vector3<f64> {
    let amount = -AMOUNT * libm::log(1.0 - source.uniform());
    let [l, a] = SLOPE.map(|slope| slope + 0.1 * source.normal());
    Vector3::new(l, a, 1.0) * amount
}

fn pair(source: &mut Draws, sd: f64) -> Pair {
    let change = change(source) + source.normals::<3>() * sd;
    Pair { part: "a torso".into(), change: change.into(), sd: [sd; 3] }
}

/// The true direction lies within the stated 95 % in about 95 % of sets, and twenty pairs tell more than two.
#[test]
fn the_direction_is_learned() {
    let mut source = Draws::seeded(2);
    for (count, widest) in [(2, 0.25), (20, 0.12)] {
        let (mut inside, mut sd) = (0, 0.0);
        for _ in 0..100 {
            let pairs: Vec<Pair> = (0..count).map(|_| pair(&mut source, 0.5)).collect();
            let found = Ageing::learned(&pairs);
            for axis in 0..2 {
                let away = (found.slope[axis] - SLOPE[axis]).abs();
                inside += usize::from(away < 1.96 * found.slope_sd[axis]);
                sd += found.slope_sd[axis] / 200.0;
            }
        }
        println!("{count} pairs: {inside} of 200 directions inside 95 %, mean sd {sd:.3}");
        assert!(inside >= 184, "{count} pairs: {inside} of 200");
        assert!(sd < widest, "{sd}");
    }
}

#[test]
fn nothing_turns_younger() {
    let younger = Pair { part: "a leg".into(), change: [2.0, 0.0, -6.0], sd: [0.5; 3] };
    let found = Ageing::learned(&[younger]);
    assert!(found.slope[0] <= 0.0 && found.amount < PRIOR_AMOUNT);
    assert_eq!(found.against, ["a leg"]);
    assert_eq!(Ageing::learned(&[]).slope, PRIOR_SLOPE);
}

fn greens() -> References {
    let specimen = |id: &str, lab: [f64; 3]| serde_json::json!({"id": id, "lab": lab, "sd": [0.3, 0.2, 0.2], "method": "spectrophotometer"});
    let shade = |id: &str, l: f64, b: f64| {
        serde_json::json!({"id": id, "specimens": (0..5).map(|i| {
            let by = 0.4 * (f64::from(i) - 2.0);
            specimen(&format!("{i}"), [l + by, -16.0 - by, b + 0.5 * by])
        }).collect::<Vec<_>>()})
    };
    let whole = serde_json::json!({"sameshot_shades": 1, "family": "green",
        "shades": [shade("light", 55.0, 8.0), shade("medium", 52.5, 14.0)]});
    parse_references(whole.to_string().as_bytes()).unwrap()
}

/// The light shade, yellowed, has come to where the medium shade is: both stay possible, the check is proposed, and a
/// sheltered reading of it settles the matter.
#[test]
fn the_light_shade_yellowed_against_the_medium_one() {
    let predictive = Predictive::from_references(&greens()).unwrap();
    let ageing = Ageing { slope: [-0.4, 0.0], ..Ageing::prior() };
    let judged = |lab: [f64; 3], sd: f64| {
        let reading = Mixture::normal(Vector3::from(lab), Matrix3::identity() * sd * sd);
        ageing.judge(&reading, &predictive).unwrap()
    };
    let open = judged([52.9, -16.0, 12.8], 1.5);
    assert!((open.iter().map(|h| h.probability).sum::<f64>() - 1.0).abs() < 1e-9);
    let of = |list: &[Hypothesis], shade: &str, yellowed: bool| {
        list.iter().find(|h| h.shade.as_deref() == Some(shade) && h.yellowed == yellowed).unwrap().clone()
    };
    assert!(of(&open, "light", true).probability > 0.05, "{open:?}");
    assert!(of(&open, "medium", false).probability > 0.3, "{open:?}");
    assert!((of(&open, "light", true).change[2] - 4.8).abs() < 1.2, "{open:?}");
    let check = settling_check(&open, str::to_owned).unwrap();
    for word in ["inside a joint", "light, yellowed", "b* ", "medium, as moulded, it would read the same"] {
        assert!(check.contains(word), "{check}");
    }
    let settled = judged([55.0, -16.0, 8.0], 0.8);
    assert!(of(&settled, "light", false).probability + of(&settled, "light", true).probability > 0.95);
    assert_eq!(settling_check(&settled, str::to_owned), None);
}

/// Parts drawn as assumed: what is said with probability p is so in p of the cases, by ten classes of p.
#[test]
fn probabilities_are_true() {
    let predictive = Predictive::from_references(&greens()).unwrap();
    let ageing = Ageing::prior();
    let mut source = Draws::seeded(7);
    let parts: Vec<Vec<Vector3<f64>>> =
        predictive.shades().iter().map(|shade| shade.next_part.draws(600, 5).unwrap()).collect();
    let (mut said, mut right) = (vec![0.0; 10], vec![0.0; 10]);
    for round in 0..1200 {
        let truth = round % 2;
        let yellowed = source.uniform() < YELLOWED;
        let mut part = parts[truth][round / 2];
        if yellowed {
            let amount = -PRIOR_AMOUNT * libm::log(1.0 - source.uniform());
            let slope = [0, 1].map(|axis| {
                let sd = PRIOR_SPREAD.hypot(PRIOR_SLOPE_SD[axis]);
                PRIOR_SLOPE[axis] + sd * source.normal()
            });
            part += Vector3::new(slope[0], slope[1], 1.0) * amount;
        }
        let seen = part + source.normals::<3>() * 1.2;
        let reading = Mixture::normal(seen, Matrix3::identity() * 1.44);
        for h in ageing.judge(&reading, &predictive).unwrap().iter().filter(|h| h.shade.is_some()) {
            let class = ((h.probability * 10.0) as usize).min(9);
            said[class] += h.probability;
            let is = h.shade.as_deref() == Some(["light", "medium"][truth]) && h.yellowed == yellowed;
            right[class] += f64::from(u8::from(is));
        }
    }
    for (said, right) in said.iter().zip(&right) {
        println!("said {said:.1}, right {right}");
        // Three standard deviations of a count, and a share for "none of these", which never happens here.
        assert!(
            (said - right).abs() < 3.0 * right.max(*said).sqrt() + 0.03 * said,
            "said {said}, right {right}"
        );
    }
}
