//! The shade map over the photo: made on a thread when it is asked for, and again when what is known has changed.
//! No widget here; `shade_drawing` paints it.

use std::sync::Arc;

use crate::case::ZoneMark;
use crate::jobs::Task;
use crate::shade::References;
use crate::tray::shade_small::SmallMap;

use crate::app::state::State;

/// The map, and what it was made of.
#[derive(Default)]
pub(in crate::app) struct ShadeLayer {
    /// Whether it is shown.
    pub shown: bool,
    map: Option<Arc<SmallMap>>,
    made_of: Option<MadeOf>,
    making: Option<Task<Option<SmallMap>>>,
    /// Grows with every new map.
    pub number: u64,
}

#[derive(Clone)]
struct MadeOf {
    zones: Vec<ZoneMark>,
    references: Arc<References>,
}

impl ShadeLayer {
    /// The map, if it is shown and made.
    pub(super) fn map(&self) -> Option<&Arc<SmallMap>> {
        self.map.as_ref().filter(|_| self.shown)
    }

    /// Forgets the photo before.
    pub(in crate::app) fn forget(&mut self) {
        *self = Self { number: self.number, ..Self::default() };
    }
}

impl State {
    /// Shows the map or takes it away.
    pub(in crate::app) fn toggle_shade_map(&mut self) {
        let Some(session) = &self.session else { return };
        if session.references.is_none() && !self.shade_layer.shown {
            return self.tell("There are no shades to map.", "Choose them first: Menu, File, Shades.");
        }
        self.shade_layer.shown = !self.shade_layer.shown;
    }

    /// Keeps the map that is shown up to date.
    pub(in crate::app) fn poll_shade_map(&mut self) {
        let (Some(session), true) = (&self.session, self.shade_layer.shown) else { return };
        let layer = &mut self.shade_layer;
        if let Some(result) = layer.making.as_ref().and_then(Task::poll) {
            layer.making = None;
            layer.number += 1;
            match result {
                Ok(Some(map)) => layer.map = Some(Arc::new(map)),
                Ok(None) => {
                    layer.shown = false;
                    return self.tell("No shade has a specimen to map.", "Add specimens to the shades.");
                }
                Err(text) => {
                    layer.shown = false;
                    return self.tell(text, "Go on without the map.");
                }
            }
        }
        let Some(references) = session.references.clone() else { return };
        let case = session.shared_case();
        let is_current = layer
            .made_of
            .as_ref()
            .is_some_and(|of| Arc::ptr_eq(&of.references, &references) && of.zones == case.zones);
        if !is_current && layer.making.is_none() {
            layer.made_of = Some(MadeOf { zones: case.zones.clone(), references: references.clone() });
            let raster = session.raster.clone();
            let work = move |_: &_| SmallMap::of(&raster, &case, &references);
            layer.making = Some(Task::start("Mapping the shades".into(), self.wake.clone(), work));
        }
    }
}
