//! Exposing: what light falls on each pixel of the sensor, and which part it came from.

use super::lamp::Spot;
use super::noise::value;
use super::trace::{Hit, Ray, first_hit, normal, openness};
use super::{Lamp, MaterialId, Stage, V3};
use crate::scene::camera::Camera;
use crate::scene::spectrum::Spectrum;

/// Where the camera stands and how it looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lens {
    /// The lens in mm.
    pub eye: V3,
    /// A point in the middle of the picture.
    pub target: V3,
    /// Angle of view from top to bottom, in degrees.
    pub high_degrees: f64,
    /// How far the camera is tilted about its axis, in degrees.
    pub roll_degrees: f64,
    /// Loss of light in the corners, 0..1.
    pub vignetting: f64,
}

/// No part: the table top, or beyond it.
pub const NO_PART: u8 = u8::MAX;

/// The exposed sensor.
#[derive(Debug, Clone, PartialEq)]
pub struct Plate {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Raw red, green and blue of each pixel, row by row.
    pub raw: Vec<[f32; 3]>,
    /// The part seen in each pixel's centre, or [`NO_PART`].
    pub part: Vec<u8>,
    /// The material seen in each pixel's centre on a part; 0 elsewhere.
    pub material: Vec<u8>,
    /// Light on the body over what the brightest spots get, for pixels of a part without paint; 0 elsewhere.
    pub lit: Vec<f32>,
    /// Upward part of the surface's unit normal there; 0 elsewhere.
    pub up: Vec<f32>,
    /// Share of the pixel's light that is gloss.
    pub gloss: Vec<f32>,
    /// Distance from the lens in mm.
    pub far_mm: Vec<f32>,
}

struct Sample {
    raw: [f64; 3],
    part: u8,
    material: MaterialId,
    lit: f64,
    up: f64,
    gloss: f64,
    far_mm: f64,
}

/// Raw responses of all materials to all lights.
struct Responses {
    /// `[light][material]`; lights are the lamps, then the ambient, then the table's glow.
    body: Vec<Vec<[f64; 3]>>,
    /// `[light]`, of the light itself.
    mirror: Vec<[f64; 3]>,
}

impl Responses {
    fn new(stage: &Stage, camera: &Camera) -> Self {
        let glow = table_glow(stage);
        let lights: Vec<&Spectrum> =
            stage.lamps.iter().map(|lamp| &lamp.light).chain([&stage.ambient.light, &glow]).collect();
        let body = |light: &&Spectrum| {
            stage.materials.iter().map(|material| camera.raw_of(light, &material.body)).collect()
        };
        Self {
            body: lights.iter().map(body).collect(),
            mirror: lights.iter().map(|light| camera.raw_of_light(light)).collect(),
        }
    }
}

/// Light thrown back by the table: the lamps' light on the mean of its materials.
fn table_glow(stage: &Stage) -> Spectrum {
    let middle = Spot { at: V3::zeros(), normal: V3::y() };
    let light = stage
        .lamps
        .iter()
        .fold(stage.ambient.light.scaled(stage.ambient.on_body(&V3::y())), |sum, lamp: &Lamp| {
            sum.plus(&lamp.light.scaled(lamp.on_body(&[], &middle)))
        });
    let skin = (0..64).map(|n| {
        let p = V3::new(f64::from(n % 8) * 17.3 - 60.0, 0.0, f64::from(n / 8) * 13.7 - 50.0);
        stage.top.skin_at(&p)
    });
    let mean = skin.flat_map(|skin| skin.mix).fold(Spectrum::flat(0.0), |sum, (material, share)| {
        sum.plus(&stage.materials[material].body.scaled(share / 64.0))
    });
    light.times(&mean)
}

/// Takes the picture. Pixels where the part or its coat changes get five samples instead of one.
pub fn expose(stage: &Stage, camera: &Camera, lens: &Lens, size: [usize; 2]) -> Plate {
    let [width, height] = size;
    let responses = Responses::new(stage, camera);
    let view = View::new(lens, size);
    let pixels = width * height;
    let mut plate = Plate {
        width,
        height,
        raw: Vec::with_capacity(pixels),
        part: Vec::with_capacity(pixels),
        material: Vec::with_capacity(pixels),
        lit: Vec::with_capacity(pixels),
        up: Vec::with_capacity(pixels),
        gloss: Vec::with_capacity(pixels),
        far_mm: Vec::with_capacity(pixels),
    };
    for y in 0..height {
        for x in 0..width {
            let at = [x as f64 + 0.5, y as f64 + 0.5];
            let sample = seen(stage, &responses, &view.ray(at));
            plate.raw.push(sample.raw.map(|v| (v * view.falloff(at)) as f32));
            plate.part.push(sample.part);
            plate.lit.push(sample.lit as f32);
            plate.up.push(sample.up as f32);
            plate.gloss.push(sample.gloss as f32);
            plate.far_mm.push(sample.far_mm as f32);
            plate.material.push(sample.material as u8);
        }
    }
    smooth_edges(stage, &responses, &view, &mut plate);
    plate
}

