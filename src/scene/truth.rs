//! What a measuring instrument would say: XYZ of a light and Lab D50 of a reflectance.
//!
//! Truth in Lab D50 is the reflectance under CIE D50 itself, not an adaptation from another light.

pub use crate::color::tristimulus::{lab_in_d50_of, xyz_of_light, xyz_under};

#[cfg(test)]
mod tests {
    use super::super::tables::{chart, chart_names};
    use super::*;
    use crate::scene::tables::Illuminant;

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
