//! The learned constants of the light model.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

/// Everything about ordinary photos that the model was taught; the file `constants.json` says from what.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Constants {
    /// Where the numbers come from.
    pub about: Vec<String>,
    /// Ways in which cameras code light.
    pub codings: Vec<LearnedCoding>,
    /// Log gain common to the channels.
    pub exposure_sd: f64,
    /// Flare common to the channels; white = 1.
    pub flare_sd: f64,
    /// Flare of each channel by itself.
    pub flare_tint_sd: f64,
    /// Slope of the log gain common to the channels, per [`crate::light`] length unit in x and in y.
    pub light_slope_sd: f64,
    /// Slope of each channel by itself.
    pub tint_slope_sd: f64,
    /// Each cross term by itself.
    pub cross_sd: f64,
    /// Smooth misfit in L\*, a\* and b\*.
    pub misfit_sds: [f64; 3],
    /// Its length over Lab.
    pub misfit_length: f64,
    /// What a step in L\* counts in that length.
    pub misfit_lightness_weight: f64,
    /// The misfit grows with chroma as this plus C/30.
    pub misfit_floor: f64,
    /// Rest in L\*, a\* and b\*: a misfit of short length.
    pub rest_sds: [f64; 3],
    /// The rest grows with chroma as 1 plus this times C/30.
    pub rest_growth: f64,
    /// Length of the rest over Lab. A chart cannot tell it from noise of each patch by itself, but two
    /// shades of one plastic share it.
    pub rest_length: f64,
    /// What is left to every area by itself, in each of L\*, a\* and b\*.
    pub private_sd: f64,
    /// Noise of a coded channel.
    pub coding_sd: f64,
    /// Noise of a coded channel at either end of the scale.
    pub clipped_coding_sd: f64,
    /// Scales of the trouble with chroma (cross terms, growth of misfit and rest), with log weights. Greys say
    /// nothing about it, so it stays a heavy tail on coloured readings until a coloured area is known.
    pub chroma_scales: Vec<Scale>,
    /// Degrees of freedom of the common scale of trouble.
    pub tail_degrees: f64,
    /// Least and largest common scale of trouble.
    pub scale_range: [f64; 2],
    /// k known values count as this × √k in weighing components: those of one photo share their errors.
    pub evidence_power: f64,
    /// Factor on the common scale in the prediction, from the coverage on sources left out.
    pub calibration: f64,
}

/// One way of coding light, as a Gaussian prior over the parameters.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LearnedCoding {
    /// Logarithm of its prior weight, up to a constant.
    pub log_weight: f64,
    /// Mean log gain.
    pub log_gain: f64,
    /// Mean of the green channel's log gain below the others', × 1.5.
    pub log_gain_green: f64,
    /// Log gain of each channel by itself.
    pub white_point_sd: f64,
    /// Mean of the four Legendre bends of the log gain over the coded value.
    pub bends: [f64; 4],
    /// Standard deviations of the bends.
    pub bend_sds: [f64; 4],
    /// Mean flare; white = 1.
    pub flare: f64,
    /// Mean of the move towards luminance: positive undoes too little colour, negative too much.
    pub saturation: f64,
    /// Its standard deviation.
    pub saturation_sd: f64,
}

/// One scale of trouble.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Scale {
    /// Factor on standard deviations.
    pub scale: f64,
    /// Logarithm of its prior weight, up to a constant.
    pub log_weight: f64,
}

impl Constants {
    /// The constants that ship with the program.
    #[expect(clippy::expect_used, reason = "the file is part of the program and a test reads it")]
    pub fn learned() -> &'static Constants {
        static LEARNED: LazyLock<Constants> = LazyLock::new(|| {
            serde_json::from_str(include_str!("constants.json")).expect("constants.json fits its type")
        });
        &LEARNED
    }
}