fn smooth_edges(stage: &Stage, responses: &Responses, view: &View, plate: &mut Plate) {
    const OFFSETS: [[f64; 2]; 4] = [[0.125, 0.375], [0.375, 0.875], [0.625, 0.125], [0.875, 0.625]];
    let (width, height) = (plate.width, plate.height);
    for y in 1..height.saturating_sub(1) {
        for x in 1..width.saturating_sub(1) {
            let i = y * width + x;
            let alike = [i - 1, i + 1, i - width, i + width]
                .iter()
                .all(|&j| plate.part[j] == plate.part[i] && plate.material[j] == plate.material[i]);
            if alike {
                continue;
            }
            let mut sum = plate.raw[i].map(f64::from);
            for offset in OFFSETS {
                let at = [x as f64 + offset[0], y as f64 + offset[1]];
                let sample = seen(stage, responses, &view.ray(at));
                add(&mut sum, sample.raw, view.falloff(at));
            }
            plate.raw[i] = sum.map(|v| (v / 5.0) as f32);
        }
    }
}

struct View {
    lens: Lens,
    right: V3,
    down: V3,
    ahead: V3,
    size: [f64; 2],
    per_px: f64,
}

impl View {
    fn new(lens: &Lens, size: [usize; 2]) -> Self {
        let ahead = (lens.target - lens.eye).normalize();
        let right = ahead.cross(&V3::y()).normalize();
        let down = ahead.cross(&right);
        let (s, c) = libm::sincos(lens.roll_degrees.to_radians());
        let size = size.map(|v| v as f64);
        Self {
            lens: *lens,
            right: right * c + down * s,
            down: down * c - right * s,
            ahead,
            size,
            per_px: 2.0 * libm::tan(lens.high_degrees.to_radians() / 2.0) / size[1],
        }
    }

    fn ray(&self, at: [f64; 2]) -> Ray {
        let [x, y] = [0, 1].map(|axis| (at[axis] - self.size[axis] / 2.0) * self.per_px);
        Ray { from: self.lens.eye, along: (self.ahead + self.right * x + self.down * y).normalize() }
    }

    /// 1 in the middle, `1 - vignetting` in the corners.
    fn falloff(&self, at: [f64; 2]) -> f64 {
        let [x, y] = [0, 1].map(|axis| 2.0 * at[axis] / self.size[axis] - 1.0);
        1.0 - self.lens.vignetting * (x * x + y * y) / 2.0
    }
}

/// What one ray sees.
fn seen(stage: &Stage, responses: &Responses, ray: &Ray) -> Sample {
    let to_top = if ray.along.y < -1e-6 { -ray.from.y / ray.along.y } else { f64::INFINITY };
    let edge = stage.top.far_edge_z().unwrap_or(f64::NEG_INFINITY);
    let to_top = if to_top.is_finite() && ray.at(to_top).z < edge { f64::INFINITY } else { to_top };
    match first_hit(&stage.parts, ray, to_top.min(5_000.0)) {
        Some(hit) => seen_part(stage, responses, ray, hit),
        None if to_top < 5_000.0 => seen_top(stage, responses, ray, to_top),
        None => seen_beyond(stage, responses, ray),
    }
}

fn seen_part(stage: &Stage, responses: &Responses, ray: &Ray, hit: Hit) -> Sample {
    let part = &stage.parts[hit.part];
    let at = ray.at(hit.mm);
    let (material, own_plastic) = part.material_at(&at);
    let own = part.into_part(&at);
    // Moulded skin is never quite even.
    let uneven = V3::new(
        value(own.x * 0.9 + own.z, own.y * 0.9, 31),
        value(own.x * 0.9, own.y * 0.9 + own.z, 32),
        value(own.z * 0.9 + own.y, own.x * 0.9, 33),
    ) * 0.012;
    let normal = (normal(part, &at) + uneven).normalize();
    let spot = Spot { at, normal };
    let (raw, lit, gloss) = shaded(stage, responses, ray, &spot, &[(material, 1.0)], true);
    let lit = if own_plastic { lit } else { 0.0 };
    Sample { raw, part: hit.part as u8, material, lit, up: spot.normal.y, gloss, far_mm: hit.mm }
}

