//! Trays of loose limbs on a plain board with a card of known parts, for the demo and for rehearsals.

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use super::{FULL_SIZE, Scene, Setting, telephone};
use crate::card::Variant;
use crate::card::layout::LADDER;
use crate::scene::camera::unit_luminance;
use crate::scene::demo::figure;
use crate::scene::demo::materials::printed_grey;
use crate::scene::demo::printed::{Print, THICK_MM};
use crate::scene::demo::shades::Green;
use crate::scene::draws::normal;
use crate::scene::render::develop::{Balance, Shot};
use crate::scene::render::{Ambient, Lamp, Lens, Part, Place, Stage, Top, V3};
use crate::scene::tables::Illuminant;

/// What a tray is drawn from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrayOptions {
    /// Chooses everything that is left open.
    pub seed: u64,
    /// L\* of the board.
    pub board_lightness: f64,
    /// Pairs of limbs that touch.
    pub touching_pairs: usize,
    /// The lamp.
    pub lamp: Illuminant,
    /// Where the lamp is, in mm: the nearer, the less even the light.
    pub lamp_at: [f64; 3],
}

/// The demo's tray.
pub const DEMO: TrayOptions = TrayOptions {
    seed: 40,
    board_lightness: 62.0,
    touching_pairs: 3,
    lamp: Illuminant::LedB3,
    lamp_at: [-460.0, 820.0, -420.0],
};

/// A tray and what is true of it besides its scene.
pub struct Tray {
    /// The scene; its subjects are the known parts, then the loose ones.
    pub scene: Scene,
    /// For each subject, whether it touches another.
    pub touching: Vec<bool>,
}

/// Limbs of ten figures.
pub const LIMBS: usize = 40;
const CELL_MM: [f64; 2] = [28.0, 54.0];
const CELLS: [usize; 2] = [13, 5];

struct Limb {
    slot: &'static str,
    green: Green,
    batch: u64,
}

/// Draws a tray.
pub fn tray(options: &TrayOptions) -> Tray {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(options.seed);
    let mut setting = Setting::new();
    let misses: [f64; LADDER.len()] = std::array::from_fn(|_| 1.5 * normal(&mut rng));
    let print = Print::new(&mut setting.shelf, misses);
    let board = setting.shelf.add(printed_grey(options.board_lightness), None);
    let card_at = Place::at(0.0, 0.0, -27.0).turned(V3::y(), (2.0 * normal(&mut rng)).clamp(-4.0, 4.0));
    setting.parts.push(print.card(Variant::WithStrip, &card_at));
    setting.steps = print.steps.clone();
    let mut touching = Vec::new();
    lay_known(&mut setting, &card_at, options.seed);
    touching.resize(setting.subjects.len(), false);
    let mut cells = Cells::free();
    let mut limbs = limbs(options.seed);
    shuffle(&mut limbs, &mut rng);
    let mut first_of_pair: Option<Part> = None;
    for (n, limb) in limbs.iter().enumerate() {
        let in_pair = n < 2 * options.touching_pairs;
        let (plastic, recipe) = setting.plastic(limb.green, limb.batch);
        let side = if limb.slot.ends_with("left") { 1.0 } else { -1.0 };
        let shape = if limb.slot.starts_with("arm") {
            figure::arm(plastic, &setting.paints, side)
        } else {
            figure::leg(plastic, &setting.paints, side)
        };
        let spin = [30.0, -40.0, 75.0, -75.0, 0.0][(rng.random::<f64>() * 5.0) as usize % 5];
        let turn = 14.0 * normal(&mut rng) + if rng.random::<f64>() < 0.5 { 180.0 } else { 0.0 };
        let laid = |at: [f64; 2], turn: f64| {
            let place = Place::at(at[0], 0.0, at[1])
                .turned(V3::y(), turn)
                .turned(V3::x(), -90.0)
                .turned(V3::y(), spin);
            resting(shape.clone(), place, 0.0)
        };
        let part = match first_of_pair.take() {
            Some(first) => beside(&first, &laid, turn),
            None => {
                let Some(at) = cells.taken(in_pair, &mut rng) else { break };
                let jitter = [0, 1].map(|_| 1.5 * normal(&mut rng).clamp(-1.5, 1.5));
                centred(&laid, [at[0] + jitter[0], at[1] + jitter[1]], turn)
            }
        };
        if in_pair && n % 2 == 0 {
            first_of_pair = Some(part.clone());
        }
        touching.push(in_pair);
        setting.lay(part, &format!("limb {:02}", n + 1), limb.slot, limb.green, recipe);
    }
    let light = unit_luminance(options.lamp.spectrum());
    let [x, y, z] = options.lamp_at;
    let lamp =
        Lamp { cells: [3, 2], ..Lamp::aimed(light, 10.0, V3::new(x, y, z), V3::zeros(), [300.0, 220.0]) };
    let camera = telephone();
    let scene = Scene {
        name: "tray",
        light: "a large LED panel (CIE LED-B3) at the upper left",
        shot: Shot {
            mean_level: 0.22,
            balance: Balance::Fixed(camera.raw_of_light(&light)),
            blur_px: 0.8,
            focus: None,
            sharpening: 0.4,
            seed: options.seed,
        },
        stage: Stage {
            materials: setting.shelf.0,
            parts: setting.parts,
            top: Top::Mat { ground: board, lines: board, turn_degrees: 0.0 },
            lamps: vec![lamp],
            ambient: Ambient { light, radiance: [0.8, 0.6] },
        },
        subjects: setting.subjects,
        steps: setting.steps,
        camera,
        lens: Lens {
            eye: V3::new(4.0, 490.0, 44.0),
            target: V3::new(0.0, 0.0, 4.0),
            high_degrees: 35.5,
            roll_degrees: -0.8,
            vignetting: 0.14,
        },
        size: FULL_SIZE,
        quality: 86,
    };
    Tray { scene, touching }
}

