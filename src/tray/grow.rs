//! An area grown from a click over the same plastic.
//!
//! Under one light the ratios of red, green and blue of a matt plastic stay the same however its surface is turned
//! (the dichromatic reflection model, Shafer 1985), so that the area is grown over pixels of the same ratios, in linear
//! light; a steep change of light or of ratio (an edge, a joint, paint) stops it. Glare has other ratios: what is left out
//! inside the area is filled.

use super::cutout::outline_of;
use super::mask::{self, Size};
use crate::problem::Problem;
use crate::raster::Reduced;

/// An area of one plastic.
#[derive(Debug, Clone, PartialEq)]
pub struct Grown {
    /// Its outline in pixels of the photo.
    pub outline: Vec<[f64; 2]>,
    /// Its area in pixels of the photo.
    pub area_px: f64,
    /// Whether it reaches the edge of the photo.
    pub is_cut_off: bool,
}

/// Longer side of the picture that areas are grown in.
pub const GROW_PX: u32 = 1600;
/// Light below this is mostly noise; added before taking logarithms.
const DARK: f32 = 0.003;
/// Pixels around the click whose middle colour is grown over.
const SEED_RADIUS_PX: f64 = 3.5;
/// Ratios may differ from the seed's by so much (logarithm), at least.
const LEAST_TINT: f32 = 0.13;
/// And by so many standard deviations of the seed's own scatter.
const TINT_SDS: f32 = 4.0;
/// Light may be so much lower or higher than the seed's (logarithm): shade and gloss.
const DARKER: f32 = 2.0;
const LIGHTER: f32 = 0.9;
/// Light that changes by more than this over two pixels (logarithm) is an edge: the rounding of a limb is softer.
const STEEP: f32 = 0.33;
/// The same of ratios.
const STEEP_TINT: f32 = 0.11;
/// Fewer pixels than this are no area.
const LEAST_PX: usize = 60;
/// An area that fills more than this share of the picture was stopped by nothing.
const MOST_SHARE: f64 = 0.4;
/// Holes smaller than this share of the area are glare and print.
const HOLE_SHARE: f64 = 0.25;

/// Grows an area from a point of the photo. `picture` is the photo made smaller, about [`GROW_PX`] across.
///
/// # Errors
/// Where the point lies outside, on an edge or in the dark, or where nothing stops the area.
pub fn grow(picture: &Reduced, point_px: [f64; 2]) -> Result<Grown, Problem> {
    let size = Size { width: picture.width, height: picture.height };
    let factor = picture.factor as f64;
    let seed_at = point_px.map(|v| v / factor);
    let looks = Looks::of(picture, size);
    let seed = Seed::at(&looks, seed_at, size)?;
    let allowed: Vec<bool> = (0..size.pixels()).map(|i| seed.takes(&looks, i)).collect();
    // Grown through places that are three pixels wide at least, so that a gap in an edge is no way out.
    let wide: Vec<bool> = mask::depth(&allowed, size).into_iter().map(|depth| depth > 1.5).collect();
    let Some(core) = flooded(&wide, seed_at, size) else { return Err(on_an_edge()) };
    let own = widened(&core, &allowed, size, 2);
    let area = own.iter().filter(|own| **own).count();
    let own = mask::filled(&own, size, HOLE_SHARE * area as f64);
    let own = mask::smoothed(&own, size, 5);
    let area = own.iter().filter(|own| **own).count();
    if area < LEAST_PX {
        return Err(on_an_edge());
    }
    if area as f64 > MOST_SHARE * size.pixels() as f64 {
        return Err(Problem::new(
            "Nothing stops the area: it runs over much of the photo.",
            "Click on a part that differs from what is around it, or draw the area by hand.",
        ));
    }
    let outline: Vec<[f64; 2]> = outline_of(&own, size)
        .into_iter()
        .map(|p| p.map(|v| (v.max(0.0) * factor * 10.0).round() / 10.0))
        .collect();
    let at_edge = |i: &usize| {
        let (x, y) = (i % size.width, i / size.width);
        x == 0 || y == 0 || x + 1 == size.width || y + 1 == size.height
    };
    let is_cut_off = (0..own.len()).filter(|i| own[*i]).any(|i| at_edge(&i));
    Ok(Grown { outline, area_px: area as f64 * factor * factor, is_cut_off })
}

fn on_an_edge() -> Problem {
    Problem::new(
        "There is no area of one plastic here.",
        "Click on matt, lit plastic, away from edges, paint and glare, or come nearer.",
    )
}

