//! The demo photos, rendered from spectra, and the truth about them.
//!
//! [`remake`] renders one of [`NAMES`]; [`jpeg_of`] makes a file's bytes of it, [`truth::Truth`] and
//! [`case_of`] are what lies beside it. Everything is invented and seeded: the same photo comes out each time.

pub mod card;
pub mod figure;
mod file;
mod marks;
pub mod materials;
pub mod printed;
pub mod scenes;
pub mod shades;
pub mod truth;

pub use file::{WriteProblem, jpeg_of};
pub use marks::case_of;
pub use scenes::NAMES;
pub use shades::references;
pub use truth::Truth;

#[cfg(test)]
mod tests;

use super::render::develop::{Balance, develop};
use super::render::expose;
use scenes::Scene;

/// A demo photo with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct RenderedPhoto {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// 8-bit sRGB, interleaved, row by row.
    pub rgb: Vec<u8>,
    /// What is true of it.
    pub truth: Truth,
    /// Quality for its JPEG.
    pub quality: u8,
    /// Whether its file has lost the facts about the shot.
    pub is_stripped: bool,
    /// Whether the camera chose the white balance.
    pub white_balance_automatic: bool,
}

/// Renders the demo's tray of loose limbs, half as large as the other photos. Its case is not made from its truth: the
/// program finds the parts.
pub fn remake_tray() -> RenderedPhoto {
    let tray = scenes::tray::tray(&scenes::tray::DEMO);
    render(&tray.scene, tray.scene.size.map(|side| side / 2))
}

/// Renders a demo photo in its full size, which takes a minute or two; `None` for a name that is not in [`NAMES`].
pub fn remake(name: &str) -> Option<RenderedPhoto> {
    let scene = scenes::scene(name)?;
    let size = scene.size;
    Some(render(&scene, size))
}

/// Renders a scene in any size; lens blur shrinks with it.
pub fn render(scene: &Scene, size: [usize; 2]) -> RenderedPhoto {
    let plate = expose(&scene.stage, &scene.camera, &scene.lens, size);
    let truth = truth::truth_of(scene, &plate);
    let shrink = size[0] as f64 / scene.size[0] as f64;
    let mut shot = scene.shot;
    shot.blur_px *= shrink;
    shot.focus = shot.focus.map(|(mm, px)| (mm, px * shrink));
    RenderedPhoto {
        width: size[0],
        height: size[1],
        rgb: develop(plate, &scene.camera, &shot),
        truth,
        quality: scene.quality,
        is_stripped: scene.steps.is_empty(),
        white_balance_automatic: matches!(shot.balance, Balance::Automatic(..)),
    }
}
