//! A figure of the invented line: 95 mm high, seven parts, each a solid with its joint at its origin.
//!
//! In a part's coordinates x runs to the figure's left, y up and z out of its chest, in mm.

use crate::scene::render::{Coat, Form, Join, MaterialId, Part, Place, V3};

/// The slots of a figure, in the order of [`Plastics`].
pub const SLOTS: [&str; 7] = ["head", "torso", "waist", "arm-left", "arm-right", "leg-left", "leg-right"];

/// What each part is moulded in, in the order of [`SLOTS`].
pub type Plastics = [MaterialId; 7];

/// Paints and what else is on a figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paints {
    /// Cap.
    pub cap: MaterialId,
    /// Eyes and brows.
    pub eyes: MaterialId,
    /// Belt.
    pub belt: MaterialId,
    /// Buckle and buttons.
    pub brass: MaterialId,
    /// Cuffs of the gloves.
    pub cuffs: MaterialId,
    /// Rubber of the boots.
    pub boots: MaterialId,
    /// Badge on the chest.
    pub badge: MaterialId,
}

/// How a figure is bent: degrees about the joints.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Pose {
    /// Arms forward, left and right.
    pub arms_forward: [f64; 2],
    /// Arms out to the side.
    pub arms_out: [f64; 2],
    /// Legs forward.
    pub legs_forward: [f64; 2],
    /// Legs apart.
    pub legs_out: [f64; 2],
    /// Head turned to its left.
    pub head_turned: f64,
}

const HIP: V3 = V3::new(4.9, 45.0, 0.0);
const SHOULDER: V3 = V3::new(12.6, 73.6, 0.0);
const NECK: V3 = V3::new(0.0, 78.5, 0.0);
const WAIST: V3 = V3::new(0.0, 50.5, 0.0);

/// All seven parts, put together and laid at a place (the origin lies between the feet).
pub fn assembled(plastics: &Plastics, paints: &Paints, pose: &Pose, place: &Place) -> Vec<Part> {
    let joint = |at: V3| Place { origin: at, ..Place::home() };
    let mirrored = |at: V3, side: f64| V3::new(at.x * side, at.y, at.z);
    let arm_at = |n: usize, side: f64| {
        joint(mirrored(SHOULDER, side))
            .turned(V3::z(), side * pose.arms_out[n])
            .turned(V3::x(), -pose.arms_forward[n])
    };
    let leg_at = |n: usize, side: f64| {
        joint(mirrored(HIP, side))
            .turned(V3::z(), side * pose.legs_out[n])
            .turned(V3::x(), -pose.legs_forward[n])
    };
    let [head_id, torso_id, waist_id, arm_left, arm_right, leg_left, leg_right] = *plastics;
    [
        head(head_id, paints).placed(&joint(NECK).turned(V3::y(), pose.head_turned)),
        torso(torso_id, paints).placed(&joint(WAIST)),
        waist(waist_id, paints).placed(&joint(WAIST)),
        arm(arm_left, paints, 1.0).placed(&arm_at(0, 1.0)),
        arm(arm_right, paints, -1.0).placed(&arm_at(1, -1.0)),
        leg(leg_left, paints, 1.0).placed(&leg_at(0, 1.0)),
        leg(leg_right, paints, -1.0).placed(&leg_at(1, -1.0)),
    ]
    .into_iter()
    .map(|part| part.placed(place))
    .collect()
}

fn v(x: f64, y: f64, z: f64) -> V3 {
    V3::new(x, y, z)
}

fn limb(from: V3, to: V3, radii: [f64; 2]) -> Form {
    Form::Limb { from, to, radii }
}

fn block(centre: V3, half: V3, rounding: f64) -> Form {
    Form::Block { centre, half, rounding }
}

fn egg(centre: V3, radii: V3) -> Form {
    Form::Egg { centre, radii }
}

fn ring(centre: V3, axis: V3, radii: [f64; 2]) -> Form {
    Form::Ring { centre, axis, radii }
}

fn disc(centre: V3, axis: V3, radius: f64, half_height: f64, rounding: f64) -> Form {
    Form::Disc { centre, axis, radius, half_height, rounding }
}

