//! Seeded draws that are the same on every machine.

use rand::Rng;

/// A number in 0..1, 53 bits of it.
pub(crate) fn uniform(rng: &mut impl Rng) -> f64 {
    (rng.next_u64() >> 11) as f64 / (1u64 << 53) as f64
}

/// A standard normal draw (Box and Muller 1958), through `libm`.
pub(crate) fn normal(rng: &mut impl Rng) -> f64 {
    let radius = libm::sqrt(-2.0 * libm::log(1.0 - uniform(rng)));
    radius * libm::cos(std::f64::consts::TAU * uniform(rng))
}
