//! The window's colours as people with other colour vision see them: simulated after Machado, Oliveira and Fernandes, "A
//! physiologically-based model for simulation of color vision deficiency", IEEE Transactions on Visualization and Computer
//! Graphics 15 (2009), 1291–1298, at full severity, in linear sRGB. The matrices are those published with the paper.

use egui::Color32;

use crate::app::theme::{DARK, HIGH, LIGHT, MARK_OVER, MARK_UNDER, Palette, SURROUND};
use crate::color::{Lab, srgb_decode, srgb_encode, to_srgb8};

type Matrix = [[f64; 3]; 3];

const PROTANOPIA: Matrix =
    [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]];
const DEUTERANOPIA: Matrix =
    [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]];
const TRITANOPIA: Matrix =
    [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]];

fn seen(colour: Color32, by: &Matrix) -> [f64; 3] {
    let [r, g, b, _] = colour.to_array().map(|code| srgb_decode(f64::from(code) / 255.0));
    by.map(|row| (row[0] * r + row[1] * g + row[2] * b).clamp(0.0, 1.0))
}

/// Contrast of WCAG 2.2 between two colours as they are seen.
fn contrast(a: Color32, b: Color32, by: &Matrix) -> f64 {
    let luminance = |colour| {
        let [r, g, b] = seen(colour, by);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// What each theme needs to tell apart: text and borders by the numbers of WCAG 2.2 (1.4.3 and 1.4.11).
fn pairs(grey: &Palette) -> Vec<(Color32, Color32, f64)> {
    let grounds = [grey.panel, grey.raised, grey.field];
    let mut pairs: Vec<_> = grounds.iter().map(|ground| (grey.text, *ground, 4.5)).collect();
    pairs.extend(grounds.iter().map(|ground| (grey.weak, *ground, 4.5)));
    pairs.extend(grounds.iter().map(|ground| (grey.bar, *ground, 3.0)));
    pairs.extend([(grey.on_chosen, grey.chosen, 4.5), (grey.border, grey.panel, 3.0)]);
    // Chosen and not chosen are told apart by the ground too.
    pairs.push((grey.chosen, grey.raised, 3.0));
    pairs
}

#[test]
fn the_matrices_leave_greys_alone_and_join_what_such_eyes_confuse() {
    for by in [PROTANOPIA, DEUTERANOPIA, TRITANOPIA] {
        // A neutral stays neutral: each row adds up to 1 within the printed digits.
        for row in by {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 2e-6, "{row:?}");
        }
    }
    // Red and green of the same lightness, which differ by over 60 CIEDE2000 to most people, come close to each other.
    let [red, green] = [Lab::new(55.0, 45.0, 40.0), Lab::new(55.0, -30.0, 40.0)].map(to_srgb8);
    let apart = |by: &Matrix| {
        let [a, b] = [red, green].map(|[r, g, b]| seen(Color32::from_rgb(r, g, b), by).map(srgb_encode));
        (0..3).map(|i| (a[i] - b[i]).abs()).fold(0.0, f64::max)
    };
    let identity = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    println!("deutan {:.2}, all {:.2}", apart(&DEUTERANOPIA), apart(&identity));
    assert!(apart(&DEUTERANOPIA) < 0.5 * apart(&identity));
}

#[test]
fn all_themes_are_read_whatever_the_colour_vision() {
    for by in [PROTANOPIA, DEUTERANOPIA, TRITANOPIA] {
        for grey in [DARK, LIGHT, HIGH] {
            for (ink, ground, least) in pairs(&grey) {
                let found = contrast(ink, ground, &by);
                assert!(found >= least, "{ink:?} on {ground:?}: {found:.2}");
            }
        }
        assert!(contrast(MARK_OVER, MARK_UNDER, &by) >= 4.5);
        // A mark on the photo has a dark and a light stroke, so that one of them shows on any colour.
        let greens = [[40.0, -15.0, 9.0], [50.0, -15.0, 9.0], [68.0, -15.0, 9.0]];
        let greens = greens.map(|[l, a, b]| to_srgb8(Lab::new(l, a, b)));
        let grounds = greens.map(|[r, g, b]| Color32::from_rgb(r, g, b)).into_iter().chain([SURROUND]);
        for ground in grounds {
            let best = contrast(MARK_OVER, ground, &by).max(contrast(MARK_UNDER, ground, &by));
            assert!(best >= 3.0, "{ground:?}: {best:.2}");
        }
    }
}