/// A head with a knitted cap; the origin is the neck joint.
pub fn head(plastic: MaterialId, paints: &Paints) -> Part {
    let mut forms = vec![
        (limb(v(0.0, -1.0, 0.0), v(0.0, 4.0, 0.2), [3.2, 3.0]), Join::Add(0.0)),
        (egg(v(0.0, 9.2, 0.0), v(5.5, 6.2, 6.0)), Join::Add(1.0)),
        (egg(v(0.0, 5.6, 1.5), v(4.0, 3.6, 4.2)), Join::Add(2.5)),
        // Nose, chin, brows, cheeks, ears.
        (limb(v(0.0, 9.6, 5.5), v(0.0, 7.4, 6.6), [0.6, 1.05]), Join::Add(0.8)),
        (egg(v(0.0, 3.4, 4.7), v(1.7, 1.2, 1.2)), Join::Add(1.4)),
        (limb(v(-2.8, 10.4, 4.9), v(2.8, 10.4, 4.9), [0.7, 0.7]), Join::Add(1.0)),
        (egg(v(5.4, 8.0, -0.4), v(0.8, 1.7, 1.2)), Join::Add(0.5)),
        (egg(v(-5.4, 8.0, -0.4), v(0.8, 1.7, 1.2)), Join::Add(0.5)),
        (egg(v(2.3, 8.8, 5.6), v(1.1, 0.7, 0.7)), Join::Cut(0.5)),
        (egg(v(-2.3, 8.8, 5.6), v(1.1, 0.7, 0.7)), Join::Cut(0.5)),
        (limb(v(-1.3, 5.3, 5.7), v(1.3, 5.3, 5.7), [0.28, 0.28]), Join::Cut(0.4)),
        // Cap with a rolled brim and a stub.
        (egg(v(0.0, 12.0, -0.4), v(6.0, 5.0, 6.3)), Join::Add(0.3)),
        (egg(v(0.0, 11.4, -0.3), v(6.6, 1.7, 6.9)), Join::Add(0.5)),
        (egg(v(0.0, 16.9, -0.5), v(1.2, 0.8, 1.2)), Join::Add(0.8)),
    ];
    for n in 0..9 {
        let turn = std::f64::consts::TAU * f64::from(n) / 9.0;
        let (s, c) = libm::sincos(turn);
        let axis = v(s, 0.0, c);
        forms.push((disc(v(0.0, 13.4, -0.4), axis, 6.8, 0.08, 0.05), Join::Groove(0.10)));
    }
    let coats = vec![
        Coat { inside: block(v(0.0, 15.0, 0.0), v(9.0, 5.0, 9.0), 0.1), material: paints.cap },
        Coat { inside: egg(v(0.0, 11.4, -0.3), v(6.75, 1.85, 7.05)), material: paints.cap },
        Coat { inside: egg(v(2.2, 8.75, 5.4), v(0.75, 0.6, 1.0)), material: paints.eyes },
        Coat { inside: egg(v(-2.2, 8.75, 5.4), v(0.75, 0.6, 1.0)), material: paints.eyes },
    ];
    Part::new("head", plastic, forms).coated(coats)
}

/// A torso in a buttoned jacket; the origin is the middle of the waist joint.
pub fn torso(plastic: MaterialId, paints: &Paints) -> Part {
    let mut forms = vec![
        (block(v(0.0, 5.8, 0.0), v(7.8, 6.0, 4.7), 3.6), Join::Add(0.0)),
        (block(v(0.0, 16.6, 0.0), v(9.6, 8.4, 5.3), 4.4), Join::Add(6.0)),
        (limb(v(-8.6, 22.9, -0.2), v(8.6, 22.9, -0.2), [3.9, 3.9]), Join::Add(3.5)),
        (egg(v(0.0, 26.0, -0.4), v(5.6, 2.6, 4.2)), Join::Add(2.0)),
        // Collar.
        (ring(v(0.0, 27.3, -0.2), v(0.0, 0.97, 0.24), [3.9, 1.15]), Join::Add(0.6)),
        (egg(v(2.5, 25.0, 4.0), v(1.5, 2.4, 0.9)), Join::Add(0.5)),
        (egg(v(-2.5, 25.0, 4.0), v(1.5, 2.4, 0.9)), Join::Add(0.5)),
        // Front band, pockets with flaps, hem.
        (block(v(0.0, 12.4, 5.2), v(1.35, 10.8, 0.85), 0.35), Join::Add(0.35)),
        (block(v(5.1, 17.4, 5.1), v(2.6, 2.5, 0.55), 0.35), Join::Add(0.3)),
        (block(v(-5.1, 17.4, 5.1), v(2.6, 2.5, 0.55), 0.35), Join::Add(0.3)),
        (block(v(5.1, 19.6, 5.3), v(2.8, 0.85, 0.6), 0.35), Join::Add(0.2)),
        (block(v(-5.1, 19.6, 5.3), v(2.8, 0.85, 0.6), 0.35), Join::Add(0.2)),
        (block(v(0.0, 1.2, 0.0), v(8.2, 1.0, 5.1), 0.9), Join::Add(0.4)),
        // Folds of the cloth, seam of the mould.
        (limb(v(3.6, 7.0, 5.5), v(7.9, 10.5, 3.9), [0.55, 0.3]), Join::Cut(1.6)),
        (limb(v(-3.0, 6.2, 5.5), v(-7.8, 9.4, 4.0), [0.55, 0.3]), Join::Cut(1.6)),
        (limb(v(-3.6, 10.4, 5.7), v(-8.2, 12.6, 4.0), [0.5, 0.3]), Join::Cut(1.5)),
        (limb(v(7.6, 26.0, 0.0), v(9.4, 3.0, 0.0), [0.12, 0.12]), Join::Groove(0.12)),
    ];
    for n in 0..4 {
        let y = 4.6 + 4.9 * f64::from(n);
        forms.push((disc(v(0.0, y, 5.95), V3::z(), 0.75, 0.45, 0.25), Join::Add(0.05)));
    }
    let mut coats: Vec<Coat> = (0..4)
        .map(|n| {
            let y = 4.6 + 4.9 * f64::from(n);
            Coat { inside: disc(v(0.0, y, 6.3), V3::z(), 0.85, 0.35, 0.1), material: paints.brass }
        })
        .collect();
    coats.push(Coat { inside: disc(v(5.1, 16.6, 5.6), V3::z(), 1.25, 0.7, 0.1), material: paints.badge });
    Part::new("torso", plastic, forms).coated(coats)
}

