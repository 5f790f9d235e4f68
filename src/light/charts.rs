//! Photographs of a chart of known colours as numbers: what the model learns from and is judged by.
//!
//! The chart is the 24-patch colour rendition chart (C. S. McCamy, H. Marcus and J. G. Davidson, "A
//! Color-Rendition Chart", J. Applied Photographic Engineering 2 (1976)). Some of its patches are taken as
//! known, the others are read.

use std::collections::BTreeMap;

use nalgebra::{Matrix3, Vector3};

use super::{KnownPatch, LENGTH_UNITS, Patch};
use crate::problem::Problem;

/// The patches with their published Lab (D50, 2°): the maker's values for charts made after November 2014,
/// as PyPI colour-science 0.4.7 carries them.
pub const PUBLISHED_LAB_IN_D50: [(&str, [f64; 3]); 24] = [
    ("dark skin", [37.54, 14.37, 14.92]),
    ("light skin", [64.66, 19.27, 17.5]),
    ("blue sky", [49.32, -3.82, -22.54]),
    ("foliage", [43.46, -12.74, 22.72]),
    ("blue flower", [54.94, 9.61, -24.79]),
    ("bluish green", [70.48, -32.26, -0.37]),
    ("orange", [62.73, 35.83, 56.5]),
    ("purplish blue", [39.43, 10.75, -45.17]),
    ("moderate red", [50.57, 48.64, 16.67]),
    ("purple", [30.1, 22.54, -20.87]),
    ("yellow green", [71.77, -24.13, 58.19]),
    ("orange yellow", [71.51, 18.24, 67.37]),
    ("blue", [28.37, 15.42, -49.8]),
    ("green", [54.38, -39.72, 32.27]),
    ("red", [42.43, 51.05, 28.62]),
    ("yellow", [81.8, 2.67, 80.41]),
    ("magenta", [50.63, 51.28, -14.12]),
    ("cyan", [49.57, -29.71, -28.32]),
    ("white 9.5 (.05 D)", [95.19, -1.03, 2.93]),
    ("neutral 8 (.23 D)", [81.29, -0.57, 0.44]),
    ("neutral 6.5 (.44 D)", [66.89, -0.75, -0.06]),
    ("neutral 5 (.70 D)", [50.76, -0.13, 0.14]),
    ("neutral 3.5 (1.05 D)", [35.63, -0.46, -0.48]),
    ("black 2 (1.5 D)", [20.64, 0.07, -0.46]),
];

/// One patch of a photographed chart.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartPatch {
    /// Its name in [`PUBLISHED_LAB_IN_D50`].
    pub name: &'static str,
    /// How the photo shows it.
    pub patch: Patch,
    /// Its published Lab under D50.
    pub lab: Vector3<f64>,
    /// Clipped or otherwise useless in this photo.
    pub clipped: bool,
}

/// One photographed chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Its name.
    pub name: String,
    /// Where it comes from: charts of one source share camera and maker.
    pub source: String,
    /// Its patches.
    pub patches: Vec<ChartPatch>,
}

/// Which patches are known and which are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Scenario {
    /// Nothing is known, the coloured patches are read.
    Nothing,
    /// The mid grey is known, the coloured patches are read.
    OneGrey,
    /// All greys are known, the coloured patches are read.
    AllGreys,
    /// All but the four greens are known, these are read.
    AllButGreens,
}

const ONE_GREY: &str = "neutral 5 (.70 D)";
const GREENS: [&str; 4] = ["foliage", "green", "yellow green", "bluish green"];

fn is_grey(name: &str) -> bool {
    ["white", "neutral", "black"].iter().any(|start| name.starts_with(start))
}

impl Scenario {
    /// From knowing nothing to knowing much.
    pub const ALL: [Scenario; 4] =
        [Scenario::Nothing, Scenario::OneGrey, Scenario::AllGreys, Scenario::AllButGreens];

    /// Those with something known.
    pub const AIDED: [Scenario; 3] = [Scenario::OneGrey, Scenario::AllGreys, Scenario::AllButGreens];

    /// Name for people.
    pub fn name(self) -> &'static str {
        match self {
            Scenario::Nothing => "nothing",
            Scenario::OneGrey => "one grey",
            Scenario::AllGreys => "all greys",
            Scenario::AllButGreens => "all but four greens",
        }
    }

    fn knows(self, name: &str) -> bool {
        match self {
            Scenario::Nothing => false,
            Scenario::OneGrey => name == ONE_GREY,
            Scenario::AllGreys => is_grey(name),
            Scenario::AllButGreens => !GREENS.contains(&name),
        }
    }
}

