//! How often things go wrong.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// What is to be known of a rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rate {
    /// Its name in the file.
    pub name: &'static str,
    /// What goes wrong, a sentence; there may be spaces around it.
    pub about: &'static str,
    /// The share that holds where a guide is silent.
    pub usual: f64,
}

/// Each rate once: what it says, its name in the file, and what holds where a guide is silent.
macro_rules! rates {
    ($($(#[doc = $about:literal])+ $name:ident = $usual:literal;)+) => {
        /// How often things go wrong, as shares of 0 to 1. Where the guide is silent, each rate's method gives
        /// the usual share; all are common practice without a source, 5 % exchanged parts being the design's.
        #[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
        pub struct Rates {
            $(
                $(#[doc = $about])+
                #[serde(skip_serializing_if = "Option::is_none")]
                pub $name: Option<f64>,
            )+
            /// Fields this version does not know.
            #[serde(flatten)]
            pub rest: Map<String, Value>,
        }

        impl Rates {
            $(
                $(#[doc = $about])+
                #[doc = concat!("Where the guide is silent ", stringify!($usual), ".")]
                pub fn $name(&self) -> f64 {
                    self.$name.unwrap_or($usual)
                }
            )+

            /// Every rate: its name in the file, what it says, and the usual share.
            pub const ALL: &[Rate] = &[
                $(Rate { name: stringify!($name), about: concat!($($about),+), usual: $usual }),+
            ];

            /// Sets a rate by its name in the file; `None` where there is no such rate.
            pub(super) fn set(&mut self, name: &str, rate: Option<f64>) -> Option<()> {
                match name {
                    $(stringify!($name) => self.$name = rate,)+
                    _ => return None,
                }
                Some(())
            }

            /// Every rate by its name in the file, `None` where the guide is silent.
            pub fn stated(&self) -> impl Iterator<Item = (&'static str, Option<f64>)> {
                [$((stringify!($name), self.$name)),+].into_iter()
            }
        }
    };
}

rates! {
    /// A slot holds a part of another figure.
    exchange = 0.05;
    /// A part is missing.
    lost = 0.02;
    /// A sure look is wrong.
    misread = 0.02;
    /// An unsure look is wrong.
    unsure = 0.25;
    /// Paint is worn off.
    wear = 0.10;
    /// Of worn paint, the share that leaves traces.
    traces = 0.5;
    /// A part was painted after it left the maker.
    repaint = 0.02;
    /// A part's plastic looks like none of the line's shades: painted over, dyed, badly aged.
    off_colour = 0.02;
    /// A yellowed or faded part looks like another shade of its family.
    aged = 0.25;
    /// A future reading of a shade is expected to name another one.
    shade_misread = 0.10;
}

impl Rates {
    pub(super) fn is_silent(&self) -> bool {
        *self == Self::default()
    }
}
