//! The window. It shows plain data and sends commands; it holds no knowledge of colour.
//!
//! One half never imports egui: [`State`] and what it is made of (view, tiles, marks, session, words). The
//! other half paints it, one file a panel; panels read the state and hand back actions.

mod act;
mod action;
mod areas;
mod bench;
mod board;
mod card;
mod card_file;
mod card_page;
mod choosing;
mod collection;
mod command;
mod compare;
mod dialog;
mod family;
mod figure;
mod files;
mod frame_times;
mod guide;
mod known_colour;
mod launch;
mod libraries;
mod marks;
mod one_stop;
mod other_photos;
mod portal;
mod results;
#[cfg(test)]
mod sample;
mod scrolling;
mod session;
mod settings;
mod sheets;
mod state;
mod status;
mod steps;
mod strip;
mod theme;
mod thumbs;
mod toolbar;
mod tray;
mod welcome;
mod window;
mod words;

pub use launch::run;
pub use window::{Start, Window};
