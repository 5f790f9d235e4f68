//! What is odd about a part: each sign with its evidence, its innocent explanations and the checks, harmless first.
//! Signs, never verdicts.

use serde::{Deserialize, Serialize};

use super::evidence::{Evidence, Seen};
use super::line::Sort;
use super::reasons::seen_text;
use super::weigh::Weighed;

/// Something odd about a part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sign {
    /// The slot's id.
    pub slot: String,
    /// In a few words, such as "unlike the torso".
    pub sign: String,
    /// Probability that the oddity is really there; not that anybody did anything.
    pub probability: f64,
    /// The evidence, for people.
    pub text: String,
    /// What would explain it innocently.
    pub innocent: Vec<String>,
    /// What to check, the harmless first, with cautions where a check can do harm.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub checks: Vec<String>,
}

/// What a photo says of the parts besides their shades.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Measured {
    /// Every two slots compared.
    pub pairs: Vec<SlotPair>,
    /// Slot id → probability that its colour is none of the shades that were compared with, and which those were.
    pub off_colour: Vec<OffColour>,
    /// What the surface shows, where that was measured or seen.
    pub surfaces: Vec<Surface>,
}

/// Two slots compared in one photo.
#[derive(Debug, Clone, PartialEq)]
pub struct SlotPair {
    /// One slot's id.
    pub a: String,
    /// The other's.
    pub b: String,
    /// Probability that they are of different plastic.
    pub different: f64,
}

/// A reading that may be no shade of its family.
#[derive(Debug, Clone, PartialEq)]
pub struct OffColour {
    /// The slot's id.
    pub slot: String,
    /// Probability of "none of these".
    pub none: f64,
    /// The shades that were compared with.
    pub compared: Vec<String>,
}

/// What the surface of one part shows: probabilities, where known.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Surface {
    /// The slot's id.
    pub slot: String,
    /// Its gloss is unlike that of the other parts.
    pub gloss_unlike: Option<f64>,
    /// Two populations of colour within the area.
    pub two_colours: Option<f64>,
    /// A texture of brush strokes.
    pub strokes: Option<f64>,
}

/// Below this a sign is not worth a word.
const LEAST: f64 = 0.5;

/// Every sign, the surest first. `weighed` is `None` where no hypothesis fits: then nothing is known of what the guide
/// expects, and all is told.
pub fn signs(weighed: Option<&Weighed>, evidence: &Evidence, measured: &Measured) -> Vec<Sign> {
    let mut out = Vec::new();
    for pair in measured.pairs.iter().filter(|p| p.different >= LEAST) {
        out.extend(unlike(weighed, pair));
    }
    out.extend(measured.off_colour.iter().filter(|o| o.none >= LEAST).filter_map(|o| off_colour(weighed, o)));
    measured.surfaces.iter().for_each(|s| surface(weighed, s, &mut out));
    if let Some(weighed) = weighed {
        paint(weighed, evidence, &mut out);
    }
    out.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    out
}

/// A limb unlike the torso, or left unlike right.
fn unlike(weighed: Option<&Weighed>, pair: &SlotPair) -> Option<Sign> {
    let mirrored = weighed.is_some_and(|w| {
        let at = |id: &str| w.line.slot(id).and_then(|s| w.line.slots.get(s));
        at(&pair.a).and_then(|s| s.mirror).and_then(|m| w.line.slots.get(m)).is_some_and(|m| m.id == pair.b)
    });
    let (slot, other, sign) = match (&*pair.a, &*pair.b) {
        ("torso", limb) => (limb, "torso", "unlike the torso".to_owned()),
        (limb, "torso") => (limb, "torso", "unlike the torso".to_owned()),
        (a, b) if mirrored => (a, b, "left unlike right".to_owned()),
        _ => return None,
    };
    let rightly = weighed.map_or(0.0, |w| expected_unlike(w, slot, other));
    // Flesh beside sea green: nothing odd, whoever it is.
    if rightly > 0.99 {
        return None;
    }
    let mut innocent = Vec::new();
    if rightly >= 0.05 {
        innocent.push(format!(
            "the guide gives the two rightly different shades here, with a probability of {}",
            percent(rightly)
        ));
    }
    innocent.extend([
        "one of the two lay in the light and yellowed or faded more".to_owned(),
        "the maker filled the mould from another batch of the same shade".to_owned(),
        "dirt, grease or worn paint on the area that was read".to_owned(),
    ]);
    Some(Sign {
        slot: slot.into(),
        sign,
        probability: pair.different,
        text: format!(
            "In the same photo the plastic of the {} differs from that of the {} with a probability of {}: \
             possibly exchanged.",
            label(weighed, slot),
            label(weighed, other),
            percent(pair.different)
        ),
        innocent,
        checks: checks(Check::Shade),
    })
}

