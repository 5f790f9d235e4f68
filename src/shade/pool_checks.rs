//! Pooling over many simulated sets of photos: are pooled bars as wide as they say, and are photos no specimens?

use nalgebra::Vector3;
use serde_json::Map;

use super::*;
use crate::stats::Draws;

use super::predictive::PRIOR_SPREAD as TRUE_SPREAD;
const SD: [f64; 3] = [2.0, 1.5, 1.5];
const OWN: f64 = 0.4;

/// How the photos of a simulated set were taken.
struct Session {
    specimens: usize,
    photos: usize,
    cameras: usize,
    /// Photos scatter so many times as much as they say.
    worse: f64,
}

/// A shade at (50, -20, 15): every photo shows every specimen. The references, the true colours, and the next part's.
fn simulate(session: &Session, source: &mut Draws) -> (References, Vec<Vector3<f64>>, Vector3<f64>) {
    let centre = Vector3::new(50.0, -20.0, 15.0);
    // As the predictive room takes it: shades differ in how much their parts scatter.
    let spread = TRUE_SPREAD * (5.0 / source.chi_squared(5.0)).sqrt();
    let part = |source: &mut Draws| centre + source.normals::<3>() * spread;
    let truths: Vec<Vector3<f64>> = (0..session.specimens).map(|_| part(source)).collect();
    let shared = Vector3::from(SD.map(|sd| (sd * sd - OWN * OWN).sqrt()));
    let half = std::f64::consts::FRAC_1_SQRT_2;
    let cameras: Vec<Vector3<f64>> =
        (0..session.cameras).map(|_| shared.component_mul(&source.normals()) * half).collect();
    let mut details: Vec<Details> = vec![Details::default(); session.specimens];
    for photo in 0..session.photos {
        let camera = photo % session.cameras;
        let of_photo = shared.component_mul(&source.normals()) * half * session.worse;
        for (truth, details) in truths.iter().zip(&mut details) {
            let own = source.normals::<3>() * OWN * session.worse;
            details.photos.push(PhotoReading {
                photo: format!("{photo}.jpg"),
                reading: None,
                camera: Some(format!("camera {camera}")),
                date: None,
                lab: (truth + cameras[camera] + of_photo + own).into(),
                sd: SD,
                sd_shared: Some(shared.into()),
                correlation: None,
                correlation_shared: None,
                set_aside: None,
                rest: Map::new(),
            });
        }
    }
    let specimens = details.iter().enumerate().map(|(i, details)| {
        let mut specimen = Specimen {
            id: format!("{i}"),
            lab: [0.0; 3],
            sd: [1.0; 3],
            method: Method::Photo,
            aged: false,
            note: None,
            rest: Map::new(),
        };
        specimen.set_details(details);
        specimen
    });
    let shade =
        Shade { id: "green/one".into(), label: None, specimens: specimens.collect(), rest: Map::new() };
    let references =
        References { sameshot_shades: 1, family: "green".into(), shades: vec![shade], rest: Map::new() };
    (references, truths, part(source))
}

/// Ten photos of one torso: its own colour is known better, by less than √10 as the camera stays, but the shade rests on
/// one specimen as before.
#[test]
fn ten_photos_of_one_torso_are_not_ten_torsos() {
    let mut source = Draws::seeded(3);
    let (mut one, ..) = simulate(&Session { specimens: 1, photos: 1, cameras: 1, worse: 1.0 }, &mut source);
    let (mut ten, ..) = simulate(&Session { specimens: 1, photos: 10, cameras: 1, worse: 1.0 }, &mut source);
    let (mut torsos, ..) =
        simulate(&Session { specimens: 10, photos: 10, cameras: 5, worse: 1.0 }, &mut source);
    for references in [&mut one, &mut ten, &mut torsos] {
        pool(references);
    }
    let sd = |references: &References| references.shades[0].specimens[0].sd[0];
    assert!((sd(&one) - SD[0]).abs() < 0.01, "{}", sd(&one));
    let camera_alone = SD[0] * std::f64::consts::FRAC_1_SQRT_2;
    assert!(sd(&ten) > camera_alone - 0.05 && sd(&ten) < 0.85 * SD[0], "{}", sd(&ten));
    let predicted = |references: &References| {
        let predictive = Predictive::from_references(references).unwrap();
        let shade = &predictive.shades()[0];
        (shade.specimens, shade.next_part.moments().1[(0, 0)].sqrt())
    };
    let (of_one, of_ten, of_torsos) = (predicted(&one), predicted(&ten), predicted(&torsos));
    assert_eq!((of_one.0, of_ten.0, of_torsos.0), (1, 1, 10));
    assert!(of_one.1 > of_ten.1 && of_ten.1 > 1.3 * of_torsos.1, "{of_one:?} {of_ten:?} {of_torsos:?}");
}

