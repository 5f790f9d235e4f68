//! Coloured plastic: Kubelka–Munk mixes of pigments in a base, with the Saunderson correction.
//!
//! The absorption and scattering curves are **invented**: smooth bands where pigments of these kinds are known
//! to absorb, at strengths that give plausible toys. Nothing here is measured, and no number of a real
//! pigment should be taken from it. What matters is that shades of one recipe share their curves while
//! unlike recipes of the same colour don't, as with real plastic.

use std::sync::LazyLock;

use rand::Rng;

use super::draws::normal;
use super::spectrum::Spectrum;

/// A colourant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Pigment {
    /// Titanium white: scatters, absorbs in the violet only.
    White,
    /// Carbon black.
    Black,
    /// Phthalocyanine green.
    PhthaloGreen,
    /// Phthalocyanine blue.
    PhthaloBlue,
    /// A lemon yellow of the chrome kind.
    Yellow,
    /// Yellow iron oxide.
    OxideYellow,
    /// Red iron oxide.
    OxideRed,
    /// Ultramarine.
    Ultramarine,
    /// An orange-red of the organic kind.
    Scarlet,
    /// Umber.
    Umber,
}

/// Number of pigments.
pub const PIGMENTS: usize = 10;

impl Pigment {
    /// All of them.
    pub const ALL: [Self; PIGMENTS] = [
        Self::White,
        Self::Black,
        Self::PhthaloGreen,
        Self::PhthaloBlue,
        Self::Yellow,
        Self::OxideYellow,
        Self::OxideRed,
        Self::Ultramarine,
        Self::Scarlet,
        Self::Umber,
    ];
}

/// Absorption K and scattering S of one part of a pigment (arbitrary but common unit).
struct Curves {
    absorption: Spectrum,
    scattering: Spectrum,
}

/// Concentrations of the pigments in the base, in parts (at least 0).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recipe {
    /// Parts of each pigment, in the order of [`Pigment::ALL`].
    pub parts: [f64; PIGMENTS],
    /// How far the surface has yellowed: 0 new, 1 plainly yellow.
    pub yellowing: f64,
    /// Share of the colourants (all but white) that the light has bleached, 0..1.
    pub fading: f64,
}

impl Recipe {
    /// A recipe of the named pigments; all others are absent.
    pub fn of(parts: &[(Pigment, f64)]) -> Self {
        let mut recipe = Self { parts: [0.0; PIGMENTS], yellowing: 0.0, fading: 0.0 };
        for &(pigment, amount) in parts {
            recipe.parts[pigment as usize] = amount;
        }
        recipe
    }

    /// All colourants but white multiplied by `factor`: a deeper (above 1) or paler shade of the same hue.
    pub fn tinted(&self, factor: f64) -> Self {
        let mut recipe = *self;
        for pigment in Pigment::ALL {
            if pigment != Pigment::White {
                recipe.parts[pigment as usize] *= factor;
            }
        }
        recipe
    }

    /// Another batch: each concentration times a log-normal factor with the given relative standard deviation.
    pub fn jittered(&self, relative_sd: f64, rng: &mut impl Rng) -> Self {
        let mut recipe = *self;
        for amount in &mut recipe.parts {
            *amount *= libm::exp(relative_sd * normal(rng));
        }
        recipe
    }

    /// Reflectance of a thick piece, surface gloss excluded, 0..1.
    ///
    /// Kubelka and Munk (1931): R∞ = 1 + K/S − √((K/S)² + 2 K/S) with K/S = Σ cK / Σ cS (two constants);
    /// then Saunderson (1942): R = (1 − k₁)(1 − k₂) R∞ / (1 − k₂ R∞).
    pub fn reflectance(&self) -> Spectrum {
        let mut absorption = BASE.absorption;
        let mut scattering = BASE.scattering;
        for pigment in Pigment::ALL {
            let curves = &CURVES[pigment as usize];
            let left = if pigment == Pigment::White { 1.0 } else { 1.0 - self.fading };
            let amount = self.parts[pigment as usize];
            absorption = absorption.plus(&curves.absorption.scaled(amount * left));
            scattering = scattering.plus(&curves.scattering.scaled(amount));
        }
        let ratio = absorption.zip(&scattering, |k, s| k / s).plus(&YELLOWED.scaled(self.yellowing));
        ratio.map(|ratio| saunderson(infinite_reflectance(ratio)))
    }
}

