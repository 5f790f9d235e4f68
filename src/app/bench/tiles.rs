//! Textures of the tiles in sight: asked for from a worker, kept within a budget, never the whole photo.

use std::collections::HashMap;
use std::sync::Arc;

use egui::{ColorImage, Rect, TextureHandle, TextureOptions, pos2};

use crate::jobs::{Wake, Worker};
use crate::raster::Raster;

use super::pyramid::{self, Care, Tile, TileKey};
use super::view::{Bench, View};

/// So many textures of at most 4 MB are kept.
const BUDGET: usize = 64;
/// So many new textures a frame, so that a frame stays short.
const UPLOADS_A_FRAME: usize = 2;

/// The tiles of one photo.
pub(in crate::app) struct Tiles {
    raster: Arc<Raster>,
    gains: [f64; 3],
    worker: Worker<(TileKey, Care), (TileKey, Care, Tile)>,
    textures: HashMap<TileKey, Texture>,
    frame: u64,
}

struct Texture {
    handle: TextureHandle,
    care: Care,
    last_seen: u64,
}

impl Tiles {
    /// The tiles in hand if they are those of that photo, shown with those gains; else new ones.
    pub(in crate::app) fn of<'a>(
        kept: &'a mut Option<Self>,
        raster: &Arc<Raster>,
        gains: [f64; 3],
        wake: &Wake,
    ) -> &'a mut Self {
        let same = |tiles: &Self| Arc::ptr_eq(&tiles.raster, raster) && tiles.gains == gains;
        *kept = kept.take().filter(same);
        kept.get_or_insert_with(|| Self::new(raster.clone(), gains, wake.clone()))
    }

    /// No tile yet.
    fn new(raster: Arc<Raster>, gains: [f64; 3], wake: Wake) -> Self {
        let source = raster.clone();
        let worker = Worker::start("tiles", wake, move |job: &(TileKey, Care), given_up| {
            let (key, care) = *job;
            pyramid::build(&source, key, care, gains, given_up).map(|tile| (key, care, tile))
        });
        Self { raster, gains, worker, textures: HashMap::new(), frame: 0 }
    }

    /// Whether there is anything of the photo to be seen.
    pub(in crate::app) fn are_seen(&self) -> bool {
        !self.textures.is_empty()
    }

    /// Paints what is in sight, coarser where the fine tiles are not there yet, and asks for those.
    /// Answers whether anything is still missing.
    pub(super) fn paint(&mut self, painter: &egui::Painter, view: &View, bench: &Bench) -> bool {
        self.frame += 1;
        self.take_in(painter.ctx());
        let photo_px = (self.raster.width(), self.raster.height());
        let top = pyramid::top_level(photo_px.0, photo_px.1);
        let level = pyramid::level_for(view.screen_px_per_px(bench), top);
        let (low, high) = view.seen(bench);
        let fine = pyramid::tiles_covering(photo_px, level, low, high);
        let coarsest = pyramid::tiles_covering(photo_px, top, low, high);
        // From coarse to fine: what comes later lies above, and hides the rest once it is whole.
        let whole = fine.iter().all(|key| self.textures.contains_key(key));
        for shown in (level..=top).rev() {
            for key in pyramid::tiles_covering(photo_px, shown, low, high) {
                let wanted = shown == level || shown == top;
                if let Some(texture) = self.textures.get_mut(&key) {
                    if wanted {
                        texture.last_seen = self.frame;
                    }
                    if shown == level || !whole {
                        let (from, to) = pyramid::area_of(photo_px, key);
                        paint_tile(painter, view, bench, texture.handle.id(), from, to);
                    }
                }
            }
        }
        let missing = self.missing(&coarsest, &fine);
        let busy = !missing.is_empty();
        self.worker.want(missing);
        self.forget();
        busy
    }

    fn missing(&self, coarsest: &[TileKey], fine: &[TileKey]) -> Vec<(TileKey, Care)> {
        let care_of = |key: &TileKey| self.textures.get(key).map(|texture| texture.care);
        // At full size the quick way and the full one are the same.
        let quick = |key: &TileKey| (*key, if key.level == 0 { Care::Full } else { Care::Quick });
        let first = coarsest.iter().chain(fine).map(quick);
        let then = fine.iter().map(|key| (*key, Care::Full));
        let mut wanted: Vec<(TileKey, Care)> = Vec::new();
        for (key, care) in first.chain(then) {
            if care_of(&key) < Some(care) && !wanted.contains(&(key, care)) {
                wanted.push((key, care));
            }
        }
        wanted
    }

    fn take_in(&mut self, ctx: &egui::Context) {
        for _ in 0..UPLOADS_A_FRAME {
            let Some(arrived) = self.worker.poll() else { return };
            // A tile that could not be built stays missing; the coarser one below it is seen.
            let Ok((key, care, tile)) = arrived else { continue };
            let image = ColorImage::from_rgba_unmultiplied([tile.width, tile.height], &tile.rgba);
            // Magnified pixels are shown as they are, so that what is measured can be seen.
            let options =
                TextureOptions { magnification: egui::TextureFilter::Nearest, ..TextureOptions::LINEAR };
            let handle = ctx.load_texture(format!("{key:?}"), image, options);
            self.textures.insert(key, Texture { handle, care, last_seen: self.frame });
        }
        // There may be more.
        ctx.request_repaint();
    }

    fn forget(&mut self) {
        while self.textures.len() > BUDGET {
            let oldest = self.textures.iter().min_by_key(|(_, texture)| texture.last_seen);
            let Some((key, seen)) = oldest.map(|(key, texture)| (*key, texture.last_seen)) else { return };
            if seen == self.frame {
                return;
            }
            self.textures.remove(&key);
        }
    }
}

fn paint_tile(
    painter: &egui::Painter,
    view: &View,
    bench: &Bench,
    texture: egui::TextureId,
    from_px: [f64; 2],
    to_px: [f64; 2],
) {
    let corner = |point: [f64; 2]| {
        // Whole physical pixels, so that neighbours leave no seam.
        let [x, y] = view
            .to_screen(bench, point)
            .map(|v| ((v * bench.pixels_per_point).round() / bench.pixels_per_point) as f32);
        pos2(x, y)
    };
    let rect = Rect::from_two_pos(corner(from_px), corner(to_px));
    let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
    painter.image(texture, rect, whole, egui::Color32::WHITE);
}
