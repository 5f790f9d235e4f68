//! Thousands of invented scenes measured: are the error bars true, and how short are they?
//!
//! A rehearsal goes the whole way of a photo without rendering one: spectra → lamps → camera → statistics of
//! coded areas, as [`crate::plastic`] would make them of pixels → [`crate::light::fit`] →
//! [`crate::shade::Predictive`]. The truth of each scene is known, so every claim can be counted.
//!
//! | topic | what it knows |
//! |---|---|
//! | `plastics` | families of Kubelka–Munk shades, specimens as somebody measured them, parts, strangers |
//! | `lighting` | one or two lamps, strength and tint over the photo, the angle of surfaces to the key light |
//! | `shot` | one of many cameras with its balance, exposure and curve; a surface → [`crate::plastic::Area`] |
//! | `board` | a plain board, seen between the parts or empty in a second photo |
//! | `photo` | where a card, parts of known shade and parts to read lie in a photo, and how it shows them |
//! | `scene` | references, the parts, and all photos of them |
//! | `judge` | one scene measured with one set of known zones, held against the truth |
//! | `today` | what people do without a model of the light, on the same scenes |
//! | `table` | counts over scenes as rows |
//! | `text` | those for people |
//!
//! What is drawn, and where its range comes from, stands beside each constant. Pigments are invented
//! ([`crate::scene::pigment`]); illuminants, two cameras and the chart are published measurements, other cameras
//! are variants of those two. Each scene is one photo, measured once with each set of known zones, so that the
//! rows of a table differ by what is known and by nothing else. One part in twenty is of none of the shades,
//! which is what [`crate::shade::Priors`] takes for granted.
//!
//! Not rehearsed, because areas are drawn and not pictures: finding glare and paint edges (what they leave is
//! drawn as `gloss`), bleeding of chroma at edges, blur.
//!
//! Everything hangs on one seed: scene *n* of a group is the same whatever the number of scenes.

mod board;
mod judge;
mod lighting;
mod photo;
mod plastics;
mod scene;
mod shot;
mod table;
mod text;
mod today;

pub use board::Boards;
pub use table::{Pair, Rehearsal, Row, Today, TodayHabit};
pub use today::Habit;

use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;

use self::judge::{Verdict, judge};
use self::plastics::Family;
use self::scene::Scene;
use self::table::Counts;
use crate::light::{Constants, KnownPatch};
use crate::scene::family::{BATCH_SD, Hue};

/// What is known in a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Known {
    /// One mid grey.
    OneGrey,
    /// Six greys from white to black.
    Ladder,
    /// Those, and a part of known shade near the part in question.
    LadderAndPart,
    /// All 24 patches of the chart.
    FullChart,
    /// A part of known shade and no card.
    PartOnly,
    /// Nothing at all.
    Nothing,
}

impl Known {
    /// All of them, in the order of the table.
    pub const ALL: [Self; 6] =
        [Self::OneGrey, Self::Ladder, Self::LadderAndPart, Self::FullChart, Self::PartOnly, Self::Nothing];

    /// Whether a part of known shade lies there.
    pub fn has_part(self) -> bool {
        matches!(self, Self::LadderAndPart | Self::PartOnly)
    }

    /// Whether a shade is called at all, see [`crate::measure`]: not in a light that is guessed.
    pub fn lets_call(self) -> bool {
        self != Self::Nothing
    }

    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::OneGrey => "one grey",
            Self::Ladder => "ladder",
            Self::LadderAndPart => "ladder + known part",
            Self::FullChart => "full chart",
            Self::PartOnly => "known part only",
            Self::Nothing => "nothing",
        }
    }
}

/// How even the light of a scene is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Evenness {
    /// Up to 5 % from the brightest to the darkest place of the photo, tint alike.
    Even,
    /// 30 %, and two lamps whose mixture changes across the photo.
    Uneven,
}

impl Evenness {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Even, Self::Uneven];

    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Even => "even",
            Self::Uneven => "uneven 30 %, tinted",
        }
    }
}

/// A kind of family that a group of scenes draws from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FamilyKind {
    /// Its name in tables.
    pub name: &'static str,
    /// Hues to draw from.
    pub hues: &'static [Hue],
    /// Fewest and most shades.
    pub shades: (usize, usize),
    /// Least and most CIEDE2000 from each shade to the next.
    pub de00: (f64, f64),
    /// Relative scatter of each pigment's amount from batch to batch, and so of the parts of one shade.
    pub batch_sd: f64,
    /// Which part of known shade lies in the photo.
    pub known_part: KnownPart,
}

/// What is known of a part whose shade is certain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KnownPart {
    /// Only its shade.
    OfShade,
    /// It is one of the specimens that the references rest on.
    Specimen,
    /// One specimen of each shade lies there.
    SpecimenOfEach,
}

/// Three greens, 4 CIEDE2000 from each to the next.
const GREENS: FamilyKind = FamilyKind {
    name: "greens 4 apart",
    hues: &[Hue::Green],
    shades: (3, 3),
    de00: (4.0, 4.0),
    batch_sd: BATCH_SD,
    known_part: KnownPart::OfShade,
};

