//! Small pictures of files: those in sight are read on a thread of their own, the longest unseen forgotten.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use egui::{ColorImage, TextureHandle, TextureOptions};

use crate::jobs::{Wake, Worker};
use crate::photo::{self, Limits};
use crate::report::thumbnail;

/// Pixels across a small picture.
const WIDTH_PX: u32 = 320;
/// So many small pictures of at most 300 kB are kept.
const BUDGET: usize = 240;

/// Small pictures of photos.
pub(super) struct Thumbs {
    worker: Worker<PathBuf, (PathBuf, Option<ColorImage>)>,
    textures: HashMap<PathBuf, (Option<TextureHandle>, u64)>,
    frame: u64,
}

impl Thumbs {
    /// None yet.
    pub(super) fn new(wake: Wake) -> Self {
        let worker =
            Worker::start("small pictures", wake, |path: &PathBuf, _| Some((path.clone(), small(path))));
        Self { worker, textures: HashMap::new(), frame: 0 }
    }

    /// The picture of a file, once it was read.
    pub(super) fn get(&self, path: &Path) -> Option<&TextureHandle> {
        self.textures.get(path)?.0.as_ref()
    }

    /// Takes in what was read, and asks for what is in sight and was not.
    pub(super) fn follow(&mut self, ctx: &egui::Context, wanted: Vec<PathBuf>) {
        self.frame += 1;
        while let Some(arrived) = self.worker.poll() {
            let Ok((path, image)) = arrived else { continue };
            let name = path.display().to_string();
            let texture = image.map(|image| ctx.load_texture(name, image, TextureOptions::LINEAR));
            self.textures.insert(path, (texture, self.frame));
        }
        for path in &wanted {
            if let Some((_, last)) = self.textures.get_mut(path) {
                *last = self.frame;
            }
        }
        self.worker.want(wanted.into_iter().filter(|path| !self.textures.contains_key(path)).collect());
        if self.textures.len() > BUDGET {
            // Those not in sight go first, the longest unseen before all.
            let mut ages: Vec<u64> = self.textures.values().map(|(_, last)| *last).collect();
            ages.sort_unstable();
            let oldest = ages.get(self.textures.len() - BUDGET).copied().unwrap_or(0).min(self.frame);
            self.textures.retain(|_, (_, last)| *last >= oldest);
        }
    }
}

/// The photo made small; `None` where it cannot be read.
fn small(path: &Path) -> Option<ColorImage> {
    let limits = Limits::default();
    let bytes = photo::read_bytes(path, &limits).ok()?;
    let photo = photo::decode(&bytes, &limits).ok()?;
    let image = thumbnail(&photo.raster, WIDTH_PX);
    let size = [image.width() as usize, image.height() as usize];
    Some(ColorImage::from_rgb(size, image.as_raw()))
}
