//! What a file is by its first bytes; the ending of its name is never asked.

use super::error::PhotoProblem;

/// Formats that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Jpeg,
    Png,
    Tiff,
    WebP,
    Heic,
}

impl Kind {
    /// Its name in words.
    pub(super) fn name(self) -> &'static str {
        match self {
            Kind::Jpeg => "JPEG",
            Kind::Png => "PNG",
            Kind::Tiff => "TIFF",
            Kind::WebP => "WebP",
            Kind::Heic => "HEIC",
        }
    }

    /// Tells the format, or says in words what the bytes look like instead.
    pub(super) fn of(bytes: &[u8]) -> Result<Kind, PhotoProblem> {
        let starts = |magic: &[u8]| bytes.starts_with(magic);
        let at =
            |offset: usize, magic: &[u8]| bytes.get(offset..).is_some_and(|rest| rest.starts_with(magic));
        if bytes.is_empty() {
            return Err(PhotoProblem::Empty);
        }
        if starts(&[0xff, 0xd8, 0xff]) {
            return Ok(Kind::Jpeg);
        }
        if starts(b"\x89PNG\r\n\x1a\n") {
            return Ok(Kind::Png);
        }
        if starts(b"RIFF") && at(8, b"WEBP") {
            return Ok(Kind::WebP);
        }
        if at(4, b"ftyp") {
            return of_box_file(bytes);
        }
        if starts(b"II*\0") && at(8, b"CR") {
            return Err(raw_file());
        }
        if starts(b"II*\0") || starts(b"MM\0*") {
            return Ok(Kind::Tiff);
        }
        Err(stranger(bytes))
    }
}

/// Files of ISO base media boxes: HEIC, AVIF, videos, some raw files.
fn of_box_file(bytes: &[u8]) -> Result<Kind, PhotoProblem> {
    // The compatible brands follow the major brand; `mif1` alone does not tell the codec.
    let length = bytes.get(..4).map_or(0, |b| b.iter().fold(0usize, |sum, &v| sum << 8 | usize::from(v)));
    let brands = bytes.get(8..length.clamp(16, 256).min(bytes.len())).unwrap_or_default();
    let has = |brand: &[u8]| brands.chunks(4).any(|b| b == brand);
    if has(b"avif") || has(b"avis") {
        let remedy = "Export it as JPEG of the best quality or as PNG.";
        return Err(PhotoProblem::OtherKind { kind: "an AVIF picture", remedy });
    }
    if has(b"crx ") {
        return Err(raw_file());
    }
    if has(b"heic") || has(b"heix") || has(b"mif1") || has(b"mif2") || has(b"heim") || has(b"heis") {
        return Ok(Kind::Heic);
    }
    Err(PhotoProblem::OtherKind { kind: "a video", remedy: "Take a photo instead of a video." })
}

fn raw_file() -> PhotoProblem {
    let remedy = "Develop it on the camera or a computer without any colour or tone adjustment, and export it \
                  as 16-bit TIFF or as JPEG of the best quality.";
    PhotoProblem::OtherKind { kind: "a camera's raw file", remedy }
}

pub(super) fn raw_file_in_tiff() -> PhotoProblem {
    raw_file()
}

fn stranger(bytes: &[u8]) -> PhotoProblem {
    let starts = |magic: &[u8]| bytes.starts_with(magic);
    let export = "Export it as JPEG of the best quality or as PNG.";
    if starts(b"GIF8") {
        let remedy = "A GIF has at most 256 colours; use the photo it was made from.";
        return PhotoProblem::OtherKind { kind: "a GIF", remedy };
    }
    if starts(b"BM") {
        return PhotoProblem::OtherKind { kind: "a BMP picture", remedy: export };
    }
    if starts(&[0xff, 0x0a]) || starts(b"\0\0\0\x0cJXL ") {
        return PhotoProblem::OtherKind { kind: "a JPEG XL picture", remedy: export };
    }
    if starts(b"\0\0\0\x0cjP  ") {
        return PhotoProblem::OtherKind { kind: "a JPEG 2000 picture", remedy: export };
    }
    if starts(b"FUJIFILM") || starts(b"IIRO") || starts(b"IIU\0") || starts(b"FOVb") {
        return raw_file();
    }
    if starts(b"%PDF") {
        let remedy = "Use the photo itself, as it came from the camera.";
        return PhotoProblem::OtherKind { kind: "a PDF document", remedy };
    }
    if starts(b"PK\x03\x04") {
        let remedy = "Unpack it first and name one photo.";
        return PhotoProblem::OtherKind { kind: "a packed archive", remedy };
    }
    if starts(&[0xff, 0xd8]) {
        return PhotoProblem::Cut { share_there: None };
    }
    let head = &bytes[..bytes.len().min(512)];
    let is_text = std::str::from_utf8(head).map_or_else(|e| e.valid_up_to() + 4 > head.len(), |_| true)
        && !head.iter().any(|&b| b < 9);
    let page = String::from_utf8_lossy(head).to_ascii_lowercase();
    if is_text && page.contains("<html") {
        return PhotoProblem::NotAPhoto("it is a web page, perhaps saved in the picture's place".into());
    }
    if is_text {
        return PhotoProblem::NotAPhoto("it is text".into());
    }
    if head.iter().all(|&b| b == 0) {
        return PhotoProblem::NotAPhoto(
            "it begins with nothing but zero bytes, as a failed copy does".into(),
        );
    }
    PhotoProblem::NotAPhoto("its first bytes are those of no picture format known here".into())
}