fn seen_top(stage: &Stage, responses: &Responses, ray: &Ray, mm: f64) -> Sample {
    let at = ray.at(mm);
    let skin = stage.top.skin_at(&at);
    let normal = V3::new(skin.lean[0], 1.0, skin.lean[1]).normalize();
    let (raw, _, gloss) = shaded(stage, responses, ray, &Spot { at, normal }, &skin.mix, false);
    Sample { raw, part: NO_PART, material: 0, lit: 0.0, up: 0.0, gloss, far_mm: mm }
}

/// The room behind the table, out of focus: wide soft shapes.
fn seen_beyond(stage: &Stage, responses: &Responses, ray: &Ray) -> Sample {
    let ambient = responses.mirror[stage.lamps.len()];
    let across = ray.along.x / -ray.along.z.min(-0.2);
    let high = ray.along.y / -ray.along.z.min(-0.2);
    let soft = super::noise::fractal(across * 2.2 + 7.0, high * 2.8, 2, 91);
    let panel = super::noise::step_between(-0.25, 0.05, across + 0.15 * high - 0.1);
    let level = stage.ambient.radiance[1] * (0.35 + 0.22 * soft + 0.25 * panel + 0.2 * (high + 0.4));
    Sample {
        raw: ambient.map(|v| v * level.max(0.02)),
        part: NO_PART,
        material: 1,
        lit: 0.0,
        up: 0.0,
        gloss: 0.0,
        far_mm: 2_500.0,
    }
}

/// Light from a spot towards the lens: (raw, light on its body, share of gloss).
fn shaded(
    stage: &Stage,
    responses: &Responses,
    ray: &Ray,
    spot: &Spot,
    mix: &[(MaterialId, f64)],
    above_table: bool,
) -> ([f64; 3], f64, f64) {
    let lamps = stage.lamps.len();
    let open = openness(&stage.parts, &spot.at, &spot.normal, 0.0);
    let mut strengths: Vec<f64> = stage.lamps.iter().map(|lamp| lamp.on_body(&stage.parts, spot)).collect();
    strengths.push(stage.ambient.on_body(&spot.normal) * open);
    // The table glows from below, less so right above it where the part stands in its own shadow.
    let clear = 0.25 + 0.75 * spot.at.y / (spot.at.y + 8.0);
    let glow = if above_table { 0.5 * (1.0 - spot.normal.y) * clear * open } else { 0.0 };
    strengths.push(glow);
    let mut body = [0.0; 3];
    for (light, strength) in strengths.iter().enumerate() {
        for (material, share) in mix {
            add(&mut body, responses.body[light][*material], strength * share);
        }
    }
    let mut gloss = [0.0; 3];
    let rough = mix.first().and_then(|(material, _)| stage.materials[*material].gloss_rad);
    if let Some(rough) = rough {
        let cosine = (-ray.along.dot(&spot.normal)).clamp(0.0, 1.0);
        let mirrored = ray.along + spot.normal * (2.0 * cosine);
        let back = libm::pow(1.0 - cosine, 5.0);
        // Schlick's form for an index of 1.5; a rough skin reflects less at a grazing look.
        let reflected = 0.04 + 0.96 * back * (1.0 - rough).max(0.0) * 0.6;
        for (light, lamp) in stage.lamps.iter().enumerate() {
            let seen = lamp.in_gloss(&stage.parts, spot, &mirrored, rough) * reflected;
            add(&mut gloss, responses.mirror[light], seen);
        }
        let room = stage.ambient.towards(&mirrored) * reflected * open;
        let (light, level) =
            if mirrored.y < 0.0 { (lamps + 1, 0.8 * reflected * open) } else { (lamps, room) };
        add(&mut gloss, responses.mirror[light], level);
    }
    let raw: [f64; 3] = std::array::from_fn(|channel| body[channel] + gloss[channel]);
    let share = gloss[1] / raw[1].max(1e-9);
    (raw, strengths.iter().sum(), share)
}

fn add(sum: &mut [f64; 3], colour: [f64; 3], strength: f64) {
    for (total, value) in sum.iter_mut().zip(colour) {
        *total += value * strength;
    }
}
