//! Bodies of other cases, to match the loose limbs of this one with: the other case is measured on a thread, and of its
//! torsos the colour with its covariance is kept.

use std::path::{Path, PathBuf};

use serde_json::Map;

use crate::case::{BodyElsewhere, Edit, PathRule};
use crate::jobs::{Progress, Task};
use crate::measure::{self, AreaCache, Inputs};
use crate::problem::Problem;
use crate::tray::bodies::BODY;

use super::work::ReadBodies;
use crate::app::files::open::{self, Refusal};
use crate::app::state::State;

impl State {
    /// Reads the bodies of another case on a thread.
    pub(super) fn read_bodies(&mut self, path: PathBuf) {
        let work = move |progress: &Progress| bodies_of(&path, progress);
        let label = "Measuring the other case".to_owned();
        self.tray.bodies = Some(Task::start(label, self.wake.clone(), work));
    }

    /// Takes in what was read, in one step; bodies read before under the same names are replaced.
    pub(super) fn poll_bodies(&mut self) {
        let Some(result) = self.tray.bodies.as_ref().and_then(Task::poll) else { return };
        self.tray.bodies = None;
        let bodies = match result {
            Ok(Some(Ok(bodies))) => bodies,
            Ok(Some(Err(problem))) => return self.message = Some(problem.into()),
            Ok(None) => return,
            Err(text) => return self.tell(text, "Try another case."),
        };
        self.try_edit(|session| {
            let mut tray = session.case().tray.clone().unwrap_or_default();
            tray.bodies.retain(|old| bodies.iter().all(|new| new.id != old.id));
            tray.bodies.extend(bodies);
            session.edit_together("add bodies of another case", vec![Edit::SetTray(Some(tray))])
        });
    }

    /// Forgets the bodies of other cases.
    pub(super) fn forget_bodies(&mut self) {
        self.try_edit(|session| {
            let mut tray = session.case().tray.clone().unwrap_or_default();
            tray.bodies.clear();
            session.edit_together("forget the bodies of other cases", vec![Edit::SetTray(Some(tray))])
        });
    }
}

fn bodies_of(path: &Path, progress: &Progress) -> ReadBodies {
    if !open::is_case(path) {
        return Some(Err(Problem::new(
            format!("{} is no case file.", path.display()),
            "Name a file that ends with .case.json.",
        )));
    }
    let opened = match open::open(path, PathRule::ChosenByHand, progress)? {
        Ok(opened) => opened,
        Err(Refusal::Problem(problem) | Refusal::Outside(_, problem)) => return Some(Err(problem)),
    };
    let inputs = Inputs {
        raster: &opened.raster,
        facts: &opened.facts,
        case: &opened.case,
        references: opened.references.as_deref(),
        flat_field: opened.flat_field.as_ref().and_then(|(_, _, field)| field.as_deref()),
        other_photos: &[],
    };
    let options = measure::Options { remedies: false, ..measure::Options::default() };
    let outcome = measure::measure(&inputs, &options, &mut AreaCache::default());
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let torsos = opened.case.readings.iter().filter(|reading| reading.slot.as_deref() == Some(BODY));
    let measured = torsos.filter_map(|torso| {
        let result = outcome.measurement.readings.iter().find(|result| result.id == torso.id)?;
        Some(BodyElsewhere {
            id: format!("{} of {name}", torso.id),
            lab: result.lab,
            cov: result.cov,
            rest: Map::new(),
        })
    });
    let bodies: Vec<BodyElsewhere> = measured.collect();
    if bodies.is_empty() {
        return Some(Err(Problem::new(
            format!("{} has no torso that was measured.", path.display()),
            "Open that case, give the torso's mark the slot “torso”, save it, and try again.",
        )));
    }
    Some(Ok(bodies))
}
