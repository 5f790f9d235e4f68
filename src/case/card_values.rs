//! The measured greys of a print given to the marked steps of its card.

use super::document::{CaseDocument, Known};
use super::edit::{Edit, MarkKey};
use crate::card::known::KnownStep;

/// The changes that give the zones "step 1" (the lightest), "step 2", … the values of a card's steps; zones that have
/// them already are left out.
pub fn card_values(case: &CaseDocument, steps: &[KnownStep]) -> Vec<Edit> {
    let each = (1..).zip(steps).filter_map(|(number, step): (usize, &KnownStep)| {
        let id = format!("step {number}");
        let known = Known::Lab { lab: step.lab, sd: step.sd };
        let zone = case.zones.iter().find(|zone| zone.id == id)?;
        (zone.known != known).then(|| Edit::SetKnown(MarkKey::zone(id), known))
    });
    each.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::ZoneMark;
    use crate::raster::Shape;

    #[test]
    fn marked_steps_take_the_values_and_nothing_else_does() {
        let mut case = CaseDocument::new("a.jpg");
        let shape = Shape::Circle { centre: [10.0, 10.0], radius: 3.0 };
        let guess = Known::Lab { lab: [50.0, 0.0, 0.0], sd: [4.0, 1.5, 2.5] };
        for id in ["step 2", "paper", "step 9"] {
            case.zones.push(ZoneMark::new(id, shape.clone(), guess.clone()));
        }
        let step = |l: f64| KnownStep { lab: [l, 0.1, -1.0], sd: [0.3, 0.2, 0.2] };
        let steps = [step(91.0), step(80.0), step(66.0)];
        let edits = card_values(&case, &steps);
        assert_eq!(edits.len(), 1);
        edits[0].apply(&mut case).unwrap();
        assert_eq!(case.zones[0].known, Known::Lab { lab: [80.0, 0.1, -1.0], sd: [0.3, 0.2, 0.2] });
        assert!(case.zones[1..].iter().all(|zone| zone.known == guess));
        assert_eq!(card_values(&case, &steps), []);
    }
}