/// Light and ratios of a picture, smoothed over three pixels, and where they change steeply.
struct Looks {
    light: Vec<f32>,
    tint: Vec<[f32; 2]>,
    edge: Vec<bool>,
}

impl Looks {
    fn of(picture: &Reduced, size: Size) -> Self {
        let logs: Vec<[f32; 3]> =
            picture.linear.iter().map(|p| p.map(|v| libm::logf(v.max(0.0) + DARK))).collect();
        let light: Vec<f32> = logs.iter().map(|v| (v[0] + v[1] + v[2]) / 3.0).collect();
        let red = smooth(&logs.iter().map(|v| v[0] - v[1]).collect::<Vec<_>>(), size);
        let blue = smooth(&logs.iter().map(|v| v[2] - v[1]).collect::<Vec<_>>(), size);
        let tint: Vec<[f32; 2]> = red.into_iter().zip(blue).map(|(red, blue)| [red, blue]).collect();
        let step = |values: &dyn Fn(usize) -> f32, i: usize| {
            let (x, y) = (i % size.width, i / size.width);
            let before = [i - usize::from(x > 0), i - if y > 0 { size.width } else { 0 }];
            let after =
                [i + usize::from(x + 1 < size.width), i + if y + 1 < size.height { size.width } else { 0 }];
            libm::hypotf(values(after[0]) - values(before[0]), values(after[1]) - values(before[1]))
        };
        let edge = (0..size.pixels())
            .map(|i| {
                // In the dark ratios are noise.
                let noise = 1.0 + (-2.0 - light[i]).max(0.0);
                step(&|j| light[j], i) > STEEP * noise
                    || step(&|j| tint[j][0], i) > STEEP_TINT * noise
                    || step(&|j| tint[j][1], i) > STEEP_TINT * noise
            })
            .collect();
        Self { light, tint, edge }
    }
}

/// The mean of the nine around each pixel.
fn smooth(values: &[f32], size: Size) -> Vec<f32> {
    let Size { width, height } = size;
    let mut out = values.to_vec();
    for y in 1..height.saturating_sub(1) {
        for x in 1..width.saturating_sub(1) {
            let i = y * width + x;
            let row = |j: usize| values[j - 1] + values[j] + values[j + 1];
            out[i] = (row(i - width) + row(i) + row(i + width)) / 9.0;
        }
    }
    out
}

/// The colour that is grown over.
struct Seed {
    light: f32,
    tint: [f32; 2],
    limit: f32,
}

impl Seed {
    fn at(looks: &Looks, at: [f64; 2], size: Size) -> Result<Self, Problem> {
        let near: Vec<usize> = disc(at, SEED_RADIUS_PX, size).filter(|i| !looks.edge[*i]).collect();
        if near.len() < 6 {
            return Err(on_an_edge());
        }
        let middle = |value: &dyn Fn(usize) -> f32| {
            let mut values: Vec<f32> = near.iter().map(|i| value(*i)).collect();
            let at = values.len() / 2;
            *values.select_nth_unstable_by(at, f32::total_cmp).1
        };
        let tint = [0, 1].map(|axis| middle(&|i| looks.tint[i][axis]));
        let off = |i: usize| libm::hypotf(looks.tint[i][0] - tint[0], looks.tint[i][1] - tint[1]);
        let sd = 1.4826 * middle(&off);
        Ok(Self { light: middle(&|i| looks.light[i]), tint, limit: LEAST_TINT.max(TINT_SDS * sd) })
    }

    fn takes(&self, looks: &Looks, i: usize) -> bool {
        let fall = self.light - looks.light[i];
        // Shaded sides are noisier and take light from what lies beside them.
        let limit = self.limit * (1.0 + 0.4 * fall.max(0.0));
        let off = libm::hypotf(looks.tint[i][0] - self.tint[0], looks.tint[i][1] - self.tint[1]);
        !looks.edge[i] && off < limit && fall < DARKER && fall > -LIGHTER
    }
}

/// Pixels whose middles lie in a disc.
fn disc(at: [f64; 2], radius: f64, size: Size) -> impl Iterator<Item = usize> {
    let range = |axis: usize, end: usize| {
        let edge = |v: f64| v.clamp(0.0, end as f64) as usize;
        edge(at[axis] - radius - 1.0)..edge(at[axis] + radius + 1.0)
    };
    let (columns, rows) = (range(0, size.width), range(1, size.height));
    rows.flat_map(move |y| columns.clone().map(move |x| y * size.width + x)).filter(move |i| {
        let p = size.centre(*i);
        libm::hypot(p[0] - at[0], p[1] - at[1]) <= radius
    })
}