/// Probability that the guide itself gives two slots different shades.
fn expected_unlike(weighed: &Weighed, a: &str, b: &str) -> f64 {
    let line = weighed.line;
    let shares = |id: &str, host: usize| {
        let slot = line.slots.get(line.slot(id)?)?;
        let f = slot.features.iter().position(|f| f.sort == Sort::Shade)?;
        slot.kinds.get(*slot.kind_of.get(host)?)?.shares.get(f)
    };
    let total: f64 = weighed.whole.iter().sum();
    let unlike = weighed.whole.iter().enumerate().map(|(h, p)| match (shares(a, h), shares(b, h)) {
        (Some(x), Some(y)) => p * (1.0 - x.iter().zip(y).map(|(x, y)| x * y).sum::<f64>()),
        _ => 0.0,
    });
    if total > 0.0 { unlike.sum::<f64>() / total } else { 0.0 }
}

fn off_colour(weighed: Option<&Weighed>, off: &OffColour) -> Option<Sign> {
    // A head beside green references is no oddity: the guide must expect one of the shades compared with.
    let expected = weighed.map_or(1.0, |w| {
        let line = w.line;
        let Some(slot) = line.slot(&off.slot).and_then(|s| line.slots.get(s)) else { return 0.0 };
        let Some(f) = slot.features.iter().position(|f| f.sort == Sort::Shade) else { return 0.0 };
        let share = |h: usize| -> f64 {
            let shares = slot.kind_of.get(h).and_then(|k| slot.kinds.get(*k)).and_then(|k| k.shares.get(f));
            let values = slot.features.get(f).map_or(&[][..], |x| &x.values);
            let both = values.iter().zip(shares.map_or(&[][..], |s| s));
            both.filter(|(v, _)| off.compared.contains(v)).map(|(_, s)| s).sum()
        };
        let total: f64 = w.whole.iter().sum();
        w.whole.iter().enumerate().map(|(h, p)| p * share(h)).sum::<f64>() / total.max(f64::MIN_POSITIVE)
    });
    if expected < 0.5 {
        return None;
    }
    Some(Sign {
        slot: off.slot.clone(),
        sign: "colour in no family".into(),
        probability: off.none,
        text: format!(
            "The colour of the {} is none of the shades it was compared with, with a probability of {}: possible \
             repaint, or plastic of another line.",
            label(weighed, &off.slot),
            percent(off.none)
        ),
        innocent: vec![
            "a shade that has no reference yet".into(),
            "strong yellowing or fading".into(),
            "a reflection or coloured light on the area that was read".into(),
        ],
        checks: checks(Check::Paint),
    })
}

fn surface(weighed: Option<&Weighed>, surface: &Surface, out: &mut Vec<Sign>) {
    let name = label(weighed, &surface.slot);
    let mut tell = |probability: Option<f64>, sign: &str, text: String, innocent: [&str; 3]| {
        let Some(probability) = probability.filter(|p| *p >= LEAST) else { return };
        out.push(Sign {
            slot: surface.slot.clone(),
            sign: sign.into(),
            probability,
            text: format!("{text} (probability {}).", percent(probability)),
            innocent: innocent.map(str::to_owned).to_vec(),
            checks: checks(Check::Paint),
        });
    };
    tell(
        surface.gloss_unlike,
        "gloss unlike the rest",
        format!("The {name} is glossier or duller than the other parts: possible repaint or coating"),
        ["polished by handling", "made in a mould with another finish", "grease or dust on the surface"],
    );
    tell(
        surface.two_colours,
        "two colours in one area",
        format!(
            "The area read on the {name} holds two populations of colour: possible repaint, worn through"
        ),
        ["paint of the time, worn through", "dirt in the hollows", "a shadow or reflection across the area"],
    );
    tell(
        surface.strokes,
        "brush strokes",
        format!("The surface of the {name} shows the texture of brush strokes: possible repaint"),
        ["painted by hand at the maker’s", "flow marks of the plastic", "scratches"],
    );
}