/// Kubelka–Munk reflectance of an infinitely thick layer with K/S = `ratio` (at least 0).
pub fn infinite_reflectance(ratio: f64) -> f64 {
    1.0 + ratio - libm::sqrt(ratio * ratio + 2.0 * ratio)
}

/// The inverse of [`infinite_reflectance`]: K/S = (1 − R)² / 2R, R in 0..=1 without 0.
pub fn absorption_ratio(reflectance: f64) -> f64 {
    (1.0 - reflectance) * (1.0 - reflectance) / (2.0 * reflectance)
}

/// A yellowed and faded copy of any reflectance (0..1), for which no recipe is known: the same ageing as
/// [`Recipe::reflectance`], worked on its K/S without the surface.
pub fn aged_reflectance(reflectance: &Spectrum, yellowing: f64, fading: f64) -> Spectrum {
    let inner = reflectance.map(|r| without_surface(r).clamp(1e-4, 1.0));
    let ratio = inner.zip(&YELLOWED, |r, yellow| absorption_ratio(r) * (1.0 - fading) + yellow * yellowing);
    ratio.map(|ratio| saunderson(infinite_reflectance(ratio)))
}

/// Share of collimated light reflected by the surface, for a refractive index of 1.5.
const SURFACE_OUTSIDE: f64 = 0.04;
/// Share of diffuse light reflected back inside at the surface; 0.6 for 1.5 in theory, less in practice.
const SURFACE_INSIDE: f64 = 0.5;

/// Saunderson's correction with gloss excluded.
fn saunderson(inner: f64) -> f64 {
    (1.0 - SURFACE_OUTSIDE) * (1.0 - SURFACE_INSIDE) * inner / (1.0 - SURFACE_INSIDE * inner)
}

/// The inverse of [`saunderson`].
fn without_surface(reflectance: f64) -> f64 {
    reflectance / ((1.0 - SURFACE_OUTSIDE) * (1.0 - SURFACE_INSIDE) + SURFACE_INSIDE * reflectance)
}

/// The unpigmented base: milky, a little yellow in itself.
static BASE: LazyLock<Curves> = LazyLock::new(|| Curves {
    absorption: Spectrum::from_fn(|nm| 0.002 + 0.012 * libm::exp(-(nm - 380.0) / 45.0)),
    scattering: Spectrum::from_fn(|nm| 0.12 * libm::pow(550.0 / nm, 1.0)),
});

/// What yellowing at 1 adds to K/S: chromophores with a tail from the violet into the green.
static YELLOWED: LazyLock<Spectrum> =
    LazyLock::new(|| Spectrum::from_fn(|nm| 1.5 * libm::exp(-(nm - 400.0) / 55.0)));

static CURVES: LazyLock<[Curves; PIGMENTS]> = LazyLock::new(|| Pigment::ALL.map(curves));

/// A band of absorption around a wavelength.
fn band(nm: f64, centre_nm: f64, width_nm: f64) -> f64 {
    let z = (nm - centre_nm) / width_nm;
    libm::exp(-0.5 * z * z)
}

/// Absorption of everything shorter than an edge.
fn edge(nm: f64, edge_nm: f64, width_nm: f64) -> f64 {
    1.0 / (1.0 + libm::exp((nm - edge_nm) / width_nm))
}

