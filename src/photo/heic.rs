//! HEIC (HEVC pictures in a HEIF container, ISO/IEC 23008-12), through `heifer`.

use heifer::heifer_isobmff::boxes::{ColorInfo, Property};
use heifer::heifer_isobmff::{Error as ContainerError, HeifFile, ItemId};
use heifer::{Image, Sample};

use crate::raster::Samples;

use super::Limits;
use super::camera;
use super::colour::StatedColour;
use super::error::PhotoProblem;
use super::pixels::{Decoded, Layout};

pub(super) fn decode(bytes: &[u8], limits: &Limits) -> Result<Decoded, PhotoProblem> {
    let file = HeifFile::parse(bytes).map_err(|error| container_refusal(&error))?;
    let primary = file.primary_id;
    let coded = coded_item(&file, primary);
    let config = file.hevc_config(coded).ok().flatten();
    let wide = config.is_some_and(|c| c.bit_depth_luma > 8);
    // 0 is lightness alone, 1 and 2 are 4:2:0 and 4:2:2, 3 is full resolution.
    let chroma_format = config.map_or(1, |c| c.chroma_format);
    // The decoder holds the picture as RGBA, twice while it turns it.
    let bytes_per_pixel = if wide { 16 } else { 8 };
    if let Some((width, height)) = file.image_size(primary).ok().flatten() {
        limits.check_size(width, height, bytes_per_pixel)?;
    }
    let options = heifer::Options { max_threads: 0, max_pixels: limits.pixels };
    let metadata = heifer::read_metadata(bytes).unwrap_or_default();
    let colour = stated_colour(&file, primary, coded, metadata.icc_profile);
    let (width, height, samples, opaque) = if wide {
        let image = heifer::decode_with_options(bytes, &options).map_err(|error| refusal(&error))?;
        let top = u32::from(image.max_value()).max(1);
        // Codes of 10 or 12 bits spread over 16, so that full scale stays full scale.
        let spread = |code: u16| ((u32::from(code) * 65_535 + top / 2) / top) as u16;
        let (width, height) = (image.width, image.height);
        let codes = image.data.iter().map(|&code| spread(code)).collect();
        let (rgb, opaque) = layout_of(&image).to_rgb(codes, u16::MAX);
        (width, height, Samples::U16(rgb), opaque)
    } else {
        let image = heifer::decode_rgba8(bytes, &options).map_err(|error| refusal(&error))?;
        let (width, height, layout) = (image.width, image.height, layout_of(&image));
        if image.has_alpha {
            let (rgb, opaque) = layout.to_rgb(image.data, u8::MAX);
            (width, height, Samples::U8(rgb), opaque)
        } else {
            (width, height, Samples::U8(image.into_rgb8()), None)
        }
    };
    Ok(Decoded {
        width,
        height,
        samples,
        opaque,
        grey: chroma_format == 0,
        chroma_subsampled: matches!(chroma_format, 1 | 2),
        colour,
        camera: metadata.exif.and_then(camera::parse),
        // The container's own rotation and mirroring are applied; EXIF repeats them and must be ignored.
        already_upright: true,
    })
}

/// The decoder always gives RGBA.
fn layout_of<S: Sample>(_: &Image<S>) -> Layout {
    Layout { grey: false, alpha: true }
}

/// The item that holds the codes: of a picture put together from tiles the first tile.
fn coded_item(file: &HeifFile<'_>, mut item: ItemId) -> ItemId {
    for _ in 0..4 {
        match file.referenced_items(item, b"dimg").first() {
            Some(&first) if first != item => item = first,
            _ => break,
        }
    }
    item
}

/// An ICC profile stands above colour codes, as ISO/IEC 23008-12, 6.5.5 has it.
fn stated_colour(file: &HeifFile<'_>, primary: ItemId, coded: ItemId, icc: Option<Vec<u8>>) -> StatedColour {
    if let Some(icc) = icc {
        return StatedColour::Icc(icc);
    }
    let codes = [primary, coded].into_iter().find_map(|item| {
        file.item_properties(item).ok()?.find_map(|property| match property {
            Property::Color(ColorInfo::Nclx { primaries, transfer, .. }) => Some((*primaries, *transfer)),
            _ => None,
        })
    });
    match codes {
        Some((primaries, transfer)) => StatedColour::Cicp { primaries, transfer },
        None => StatedColour::Nothing,
    }
}

fn container_refusal(error: &ContainerError) -> PhotoProblem {
    match error {
        ContainerError::UnexpectedEof => PhotoProblem::Cut { share_there: None },
        ContainerError::Unimplemented(what) => variety((*what).to_owned()),
        other => PhotoProblem::Damaged { detail: other.to_string() },
    }
}

fn refusal(error: &heifer::Error) -> PhotoProblem {
    match error {
        heifer::Error::Container(error) => container_refusal(error),
        heifer::Error::Unsupported(what) => variety(what.clone()),
        heifer::Error::Invalid(what) => PhotoProblem::Damaged { detail: (*what).to_owned() },
        _ => PhotoProblem::Damaged { detail: "its HEVC data contradict each other".to_owned() },
    }
}

fn variety(detail: String) -> PhotoProblem {
    PhotoProblem::Variety { format: "HEIC", detail }
}
