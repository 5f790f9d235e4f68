//! Tables against published values.

use std::fs;
use std::path::Path;

use sameshot::color::Illuminant;
use sameshot::color::cie::Illuminant as Light;
use sameshot::color::tristimulus::{lab_in_d50_of, xyz_of_light, xyz_under};
use sameshot::color::{lab_in_d50_from_lab, lab_in_d50_from_xyz};
use sameshot::scene::tables::chart;
use sameshot::shade::table::{
    ImportOptions, ReadOptions, TableKind, adaptation_sd, export_table, import_table, read_values,
};
use sameshot::shade::{References, parse_references};

fn swatches(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference-swatches").join(name);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn family(name: &str) -> References {
    parse_references(swatches(name).as_bytes()).unwrap()
}

fn farthest(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|axis| (a[axis] - b[axis]).abs()).fold(0.0, f64::max)
}

/// Reflectances of the 24-patch chart (Ohta 1997, in PyPI colour-science 0.4.7), every 10 nm from 380 to 730 nm, against
/// what colour-science 0.4.7 makes of just these (`reference-swatches/make.py`).
#[test]
fn spectra_of_the_chart_integrate_as_in_colour_science() {
    let read = read_values(&swatches("chart-24-spectra.txt"), ReadOptions::default()).unwrap();
    let checks = include_str!("../data/chart-24-spectra-lab.csv");
    let mut rows = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(checks.as_bytes());
    let mut worst: f64 = 0.0;
    let mut count = 0;
    for (row, reading) in rows.records().zip(&read.readings) {
        let row = row.unwrap();
        let wanted = [1, 2, 3].map(|i| row[i].parse().unwrap());
        worst = worst.max(farthest(reading.lab, wanted));
        count += 1;
    }
    println!("24 spectra: at most {worst:.4} from colour-science in L*, a* or b*");
    assert_eq!((count, read.readings.len()), (24, 24));
    assert!(worst < 0.02, "{worst}");
}

/// The maker's Lab of the chart through CGATS text and CSV, and through XYZ under D50 computed here by the formulas of CIE
/// 15 (8.3 to 8.11) with the white of ASTM E308.
#[test]
fn a_cgats_table_of_the_chart_comes_back_within_0_02() {
    for name in ["chart-24-after-2014.shades.json", "chart-24-before-2014.shades.json"] {
        let published = family(name);
        assert_eq!(published.shades.len(), 24);
        for kind in [TableKind::Cgats, TableKind::Csv] {
            let text = export_table(&published, kind).unwrap();
            let again = import_table(&text, &ImportOptions::default()).unwrap().references;
            assert_eq!(again.shades, published.shades, "exactly the same values");
        }
        let mut table = String::from(
            "MEASUREMENT_SOURCE \"Illumination=D50\"\nBEGIN_DATA_FORMAT\nSAMPLE_NAME XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\n",
        );
        for shade in &published.shades {
            let [x, y, z] = xyz_of(shade.specimens[0].lab);
            table += &format!("\"{}\" {x:.4} {y:.4} {z:.4}\n", shade.id);
        }
        table += "END_DATA\n";
        let read = read_values(&table, ReadOptions::default()).unwrap();
        let worst = read
            .readings
            .iter()
            .zip(&published.shades)
            .map(|(reading, shade)| farthest(reading.lab, shade.specimens[0].lab))
            .fold(0.0, f64::max);
        println!("{name}: XYZ in CGATS text, at most {worst:.4} from the published Lab");
        assert!(worst < 0.02);
    }
    // McCamy, Marcus and Davidson's chart, maker's list after November 2014, as printed.
    let after = family("chart-24-after-2014.shades.json");
    for (id, lab) in [
        ("chart/dark skin", [37.54, 14.37, 14.92]),
        ("chart/foliage", [43.46, -12.74, 22.72]),
        ("chart/black 2", [20.64, 0.07, -0.46]),
    ] {
        let shade = after.shades.iter().find(|shade| shade.id == id).unwrap();
        assert!(farthest(shade.specimens[0].lab, lab) < 0.006, "{id}: {:?}", shade.specimens[0].lab);
    }
}

/// XYZ on the scale of 100 of Lab under D50.
fn xyz_of([l, a, b]: [f64; 3]) -> [f64; 3] {
    let fy = (l + 16.0) / 116.0;
    let back =
        |f: f64| if f > 6.0 / 29.0 { f * f * f } else { (f - 4.0 / 29.0) * 3.0 * (6.0f64 / 29.0).powi(2) };
    [96.422 * back(fy + a / 500.0), 100.0 * back(fy), 82.521 * back(fy - b / 200.0)]
}

/// The stated doubt of Lab that was adapted from another illuminant, found again from the chart's spectra: root mean
/// square over 24 patches of the adapted Lab less the true one under D50.
#[test]
fn the_doubt_of_adaptation_is_what_the_charts_spectra_show() {
    let pairs = [
        (Illuminant::D65, Light::D65),
        (Illuminant::A, Light::A),
        (Illuminant::F2, Light::Fl2),
        (Illuminant::F11, Light::Fl11),
    ];
    for (illuminant, light) in pairs {
        let light = light.spectrum();
        // Both whites are brought to the tabulated ones, so that only the colours' spectra speak.
        let white = xyz_of_light(light);
        let tabulated = lab_in_d50_from_lab([100.0, 0.0, 0.0], illuminant);
        assert!((tabulated.l - 100.0).abs() < 1e-3);
        let mut squares = [0.0; 3];
        for reflectance in chart() {
            let xyz = xyz_under(light, reflectance);
            let own = lab_in_d50_from_xyz([xyz[0], xyz[1], xyz[2]], illuminant);
            let truth = lab_in_d50_of(reflectance);
            for (sum, d) in squares.iter_mut().zip([own.l - truth.l, own.a - truth.a, own.b - truth.b]) {
                *sum += d * d / 24.0;
            }
        }
        let found = squares.map(f64::sqrt);
        println!("{illuminant:?} (white {white:.4?}): {found:.2?}, stated {:?}", adaptation_sd(illuminant));
        for (found, stated) in found.iter().zip(adaptation_sd(illuminant)) {
            assert!((found - stated).abs() < 0.15, "{illuminant:?}: {found} {stated}");
        }
    }
}

/// Munsell renotation (Newhall, Nickerson, Judd 1943) under C, in PyPI colour-science 0.4.7, by this program's own
/// adaptation.
#[test]
fn munsell_greens_agree_with_the_renotation() {
    let greens = family("munsell-greens.shades.json");
    assert_eq!(greens.shades.len(), 9);
    for (id, x, y, luminance) in [
        ("munsell/5GY 4/4", 0.3538, 0.4284, 12.0),
        ("munsell/10GY 5/4", 0.3111, 0.3881, 19.77),
        ("munsell/5G 4/4", 0.2781, 0.3704, 12.0),
    ] {
        let y_of_white = 0.975 * luminance / 100.0;
        let xyz = [x / y * y_of_white, y_of_white, (1.0 - x - y) / y * y_of_white];
        let own = lab_in_d50_from_xyz(xyz, Illuminant::C);
        let stored = greens.shades.iter().find(|shade| shade.id == id).unwrap().specimens[0].lab;
        assert!(farthest([own.l, own.a, own.b], stored) < 0.02, "{id}: {own:?} {stored:?}");
    }
}
