//! A function of wavelength on a fixed grid: 380 to 780 nm in 5 nm.
//!
//! 5 nm is the step at which CIE publishes its fluorescent and LED illuminants; their mercury lines would be
//! lost or moved on a coarser grid. Integrals are plain sums, as CIE 15 allows for this step.

/// Number of wavelengths.
pub const BANDS: usize = 81;
/// First wavelength in nm.
pub const FIRST_NM: f64 = 380.0;
/// Distance of two wavelengths in nm.
pub const STEP_NM: f64 = 5.0;

/// Values at [`BANDS`] wavelengths: a reflectance (0..=1), a relative power or a sensitivity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spectrum(pub [f64; BANDS]);

/// Wavelength in nm of a band, `band` in 0..[`BANDS`].
pub fn wavelength_nm(band: usize) -> f64 {
    FIRST_NM + STEP_NM * band as f64
}

impl Spectrum {
    /// The same value at each wavelength.
    pub const fn flat(value: f64) -> Self {
        Self([value; BANDS])
    }

    /// A spectrum from a function of the wavelength in nm.
    pub fn from_fn(value_at_nm: impl Fn(f64) -> f64) -> Self {
        Self(std::array::from_fn(|band| value_at_nm(wavelength_nm(band))))
    }

    /// A spectrum from samples at rising wavelengths in nm, `nm` and `values` of one length: between them the cubic
    /// through the two nearest on either side (Lagrange; ASTM E2022), at the ends the parabola through the three
    /// nearest, beyond them the last value held (CIE 15:2004, 7.2.2.1 allows it for what is small there).
    pub fn interpolated(nm: &[f64], values: &[f64]) -> Self {
        let last = nm.len().min(values.len()).saturating_sub(1);
        Self::from_fn(|at| {
            let (first_nm, last_nm) =
                (nm.first().copied().unwrap_or(at), nm.get(last).copied().unwrap_or(at));
            let at = at.clamp(first_nm, last_nm);
            let above = nm.iter().take(last + 1).position(|v| *v >= at).unwrap_or(last);
            let nodes = above.saturating_sub(2)..=(above + 1).min(last);
            lagrange(nodes.map(|i| (nm[i], values[i])), at)
        })
    }

    /// A spectrum value by value.
    pub fn map(&self, f: impl Fn(f64) -> f64) -> Self {
        Self(self.0.map(f))
    }

    /// Two spectra value by value.
    pub fn zip(&self, other: &Self, f: impl Fn(f64, f64) -> f64) -> Self {
        Self(std::array::from_fn(|band| f(self.0[band], other.0[band])))
    }

    /// The product with another spectrum: light on a reflectance.
    pub fn times(&self, other: &Self) -> Self {
        self.zip(other, |a, b| a * b)
    }

    /// `factor` times the spectrum.
    pub fn scaled(&self, factor: f64) -> Self {
        self.map(|v| v * factor)
    }

    /// The sum with another spectrum: two lights at once.
    pub fn plus(&self, other: &Self) -> Self {
        self.zip(other, |a, b| a + b)
    }

    /// `(1 - share)` of this and `share` of the other.
    pub fn mixed(&self, other: &Self, share: f64) -> Self {
        self.zip(other, |a, b| a + (b - a) * share)
    }

    /// Sum over wavelengths of the product with another spectrum, times the step in nm.
    pub fn dot(&self, other: &Self) -> f64 {
        self.0.iter().zip(&other.0).map(|(a, b)| a * b).sum::<f64>() * STEP_NM
    }

    /// The value at any wavelength in nm, linear between bands, held beyond the ends.
    pub fn at_nm(&self, nm: f64) -> f64 {
        let place = ((nm - FIRST_NM) / STEP_NM).clamp(0.0, (BANDS - 1) as f64);
        let below = (place as usize).min(BANDS - 2);
        let share = place - below as f64;
        self.0[below] * (1.0 - share) + self.0[below + 1] * share
    }
}

/// The value at `x` of the polynomial through points.
fn lagrange(points: impl Iterator<Item = (f64, f64)> + Clone, x: f64) -> f64 {
    let weight = |own: f64| {
        let others = points.clone().filter(move |(other, _)| (*other - own).abs() > 1e-9);
        others.map(|(other, _)| (x - other) / (own - other)).product::<f64>()
    };
    points.clone().map(|(own, value)| value * weight(own)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_is_found_again_between_bands() {
        let line = Spectrum::from_fn(|nm| nm / 100.0);
        for nm in [380.0, 402.5, 551.0, 780.0] {
            assert!((line.at_nm(nm) - nm / 100.0).abs() < 1e-12);
        }
        assert!((line.at_nm(300.0) - 3.8).abs() < 1e-12);
        assert!((line.at_nm(900.0) - 7.8).abs() < 1e-12);
    }

    #[test]
    fn a_cubic_is_found_again_between_wide_samples_and_held_beyond_them() {
        let cubic =
            |nm: f64| 0.3 + 1e-3 * (nm - 560.0) - 2e-6 * (nm - 560.0).powi(2) + 1e-8 * (nm - 560.0).powi(3);
        let nm: Vec<f64> = (0..=35).map(|i| 380.0 + 10.0 * f64::from(i)).collect();
        let values: Vec<f64> = nm.iter().map(|nm| cubic(*nm)).collect();
        let found = Spectrum::interpolated(&nm, &values);
        for (band, value) in found.0.iter().enumerate() {
            let at = wavelength_nm(band);
            let inside = (385.1..724.9).contains(&at);
            if inside {
                assert!((value - cubic(at)).abs() < 1e-12, "{at} nm: {value}");
            }
        }
        assert!((found.at_nm(780.0) - cubic(730.0)).abs() < 1e-12);
        assert!((found.at_nm(380.0) - cubic(380.0)).abs() < 1e-12);
    }

    #[test]
    fn dot_is_the_integral() {
        // ∫ 1 dλ over 81 bands of 5 nm.
        assert!((Spectrum::flat(1.0).dot(&Spectrum::flat(1.0)) - 405.0).abs() < 1e-9);
    }
}