/// The hips with a belt; the origin is the middle of the waist joint.
pub fn waist(plastic: MaterialId, paints: &Paints) -> Part {
    let forms = vec![
        (block(v(0.0, -4.2, 0.0), v(7.8, 4.6, 4.8), 3.2), Join::Add(0.0)),
        (block(v(0.0, -1.1, 0.0), v(8.15, 1.35, 5.15), 1.2), Join::Add(0.3)),
        (block(v(0.0, -1.1, 4.9), v(1.7, 1.55, 0.75), 0.4), Join::Add(0.1)),
        (limb(v(0.0, -8.5, -2.5), v(0.0, -7.2, 4.0), [1.4, 1.2]), Join::Add(1.5)),
        (block(v(6.6, -1.4, 3.6), v(1.3, 1.9, 1.6), 0.5), Join::Add(0.2)),
        (disc(v(4.9, -5.5, 0.0), V3::x(), 4.1, 4.2, 0.3), Join::Cut(0.4)),
        (disc(v(-4.9, -5.5, 0.0), V3::x(), 4.1, 4.2, 0.3), Join::Cut(0.4)),
        (block(v(0.0, -6.0, 0.0), v(1.6, 3.4, 4.5), 1.2), Join::Add(0.6)),
    ];
    let coats = vec![
        Coat { inside: block(v(0.0, -1.1, 0.0), v(9.0, 1.28, 7.0), 0.1), material: paints.belt },
        Coat { inside: block(v(6.6, -1.4, 3.8), v(1.5, 2.1, 1.9), 0.3), material: paints.belt },
        Coat { inside: block(v(0.0, -1.1, 5.2), v(1.8, 1.6, 0.6), 0.2), material: paints.brass },
    ];
    Part::new("waist", plastic, forms).coated(coats)
}

