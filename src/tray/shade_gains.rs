//! The light of a photo for its shade map: three gains that make its known colours look as they are.
//!
//! For looking only. A part of known shade beats greys, since its error is that of the parts that are looked at.

use crate::case::{CaseDocument, Known, ZoneMark};
use crate::color::{Lab, linear_srgb_from_lab_in_d50};
use crate::raster::{Raster, Shape};
use crate::shade::{References, Shade};

/// What the gains come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GainsFrom {
    /// Parts of known shade.
    KnownParts,
    /// Greys of a card.
    Greys,
    /// Nothing: the picture is taken as it is.
    Nothing,
}

impl GainsFrom {
    /// What to know of a map made with them.
    pub fn words(self) -> &'static str {
        match self {
            Self::KnownParts => "Levelled on the parts of known shade.",
            Self::Greys => {
                "Levelled on the greys of the card; a part of known shade beside the others would level it better."
            }
            Self::Nothing => "Nothing in the photo is known, so its colours are taken as they are.",
        }
    }
}

/// The middle of a shade's specimens; `None` without any.
pub fn middle_of(shade: &Shade) -> Option<Lab> {
    let count = shade.specimens.len() as f64;
    let mean = |axis: usize| shade.specimens.iter().map(|s| s.lab[axis]).sum::<f64>() / count;
    (count > 0.0).then(|| Lab::new(mean(0), mean(1), mean(2)))
}

/// A known colour as the photo shows it.
struct Seen {
    /// What it is over what is seen of it, in linear light.
    ratios: [f64; 3],
    /// Whether it is a part of known shade.
    is_part: bool,
    /// Its L\*.
    lightness: f64,
}

/// Gains for red, green and blue in linear light, and what they come from.
pub fn gains(raster: &Raster, case: &CaseDocument, references: Option<&References>) -> ([f64; 3], GainsFrom) {
    let shade = |id: &str| references?.shades.iter().find(|shade| shade.id == id).and_then(middle_of);
    let known = |zone: &ZoneMark| match &zone.known {
        Known::Shade { shade: id, .. } => shade(id).map(|lab| (lab, true)),
        Known::Lab { lab, .. } => Some((Lab::new(lab[0], lab[1], lab[2]), false)),
    };
    let zones: Vec<Seen> = case
        .zones
        .iter()
        .filter_map(|zone| {
            let (lab, is_part) = known(zone)?;
            let seen = middle_light(raster, &zone.shape)?;
            let is = linear_srgb_from_lab_in_d50(lab);
            let ratios = [0, 1, 2].map(|channel| is[channel].max(1e-4) / seen[channel]);
            Some(Seen { ratios, is_part, lightness: lab.l })
        })
        .collect();
    let of = |wanted: &dyn Fn(&Seen) -> bool| -> Option<[f64; 3]> {
        let chosen: Vec<&[f64; 3]> =
            zones.iter().filter(|zone| wanted(zone)).map(|zone| &zone.ratios).collect();
        (!chosen.is_empty())
            .then(|| [0, 1, 2].map(|channel| median(chosen.iter().map(|r| r[channel]).collect())))
    };
    if let Some(gains) = of(&|zone| zone.is_part) {
        return (gains, GainsFrom::KnownParts);
    }
    // Greys about as light as plastic: the tone curve is off elsewhere.
    let middle = of(&|zone| (30.0..75.0).contains(&zone.lightness));
    match middle.or_else(|| of(&|_| true)) {
        Some(gains) => (gains, GainsFrom::Greys),
        None => ([1.0; 3], GainsFrom::Nothing),
    }
}

/// The median light of an area; `None` where there is none or it is black.
fn middle_light(raster: &Raster, shape: &Shape) -> Option<[f64; 3]> {
    let spans = shape.spans(raster.width(), raster.height(), 0.0);
    let pixels = spans.iter().flat_map(|span| (span.x_start..span.x_end).map(|x| (x, span.y)));
    let light: Vec<[f32; 3]> = pixels.map(|(x, y)| raster.linear_at(x, y)).collect();
    let middle = [0, 1, 2].map(|channel| median(light.iter().map(|v| f64::from(v[channel])).collect()));
    (!light.is_empty() && middle.iter().all(|v| *v > 1e-4)).then_some(middle)
}

fn median(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::color::lab_in_d50_from_linear_srgb;
    use crate::raster::{Coding, Samples};

    #[test]
    fn gains_undo_a_tinted_light_and_a_known_part_beats_the_greys() {
        // Left half a grey, right half a green, both under light that halves the blue.
        let seen = |x: usize| if x < 20 { [0.2f32, 0.2, 0.1] } else { [0.06, 0.18, 0.06] };
        let samples = (0..40 * 20).flat_map(|i| seen(i % 40)).collect();
        let coding = Coding { curves: [vec![], vec![], vec![]], to_srgb: None };
        let raster = Raster::new(40, 20, Samples::Linear(samples), coding, None).unwrap();
        let box_at = |x: f64| Shape::Rect { min: [x, 2.0], max: [x + 15.0, 18.0] };
        let lab = |rgb| lab_in_d50_from_linear_srgb(rgb);
        let as_known = |lab: Lab| Known::Lab { lab: [lab.l, lab.a, lab.b], sd: [1.0; 3] };
        let mut case = CaseDocument::new("a.png");
        assert_eq!(gains(&raster, &case, None), ([1.0; 3], GainsFrom::Nothing));
        case.zones.push(ZoneMark::new("step 1", box_at(2.0), as_known(lab([0.2; 3]))));
        let (grey, from) = gains(&raster, &case, None);
        assert!(
            from == GainsFrom::Greys && (grey[2] - 2.0).abs() < 0.01 && (grey[0] - 1.0).abs() < 0.01,
            "{grey:?}"
        );
        let green = lab([0.066, 0.198, 0.132]);
        let text = serde_json::json!({"sameshot_shades": 1, "family": "green", "shades": [{"id": "green/light",
            "specimens": [{"id": "s", "lab": [green.l, green.a, green.b], "sd": [0.3, 0.3, 0.3], "method": "photo"}]}]});
        let references: References = serde_json::from_value(text).unwrap();
        case.zones.push(ZoneMark::new("arm", box_at(22.0), Known::shade("green/light")));
        let (part, from) = gains(&raster, &case, Some(&references));
        assert_eq!(from, GainsFrom::KnownParts);
        assert!((part[0] - 1.1).abs() < 0.01 && (part[2] - 2.2).abs() < 0.02, "{part:?}");
    }
}