/// The spot that holds the pixel nearest to a point, if one is near.
fn flooded(inside: &[bool], at: [f64; 2], size: Size) -> Option<Vec<bool>> {
    let away = |i: &usize| {
        let p = size.centre(*i);
        libm::hypot(p[0] - at[0], p[1] - at[1])
    };
    let start = disc(at, 2.0 * SEED_RADIUS_PX, size)
        .filter(|i| inside[*i])
        .min_by(|a, b| away(a).total_cmp(&away(b)))?;
    let mut own = vec![false; inside.len()];
    own[start] = true;
    let mut front = vec![start];
    while let Some(i) = front.pop() {
        for j in size.neighbours(i) {
            if inside[j] && !own[j] {
                own[j] = true;
                front.push(j);
            }
        }
    }
    Some(own)
}

/// A spot widened by so many pixels over what is allowed.
fn widened(core: &[bool], allowed: &[bool], size: Size, by: usize) -> Vec<bool> {
    let mut own = core.to_vec();
    for _ in 0..by {
        let before = own.clone();
        for i in (0..own.len()).filter(|i| !before[*i] && allowed[*i]) {
            own[i] = size.neighbours(i).any(|j| before[j]);
        }
    }
    own
}

#[cfg(test)]
mod tests {
    use super::*;

    const WIDTH: usize = 300;
    const HEIGHT: usize = 200;

    /// A rounded limb along x from 60 to 240 around y = 100, its light falling to a tenth at one side, with a band of
    /// paint at its right end, a line of glare, on a grey board whose light falls as well.
    fn limb(paint: [f32; 3]) -> Reduced {
        let mut noise = 1u32;
        let linear = (0..WIDTH * HEIGHT).map(|i| {
            let (x, y) = ((i % WIDTH) as f32 + 0.5, (i / WIDTH) as f32 + 0.5);
            let across = (y - 100.0) / 30.0;
            let body = if across.abs() < 1.0 && (60.0..240.0).contains(&x) {
                let facing = libm::sqrtf(1.0 - across * across) * 0.6 + 0.4 - 0.3 * across;
                let own = if x > 200.0 { paint } else { [0.06, 0.18, 0.12] };
                let gloss = if (y - 88.0).abs() < 3.0 && (85.0..170.0).contains(&x) { 0.25 } else { 0.0 };
                own.map(|v| v * facing.max(0.1) + gloss)
            } else {
                [0.3; 3]
            };
            noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let grain = 1.0 + 0.03 * ((noise >> 16) as f32 / 65_536.0 - 0.5);
            body.map(|v| v * grain * (1.0 - 0.4 * x / WIDTH as f32))
        });
        Reduced { width: WIDTH, height: HEIGHT, factor: 2, linear: linear.collect() }
    }

    #[test]
    fn it_grows_over_shade_and_glare_and_stops_at_paint_and_edges() {
        // Red paint; black paint, whose ratios are those of the plastic in deep shade.
        for paint in [[0.3, 0.04, 0.04], [0.004, 0.012, 0.008]] {
            let grown = grow(&limb(paint), [200.0, 220.0]).unwrap();
            let truth = 140.0 * 60.0 * 4.0;
            assert!((grown.area_px / truth - 1.0).abs() < 0.12, "{} of {truth}", grown.area_px);
            assert!(!grown.is_cut_off);
            let inside = crate::raster::Shape::Polygon(grown.outline);
            assert!(inside.contains([200.0, 176.0]), "glare is filled");
            assert!(!inside.contains([430.0, 200.0]), "paint stops it");
            assert!(!inside.contains([200.0, 130.0]), "and the board");
        }
    }

    #[test]
    fn a_click_on_an_edge_and_one_that_nothing_stops_are_told() {
        let picture = limb([0.3, 0.04, 0.04]);
        assert!(grow(&picture, [20.0, 20.0]).unwrap_err().message.contains("Nothing stops"));
        assert!(grow(&picture, [-900.0, 20.0]).is_err());
        let corner = Reduced { width: 3, height: 2, factor: 1, linear: vec![[0.2; 3]; 6] };
        assert!(grow(&corner, [1.0, 1.0]).is_err());
    }
}
