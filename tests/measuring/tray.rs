//! Trays rendered from spectra, found, measured and sorted, and counted against their truth.

use sameshot::card::known::KnownStep;
use sameshot::card::{KnownSteps, find_cards};
use sameshot::raster::{Coding, PhotoFacts, Raster, Samples, Shape};
use sameshot::scene::demo::scenes::tray::{DEMO, Tray, TrayOptions, tray};
use sameshot::scene::demo::{self, Truth};
use sameshot::scene::tables::Illuminant;
use sameshot::tray::sort::{SortInputs, SortedTray, reading_id, sort_tray};

/// What was found and called in some trays.
#[derive(Debug, Default, Clone, Copy)]
struct Count {
    parts: usize,
    alone: usize,
    found: usize,
    alone_found: usize,
    pieces: usize,
    right: usize,
    wrong: usize,
    open: usize,
}

impl Count {
    fn add(&mut self, other: &Self) {
        self.parts += other.parts;
        self.alone += other.alone;
        self.found += other.found;
        self.alone_found += other.alone_found;
        self.pieces += other.pieces;
        self.right += other.right;
        self.wrong += other.wrong;
        self.open += other.open;
    }

    fn line(&self, name: &str) -> String {
        let Self { parts, alone, found, alone_found, pieces, right, wrong, open } = self;
        format!(
            "{name:<28} {found:>4} of {parts:<4} {alone_found:>4} of {alone:<4} {pieces:>6} {right:>6} {wrong:>6} {open:>6}"
        )
    }
}

const HEAD: &str = "tray                         found        of those alone pieces  right  wrong   open";

fn options(seed: u64) -> TrayOptions {
    let lamps = [Illuminant::LedB3, Illuminant::D65, Illuminant::Fl11];
    let n = seed as usize;
    TrayOptions {
        seed,
        board_lightness: [62.0, 40.0, 80.0, 52.0][n % 4],
        touching_pairs: [0, 1, 2][n % 3],
        lamp: lamps[n % 3],
        ..DEMO
    }
}

fn rendered(tray: &Tray, size: [usize; 2]) -> (Raster, Truth) {
    let photo = demo::render(&tray.scene, size);
    let raster =
        Raster::new(size[0] as u32, size[1] as u32, Samples::U8(photo.rgb), Coding::srgb(256), None).unwrap();
    (raster, photo.truth)
}

fn sorted(raster: &Raster, truth: &Truth) -> SortedTray {
    let steps = truth.steps.iter().map(|step| KnownStep { lab: step.lab, sd: [0.5, 0.3, 0.3] }).collect();
    let known: Vec<Option<String>> =
        truth.parts.iter().filter(|part| part.known).map(|part| Some(part.shade.clone())).collect();
    let facts = PhotoFacts { profile: Some("sRGB".into()), ..PhotoFacts::default() };
    let inputs = SortInputs {
        raster,
        facts: &facts,
        references: Some(&demo::references()),
        steps: &KnownSteps { steps, calibrated: true },
        known_parts: &known,
        confidence: 0.95,
    };
    sort_tray(&inputs, "tray.jpg").unwrap()
}

/// A part is found where one outline holds its truth's middle and that of no other part.
fn counted(tray: &Tray, truth: &Truth, sorted: &SortedTray) -> Count {
    let mut count = Count { pieces: sorted.tray.parts.len(), ..Count::default() };
    let loose: Vec<_> = truth.parts.iter().filter(|part| !part.known).collect();
    let subjects = tray.scene.subjects.iter().zip(&tray.touching);
    let touches = |id: &str| subjects.clone().any(|(subject, touching)| subject.id == id && *touching);
    for part in &loose {
        let holds =
            |outline: &[[f64; 2]], shape: &Shape| Shape::Polygon(outline.to_vec()).contains(shape.centre());
        let alone = !touches(&part.id);
        count.parts += 1;
        count.alone += usize::from(alone);
        let hit = sorted.tray.parts.iter().find(|found| holds(&found.outline, &part.shape));
        let Some(hit) =
            hit.filter(|hit| loose.iter().filter(|other| holds(&hit.outline, &other.shape)).count() == 1)
        else {
            continue;
        };
        count.found += 1;
        count.alone_found += usize::from(alone);
        let id = reading_id(hit.number);
        let reading = sorted.measurement.readings.iter().find(|reading| reading.id == id);
        match reading.and_then(|reading| reading.call.clone()).map(String::from) {
            Some(call) if call == part.shade => count.right += 1,
            Some(call) if call != "undecided" => count.wrong += 1,
            _ => count.open += 1,
        }
    }
    count
}

fn rehearsed(seeds: std::ops::Range<u64>, size: [usize; 2]) -> Count {
    println!("{HEAD}");
    let mut total = Count::default();
    for seed in seeds {
        let options = options(seed);
        let tray = tray(&options);
        let (raster, truth) = rendered(&tray, size);
        assert_eq!(find_cards(&raster).len(), 1, "seed {seed}: one card lies there");
        let count = counted(&tray, &truth, &sorted(&raster, &truth));
        let name = format!("{seed} {:?} L* {}", options.lamp, options.board_lightness);
        println!("{}", count.line(&name));
        total.add(&count);
    }
    println!("{}", total.line("all"));
    total
}

#[test]
fn a_small_tray_is_found_and_called() {
    let count = rehearsed(1..2, [1200, 900]);
    assert!(count.alone_found * 100 >= count.alone * 95, "{count:?}");
    assert!(
        count.wrong * 40 <= count.parts && (count.right + count.wrong) * 10 >= count.found * 8,
        "{count:?}"
    );
}

/// Takes about seven minutes; prints its table.
#[test]
#[ignore = "renders thirty trays"]
fn thirty_trays() {
    let count = rehearsed(1..31, [1200, 900]);
    assert!(count.alone_found * 1000 >= count.alone * 990, "{count:?}");
    assert!(count.found * 100 >= count.parts * 95, "{count:?}");
    assert!(count.wrong * 40 <= count.parts, "{count:?}");
    assert!((count.right + count.wrong) * 10 >= count.found * 8, "{count:?}");
}

/// Prints where it wrote the demo's tray: to be copied to `assets/demo` after a change of its scene.
#[test]
#[ignore = "renders a large photo"]
fn the_demos_tray_is_the_one_that_is_rendered() {
    let photo = demo::remake_tray();
    let folder = std::env::temp_dir();
    let truth = format!("{}\n", serde_json::to_string_pretty(&photo.truth).unwrap());
    std::fs::write(folder.join("tray.jpg"), demo::jpeg_of(&photo).unwrap()).unwrap();
    std::fs::write(folder.join("tray.truth.json"), &truth).unwrap();
    println!("{}", folder.join("tray.jpg").display());
    assert!(truth == include_str!("../../assets/demo/tray.truth.json"), "its truth has changed");
}
