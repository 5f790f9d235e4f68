//! Bytes of a photo file → an upright picture and the facts about it.
//!
//! JPEG, PNG, TIFF, WebP and HEIC, told by their content. Samples stay as coded; the embedded colour
//! profile becomes the picture's [`crate::raster::Coding`], so that nothing is rounded and nothing clipped
//! to a gamut. A file that is cut off, damaged or beyond the [`Limits`] is refused with a [`PhotoError`]:
//! half a photo is never measured in silence. Files come from strangers, so every count and size in them is
//! distrusted, sizes are judged before memory is taken, and a panic of a decoder ends here as an error.

mod camera;
mod colour;
mod error;
mod guard;
mod heic;
mod icc;
mod jpeg;
mod jpeg_scans;
mod kind;
mod notes;
mod pixels;
mod png_colour;
mod through_image;

pub use error::{PhotoError, PhotoProblem};

use std::fmt::Write as _;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

use sha2::{Digest, Sha256};

use crate::raster::{BLOCKS_FROM, PhotoFacts, Raster, Turn, block_traces};
use colour::StatedColour;
use kind::Kind;
use pixels::Decoded;

/// A photo ready to be measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// The upright picture.
    pub raster: Raster,
    /// What the file says of itself, and what that means.
    pub facts: PhotoFacts,
}

/// How large a photo may be. What lies beyond is refused before memory is taken for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the file.
    pub file_bytes: u64,
    /// Pixels of the picture, width times height.
    pub pixels: u64,
    /// Bytes that the decoded picture may take in a decoder's own form.
    pub memory_bytes: u64,
}

impl Default for Limits {
    /// 512 MiB of file, 200 megapixels, 2 GiB of memory: above every phone and camera of today.
    fn default() -> Self {
        Self { file_bytes: 512 << 20, pixels: 200_000_000, memory_bytes: 2 << 30 }
    }
}

impl Limits {
    fn check_size(&self, width: u32, height: u32, bytes_per_pixel: u64) -> Result<(), PhotoProblem> {
        let (width, height) = (u64::from(width), u64::from(height));
        if width == 0 || height == 0 {
            return Err(PhotoProblem::Damaged { detail: format!("it says it has {width}×{height} pixels") });
        }
        if width.saturating_mul(height) > self.pixels {
            let limit_megapixels = self.pixels / 1_000_000;
            return Err(PhotoProblem::TooManyPixels { width, height, limit_megapixels });
        }
        self.check_memory((width * height).saturating_mul(bytes_per_pixel))
    }

    fn check_memory(&self, needed_bytes: u64) -> Result<(), PhotoProblem> {
        if needed_bytes > self.memory_bytes { Err(self.too_much_memory()) } else { Ok(()) }
    }

    fn too_much_memory(&self) -> PhotoProblem {
        PhotoProblem::TooMuchMemory { limit_mebibytes: self.memory_bytes >> 20 }
    }

    fn for_image_crate(&self) -> image::Limits {
        let mut limits = image::Limits::no_limits();
        limits.max_alloc = Some(self.memory_bytes);
        limits
    }
}

/// Reads a photo file within the default limits. Errors name the file.
pub fn read(path: &Path) -> Result<Photo, PhotoError> {
    let limits = Limits::default();
    let bytes = read_bytes(path, &limits)?;
    decode(&bytes, &limits).map_err(|error| error.in_file(path))
}

/// Reads the bytes of a photo file, no more than the limit allows. Errors name the file.
pub fn read_bytes(path: &Path, limits: &Limits) -> Result<Vec<u8>, PhotoError> {
    read_bytes_or_problem(path, limits).map_err(|problem| PhotoError::new(problem).in_file(path))
}

