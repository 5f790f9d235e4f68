//! Readings and specimens that do not fit the others: shown and named, never dropped; setting aside is the person's.

use nalgebra::Vector3;

use super::covariance::positive;
use super::details::PhotoReading;
use super::predictive::{Predictive, counted};
use super::references::{References, Shade};
use crate::stats::{chi_squared_cdf, factor};

/// Something that fits the others badly.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlier {
    /// The shade's id.
    pub shade: String,
    /// The specimen's id.
    pub specimen: String,
    /// The photo, where one reading of a specimen is meant and not the specimen.
    pub photo: Option<String>,
    /// What lies between it and what the others lead to expect, in L\*, a\*, b\*.
    pub away: [f64; 3],
    /// Probability of lying so far out by chance, with the number of those looked at taken into account (S. Holm, Scand.
    /// J. Statist. 6:65-70, 1979).
    pub by_chance: f64,
}

/// Below this probability something is named; common practice, no source.
const NAMED_BELOW: f64 = 0.01;

/// All that fits badly, the strangest first: photos of a specimen against its other photos, then specimens of a shade
/// against its other specimens. Two of a kind cannot say which of them is wrong, so three are needed.
pub fn outliers(references: &References) -> Vec<Outlier> {
    let photos = references.shades.iter().flat_map(photos_of).collect();
    let specimens = references.shades.iter().flat_map(|shade| specimens_of(references, shade)).collect();
    let mut found = [named(photos), named(specimens)].concat();
    found.sort_by(|p, q| p.by_chance.total_cmp(&q.by_chance));
    found
}

/// Holm's adjusted probabilities; what stays above the limit is left out.
fn named(mut all: Vec<Outlier>) -> Vec<Outlier> {
    all.sort_by(|p, q| p.by_chance.total_cmp(&q.by_chance));
    for (entry, adjusted) in all.iter().map(|o| o.by_chance).collect::<Vec<_>>().into_iter().enumerate() {
        let before = if entry > 0 { all[entry - 1].by_chance } else { 0.0 };
        let left = (all.len() - entry) as f64;
        all[entry].by_chance = before.max((adjusted * left).min(1.0));
    }
    all.retain(|outlier| outlier.by_chance < NAMED_BELOW);
    all
}

fn photos_of(shade: &Shade) -> Vec<Outlier> {
    let mut found = Vec::new();
    for specimen in shade.specimens.iter().filter(|specimen| !specimen.is_set_aside()) {
        let details = specimen.details();
        let counted: Vec<&PhotoReading> = details.photos.iter().filter(|p| p.set_aside.is_none()).collect();
        if counted.len() < 3 {
            continue;
        }
        for (index, photo) in counted.iter().enumerate() {
            let others: Vec<&PhotoReading> =
                counted.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, p)| *p).collect();
            let mut away = [0.0; 3];
            let mut distance = 0.0;
            for axis in 0..3 {
                // What all photos of one camera share cannot show here: taking the errors as independent makes the test
                // a little too mild, never too sharp.
                let weight = |p: &PhotoReading| 1.0 / (p.sd[axis] * p.sd[axis]);
                let total: f64 = others.iter().map(|p| weight(p)).sum();
                let mean = others.iter().map(|p| weight(p) * p.lab[axis]).sum::<f64>() / total;
                away[axis] = photo.lab[axis] - mean;
                distance += away[axis] * away[axis] / (photo.sd[axis] * photo.sd[axis] + 1.0 / total);
            }
            found.push(Outlier {
                shade: shade.id.clone(),
                specimen: specimen.id.clone(),
                photo: Some(photo.photo.clone()),
                away,
                by_chance: 1.0 - chi_squared_cdf(distance, 3.0),
            });
        }
    }
    found
}

fn specimens_of(references: &References, shade: &Shade) -> Vec<Outlier> {
    let ids: Vec<&str> = counted(shade).iter().map(|specimen| specimen.id.as_str()).collect();
    if ids.len() < 3 {
        return Vec::new();
    }
    ids.iter().filter_map(|id| without(references, shade, id)).collect()
}