/// The groups of the table.
pub const FAMILIES: [FamilyKind; 7] = [
    GREENS,
    FamilyKind { name: "greens 2 apart", de00: (2.0, 2.0), ..GREENS },
    FamilyKind { name: "all hues 4 apart", hues: &Hue::ALL, ..GREENS },
    FamilyKind { name: "all hues 2 to 8 apart", hues: &Hue::ALL, shades: (2, 4), de00: (2.0, 8.0), ..GREENS },
    FamilyKind { name: "greens 4 apart, known part a specimen", known_part: KnownPart::Specimen, ..GREENS },
    FamilyKind {
        name: "greens 4 apart, a specimen of each",
        known_part: KnownPart::SpecimenOfEach,
        ..GREENS
    },
    FamilyKind { name: "greens 4 apart, even batches", batch_sd: BATCH_SD / 2.0, ..GREENS },
];

/// How to rehearse.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Scenes altogether, shared out evenly among families and kinds of light.
    pub scenes: usize,
    /// Seed of everything.
    pub seed: u64,
    /// A shade is called, and parts are called different, only from this probability on, 0.5..1.
    pub confidence: f64,
    /// Groups of families.
    pub families: Vec<FamilyKind>,
    /// Kinds of light.
    pub evenness: Vec<Evenness>,
    /// What is known.
    pub known: Vec<Known>,
    /// Which boards teach besides.
    pub boards: Boards,
    /// Photos of each scene, read together: all is laid anew for each.
    pub photos: usize,
    /// The light model's constants, to try others than those learned.
    pub constants: Constants,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            scenes: 12_000,
            seed: 1,
            confidence: 0.95,
            families: FAMILIES.to_vec(),
            evenness: Evenness::ALL.to_vec(),
            known: Known::ALL.to_vec(),
            boards: Boards::None,
            photos: 1,
            constants: Constants::learned().clone(),
        }
    }
}

/// The 24-patch card of an invented photo, patches that are burnt out left out; `None` where the photo is
/// unusable. The same seed gives the same card.
pub fn invented_card(evenness: Evenness, seed: u64) -> Option<Vec<KnownPatch>> {
    let mut rng = stream(seed, [u64::MAX >> 40, 0, 0]);
    let family = Family::drawn(&FAMILIES[0], &mut rng);
    Some(Scene::drawn(&family, evenness, 1, &mut rng)?.known(Known::FullChart))
}

/// Families that a group of scenes shares; mixing one costs as much as a whole photo.
const FAMILIES_OF_A_GROUP: usize = 64;
/// A burnt-out photo is taken again, at most so often.
const MOST_RETAKES: u64 = 8;

/// Rehearses; `progress` hears after each scene how many of them are done.
pub fn rehearse(options: &Options, mut progress: impl FnMut(usize)) -> Rehearsal {
    let groups = (options.families.len() * options.evenness.len()).max(1);
    let scenes_of_group = options.scenes.div_ceil(groups);
    let mut rehearsal = Rehearsal::new(options, scenes_of_group * groups);
    let mut done = 0;
    for (index, kind) in options.families.iter().enumerate() {
        let mut rng = stream(options.seed, [index as u64, 0, 0]);
        let families: Vec<Family> =
            (0..FAMILIES_OF_A_GROUP.min(scenes_of_group)).map(|_| Family::drawn(kind, &mut rng)).collect();
        for &evenness in &options.evenness {
            let mut counts: Vec<Counts> = options.known.iter().map(|&known| Counts::new(known)).collect();
            for number in 0..scenes_of_group {
                let family = &families[number % families.len()];
                let key = [index as u64, 1 + evenness as u64, number as u64];
                if let Some(scene) = usable(family, evenness, options, key) {
                    let habits = Habit::ALL.map(|habit| habit.call(&scene));
                    for count in &mut counts {
                        let verdict: Option<Verdict> = judge(&scene, count.known, options);
                        count.add(&scene, verdict, habits);
                    }
                }
                done += 1;
                progress(done);
            }
            for count in counts {
                rehearsal.push(kind.name, evenness.name(), &count, options);
            }
        }
    }
    rehearsal
}

/// A new scene of this family with a usable photo.
fn usable(family: &Family, evenness: Evenness, options: &Options, key: [u64; 3]) -> Option<Scene> {
    (0..MOST_RETAKES).find_map(|retake| {
        let rng = &mut stream(options.seed ^ (retake << 48), key);
        Scene::drawn(family, evenness, options.photos, rng)
    })
}

/// A stream of its own for every scene: the parts of the key go into different bits of the seed, which the
/// generator's own seeding (SplitMix64) then scatters.
fn stream(seed: u64, [family, light, number]: [u64; 3]) -> Xoshiro256PlusPlus {
    let key = (family << 40) ^ (light << 36) ^ number;
    Xoshiro256PlusPlus::seed_from_u64(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ key)
}