/// An arm, `side` 1 for the left and −1 for the right; the origin is the shoulder joint.
pub fn arm(plastic: MaterialId, paints: &Paints, side: f64) -> Part {
    let s = side;
    let elbow = v(3.6 * s, -13.2, -0.4);
    let wrist = v(4.4 * s, -24.0, 4.2);
    let hand = v(4.5 * s, -28.2, 5.9);
    let toward = (wrist - elbow).normalize();
    let forms = vec![
        (egg(v(1.6 * s, -0.2, 0.0), v(4.1, 4.3, 4.2)), Join::Add(0.0)),
        (limb(v(2.4 * s, -1.5, 0.0), elbow, [3.7, 3.1]), Join::Add(1.2)),
        (limb(elbow, wrist, [3.15, 2.55]), Join::Add(1.0)),
        (disc(v(-1.6 * s, 0.0, 0.0), V3::x(), 2.8, 1.2, 0.3), Join::Add(0.3)),
        // Folds at the elbow.
        (limb(elbow + v(-1.2 * s, 1.6, 3.4), elbow + v(2.4 * s, 0.6, 2.6), [0.5, 0.3]), Join::Cut(1.3)),
        (limb(elbow + v(-1.6 * s, -0.4, 3.4), elbow + v(2.2 * s, -1.4, 3.0), [0.45, 0.3]), Join::Cut(1.3)),
        (limb(elbow + v(-2.2 * s, 3.9, 3.1), elbow + v(1.4 * s, 3.2, 3.3), [0.4, 0.3]), Join::Cut(1.3)),
        // Glove: cuff, palm, curled fingers, thumb.
        (ring(wrist, toward, [2.15, 0.95]), Join::Add(0.35)),
        (limb(wrist + toward * 0.6, hand, [2.2, 1.7]), Join::Add(0.4)),
        (block(hand, v(1.55, 2.4, 2.1), 1.1), Join::Add(0.9)),
        (limb(hand + v(0.2 * s, -1.9, 1.2), hand + v(-1.5 * s, -1.4, 2.1), [1.05, 0.85]), Join::Add(0.5)),
        (limb(hand + v(-0.6 * s, 1.4, 1.5), hand + v(-1.7 * s, -0.2, 2.5), [0.95, 0.75]), Join::Add(0.4)),
        (disc(hand + v(-1.5 * s, -0.2, 0.9), V3::y(), 0.85, 4.0, 0.1), Join::Cut(0.3)),
        // Pin of the shoulder.
        (disc(v(5.6 * s, -0.2, 0.0), V3::x(), 1.15, 0.55, 0.1), Join::Cut(0.15)),
    ];
    let coats = vec![Coat { inside: ring(wrist, toward, [2.0, 1.35]), material: paints.cuffs }];
    let id = if side > 0.0 { "arm-left" } else { "arm-right" };
    Part::new(id, plastic, forms).coated(coats)
}

/// A leg, `side` 1 for the left and −1 for the right; the origin is the hip joint.
pub fn leg(plastic: MaterialId, paints: &Paints, side: f64) -> Part {
    let s = side;
    let knee = v(0.7 * s, -20.4, 0.6);
    let ankle = v(0.9 * s, -38.0, -0.4);
    let forms = vec![
        (egg(v(0.0, -0.6, 0.0), v(3.7, 4.4, 4.5)), Join::Add(0.0)),
        (limb(v(0.2 * s, -3.0, 0.0), knee, [4.45, 3.5]), Join::Add(1.4)),
        (limb(knee, ankle + v(0.0, 6.0, 0.0), [3.5, 2.95]), Join::Add(0.8)),
        // Knee cap, pocket on the thigh.
        (egg(knee + v(0.0, 0.2, 2.4), v(2.1, 2.4, 1.4)), Join::Add(1.2)),
        (block(v(4.0 * s, -9.0, 0.0), v(0.8, 3.1, 2.5), 0.4), Join::Add(0.4)),
        (block(v(4.2 * s, -6.4, 0.0), v(0.85, 0.8, 2.7), 0.35), Join::Add(0.2)),
        // Folds behind and above the knee.
        (limb(knee + v(-2.8, 3.6, 2.9), knee + v(2.6, 4.3, 2.9), [0.5, 0.3]), Join::Cut(1.5)),
        (limb(knee + v(2.9, -3.4, 2.0), knee + v(-1.8, -4.2, 3.3), [0.45, 0.3]), Join::Cut(1.4)),
        (limb(v(-3.2, -3.4, 3.7), v(2.8, -5.4, 4.2), [0.5, 0.35]), Join::Cut(1.6)),
        // Boot: shaft with a rim, foot, sole.
        (limb(ankle + v(0.0, 6.5, 0.0), ankle + v(0.0, -2.6, 0.2), [3.35, 3.0]), Join::Add(0.2)),
        (ring(ankle + v(0.0, 7.2, 0.0), V3::y(), [2.85, 0.85]), Join::Add(0.3)),
        (block(ankle + v(0.25 * s, -4.2, 2.9), v(2.9, 2.1, 5.9), 1.9), Join::Add(1.6)),
        (egg(ankle + v(0.3 * s, -3.9, 6.0), v(2.9, 2.2, 3.0)), Join::Add(0.8)),
        (block(ankle + v(0.3 * s, -6.2, 2.9), v(3.25, 0.8, 6.4), 0.5), Join::Add(0.1)),
        (block(ankle + v(0.3 * s, -6.8, 0.3), v(3.3, 0.5, 0.7), 0.1), Join::Cut(0.1)),
        // Pin of the knee.
        (disc(knee + v(3.6 * s, 0.0, -0.4), V3::x(), 1.0, 0.5, 0.1), Join::Cut(0.15)),
    ];
    let coats = vec![Coat {
        inside: block(ankle + v(0.0, -6.0, 3.0), v(9.0, 1.25, 12.0), 0.05),
        material: paints.boots,
    }];
    let id = if side > 0.0 { "leg-left" } else { "leg-right" };
    Part::new(id, plastic, forms).coated(coats)
}