/// Pooled colours lie within their standard deviations as often as a normal distribution promises, and the next part lies
/// within the 95 % region in 93 to 97 %.
#[test]
fn pooled_bars_are_true() {
    for (name, session) in [
        ("one specimen, five photos", Session { specimens: 1, photos: 5, cameras: 1, worse: 1.0 }),
        ("four specimens, three photos", Session { specimens: 4, photos: 3, cameras: 1, worse: 1.0 }),
        (
            "six specimens, six photos, three cameras",
            Session { specimens: 6, photos: 6, cameras: 3, worse: 1.0 },
        ),
        ("photos worse by half", Session { specimens: 4, photos: 6, cameras: 2, worse: 1.5 }),
    ] {
        let mut source = Draws::seeded(5);
        let (mut within, mut next_inside, mut asked, mut factors) = (0, 0, 0, 0.0);
        const SETS: usize = 250;
        for set in 0..SETS {
            let (mut references, truths, next) = simulate(&session, &mut source);
            factors += pool(&mut references).photo_factor / SETS as f64;
            for (specimen, truth) in references.shades[0].specimens.iter().zip(&truths) {
                for axis in 0..3 {
                    asked += 1;
                    within +=
                        usize::from((specimen.lab[axis] - truth[axis]).abs() < 1.96 * specimen.sd[axis]);
                }
            }
            let predictive = Predictive::from_references(&references).unwrap();
            let mixture = &predictive.shades()[0].next_part;
            let at_truth = mixture.log_density(&next).unwrap();
            let draws = mixture.draws(199, set as u64).unwrap();
            let denser = draws.iter().filter(|x| mixture.log_density(x).unwrap() > at_truth).count();
            next_inside += usize::from((denser as f64) < 0.95 * draws.len() as f64);
        }
        let within = within as f64 / asked as f64;
        let next = next_inside as f64 / SETS as f64;
        println!(
            "{name}: {within:.3} of pooled coordinates and {next:.3} of next parts inside 95 %; factor {factors:.2}"
        );
        assert!((0.92..=0.98).contains(&within), "{name}: {within}");
        // 250 sets scatter by 1.4 %.
        assert!((0.915..=0.985).contains(&next), "{name}: {next}");
    }
}

#[test]
fn what_is_set_aside_stays_and_does_not_count() {
    let mut source = Draws::seeded(8);
    let (mut references, ..) =
        simulate(&Session { specimens: 3, photos: 4, cameras: 1, worse: 1.0 }, &mut source);
    pool(&mut references);
    let before = references.shades[0].specimens[0].lab;
    let mut details = references.shades[0].specimens[0].details();
    details.photos[1].lab[0] += 30.0;
    details.photos[1].set_aside = Some("a reflection of the window lies on it".into());
    references.shades[0].specimens[0].set_details(&details);
    pool(&mut references);
    let after = references.shades[0].specimens[0].lab;
    assert!((after[0] - before[0]).abs() < 2.0, "{before:?} {after:?}");
    assert_eq!(references.shades[0].specimens[0].details().photos.len(), 4);

    let mut details = references.shades[0].specimens[2].details();
    details.set_aside = Some("not of this shade after all".into());
    references.shades[0].specimens[2].set_details(&details);
    assert_eq!(Predictive::from_references(&references).unwrap().shades()[0].specimens, 2);
    let text = references_to_text(&references).unwrap();
    assert_eq!(parse_references(text.as_bytes()).unwrap(), references);
}

/// Errors of exposure and white point move L\*, a\* and b\* together. The 95 % region of a pooled colour holds the truth as
/// often as it says only where the correlations are kept from the photo to the specimen.
#[test]
fn pooled_regions_are_true_between_the_coordinates_too() {
    const SETS: usize = 1500;
    let correlation = [0.7, 0.8, 0.6];
    let shared = super::covariance::covariance(SD, Some(correlation));
    let root = super::covariance::root(&shared);
    let half = std::f64::consts::FRAC_1_SQRT_2;
    let limit = crate::stats::chi_squared_quantile(0.95, 3.0);
    let mut source = Draws::seeded(17);
    let (mut inside, mut inside_without) = (0, 0);
    for _ in 0..SETS {
        let truth = Vector3::new(50.0, -20.0, 15.0);
        let cameras: Vec<Vector3<f64>> = (0..2).map(|_| root * source.normals::<3>() * half).collect();
        let mut references = empty_references("green");
        for photo in 0..4 {
            let of_photo = root * source.normals::<3>() * half;
            let own = source.normals::<3>() * OWN;
            let all = shared + nalgebra::Matrix3::identity() * (OWN * OWN);
            let (sd, correlation_of_all) = covariance_parts(&all);
            let reading = PhotoReading {
                photo: format!("{photo}.jpg"),
                reading: None,
                camera: Some(format!("camera {}", photo % 2)),
                date: None,
                lab: (truth + cameras[photo % 2] + of_photo + own).into(),
                sd,
                sd_shared: Some(SD),
                correlation: Some(correlation_of_all),
                correlation_shared: Some(correlation),
                set_aside: None,
                rest: Map::new(),
            };
            let belongs = Belongs { shade: "green/one".into(), specimen: "A".into(), ..Belongs::default() };
            add_reading(&mut references, &belongs, reading).unwrap();
        }
        pool(&mut references);
        let specimen = &references.shades[0].specimens[0];
        let away = Vector3::from(specimen.lab) - truth;
        let within = |cov: nalgebra::Matrix3<f64>| {
            usize::from(crate::stats::squared_distance(&away, &cov).unwrap() < limit)
        };
        inside += within(specimen.cov());
        inside_without += within(super::covariance::covariance(specimen.sd, None));
        let shared = specimen.shared_cov();
        assert!(super::positive(&(specimen.cov() - shared)).symmetric_eigenvalues().min() > 0.0);
    }
    let share = |n: usize| n as f64 / SETS as f64;
    println!("inside 95 %: {:.3} with correlations, {:.3} without", share(inside), share(inside_without));
    assert!((0.93..=0.975).contains(&share(inside)), "{}", share(inside));
    assert!(share(inside_without) < share(inside) - 0.01, "the check sees the difference");
}
