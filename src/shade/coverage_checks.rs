//! The predictive distributions over many simulated reference sets: are they as wide as they say?

use nalgebra::Vector3;
use serde_json::Map;

use super::*;
use crate::stats::Draws;

/// How a simulated family is made.
struct Family {
    /// Specimens of each shade.
    specimens: usize,
    /// Standard deviation of parts of one shade in L\*, a\*, b\*.
    spread: [f64; 3],
    /// Factor by which that differs between shades, as a standard deviation of its logarithm.
    unlike: f64,
    /// Standard deviation of a measurement.
    sd: f64,
    /// Share of its variance that the measurements of a shade have in common.
    shared: f64,
}

const CENTERS: [[f64; 3]; 3] = [[52.0, -24.0, 24.0], [46.0, -25.0, 22.0], [40.0, -26.0, 20.0]];

/// A simulated reference set and the true colour of one more part of each shade.
fn simulate(family: &Family, source: &mut Draws) -> (References, Vec<Vector3<f64>>) {
    let mut next = Vec::new();
    let shades = CENTERS.iter().enumerate().map(|(k, center)| {
        let scale = libm::exp(family.unlike * source.normal());
        let common: Vector3<f64> = source.normals() * (family.sd * family.shared.sqrt());
        let part = |source: &mut Draws| {
            Vector3::from(*center) + Vector3::from(family.spread).component_mul(&source.normals()) * scale
        };
        let specimens = (0..family.specimens)
            .map(|i| {
                let own: Vector3<f64> = source.normals() * (family.sd * (1.0 - family.shared).sqrt());
                let measured = part(source) + common + own;
                specimen(&format!("{i}"), measured.into(), [family.sd; 3])
            })
            .collect();
        next.push(part(source));
        Shade { id: format!("{k}"), label: None, specimens, rest: Map::new() }
    });
    let shades = shades.collect();
    let references = References { sameshot_shades: 1, family: "green".into(), shades, rest: Map::new() };
    (references, next)
}

fn specimen(id: &str, lab: [f64; 3], sd: [f64; 3]) -> Specimen {
    let method = Method::Photo;
    Specimen { id: id.into(), lab, sd, method, aged: false, note: None, rest: Map::new() }
}

/// Share of next parts inside the 95 % of their predictive distribution, the region being that of the
/// highest density; a part's place in it comes from draws of the distribution itself.
fn coverage(family: &Family, sets: usize, seed: u64) -> f64 {
    let mut source = Draws::seeded(seed);
    let (mut inside, mut asked) = (0, 0);
    for set in 0..sets {
        let (references, next) = simulate(family, &mut source);
        let predictive = Predictive::from_references(&references).unwrap();
        for (shade, truth) in predictive.shades().iter().zip(&next) {
            let at_truth = shade.next_part.log_density(truth).unwrap();
            let draws = shade.next_part.draws(400, set as u64).unwrap();
            let denser = draws.iter().filter(|x| shade.next_part.log_density(x).unwrap() > at_truth).count();
            asked += 1;
            inside += usize::from((denser as f64) < 0.95 * draws.len() as f64);
        }
    }
    f64::from(inside as u32) / f64::from(asked as u32)
}

/// 1, 2, 3 and 10 specimens a shade; spreads as expected beforehand, and others: narrower, wider, long in
/// one direction, unlike between shades; measured well and badly.
#[test]
fn next_parts_fall_inside_as_often_as_promised() {
    let mut table = Vec::new();
    for specimens in [1, 2, 3, 10] {
        for (name, family, least, most) in [
            (
                "as expected",
                Family { specimens, spread: [0.8; 3], unlike: 0.35, sd: 0.6, shared: 0.5 },
                0.93,
                0.97,
            ),
            (
                "errors apart",
                Family { specimens, spread: [0.8; 3], unlike: 0.35, sd: 0.6, shared: 0.0 },
                0.93,
                0.98,
            ),
            (
                "measured badly",
                Family { specimens, spread: [0.8; 3], unlike: 0.35, sd: 1.5, shared: 0.5 },
                0.93,
                0.975,
            ),
            (
                "narrower",
                Family { specimens, spread: [0.5; 3], unlike: 0.2, sd: 0.4, shared: 0.5 },
                0.93,
                1.0,
            ),
            (
                "along one line",
                Family { specimens, spread: [1.3, 0.4, 0.5], unlike: 0.2, sd: 0.4, shared: 0.5 },
                0.92,
                0.98,
            ),
            ("wider", Family { specimens, spread: [1.3; 3], unlike: 0.2, sd: 0.6, shared: 0.5 }, 0.85, 0.97),
        ] {
            let found = coverage(&family, 400, 11);
            println!("{name}, {specimens} specimens a shade: {:.1} % inside 95 %", 100.0 * found);
            table.push((name, specimens, found, least, most));
        }
    }
    for (name, specimens, found, least, most) in table {
        assert!((least..=most).contains(&found), "{name}, {specimens}: {found}");
    }
}
