//! The cards that the rehearsal invents beside the photographed ones: are invented cameras as dull or strong, and as soft or
//! hard, as those that people have?
//!
//! Nothing here depends on the light model: each channel is brought to the true greys along a curve through the greys that
//! the photo shows, and what is then left of a colour's chroma is compared with its true chroma.

use nalgebra::Vector3;
use sameshot::color::{
    column_of, lab_in_d50_from_linear_srgb, lab_of, linear_srgb_from_lab_in_d50, srgb_decode,
};
use sameshot::light::KnownPatch;
use sameshot::rehearse::{Evenness, invented_card};
use sameshot::stats::{median, weighted_quantile};

use crate::score::wide_charts;

const CARDS: u64 = 200;
/// Below this chroma a patch of the chart is a grey.
const GREY: f64 = 6.0;
/// The least linear light whose logarithm is taken.
const BLACK: f64 = 1e-3;

/// What a camera made of a card: contrast of its greys (slope of the logarithms, 1 if faithful), and the median over the
/// colours of the logarithm of their chroma over the true one.
fn character(card: &[(Vector3<f64>, Vector3<f64>)]) -> Option<[f64; 2]> {
    let chroma = |lab: &Vector3<f64>| lab[1].hypot(lab[2]);
    let shown = |coded: &Vector3<f64>| coded.map(|v| srgb_decode(v).max(BLACK).ln());
    let truth = |lab: &Vector3<f64>| {
        Vector3::from(linear_srgb_from_lab_in_d50(lab_of(*lab))).map(|v: f64| v.max(BLACK).ln())
    };
    let (mut greys, colours): (Vec<_>, Vec<_>) = card.iter().partition(|(_, lab)| chroma(lab) < GREY);
    if greys.len() < 5 {
        return None;
    }
    greys.sort_by(|(_, p), (_, q)| p[0].total_cmp(&q[0]));
    let steps: Vec<_> = greys.iter().map(|(coded, lab)| (shown(coded), truth(lab))).collect();
    let (first, last) = (steps.first()?, steps.last()?);
    let contrast = (last.0 - first.0).mean() / (last.1 - first.1).mean();
    // Between two greys straight in the logarithms, beyond them as much as the nearest is off.
    let brought = |channel: usize, v: f64| {
        let (before, after) = steps.iter().map(|(x, y)| (x[channel], y[channel])).fold(
            (None, None),
            |(before, after), step| {
                if step.0 <= v { (Some(step), after) } else { (before, after.or(Some(step))) }
            },
        );
        match (before, after) {
            (Some((x, y)), Some((x2, y2))) => y + (v - x) / (x2 - x) * (y2 - y),
            (Some((x, y)), None) | (None, Some((x, y))) => y + v - x,
            (None, None) => v,
        }
    };
    let ratios: Vec<f64> = colours
        .iter()
        .map(|(coded, lab)| {
            let shown = shown(coded);
            let linear = [0, 1, 2].map(|channel| brought(channel, shown[channel]).exp());
            (chroma(&column_of(lab_in_d50_from_linear_srgb(linear))).max(1.0) / chroma(lab)).ln()
        })
        .collect();
    Some([contrast, median(&ratios)])
}

/// Lower quartile, median and upper quartile.
fn quartiles(values: &[f64]) -> [f64; 3] {
    [0.25, 0.5, 0.75].map(|share| weighted_quantile(values, None, share))
}

#[test]
fn invented_cameras_are_as_dull_and_as_hard_as_those_of_people() {
    let mut of_sources: std::collections::BTreeMap<String, Vec<[f64; 2]>> = Default::default();
    for chart in wide_charts() {
        let patches: Vec<_> =
            chart.patches.iter().filter(|p| !p.clipped).map(|p| (p.patch.coded, p.lab)).collect();
        of_sources.entry(chart.source).or_default().extend(character(&patches));
    }
    let invented: Vec<[f64; 2]> = (0..CARDS)
        .filter_map(|seed| {
            let card = invented_card(Evenness::Even, seed)?;
            character(
                &card.iter().map(|KnownPatch { patch, lab, .. }| (patch.coded, *lab)).collect::<Vec<_>>(),
            )
        })
        .collect();
    for (which, name, allowed) in [(0, "contrast of greys", 0.12), (1, "logarithm of chroma", 0.12)] {
        // Every source counts the same.
        let photographed = of_sources.values().filter(|charts| !charts.is_empty());
        let photographed = photographed
            .map(|charts| median(&charts.iter().map(|c| c[which]).collect::<Vec<_>>()))
            .collect::<Vec<_>>();
        let photographed = quartiles(&photographed);
        let invented = quartiles(&invented.iter().map(|c| c[which]).collect::<Vec<_>>());
        println!("{name}: quartiles of the photographed {photographed:.2?}, of the invented {invented:.2?}");
        for (p, q) in photographed.iter().zip(invented) {
            assert!((p - q).abs() < allowed, "{name}: {photographed:.2?} {invented:.2?}");
        }
    }
}