/// Paint that is there, on a part that belongs, but not as the guide has it.
fn paint(weighed: &Weighed, evidence: &Evidence, out: &mut Vec<Sign>) {
    for (s, slot) in weighed.line.slots.iter().enumerate() {
        let Some(at) = evidence.slots.get(&slot.id) else { continue };
        for (f, feature) in slot.features.iter().enumerate().filter(|(_, x)| x.sort == Sort::Paint) {
            let Some(seen @ Seen::Value { value, sure: true }) = at.looks.get(&feature.id) else { continue };
            let Some(v) = feature.values.iter().position(|x| x == value).filter(|v| feature.bare != Some(*v))
            else {
                continue;
            };
            let Some(view) = weighed.part(s) else { continue };
            let masses = weighed.masses(s);
            let not = |(p, kind): (&f64, &super::line::Kind)| {
                p * (1.0 - kind.shares.get(f).and_then(|x| x.get(v)).copied().unwrap_or(0.0))
            };
            let unlike: f64 = masses.iter().flat_map(|row| row.iter().zip(&slot.kinds)).map(not).sum();
            let probability = unlike * view.belongs;
            if probability < LEAST {
                continue;
            }
            out.push(Sign {
                slot: slot.id.clone(),
                sign: "paint unlike the guide".into(),
                probability,
                text: format!(
                    "{} on the {}, though the part belongs and the guide has other paint there: possible repaint \
                     (probability {}).",
                    seen_text(feature, seen),
                    slot.label,
                    percent(probability)
                ),
                innocent: vec![
                    "a variant that the guide does not list".into(),
                    "a stain taken for paint, or a mistaken look".into(),
                ],
                checks: checks(Check::Paint),
            });
        }
    }
}

enum Check {
    Shade,
    Paint,
}

/// The harmless checks first. Common practice, no source, but for the cautions: eye protection after ICNIRP 2004
/// (UV-A at the eye at most 10 000 J/m² in 8 hours); lead, cadmium and bromine in old toys after Turner 2018,
/// Environmental Science & Technology.
fn checks(what: Check) -> Vec<String> {
    let mut out = vec![
        "Wipe both places with a dry soft cloth and read them again in one photo, side by side.".to_owned(),
        "Compare a sheltered place, inside a joint or under a strap, where the colour has aged least.".to_owned(),
        "Look along the surface with a loupe under a slanting light: edges of paint, filled details, strokes."
            .to_owned(),
    ];
    if matches!(what, Check::Paint) {
        out.push(
            "Only after all colours were measured: a short look under a long-wave UV lamp (about 365 nm). Later paint \
             may look different, but no difference proves nothing. Caution: wear goggles marked UV400, never look \
             into the lamp, no short-wave lamp, not with eyes that lack their lens or react to light; UV ages \
             plastic."
                .to_owned(),
        );
    }
    out.push(
        "Do not scrape, sand, heat or try solvents: old plastic and paint can hold lead, cadmium and bromine, and the \
         part is spoilt for good. Wash hands after handling; where it must be tested, leave it to a conservator \
         and to local rules."
            .to_owned(),
    );
    out
}

fn label(weighed: Option<&Weighed>, slot: &str) -> String {
    let known = weighed.and_then(|w| w.line.slots.get(w.line.slot(slot)?));
    known.map_or(slot, |s| &s.label).to_owned()
}

/// "96 %", and never "100 %" for what is not certain.
pub(super) fn percent(p: f64) -> String {
    match p {
        p if p > 0.995 && p < 1.0 => "over 99 %".into(),
        p if p > 0.0 && p < 0.005 => "under 1 %".into(),
        p => format!("{:.0} %", 100.0 * p),
    }
}