fn read_bytes_or_problem(path: &Path, limits: &Limits) -> Result<Vec<u8>, PhotoProblem> {
    let unreadable = |error: std::io::Error| match error.kind() {
        ErrorKind::NotFound => PhotoProblem::Missing,
        ErrorKind::PermissionDenied => PhotoProblem::NoPermission,
        _ => PhotoProblem::Unreadable(error.to_string()),
    };
    let about = std::fs::metadata(path).map_err(unreadable)?;
    if about.is_dir() {
        return Err(PhotoProblem::NotAFile("a folder"));
    }
    if !about.is_file() {
        return Err(PhotoProblem::NotAFile("a device or a pipe"));
    }
    if about.len() > limits.file_bytes {
        return Err(limits.file_too_large(about.len()));
    }
    let mut bytes = Vec::with_capacity(about.len() as usize);
    // The file may grow between the look and the reading.
    let file = File::open(path).map_err(unreadable)?;
    file.take(limits.file_bytes + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    Ok(bytes)
}

impl Limits {
    fn file_too_large(&self, bytes: u64) -> PhotoProblem {
        PhotoProblem::FileTooLarge {
            mebibytes: bytes.div_ceil(1 << 20),
            limit_mebibytes: self.file_bytes >> 20,
        }
    }
}

/// Decodes the bytes of a photo. Errors name no file; see [`PhotoError::in_file`].
pub fn decode(bytes: &[u8], limits: &Limits) -> Result<Photo, PhotoError> {
    // The decoders are tested against mutated files and are known not to panic; if one does, the person
    // loses this photo and nothing else.
    guard::guarded(|| decode_or_problem(bytes, limits))
        .unwrap_or_else(|| {
            Err(PhotoProblem::Damaged { detail: "the decoder gave up on its contradictions".to_owned() })
        })
        .map_err(PhotoError::new)
}

fn decode_or_problem(bytes: &[u8], limits: &Limits) -> Result<Photo, PhotoProblem> {
    if bytes.len() as u64 > limits.file_bytes {
        return Err(limits.file_too_large(bytes.len() as u64));
    }
    let kind = Kind::of(bytes)?;
    let decoded = match kind {
        Kind::Jpeg => jpeg::decode(bytes, limits),
        Kind::Png => through_image::decode_png(bytes, limits),
        Kind::Tiff => through_image::decode_tiff(bytes, limits),
        Kind::WebP => through_image::decode_webp(bytes, limits),
        Kind::Heic => heic::decode(bytes, limits),
    }?;
    finish(kind, decoded, limits)
}

/// Turns the picture upright, finds its coding and gathers the facts.
fn finish(kind: Kind, mut decoded: Decoded, limits: &Limits) -> Result<Photo, PhotoProblem> {
    let camera = decoded.camera.take();
    let shot = camera.as_ref().map(camera::shot);
    let stated = match (&decoded.colour, &camera) {
        (StatedColour::Nothing, Some(exif)) => camera::stated_colour(exif),
        (colour, _) => colour.clone(),
    };
    let (turn, odd_orientation) = match &camera {
        Some(exif) if !decoded.already_upright => match camera::orientation(exif) {
            Ok(turn) => (turn, None),
            Err(odd) => (Turn::UPRIGHT, Some(odd)),
        },
        _ => (Turn::UPRIGHT, None),
    };
    let (grey, mut chroma_subsampled) = (decoded.grey, decoded.chroma_subsampled);
    let colour = colour::interpret(&stated, decoded.samples, grey, limits)?;
    let raster = Raster::new(decoded.width, decoded.height, colour.samples, colour.coding, decoded.opaque)
        .map_err(|problem| PhotoProblem::Damaged { detail: problem.to_string() })?
        .turned(turn);
    // A picture that is no JPEG now but has its blocks was one, most likely with colour at half resolution.
    let blocks = block_traces(&raster).filter(|traces| traces.excess >= BLOCKS_FROM);
    chroma_subsampled |= blocks.is_some() && !grey;
    let picture = notes::Picture {
        width: raster.width(),
        height: raster.height(),
        grey,
        transparent: raster.has_transparency(),
        chroma_subsampled,
        odd_orientation,
    };
    let mut all_notes = notes::on_shot(shot.as_ref());
    all_notes.extend(colour.note);
    all_notes.extend(notes::on_picture(&picture));
    all_notes.extend(blocks.and_then(|traces| notes::on_blocks(kind == Kind::Jpeg, &traces)));
    let shot = shot.unwrap_or_default();
    let facts = PhotoFacts {
        format: kind.name().to_owned(),
        chroma_subsampled,
        profile: colour.name,
        exposure: shot.exposure_in_words(),
        camera: shot.camera,
        exposure_bias_ev: shot.bias_ev,
        white_balance_automatic: shot.white_balance_automatic,
        flash_fired: shot.flash_fired,
        taken: shot.taken,
        notes: all_notes,
    };
    Ok(Photo { raster, facts })
}

/// SHA-256 of a file's bytes in 64 hexadecimal digits, as case files keep it.
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut hex, byte| {
        // Writing to a string cannot fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-2, appendix B.1.
    #[test]
    fn sha256_of_abc() {
        assert_eq!(sha256_hex(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
