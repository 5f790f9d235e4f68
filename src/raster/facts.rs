//! What a photo file says of itself, as plain data: how it is coded and how it was taken.

/// Facts about a photo that change how far its colours can be trusted.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PhotoFacts {
    /// File format in words, such as "JPEG".
    pub format: String,
    /// Whether colour was stored at a lower resolution than lightness (JPEG 4:2:0 or 4:2:2, HEIC 4:2:0), so
    /// that edges bleed several pixels into an area.
    pub chroma_subsampled: bool,
    /// Description of the embedded colour profile; `None` where there was none and sRGB is assumed.
    pub profile: Option<String>,
    /// Camera maker and model.
    pub camera: Option<String>,
    /// Exposure in words, such as "1/60 s, f/2.8, ISO 400".
    pub exposure: Option<String>,
    /// Exposure correction that the photographer set, in EV.
    pub exposure_bias_ev: Option<f64>,
    /// Whether the camera chose the white balance by itself.
    pub white_balance_automatic: Option<bool>,
    /// Whether the flash fired.
    pub flash_fired: Option<bool>,
    /// When the photo was taken, as the camera wrote it.
    pub taken: Option<String>,
    /// Everything worth showing a person, in their words.
    pub notes: Vec<FactNote>,
}

/// One fact and what it means for the measurement.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FactNote {
    /// The fact, such as "flash fired".
    pub fact: String,
    /// What it means for the numbers and what to do, empty where it means nothing.
    pub meaning: String,
}