fn curves(pigment: Pigment) -> Curves {
    let (absorption, scattering): (fn(f64) -> f64, f64) = match pigment {
        Pigment::White => (|nm| 0.002 + 1.6 * edge(nm, 398.0, 6.0), 1.0),
        Pigment::Black => (|nm| 8.0 * libm::pow(550.0 / nm, 0.15), 0.05),
        Pigment::PhthaloGreen => (
            |nm| {
                0.03 + 5.0 * band(nm, 640.0, 42.0) + 2.2 * band(nm, 720.0, 30.0) + 2.4 * band(nm, 395.0, 42.0)
            },
            0.08,
        ),
        Pigment::PhthaloBlue => (
            |nm| {
                0.03 + 5.0 * band(nm, 620.0, 40.0) + 3.5 * band(nm, 695.0, 26.0) + 1.0 * band(nm, 370.0, 30.0)
            },
            0.08,
        ),
        Pigment::Yellow => (|nm| 0.008 + 3.2 * edge(nm, 492.0, 9.0), 0.45),
        Pigment::OxideYellow => {
            (|nm| 0.05 + 2.4 * edge(nm, 505.0, 17.0) + 0.22 * band(nm, 650.0, 60.0), 0.35)
        }
        Pigment::OxideRed => (|nm| 0.12 + 3.4 * edge(nm, 572.0, 13.0) + 0.25 * band(nm, 680.0, 50.0), 0.4),
        Pigment::Ultramarine => (|nm| 0.03 + 2.6 * band(nm, 595.0, 48.0) + 0.3 * band(nm, 400.0, 18.0), 0.1),
        Pigment::Scarlet => (|nm| 0.01 + 3.8 * edge(nm, 585.0, 10.0), 0.3),
        Pigment::Umber => (|nm| 0.35 + 2.8 * edge(nm, 560.0, 60.0), 0.25),
    };
    Curves { absorption: Spectrum::from_fn(absorption), scattering: Spectrum::flat(scattering) }
}

#[cfg(test)]
mod tests {
    use super::super::truth::lab_in_d50_of;
    use super::*;

    /// Worked from the formula by hand: K/S = 0.5 gives 1.5 − √1.25 = 0.381966 (the golden section).
    #[test]
    fn kubelka_munk_gives_the_worked_value() {
        assert!((infinite_reflectance(0.5) - 0.381_966_011_250_105).abs() < 1e-12);
        assert!((absorption_ratio(infinite_reflectance(0.37)) - 0.37).abs() < 1e-12);
    }

    #[test]
    fn ageing_a_reflectance_equals_ageing_its_recipe() {
        let new = Recipe::of(&[(Pigment::White, 1.0), (Pigment::OxideRed, 0.2)]);
        let old = Recipe { yellowing: 0.4, ..new };
        let direct = aged_reflectance(&new.reflectance(), 0.4, 0.0);
        for (a, b) in direct.0.iter().zip(old.reflectance().0) {
            assert!((a - b).abs() < 1e-9);
        }
    }

    /// Direction from the trade's experience: old plastic goes up in b* and down in L* (common practice, no
    /// source); bleached plastic goes paler.
    #[test]
    fn yellowed_plastic_is_yellower_and_darker_faded_plastic_lighter() {
        let new = Recipe::of(&[(Pigment::White, 1.0), (Pigment::PhthaloGreen, 0.1), (Pigment::Yellow, 0.1)]);
        let [fresh, yellow, pale] = [new, Recipe { yellowing: 0.3, ..new }, Recipe { fading: 0.3, ..new }]
            .map(|recipe| lab_in_d50_of(&recipe.reflectance()));
        assert!(yellow.b > fresh.b + 2.0 && yellow.l < fresh.l, "{fresh:?} {yellow:?}");
        assert!(pale.l > fresh.l + 1.0, "{fresh:?} {pale:?}");
    }

    #[test]
    fn pigments_have_the_colours_of_their_names() {
        let lab = |pigment, amount| {
            lab_in_d50_of(&Recipe::of(&[(Pigment::White, 1.0), (pigment, amount)]).reflectance())
        };
        let white = lab(Pigment::White, 1.0);
        assert!(white.l > 91.0 && white.a.abs() < 2.0 && white.b.abs() < 6.0, "{white:?}");
        assert!(lab(Pigment::Black, 1.0).l < 40.0);
        assert!(lab(Pigment::PhthaloGreen, 0.3).a < -25.0);
        assert!(lab(Pigment::PhthaloBlue, 0.3).b < -25.0);
        assert!(lab(Pigment::Ultramarine, 0.5).b < -25.0);
        assert!(lab(Pigment::Yellow, 0.5).b > 50.0);
        assert!(lab(Pigment::OxideRed, 0.5).a > 20.0);
        assert!(lab(Pigment::Scarlet, 0.5).a > 40.0);
    }
}