/// Ten figures, each of one batch: three light, four medium, three dark.
fn limbs(seed: u64) -> Vec<Limb> {
    use Green::{Dark, Light, Medium};
    let greens = [Light, Light, Light, Medium, Medium, Medium, Medium, Dark, Dark, Dark];
    let of_figure = |(n, green): (usize, Green)| {
        ["arm-left", "arm-right", "leg-left", "leg-right"].map(|slot| Limb {
            slot,
            green,
            batch: seed.wrapping_mul(1000) + 100 + n as u64,
        })
    };
    greens.into_iter().enumerate().flat_map(of_figure).collect()
}

/// An arm of each shade in the boxes of the card, in batches of their own.
fn lay_known(setting: &mut Setting, card_at: &Place, seed: u64) {
    let layout = Variant::WithStrip.layout();
    let [width, height] = layout.size_mm;
    for (n, (green, place)) in Green::ALL.into_iter().zip(&layout.boxes).enumerate() {
        let (plastic, recipe) = setting.plastic(green, seed.wrapping_mul(1000) + n as u64);
        let [x, y] = place.centre();
        let at = card_at.out(&V3::new(x - width / 2.0, 0.0, y - height / 2.0 + 1.5));
        let arm = figure::arm(plastic, &setting.paints, 1.0);
        let laid = |at: [f64; 2], turn: f64| {
            let place = Place::at(at[0], 0.0, at[1])
                .turned(V3::y(), turn)
                .turned(V3::x(), -90.0)
                .turned(V3::y(), 30.0);
            resting(arm.clone(), place, THICK_MM)
        };
        let part = centred(&laid, [at.x, at.z], 4.0);
        setting.lay(part, &format!("known part {}", n + 1), "arm-left", green, recipe);
        if let Some(subject) = setting.subjects.last_mut() {
            subject.known = true;
        }
    }
}

/// Places of the board, by column and row, that nothing lies in yet.
struct Cells(Vec<[usize; 2]>);

impl Cells {
    /// All that the card leaves free.
    fn free() -> Self {
        let all = (0..CELLS[0] * CELLS[1]).map(|n| [n % CELLS[0], n / CELLS[0]]);
        Self(all.filter(|[column, row]| !((4..9).contains(column) && (1..3).contains(row))).collect())
    }

    /// The middle of one of them in mm; for a pair one whose right neighbour is free as well, and is taken too.
    fn taken(&mut self, for_pair: bool, rng: &mut Xoshiro256PlusPlus) -> Option<[f64; 2]> {
        let right_of = |[column, row]: [usize; 2]| [column + 1, row];
        let fit: Vec<[usize; 2]> =
            self.0.iter().copied().filter(|cell| !for_pair || self.0.contains(&right_of(*cell))).collect();
        let cell = *fit.get((rng.random::<f64>() * fit.len() as f64) as usize)?;
        self.0.retain(|other| *other != cell && !(for_pair && *other == right_of(cell)));
        Some([0, 1].map(|axis| (cell[axis] as f64 - (CELLS[axis] as f64 - 1.0) / 2.0) * CELL_MM[axis]))
    }
}

fn shuffle<T>(items: &mut [T], rng: &mut Xoshiro256PlusPlus) {
    for n in (1..items.len()).rev() {
        items.swap(n, (rng.random::<f64>() * (n + 1) as f64) as usize % (n + 1));
    }
}

/// The part let down on the board, or on what lies `ground_mm` above it.
fn resting(part: Part, place: Place, ground_mm: f64) -> Part {
    let placed = part.placed(&place);
    let lowest = inside_points(&placed, 0.8).iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
    let down = Place::at(0.0, ground_mm - lowest, 0.0);
    placed.placed(&down)
}

/// The part with the middle of its ball over a point.
fn centred(laid: &impl Fn([f64; 2], f64) -> Part, at: [f64; 2], turn: f64) -> Part {
    let part = laid([0.0, 0.0], turn);
    let (middle, _) = part.ball();
    let off = Place::at(at[0] - middle.x, 0.0, at[1] - middle.z);
    part.placed(&off)
}

/// The part pushed against another from the right until they touch.
fn beside(first: &Part, laid: &impl Fn([f64; 2], f64) -> Part, turn: f64) -> Part {
    let (middle, _) = first.ball();
    let start = [middle.x + 26.0, middle.z + 3.0];
    let mut part = centred(laid, start, turn);
    for _ in 0..120 {
        let touches = inside_points(&part, 1.0).iter().any(|p| first.distance(p) < 0.1);
        if touches {
            break;
        }
        part = part.placed(&Place::at(-0.25, 0.0, 0.0));
    }
    part
}

/// Points of a grid of 1 mm that lie within `reach_mm` of the part's inside.
fn inside_points(part: &Part, reach_mm: f64) -> Vec<V3> {
    let (middle, radius) = part.ball();
    let n = libm::ceil(radius) as i32;
    let mut points = Vec::new();
    for x in -n..=n {
        for y in -n..=n {
            for z in -n..=n {
                let p = middle + V3::new(f64::from(x), f64::from(y), f64::from(z));
                if part.distance_within(&p, 2.0) <= 0.8 - reach_mm {
                    points.push(p);
                }
            }
        }
    }
    points
}
