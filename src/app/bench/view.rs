//! The view of the photo: which part of it is seen and how large. Screen lengths are in points.

/// The area of the window in which the photo is shown, in points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::app) struct Bench {
    /// Upper left corner.
    pub min: [f64; 2],
    /// Width and height.
    pub size: [f64; 2],
    /// Physical pixels of the screen in one point.
    pub pixels_per_point: f64,
}

/// Which part of the photo is seen and how large.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::app) struct View {
    /// The photo's coordinate in the middle of the bench.
    pub centre_px: [f64; 2],
    /// Points of the screen for one pixel of the photo.
    pub points_per_px: f64,
    /// Whether the view follows the bench when the window changes its size.
    pub fitted: bool,
}

/// One step of the zoom keys.
pub(in crate::app) const ZOOM_STEP: f64 = 1.25;
/// One pixel of the photo is never drawn larger than this many physical pixels.
const LARGEST_PIXEL: f64 = 48.0;
/// Share of the bench that a fitted photo fills.
const FIT_SHARE: f64 = 0.96;

impl View {
    /// The whole photo, centred.
    pub(in crate::app) fn fit(photo_px: [f64; 2], bench: &Bench) -> Self {
        let scale = (bench.size[0] / photo_px[0]).min(bench.size[1] / photo_px[1]) * FIT_SHARE;
        Self {
            centre_px: [photo_px[0] / 2.0, photo_px[1] / 2.0],
            points_per_px: scale.clamp(1e-4, LARGEST_PIXEL / bench.pixels_per_point),
            fitted: true,
        }
    }

    /// Where a point of the photo lies on the screen.
    pub(in crate::app) fn to_screen(self, bench: &Bench, point_px: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|axis| {
            bench.min[axis]
                + bench.size[axis] / 2.0
                + (point_px[axis] - self.centre_px[axis]) * self.points_per_px
        })
    }

    /// Which point of the photo lies under a point of the screen.
    pub(super) fn to_photo(self, bench: &Bench, point: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|axis| {
            self.centre_px[axis]
                + (point[axis] - bench.min[axis] - bench.size[axis] / 2.0) / self.points_per_px
        })
    }

    /// Zooms by a factor; the photo stays in place under `anchor`, a point of the screen.
    pub(in crate::app) fn zoomed(
        &self,
        photo_px: [f64; 2],
        bench: &Bench,
        factor: f64,
        anchor: [f64; 2],
    ) -> Self {
        let smallest = Self::fit(photo_px, bench).points_per_px / 2.0;
        let largest = LARGEST_PIXEL / bench.pixels_per_point;
        let scale = (self.points_per_px * factor).clamp(smallest.min(largest), largest);
        let under = self.to_photo(bench, anchor);
        let centre = [0, 1]
            .map(|axis| under[axis] - (anchor[axis] - bench.min[axis] - bench.size[axis] / 2.0) / scale);
        Self { centre_px: centre, points_per_px: scale, fitted: false }.kept_on(photo_px)
    }

    /// One pixel of the photo on one physical pixel of the screen.
    pub(in crate::app) fn actual_size(&self, photo_px: [f64; 2], bench: &Bench) -> Self {
        let middle = [0, 1].map(|axis| bench.min[axis] + bench.size[axis] / 2.0);
        let factor = 1.0 / (bench.pixels_per_point * self.points_per_px);
        self.zoomed(photo_px, bench, factor, middle)
    }

    /// Moves the photo by so many points.
    pub(super) fn panned(&self, photo_px: [f64; 2], by: [f64; 2]) -> Self {
        let centre = [0, 1].map(|axis| self.centre_px[axis] - by[axis] / self.points_per_px);
        Self { centre_px: centre, points_per_px: self.points_per_px, fitted: false }.kept_on(photo_px)
    }

    /// Moved and zoomed on the screen as another view was.
    pub(in crate::app) fn moved_like(
        &self,
        photo_px: [f64; 2],
        bench: &Bench,
        before: &Self,
        after: &Self,
    ) -> Self {
        let largest = LARGEST_PIXEL / bench.pixels_per_point;
        let scale = self.points_per_px * after.points_per_px / before.points_per_px;
        let by = before.points_per_px / self.points_per_px;
        let centre =
            [0, 1].map(|axis| self.centre_px[axis] + (after.centre_px[axis] - before.centre_px[axis]) * by);
        Self { centre_px: centre, points_per_px: scale.min(largest), fitted: false }.kept_on(photo_px)
    }

    /// Scrolls as little as needed to bring a box of the photo into sight.
    pub(in crate::app) fn showing(
        &self,
        photo_px: [f64; 2],
        bench: &Bench,
        low: [f64; 2],
        high: [f64; 2],
    ) -> Self {
        let mut centre = self.centre_px;
        for axis in 0..2 {
            // A little room around it, for its name and handles.
            let half = bench.size[axis] * 0.45 / self.points_per_px;
            if high[axis] - low[axis] >= 2.0 * half {
                centre[axis] = (low[axis] + high[axis]) / 2.0;
            } else {
                centre[axis] = centre[axis].clamp(high[axis] - half, low[axis] + half);
            }
        }
        if centre.iter().zip(self.centre_px).all(|(new, old)| (new - old).abs() < 1e-9) {
            return *self;
        }
        Self { centre_px: centre, fitted: false, ..*self }.kept_on(photo_px)
    }

    /// The corners of what is seen, in pixels of the photo; they may lie outside it.
    pub(super) fn seen(&self, bench: &Bench) -> ([f64; 2], [f64; 2]) {
        let far = [0, 1].map(|axis| bench.min[axis] + bench.size[axis]);
        (self.to_photo(bench, bench.min), self.to_photo(bench, far))
    }

    /// Physical pixels of the screen for one pixel of the photo.
    pub(in crate::app) fn screen_px_per_px(&self, bench: &Bench) -> f64 {
        self.points_per_px * bench.pixels_per_point
    }

    fn kept_on(mut self, photo_px: [f64; 2]) -> Self {
        for (centre, side) in self.centre_px.iter_mut().zip(photo_px) {
            *centre = centre.clamp(0.0, side);
        }
        self
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp)] // These values are exact.
mod tests {
    use super::*;

