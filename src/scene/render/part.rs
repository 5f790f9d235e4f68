//! A part: forms grown together, its plastic, coats of paint on it, and where it lies.

use super::form::{Form, Join};
use super::{M3, MaterialId, V3};

/// One solid of a scene, with an identity of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its name, such as "arm-left".
    pub id: String,
    /// What it is made of.
    pub material: MaterialId,
    forms: Vec<(Form, Join)>,
    coats: Vec<Coat>,
    place: Place,
    /// A box around it in its own coordinates, and a ball around that in the scene.
    box_middle: V3,
    box_half: V3,
    middle: V3,
    reach: f64,
    flat: bool,
}

/// Paint, or another material, wherever the surface lies inside a form; the last coat wins.
#[derive(Debug, Clone, PartialEq)]
pub struct Coat {
    /// The form, in the part's coordinates.
    pub inside: Form,
    /// What covers the plastic there.
    pub material: MaterialId,
}

/// Where a part lies: turned, then moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// A rotation: part → scene.
    pub turn: M3,
    /// Where the part's origin comes to lie, in mm.
    pub origin: V3,
}

impl Place {
    /// Neither turned nor moved.
    pub fn home() -> Self {
        Self { turn: M3::identity(), origin: V3::zeros() }
    }

    /// Moved only.
    pub fn at(x: f64, y: f64, z: f64) -> Self {
        Self { turn: M3::identity(), origin: V3::new(x, y, z) }
    }

    /// Turned about an axis ('x', 'y' or 'z' by unit vector) before being placed.
    pub fn turned(self, axis: V3, degrees: f64) -> Self {
        Self { turn: self.turn * rotation(axis, degrees), origin: self.origin }
    }

    /// A place within this place.
    pub fn then(&self, inner: &Place) -> Self {
        Self { turn: self.turn * inner.turn, origin: self.turn * inner.origin + self.origin }
    }

    /// A point of the part in the scene.
    pub fn out(&self, p: &V3) -> V3 {
        self.turn * p + self.origin
    }

    /// A point of the scene in the part.
    pub fn into_part(&self, p: &V3) -> V3 {
        self.turn.tr_mul(&(p - self.origin))
    }
}

/// Rotation about a unit vector, right-handed (Rodrigues), through `libm` so that every machine turns alike.
pub fn rotation(axis: V3, degrees: f64) -> M3 {
    let (s, c) = libm::sincos(degrees.to_radians());
    let k = axis.cross_matrix();
    M3::identity() + k * s + k * k * (1.0 - c)
}

impl Part {
    /// A part of forms, each joined to those before it.
    pub fn new(id: impl Into<String>, material: MaterialId, forms: Vec<(Form, Join)>) -> Self {
        let mut part = Self {
            id: id.into(),
            material,
            forms,
            coats: Vec::new(),
            place: Place::home(),
            box_middle: V3::zeros(),
            box_half: V3::zeros(),
            middle: V3::zeros(),
            reach: 0.0,
            flat: false,
        };
        part.bound();
        part
    }

    /// The part with coats on.
    pub fn coated(mut self, coats: Vec<Coat>) -> Self {
        self.coats = coats;
        self
    }

    /// A thin sheet: its shadow on a lamp's light is not worth a ray.
    pub fn flat(mut self) -> Self {
        self.flat = true;
        self
    }

    /// Whether it was declared a thin sheet.
    pub fn is_flat(&self) -> bool {
        self.flat
    }

    /// The part laid elsewhere.
    pub fn placed(mut self, place: &Place) -> Self {
        self.place = place.then(&self.place);
        self.bound();
        self
    }

    /// The ball around it: centre in the scene and radius.
    pub fn ball(&self) -> (&V3, f64) {
        (&self.middle, self.reach)
    }

    /// Distance of a point of the scene from its surface. Beyond `exact_mm` from the box around it, the distance
    /// to the box, which is no larger, stands for it.
    pub fn distance_within(&self, p: &V3, exact_mm: f64) -> f64 {
        let own = self.place.into_part(p);
        let off = ((own - self.box_middle).abs() - self.box_half).map(|v| v.max(0.0));
        let to_box2 = off.norm_squared();
        if to_box2 > exact_mm * exact_mm {
            return libm::sqrt(to_box2);
        }
        self.own_distance(&own)
    }

    /// Distance of a point of the scene from its surface.
    pub fn distance(&self, p: &V3) -> f64 {
        self.own_distance(&self.place.into_part(p))
    }

    /// Where a ray (a point and a unit direction) enters and leaves the box around it, widened by `margin`.
    pub fn crossing(&self, from: &V3, along: &V3, margin: f64) -> Option<(f64, f64)> {
        let own = self.place.into_part(from) - self.box_middle;
        let direction = self.place.turn.tr_mul(along);
        let (mut enter, mut leave) = (f64::NEG_INFINITY, f64::INFINITY);
        for axis in 0..3 {
            let half = self.box_half[axis] + margin;
            let slope = if direction[axis].abs() < 1e-12 { 1e-12 } else { direction[axis] };
            let (a, b) = ((-half - own[axis]) / slope, (half - own[axis]) / slope);
            enter = enter.max(a.min(b));
            leave = leave.min(a.max(b));
        }
        (enter <= leave && leave > 0.0).then_some((enter, leave))
    }

    fn own_distance(&self, own: &V3) -> f64 {
        self.forms.iter().fold(f64::INFINITY, |body, (form, join)| join.joined(body, form.distance(own)))
    }

    /// What the surface is made of at a point of the scene, and whether that is its own plastic.
    pub fn material_at(&self, p: &V3) -> (MaterialId, bool) {
        let own = self.place.into_part(p);
        match self.coats.iter().rev().find(|coat| coat.inside.distance(&own) <= 0.0) {
            Some(coat) => (coat.material, false),
            None => (self.material, true),
        }
    }

    /// A point of the part in the scene.
    pub fn out(&self, p: &V3) -> V3 {
        self.place.out(p)
    }

    /// A point of the scene in the part.
    pub fn into_part(&self, p: &V3) -> V3 {
        self.place.into_part(p)
    }

    fn bound(&mut self) {
        let added = self.forms.iter().filter(|(_, join)| matches!(join, Join::Add(_)));
        let (low, high) = added
            .map(|(form, _)| form.bounds())
            .fold((V3::repeat(f64::INFINITY), V3::repeat(f64::NEG_INFINITY)), |(low, high), (a, b)| {
                (low.inf(&a), high.sup(&b))
            });
        self.box_middle = (low + high) / 2.0;
        // Fillets bulge a little beyond the forms.
        self.box_half = (high - low) / 2.0 + V3::repeat(0.3);
        self.middle = self.place.out(&self.box_middle);
        self.reach = self.box_half.norm();
    }
}
