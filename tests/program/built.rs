//! A reference set built from the demo's photos: does it recover the truth, and is each part called rightly without itself?

use std::collections::BTreeMap;
use std::fs;

use nalgebra::{Matrix3, Vector3};
use sameshot::shade::{Predictive, Priors, References, parse_references};
use sameshot::stats::{Mixture, chi_squared_quantile, squared_distance};
use serde_json::Value;

use crate::demo::demo;
use crate::run::{program, run};

/// Builds with the command, from the demo's photos that lie beside a grey card, each part named by its true shade.
fn built() -> (References, BTreeMap<String, Vector3<f64>>, String) {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("built.shades.json");
    let mut truths = BTreeMap::new();
    let mut said = String::new();
    for name in ["bench", "exchanged"] {
        let case = folder.path().join(format!("{name}.case.json"));
        let mut document: Value =
            serde_json::from_slice(&fs::read(demo(&format!("{name}.case.json"))).unwrap()).unwrap();
        document.as_object_mut().unwrap().remove("references");
        document.as_object_mut().unwrap().remove("guide");
        // References that are only now built cannot say what colour a part of certain shade has.
        document["zones"].as_array_mut().unwrap().retain(|zone| zone["known"]["shade"].is_null());
        fs::write(&case, document.to_string()).unwrap();
        fs::copy(demo(&format!("{name}.jpg")), folder.path().join(format!("{name}.jpg"))).unwrap();
        let truth: Value =
            serde_json::from_slice(&fs::read(demo(&format!("{name}.truth.json"))).unwrap()).unwrap();
        let mut command = program();
        command.args(["references", "build"]).arg(&case).arg("--out").arg(&out).args(["--family", "green"]);
        for part in truth["parts"].as_array().unwrap().iter().filter(|part| part["known"] == false) {
            let (id, shade) = (part["id"].as_str().unwrap(), part["shade"].as_str().unwrap());
            command.arg("--part").arg(format!("{id}={shade}:{id} of {name}"));
            let lab: Vec<f64> =
                part["shade_lab"].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
            truths.insert(shade.to_owned(), Vector3::from_vec(lab));
        }
        let ran = run(&mut command);
        assert_eq!(ran.status, 0, "{ran:?}");
        said = ran.out;
    }
    (parse_references(&fs::read(&out).unwrap()).unwrap(), truths, said)
}

#[test]
fn the_demos_photos_recover_the_truth_and_no_part_is_called_wrongly_without_itself() {
    let (references, truths, said) = built();
    assert!(said.contains("readings pooled into 12 specimens"), "{said}");
    let predictive = Predictive::from_references(&references).unwrap();
    for shade in predictive.shades() {
        let distance = squared_distance(&(truths[&shade.id] - shade.mean), &shade.mean_cov).unwrap();
        let sd = [0, 1, 2].map(|axis| shade.mean_cov[(axis, axis)].sqrt());
        println!(
            "{}: found {:.1?} ± {sd:.1?}, truth {:.1?}, squared distance {distance:.2}",
            shade.id,
            shade.mean.as_slice(),
            truths[&shade.id].as_slice()
        );
        assert!(distance < chi_squared_quantile(0.95, 3.0), "{}", shade.id);
    }

    let (mut right, mut undecided) = (0, 0);
    for shade in &references.shades {
        for specimen in &shade.specimens {
            let mut others = references.clone();
            let own = others.shades.iter_mut().find(|other| other.id == shade.id).unwrap();
            own.specimens.retain(|other| other.id != specimen.id);
            let Ok(predictive) = Predictive::from_references(&others) else { continue };
            if predictive.index_of(&shade.id).is_none() {
                // It was the only one of its shade: nothing is left that could be called rightly.
                continue;
            }
            let variance = Vector3::from(specimen.sd.map(|sd| sd * sd));
            let reading = Mixture::normal(Vector3::from(specimen.lab), Matrix3::from_diagonal(&variance));
            let classes = predictive.classify_mixture(&reading, &Priors::default()).unwrap();
            assert!(classes.none < 0.95, "{} is of a shade", specimen.id);
            match classes.probabilities.iter().position(|p| *p >= 0.95) {
                Some(called) => {
                    assert_eq!(predictive.shades()[called].id, shade.id, "{}", specimen.id);
                    right += 1;
                }
                None => undecided += 1,
            }
        }
    }
    println!("each left out in turn: {right} called rightly, {undecided} undecided, none wrongly");
    assert!(right + undecided >= 8);
}
