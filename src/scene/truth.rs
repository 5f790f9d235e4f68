//! What a measuring instrument would say: XYZ of a light and Lab D50 of a reflectance.
//!
//! Truth in Lab D50 is the reflectance under CIE D50 itself, not an adaptation from another light.

use super::spectrum::Spectrum;
use super::tables::{Illuminant, observer};
use crate::color::Lab;

/// XYZ of a reflectance under a light, scaled so that the perfect white under it has Y = 1 (CIE 15, sums
/// over 5 nm).
pub fn xyz_under(light: &Spectrum, reflectance: &Spectrum) -> [f64; 3] {
    let [x, y, z] = observer();
    let scale = 1.0 / light.dot(y);
    let stimulus = light.times(reflectance);
    [x, y, z].map(|curve| stimulus.dot(curve) * scale)
}

/// XYZ of a light itself, Y = 1.
pub fn xyz_of_light(light: &Spectrum) -> [f64; 3] {
    xyz_under(light, &Spectrum::flat(1.0))
}

/// CIE 1976 L\*a\*b\* of a reflectance under CIE D50 for the 2° observer. The white is D50 as summed on this
/// grid, so the perfect white is (100, 0, 0) exactly; it differs from the tabulated white by 1e-5.
pub fn lab_in_d50_of(reflectance: &Spectrum) -> Lab {
    let light = Illuminant::D50.spectrum();
    let white = xyz_of_light(light);
    let xyz = xyz_under(light, reflectance);
    let [fx, fy, fz] = [0, 1, 2].map(|axis| cube_root_or_line(xyz[axis] / white[axis]));
    Lab::new(116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz))
}

/// The function f(t) of CIE 15, equations 8.6 to 8.11.
fn cube_root_or_line(t: f64) -> f64 {
    const DELTA: f64 = 6.0 / 29.0;
    if t > DELTA * DELTA * DELTA { libm::cbrt(t) } else { t / (3.0 * DELTA * DELTA) + 4.0 / 29.0 }
}

#[cfg(test)]
mod tests {
    use super::super::tables::{chart, chart_names};
    use super::*;

    /// Values of PyPI colour-science 0.4.7, stored by name.
    fn checks(kind: &str) -> Vec<(String, [f64; 3])> {
        let text = include_str!("../../assets/spectra/check-values.csv");
        let mut rows = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        rows.records()
            .map(|row| row.unwrap())
            .filter(|row| &row[0] == kind)
            .map(|row| (row[1].to_owned(), [2, 3, 4].map(|i| row[i].parse().unwrap())))
            .collect()
    }

    fn largest_difference(a: [f64; 3], b: [f64; 3]) -> f64 {
        (0..3).map(|i| (a[i] - b[i]).abs()).fold(0.0, f64::max)
    }

    /// On the same wavelengths the sums are the same; published light below 380 nm, which this grid leaves
    /// out, moves Z of daylight by 0.009 of 82.5 and Lab by a few thousandths.
    #[test]
    fn xyz_of_the_illuminants_agrees_with_colour_science() {
        for (kind, tolerance) in [("light", 1e-4), ("whole light", 2e-2)] {
            let checks = checks(kind);
            assert_eq!(checks.len(), Illuminant::ALL.len());
            for (name, xyz) in checks {
                let light = Illuminant::ALL.into_iter().find(|light| light.name() == name).unwrap();
                let own = xyz_of_light(light.spectrum()).map(|v| v * 100.0);
                assert!(largest_difference(own, xyz) < tolerance, "{kind} {name}: {own:?} against {xyz:?}");
            }
        }
    }

    /// CIE 15:2004, tables T.3 and T.8: chromaticities to the printed digits.
    #[test]
    fn chromaticities_agree_with_cie_15() {
        let printed = [
            (Illuminant::A, 0.44758, 0.40745),
            (Illuminant::D65, 0.31272, 0.32903),
            (Illuminant::D50, 0.34567, 0.35851),
            (Illuminant::Fl2, 0.3721, 0.3751),
            (Illuminant::Fl11, 0.3805, 0.3769),
        ];
        for (light, x, y) in printed {
            let xyz = xyz_of_light(light.spectrum());
            let sum: f64 = xyz.iter().sum();
            assert!((xyz[0] / sum - x).abs() < 1e-4, "{light:?} {}", xyz[0] / sum);
            assert!((xyz[1] / sum - y).abs() < 1e-4, "{light:?} {}", xyz[1] / sum);
        }
    }

    #[test]
    fn patches_of_the_chart_agree_with_colour_science() {
        for (kind, tolerance) in [("patch", 1e-3), ("whole patch", 2e-2)] {
            let checks = checks(kind);
            assert_eq!(checks.len(), 24);
            for (patch, (name, lab)) in checks.into_iter().enumerate() {
                assert_eq!(name, chart_names()[patch]);
                let own = lab_in_d50_of(&chart()[patch]);
                let difference = largest_difference([own.l, own.a, own.b], lab);
                assert!(difference < tolerance, "{kind} {name}: {own:?} {lab:?}");
            }
        }
        for (kind, light) in [("xyz under A", Illuminant::A), ("xyz under FL11", Illuminant::Fl11)] {
            for (patch, (name, xyz)) in checks(kind).into_iter().enumerate() {
                let own = xyz_under(light.spectrum(), &chart()[patch]).map(|v| v * 100.0);
                assert!(largest_difference(own, xyz) < 1e-3, "{name} {kind}: {own:?} {xyz:?}");
            }
        }
    }
}
