//! Simple solids by their distance functions, and how they grow together into a moulded part.
//!
//! Distances are in millimetres, negative inside; for the ellipsoid a bound. Formulas after Quilez,
//! "distance functions" (articles on 3D signed distance functions and smooth minimum).

use super::V3;

/// A solid in a part's own coordinates, in mm.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// Two balls and the cone that wraps them; a capsule where both are alike.
    Limb {
        /// Centre of one ball.
        from: V3,
        /// Centre of the other.
        to: V3,
        /// Radii of the two.
        radii: [f64; 2],
    },
    /// A box with rounded edges; `half` is half its size with the rounding.
    Block {
        /// Its centre.
        centre: V3,
        /// Half its size along x, y and z.
        half: V3,
        /// Radius of its edges.
        rounding: f64,
    },
    /// An ellipsoid along the axes.
    Egg {
        /// Its centre.
        centre: V3,
        /// Its half axes.
        radii: V3,
    },
    /// A ring around an axis.
    Ring {
        /// Its centre.
        centre: V3,
        /// Unit vector of the axis.
        axis: V3,
        /// Radius of the ring and of its wire.
        radii: [f64; 2],
    },
    /// A round slice with rounded edges.
    Disc {
        /// Its centre.
        centre: V3,
        /// Unit vector of the axis.
        axis: V3,
        /// Its radius.
        radius: f64,
        /// Half its height.
        half_height: f64,
        /// Radius of its edges.
        rounding: f64,
    },
}

impl Form {
    /// Distance of a point from the surface.
    pub fn distance(&self, p: &V3) -> f64 {
        match self {
            Form::Limb { from, to, radii } => limb_distance(p, from, to, *radii),
            Form::Block { centre, half, rounding } => {
                let q = (p - centre).abs() - half.add_scalar(-rounding);
                q.map(|v| v.max(0.0)).norm() + q.max().min(0.0) - rounding
            }
            Form::Egg { centre, radii } => {
                let scaled = (p - centre).component_div(radii);
                let k0 = scaled.norm();
                let k1 = scaled.component_div(radii).norm();
                if k1 < 1e-12 { -radii.min() } else { k0 * (k0 - 1.0) / k1 }
            }
            Form::Ring { centre, axis, radii } => {
                let (along, across) = cylindrical(p, centre, axis);
                let off = across - radii[0];
                libm::sqrt(off * off + along * along) - radii[1]
            }
            Form::Disc { centre, axis, radius, half_height, rounding } => {
                let (along, across) = cylindrical(p, centre, axis);
                let x = across - radius + rounding;
                let y = along.abs() - half_height + rounding;
                let outside = libm::sqrt(x.max(0.0) * x.max(0.0) + y.max(0.0) * y.max(0.0));
                outside + x.max(y).min(0.0) - rounding
            }
        }
    }

    /// Corners of a box around it.
    pub fn bounds(&self) -> (V3, V3) {
        match self {
            Form::Limb { from, to, radii } => {
                let (a, b) = (V3::repeat(radii[0]), V3::repeat(radii[1]));
                ((from - a).inf(&(to - b)), (from + a).sup(&(to + b)))
            }
            Form::Block { centre, half, .. } => (centre - half, centre + half),
            Form::Egg { centre, radii } => (centre - radii, centre + radii),
            Form::Ring { centre, radii, .. } => {
                let reach = V3::repeat(radii[0] + radii[1]);
                (centre - reach, centre + reach)
            }
            Form::Disc { centre, radius, half_height, .. } => {
                let reach = V3::repeat(libm::hypot(*radius, *half_height));
                (centre - reach, centre + reach)
            }
        }
    }
}

fn cylindrical(p: &V3, centre: &V3, axis: &V3) -> (f64, f64) {
    let d = p - centre;
    let along = d.dot(axis);
    (along, libm::sqrt((d.norm_squared() - along * along).max(0.0)))
}

fn limb_distance(p: &V3, from: &V3, to: &V3, radii: [f64; 2]) -> f64 {
    let axis = to - from;
    let length2 = axis.norm_squared();
    let taper = radii[0] - radii[1];
    let a2 = length2 - taper * taper;
    let inverse = 1.0 / length2;
    let d = p - from;
    let y = d.dot(&axis);
    let z = y - length2;
    let x2 = (d * length2 - axis * y).norm_squared();
    let (y2, z2) = (y * y * length2, z * z * length2);
    let k = taper.signum() * taper * taper * x2;
    if z.signum() * a2 * z2 > k {
        return libm::sqrt(x2 + z2) * inverse - radii[1];
    }
    if y.signum() * a2 * y2 < k {
        return libm::sqrt(x2 + y2) * inverse - radii[0];
    }
    (libm::sqrt(x2 * a2 * inverse) + y * taper) * inverse - radii[0]
}

/// How a form joins what is there already.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Join {
    /// Added, with a fillet of this width in mm.
    Add(f64),
    /// Taken away, with edges softened over this width in mm.
    Cut(f64),
    /// A groove of this half width in mm where the form's surface meets what is there.
    Groove(f64),
}

impl Join {
    /// Distance after joining a form at distance `form` to a body at distance `body`.
    pub fn joined(self, body: f64, form: f64) -> f64 {
        match self {
            Join::Add(fillet) => smooth_min(body, form, fillet),
            Join::Cut(softness) => -smooth_min(-body, form, softness),
            Join::Groove(half_width) => {
                body.max((body + half_width - form.abs()) * std::f64::consts::FRAC_1_SQRT_2)
            }
        }
    }
}

fn smooth_min(a: f64, b: f64, width: f64) -> f64 {
    if width <= 0.0 {
        return a.min(b);
    }
    let overlap = (width - (a - b).abs()).max(0.0) / width;
    a.min(b) - overlap * overlap * width * 0.25
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_are_those_of_the_solids() {
        let capsule = Form::Limb { from: V3::zeros(), to: V3::new(0.0, 10.0, 0.0), radii: [2.0, 2.0] };
        assert!((capsule.distance(&V3::new(5.0, 4.0, 0.0)) - 3.0).abs() < 1e-9);
        assert!((capsule.distance(&V3::new(0.0, 15.0, 0.0)) - 3.0).abs() < 1e-9);
        let block = Form::Block { centre: V3::zeros(), half: V3::new(3.0, 2.0, 1.0), rounding: 0.5 };
        assert!((block.distance(&V3::new(5.0, 0.0, 0.0)) - 2.0).abs() < 1e-9);
        assert!((block.distance(&V3::zeros()) + 1.0).abs() < 1e-9);
        let ring = Form::Ring { centre: V3::zeros(), axis: V3::y(), radii: [5.0, 1.0] };
        assert!((ring.distance(&V3::new(0.0, 0.0, 8.0)) - 2.0).abs() < 1e-9);
        let disc =
            Form::Disc { centre: V3::zeros(), axis: V3::x(), radius: 3.0, half_height: 1.0, rounding: 0.2 };
        assert!((disc.distance(&V3::new(4.0, 0.0, 0.0)) - 3.0).abs() < 1e-9);
        assert!((disc.distance(&V3::new(0.0, 5.0, 0.0)) - 2.0).abs() < 1e-9);
    }
}