/// A specimen against what the references without it expect of the next part of its shade.
fn without(references: &References, shade: &Shade, id: &str) -> Option<Outlier> {
    let mut others = references.clone();
    let own = others.shades.iter_mut().find(|other| other.id == shade.id)?;
    own.specimens.retain(|specimen| specimen.id != id);
    let predictive = Predictive::from_references(&others).ok()?;
    let expected = &predictive.shades()[predictive.index_of(&shade.id)?].next_part;
    let specimen = shade.specimens.iter().find(|specimen| specimen.id == id)?;
    // Of its own error only what it does not share: the rest is in the others' mean already.
    let own = positive(&(specimen.cov() - specimen.shared_cov()));
    let at = Vector3::from(specimen.lab);
    // The components have nearly one centre, so the mixture of their tails is the tail of the mixture.
    let tail = |component: &crate::stats::Component<3>| {
        let cov = component.cov + own;
        let white = factor(&cov).ok()?.whiten(&(at - component.mean));
        Some(component.weight * (1.0 - chi_squared_cdf(white.norm_squared(), 3.0)))
    };
    let by_chance: f64 = expected.components().iter().filter_map(tail).sum();
    Some(Outlier {
        shade: shade.id.clone(),
        specimen: id.to_owned(),
        photo: None,
        away: (at - expected.moments().0).into(),
        by_chance,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shade::parse_references;
    use crate::stats::Draws;

    fn shade_of(labs: &[[f64; 3]]) -> References {
        let specimens: Vec<_> = labs
            .iter()
            .enumerate()
            .map(|(i, lab)| serde_json::json!({"id": format!("torso {i}"), "lab": lab, "sd": [0.3, 0.2, 0.2], "method": "photo"}))
            .collect();
        let whole = serde_json::json!({"sameshot_shades": 1, "family": "green", "shades": [{"id": "green/one", "specimens": specimens}]});
        parse_references(whole.to_string().as_bytes()).unwrap()
    }

    #[test]
    fn a_strange_specimen_is_named_and_stays() {
        let mut labs =
            vec![[50.0, -20.0, 15.0], [50.5, -20.4, 15.2], [49.6, -19.7, 14.6], [50.2, -20.1, 15.5]];
        assert_eq!(outliers(&shade_of(&labs)), []);
        labs.push([42.0, -21.0, 13.0]);
        let references = shade_of(&labs);
        let found = outliers(&references);
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].specimen, "torso 4");
        assert!(found[0].away[0] < -7.0 && found[0].photo.is_none());
        assert_eq!(references.shades[0].specimens.len(), 5);
    }

    #[test]
    fn a_strange_photo_is_named() {
        let mut references = shade_of(&[[50.0, -20.0, 15.0]]);
        let photo = |i: usize, l: f64| serde_json::json!({"photo": format!("{i}.jpg"), "lab": [l, -20.0, 15.0], "sd": [1.0, 0.8, 0.8]});
        let photos: Vec<_> = [50.2, 49.5, 50.9, 60.0].iter().enumerate().map(|(i, l)| photo(i, *l)).collect();
        references.shades[0].specimens[0].rest.insert("photos".into(), photos.into());
        let found = outliers(&references);
        assert_eq!(
            found.iter().map(|o| o.photo.as_deref()).collect::<Vec<_>>(),
            [Some("3.jpg")],
            "{found:?}"
        );
    }

    /// Without any outlier at most about one set in a hundred is suspected, as the limit says.
    #[test]
    fn good_sets_are_seldom_suspected() {
        let mut source = Draws::seeded(4);
        let mut suspected = 0;
        for _ in 0..200 {
            let labs: Vec<[f64; 3]> = (0..6)
                .map(|_| {
                    (Vector3::new(50.0, -20.0, 15.0)
                        + source.normals::<3>() * crate::shade::predictive::PRIOR_SPREAD)
                        .into()
                })
                .collect();
            suspected += usize::from(!outliers(&shade_of(&labs)).is_empty());
        }
        println!("{suspected} of 200 good sets suspected");
        assert!(suspected <= 6, "{suspected}");
    }

    /// S. Holm, Scand. J. Statist. 6:65-70, 1979; adjusted values of (0.01, 0.04, 0.03, 0.005) computed with PyPI
    /// statsmodels: (0.03, 0.06, 0.06, 0.02).
    #[test]
    fn probabilities_are_adjusted_by_holm() {
        let entry = |by_chance: f64| Outlier {
            shade: String::new(),
            specimen: format!("{by_chance}"),
            photo: None,
            away: [0.0; 3],
            by_chance: by_chance / 10.0,
        };
        // A tenth of each, so that the limit keeps them all.
        let found = named([0.01, 0.04, 0.03, 0.005].map(entry).to_vec());
        let adjusted: Vec<f64> = found.iter().map(|o| o.by_chance * 10.0).collect();
        for (found, wanted) in adjusted.iter().zip([0.02, 0.03, 0.06, 0.06]) {
            assert!((found - wanted).abs() < 1e-12, "{adjusted:?}");
        }
    }
}
