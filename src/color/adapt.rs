//! Colours stated under another illuminant → D50, by Bradford's transform.

use palette::Xyz;
use palette::chromatic_adaptation::AdaptIntoUnclamped;
use palette::convert::{FromColorUnclamped, IntoColorUnclamped};
use palette::white_point::{A, C, D50, D65, F2, F11};

use super::Lab;

/// The illuminant that an imported colour is stated under (2° observer).
///
/// White points are those of ASTM E308, which `palette` carries: A 1.09850, 0.35585; C 0.98074, 1.18232;
/// D50 0.96422, 0.82521; D65 0.95047, 1.08883; F2 0.99186, 0.67393; F11 1.00962, 0.64350 (X and Z for
/// Y = 1). Sets rounded otherwise (the chromaticities of CIE 15, the profile connection space of ICC)
/// differ from them by up to 0.03 in Lab, far below what any photo resolves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Illuminant {
    /// CIE A, a tungsten lamp.
    A,
    /// CIE C, the daylight of older tables.
    C,
    /// CIE D50, the program's own.
    D50,
    /// CIE D65, average daylight.
    D65,
    /// CIE F2 (FL2), a cool white fluorescent tube.
    F2,
    /// CIE F11 (FL11), a narrow-band fluorescent tube.
    F11,
}

impl Illuminant {
    /// The illuminant of a name as tables write it: "A", "C", "D50", "D65", "F2" or "FL2", "F11" or "FL11",
    /// in either case, with or without spaces.
    pub fn of_name(name: &str) -> Option<Self> {
        let name: String = name.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_uppercase();
        match name.as_str() {
            "A" => Some(Illuminant::A),
            "C" => Some(Illuminant::C),
            "D50" => Some(Illuminant::D50),
            "D65" => Some(Illuminant::D65),
            "F2" | "FL2" => Some(Illuminant::F2),
            "F11" | "FL11" => Some(Illuminant::F11),
            _ => None,
        }
    }
}

/// Lab D50 of tristimulus values stated under `illuminant` (Y = 1 for its white).
///
/// Adaptation predicts the corresponding colour; what the plastic's spectrum would really do under D50
/// can differ by several units (metamerism), which the caller adds to the uncertainty.
pub fn lab_in_d50_from_xyz(xyz: [f64; 3], illuminant: Illuminant) -> Lab {
    let [x, y, z] = xyz;
    let in_d50: Xyz<D50, f64> = match illuminant {
        Illuminant::A => Xyz::<A, f64>::new(x, y, z).adapt_into_unclamped(),
        Illuminant::C => Xyz::<C, f64>::new(x, y, z).adapt_into_unclamped(),
        Illuminant::D50 => Xyz::new(x, y, z),
        Illuminant::D65 => Xyz::<D65, f64>::new(x, y, z).adapt_into_unclamped(),
        Illuminant::F2 => Xyz::<F2, f64>::new(x, y, z).adapt_into_unclamped(),
        Illuminant::F11 => Xyz::<F11, f64>::new(x, y, z).adapt_into_unclamped(),
    };
    Lab::from_color_unclamped(in_d50)
}

/// Lab D50 of a Lab `[L*, a*, b*]` stated under `illuminant`.
pub fn lab_in_d50_from_lab(lab: [f64; 3], illuminant: Illuminant) -> Lab {
    fn xyz_of<W>(lab: [f64; 3]) -> [f64; 3]
    where
        W: palette::white_point::WhitePoint<f64>,
        palette::Lab<W, f64>: IntoColorUnclamped<Xyz<W, f64>>,
    {
        let xyz: Xyz<W, f64> = palette::Lab::<W, f64>::new(lab[0], lab[1], lab[2]).into_color_unclamped();
        [xyz.x, xyz.y, xyz.z]
    }
    let xyz = match illuminant {
        Illuminant::A => xyz_of::<A>(lab),
        Illuminant::C => xyz_of::<C>(lab),
        Illuminant::D50 => return Lab::new(lab[0], lab[1], lab[2]),
        Illuminant::D65 => xyz_of::<D65>(lab),
        Illuminant::F2 => xyz_of::<F2>(lab),
        Illuminant::F11 => xyz_of::<F11>(lab),
    };
    lab_in_d50_from_xyz(xyz, illuminant)
}