impl Chart {
    /// The known patches, without the clipped ones, and the patches to read.
    pub fn split(&self, scenario: Scenario) -> (Vec<KnownPatch>, Vec<&ChartPatch>) {
        let known = self
            .patches
            .iter()
            .filter(|p| scenario.knows(p.name) && !p.clipped)
            .map(|p| KnownPatch {
                patch: p.patch.clone(),
                lab: p.lab,
                lab_cov: Matrix3::zeros(),
                shared: None,
            })
            .collect();
        let asked = self.patches.iter().filter(|p| !is_grey(p.name) && !scenario.knows(p.name)).collect();
        (known, asked)
    }
}

impl ChartPatch {
    /// A patch by name; `at_in_chart` counts from the chart's middle in halves of its longer side. `None`
    /// where the chart has no such patch.
    pub fn new(name: &str, coded: [f64; 3], at_in_chart: [f64; 2], clipped: bool) -> Option<Self> {
        let (name, lab) = PUBLISHED_LAB_IN_D50.iter().find(|(known, _)| *known == name)?;
        let patch = Patch {
            coded: coded.into(),
            coded_cov: Matrix3::zeros(),
            at: at_in_chart.map(|v| v / LENGTH_UNITS),
            relief: None,
            photo: 0,
        };
        Some(ChartPatch { name, patch, lab: (*lab).into(), clipped })
    }
}

/// Reads charts from CSV text with the columns `source`, `chart`, `patch`, `x` and `y` (the chart's own
/// frame, −1 to 1 over its longer side), `r`, `g` and `b` (coded sRGB, 0 to 1) and `clipped` (0 or 1), a
/// patch a line.
pub fn charts_from_csv(text: &str) -> Result<Vec<Chart>, Problem> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let unreadable = |error: csv::Error| {
        Problem::new(
            format!("The table of charts cannot be read: {error}."),
            "Save it as comma-separated text.",
        )
    };
    let mut charts: BTreeMap<(String, String), Chart> = BTreeMap::new();
    for (index, row) in reader.deserialize().enumerate() {
        let row: BTreeMap<String, String> = row.map_err(unreadable)?;
        let (source, name, patch) = patch_of(&row).map_err(|what| {
            Problem::new(
                format!("Line {} of the table of charts: {what}.", index + 2),
                "Each line needs source, chart, patch, x, y, r, g, b and clipped.",
            )
        })?;
        let chart = charts.entry((source.clone(), name.clone())).or_insert_with(|| Chart {
            name,
            source,
            patches: Vec::with_capacity(24),
        });
        chart.patches.push(patch);
    }
    Ok(charts.into_values().collect())
}

fn patch_of(row: &BTreeMap<String, String>) -> Result<(String, String, ChartPatch), String> {
    let text = |column: &str| row.get(column).ok_or_else(|| format!("there is no column \"{column}\""));
    let number = |column: &str| {
        let text = text(column)?;
        let value: Option<f64> = text.trim().parse().ok().filter(|v: &f64| v.is_finite());
        value.ok_or_else(|| format!("\"{text}\" in column \"{column}\" is no number"))
    };
    let coded = [number("r")?, number("g")?, number("b")?];
    let at_in_chart = [number("x")?, number("y")?];
    let clipped = number("clipped")? != 0.0;
    let name = text("patch")?;
    let patch = ChartPatch::new(name, coded, at_in_chart, clipped)
        .ok_or_else(|| format!("the chart has no patch \"{name}\""))?;
    Ok((text("source")?.clone(), text("chart")?.clone(), patch))
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "source,chart,patch,x,y,r,g,b,clipped\n";

    #[test]
    fn charts_are_gathered_by_name() {
        let text = format!(
            "{HEAD}s,one,green,0.1,0.5,0.3,0.5,0.2,0\ns,two,green,0,0,0.3,0.5,0.2,0\ns,one,neutral 5 (.70 D),0,0,0.4,0.4,0.4,1\n"
        );
        let charts = charts_from_csv(&text).unwrap();
        assert_eq!(charts.len(), 2);
        assert_eq!(charts[0].patches.len(), 2);
        let (known, asked) = charts[0].split(Scenario::AllGreys);
        assert!(known.is_empty(), "a clipped grey is not used");
        assert_eq!(asked[0].lab, Vector3::new(54.38, -39.72, 32.27));
        let at = asked[0].patch.at.map(|v| v * LENGTH_UNITS);
        assert!((at[0] - 0.1).abs() < 1e-12 && (at[1] - 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_bad_line_is_named() {
        for (line, word) in [
            ("s,one,green,0,0,0.3,x,0.2,0", "\"x\""),
            ("s,one,puce,0,0,0.3,0.5,0.2,0", "puce"),
            ("s,one,green,0,0,NaN,0.5,0.2,0", "NaN"),
        ] {
            let problem = charts_from_csv(&format!("{HEAD}{line}\n")).unwrap_err();
            assert!(problem.message.contains("Line 2") && problem.message.contains(word), "{problem}");
        }
        assert!(charts_from_csv("a,b\n1,2\n").unwrap_err().message.contains("column"));
    }
}
