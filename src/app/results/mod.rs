//! What was measured, beside the photo: parts with their bars, pairs, budget, facts of the photo.

mod alike;
mod alike_grid;
pub(super) mod axis;
pub(super) mod bars;
pub(super) mod budget;
pub(super) mod column;
pub(super) mod facts;
pub(super) mod pairs;
pub(super) mod part;