    const PHOTO: [f64; 2] = [4000.0, 3000.0];
    const BENCH: Bench = Bench { min: [10.0, 50.0], size: [800.0, 600.0], pixels_per_point: 2.0 };

    fn close(a: [f64; 2], b: [f64; 2]) {
        assert!((a[0] - b[0]).abs() < 1e-9 && (a[1] - b[1]).abs() < 1e-9, "{a:?} {b:?}");
    }

    #[test]
    fn a_fitted_photo_lies_inside_the_bench_and_is_centred() {
        let view = View::fit(PHOTO, &BENCH);
        close(view.to_screen(&BENCH, [2000.0, 1500.0]), [410.0, 350.0]);
        let corner = view.to_screen(&BENCH, [0.0, 0.0]);
        assert!(corner[0] >= 10.0 && corner[1] >= 50.0);
    }

    #[test]
    fn the_point_under_the_pointer_stays_there_while_zooming() {
        let view = View::fit(PHOTO, &BENCH);
        let anchor = [200.0, 300.0];
        let before = view.to_photo(&BENCH, anchor);
        close(view.zoomed(PHOTO, &BENCH, 3.0, anchor).to_photo(&BENCH, anchor), before);
    }

    #[test]
    fn actual_size_means_physical_pixels() {
        let view = View::fit(PHOTO, &BENCH).actual_size(PHOTO, &BENCH);
        assert!((view.screen_px_per_px(&BENCH) - 1.0).abs() < 1e-12);
        assert!((view.points_per_px - 0.5).abs() < 1e-12);
    }

    #[test]
    fn screen_and_photo_are_inverse_and_panning_cannot_lose_the_photo() {
        let view = View::fit(PHOTO, &BENCH).zoomed(PHOTO, &BENCH, 5.0, [100.0, 100.0]);
        close(view.to_photo(&BENCH, view.to_screen(&BENCH, [123.0, 456.0])), [123.0, 456.0]);
        let lost = view.panned(PHOTO, [1e6, -1e6]);
        assert_eq!(lost.centre_px, [0.0, 3000.0]);
    }

    #[test]
    fn a_view_that_follows_another_keeps_its_point_under_the_same_place() {
        let other_px = [1000.0, 800.0];
        let (one, other) = (View::fit(PHOTO, &BENCH), View::fit(other_px, &BENCH));
        let anchor = [300.0, 200.0];
        let (under, other_under) = (one.to_photo(&BENCH, anchor), other.to_photo(&BENCH, anchor));
        let after = one.zoomed(PHOTO, &BENCH, 2.0, anchor).panned(PHOTO, [30.0, -20.0]);
        let other_after = other.moved_like(other_px, &BENCH, &one, &after);
        close(other_after.to_screen(&BENCH, other_under), after.to_screen(&BENCH, under));
    }

    #[test]
    fn a_mark_out_of_sight_is_scrolled_to_and_one_in_sight_moves_nothing() {
        let view = View::fit(PHOTO, &BENCH).zoomed(PHOTO, &BENCH, 10.0, [410.0, 350.0]);
        let shown = view.showing(PHOTO, &BENCH, [100.0, 100.0], [140.0, 140.0]);
        let (low, high) = shown.seen(&BENCH);
        assert!(low[0] <= 100.0 && low[1] <= 100.0 && high[0] >= 140.0 && high[1] >= 140.0);
        assert_eq!(shown.showing(PHOTO, &BENCH, [100.0, 100.0], [140.0, 140.0]), shown);
    }
}
