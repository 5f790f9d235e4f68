//! The window. It shows plain data and sends commands; it holds no knowledge of colour.
//!
//! One half never imports egui: [`State`] and what it is made of (view, tiles, marks, session, words). The
//! other half paints it, one file a panel; panels read the state and hand back actions.

mod action;
mod axis;
mod body;
mod card;
mod card_file;
mod collection;
mod collection_act;
mod drawing;
mod family_act;
mod figure_act;
mod files;
mod gathering;
mod grip;
mod guide_act;
mod guide_editor;
mod keeper;
mod marks;
mod open;
mod pyramid;
mod report_act;
mod run_command;
#[cfg(test)]
mod sample;
mod save;
mod session;
mod shade_layer;
mod start;
mod state;
mod tray;
mod tray_act;
mod tray_bodies;
mod tray_folder;
mod view;
mod weighing;
mod words;

mod bars;
mod bench;
mod budget;
mod collection_gallery;
mod collection_page;
mod collection_record;
mod collection_table;
mod column;
mod command;
mod dialog;
mod facts;
mod family;
mod family_plot;
mod family_tables;
mod figure;
mod figure_drawing;
mod figure_finding;
mod figure_slot;
mod guide_character;
mod guide_fields;
mod guide_forms;
mod guide_page;
mod launch;
mod libraries;
mod nametags;
mod outline;
mod pairs;
mod part;
mod shade_drawing;
mod sheets;
mod status;
mod strip;
mod theme;
#[cfg(test)]
mod theme_vision;
mod tiles;
mod toolbar;
mod tray_drawing;
mod tray_panel;
mod tray_part;
mod welcome;
mod window;

pub use launch::run;
pub use window::{Start, Window};
