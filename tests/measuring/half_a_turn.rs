//! The demo's scenes rendered once more with all that lies on the table turned by half a turn, under the same lamps: what
//! reading both photos together gives. Invented, as the demo is; the renderer knows nothing of the light model.

use std::sync::Arc;

use sameshot::case::{CaseDocument, PathRule, parse};
use sameshot::color::{Lab, ciede2000};
use sameshot::measure::{AreaCache, Call, Inputs, Marked, Measurement, Options, OtherPhoto, measure};
use sameshot::photo::{Limits, Photo, decode};
use sameshot::scene::demo::scenes::scene;
use sameshot::scene::demo::{Truth, case_of, jpeg_of, references, render};
use sameshot::scene::render::{Place, V3};

/// Half as large as the demo's photos.
const SIZE: [usize; 2] = [2016, 1512];

/// A scene as its photo, its marks and its truth; `turned` by so many degrees about the middle.
fn shot(name: &str, turned: f64) -> (Photo, CaseDocument, Truth) {
    let mut scene = scene(name).unwrap();
    let [x, z] = [scene.lens.target.x, scene.lens.target.z];
    let (to_middle, about) = (Place::at(-x, 0.0, -z), Place::at(x, 0.0, z).turned(V3::y(), turned));
    for part in &mut scene.stage.parts {
        *part = part.clone().placed(&to_middle).placed(&about);
    }
    if turned != 0.0 {
        scene.shot.seed += 100;
        scene.shot.mean_level *= 1.12;
    }
    let rendered = render(&scene, SIZE);
    let photo = decode(&jpeg_of(&rendered).unwrap(), &Limits::default()).unwrap();
    let case = parse(case_of(&rendered.truth).to_string().as_bytes(), PathRule::InsideFolder).unwrap();
    (photo, case, rendered.truth)
}

fn measured((photo, case, _): &(Photo, CaseDocument, Truth), others: &[Arc<OtherPhoto>]) -> Measurement {
    let references = references();
    let inputs = Inputs {
        raster: &photo.raster,
        facts: &photo.facts,
        case,
        references: Some(&references),
        flat_field: None,
        other_photos: others,
    };
    let outcome = measure(&inputs, &Options::default(), &mut AreaCache::default());
    assert_eq!(outcome.problems, []);
    outcome.measurement
}

/// Calls that are right and wrong, and the squared errors in CIEDE2000.
fn counted(measurement: &Measurement, truth: &Truth) -> (usize, usize, Vec<f64>) {
    let (mut right, mut wrong, mut squares) = (0, 0, Vec::new());
    for reading in &measurement.readings {
        let part = truth.parts.iter().find(|part| part.id == reading.id).unwrap();
        match &reading.call {
            Some(Call::Shade(shade)) if *shade == part.shade => right += 1,
            Some(Call::Shade(_) | Call::None) => wrong += 1,
            _ => {}
        }
        let [found, true_lab] = [reading.lab, part.lab].map(|[l, a, b]| Lab::new(l, a, b));
        squares.push(ciede2000(found, true_lab).powi(2));
    }
    (right, wrong, squares)
}

#[test]
#[ignore = "renders six photos, which takes a minute or two"]
fn two_photos_half_a_turn_apart_are_off_by_less_than_one() {
    let root = |squares: &[f64]| (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
    let mut errors = [Vec::new(), Vec::new(), Vec::new()];
    for name in ["bench", "lamp", "exchanged"] {
        let (first, second) = (shot(name, 0.0), shot(name, 170.0));
        let (photo, case, _) = &second;
        let inputs = Inputs {
            raster: &photo.raster,
            facts: &photo.facts,
            case,
            references: None,
            flat_field: None,
            other_photos: &[],
        };
        let other = Arc::new(OtherPhoto::of("second", &inputs, Marked::ByHand));
        let alone = [&first, &second].map(|shot| counted(&measured(shot, &[]), &shot.2));
        let together = measured(&first, &[other]);
        assert_eq!(together.light.other_photos, 1);
        let both = counted(&together, &first.2);
        for (all, (right, wrong, squares)) in errors.iter_mut().zip(alone.iter().chain([&both])) {
            println!("{name}: {right} right, {wrong} wrong, off by {:.2} CIEDE2000", root(squares));
            all.extend(squares);
        }
        assert_eq!(both.1, 0, "{name}: a wrong call");
    }
    let [first, second, both] = errors.map(|squares| root(&squares));
    println!("off by (root mean square): {first:.2} and {second:.2} alone, {both:.2} together");
    assert!(both < 0.6 * first.min(second), "{first} {second} {both}");
}
