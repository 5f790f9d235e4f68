//! The shade map of a photo as a picture, with its legend beside it.

use image::{Rgb, RgbImage};

use super::canvas::Canvas;
use super::photo;
use crate::case::CaseDocument;
use crate::color::Lab;
use crate::problem::Problem;
use crate::raster::{Coding, Raster, Samples};
use crate::report::words::shade_name;
use crate::shade::References;
use crate::tray::shade_gains::{GainsFrom, gains, middle_of};
use crate::tray::shade_look::{Clarity, PERIOD_PX, ink, pattern_name};
use crate::tray::shade_map::shade_map;

/// Pixels across the photo's part of the picture, and across the legend.
const PHOTO_WIDTH_PX: u32 = 1600;
const LEGEND_WIDTH_PX: u32 = 430;
const PAPER: u8 = 250;
/// Sides of a patch in the legend.
const PATCH_PX: [u32; 2] = [6 * PERIOD_PX, 3 * PERIOD_PX];

/// Draws the map, and says what it was levelled on.
///
/// # Errors
/// Where no shade has a specimen, or the picture cannot be drawn.
pub fn shade_map_picture(
    raster: &Raster,
    case: &CaseDocument,
    references: &References,
) -> Result<(RgbImage, GainsFrom), Problem> {
    let shades: Vec<(&str, Lab)> =
        references.shades.iter().filter_map(|shade| Some((shade.id.as_str(), middle_of(shade)?))).collect();
    let (gains, from) = gains(raster, case, Some(references));
    let labs: Vec<Lab> = shades.iter().map(|(_, lab)| *lab).collect();
    let mut photo = photo::smaller(raster, PHOTO_WIDTH_PX);
    let (width, height) = (photo.width(), photo.height());
    // Judged as it is shown: joined pixels have less noise.
    let small = Raster::new(width, height, Samples::U8(photo.as_raw().clone()), Coding::srgb(256), None);
    let map = small.ok().and_then(|small| shade_map(&small, gains, &labs)).ok_or_else(|| {
        Problem::new("There is no shade with a specimen to map.", "Add specimens to the references.")
    })?;
    for (x, y, pixel) in photo.enumerate_pixels_mut() {
        if let Some(judged) = map.at(x as usize, y as usize) {
            *pixel = over(*pixel, ink(usize::from(judged.nearest), judged.clarity(), x, y));
        }
    }
    let as_problem = |error: super::PictureProblem| {
        Problem::new(format!("The picture could not be drawn: {error}."), "Please report this.")
    };
    let mut canvas = Canvas::new([width + LEGEND_WIDTH_PX, height.max(600)], PAPER).map_err(as_problem)?;
    canvas.put(&photo);
    let x = width + 24;
    let patches = legend(&mut canvas, &shades, references, x, from);
    let mut picture = canvas.into_image();
    for (y, shade, clarity) in patches {
        patch(&mut picture, [x, y], shade, clarity);
    }
    Ok((picture, from))
}

/// Writes the legend; answers where its patches go.
fn legend(
    canvas: &mut Canvas,
    shades: &[(&str, Lab)],
    references: &References,
    x: u32,
    from: GainsFrom,
) -> Vec<(u32, usize, Clarity)> {
    let mut patches = Vec::new();
    let (left, beside) = (x as f32, (x + PATCH_PX[0]) as f32 + 12.0);
    canvas.text(left, 40.0, 26.0, 0, "Nearest shade");
    let mut y = 66;
    for (n, (id, _)) in shades.iter().enumerate() {
        patches.push((y, n, Clarity::Clear));
        canvas.text(beside, y as f32 + 13.0, 18.0, 0, &shade_name(Some(references), id));
        canvas.text(beside, y as f32 + 29.0, 14.0, 90, pattern_name(n));
        y += PATCH_PX[1] + 14;
    }
    y += 24;
    canvas.text(left, y as f32, 22.0, 0, "How clearly");
    y += 16;
    for clarity in Clarity::ALL {
        patches.push((y, 0, clarity));
        for (line, words) in clarity.words().splitn(2, ": ").enumerate() {
            canvas.text(beside, y as f32 + 13.0 + 17.0 * line as f32, 16.0, 30, words);
        }
        y += PATCH_PX[1] + 14;
    }
    y += 24;
    let told = format!("{} {}", from.words(), "For looking only: shade and glare are taken as colour here.");
    for line in wrapped(&told, 46) {
        canvas.text(left, y as f32, 16.0, 60, &line);
        y += 21;
    }
    patches
}

fn patch(picture: &mut RgbImage, [left, top]: [u32; 2], shade: usize, clarity: Clarity) {
    for (x, y) in (0..PATCH_PX[1]).flat_map(|y| (0..PATCH_PX[0]).map(move |x| (x, y))) {
        let is_edge = x == 0 || y == 0 || x + 1 == PATCH_PX[0] || y + 1 == PATCH_PX[1];
        let ground = Rgb([if is_edge { 60 } else { 160 }; 3]);
        if let Some(pixel) = picture.get_pixel_mut_checked(left + x, top + y) {
            *pixel = if is_edge { ground } else { over(ground, ink(shade, clarity, x, y)) };
        }
    }
}

fn over(Rgb(under): Rgb<u8>, [r, g, b, opacity]: [u8; 4]) -> Rgb<u8> {
    let mixed = |under: u8, over: u8| {
        let (under, over, share) = (u32::from(under), u32::from(over), u32::from(opacity));
        ((under * (255 - share) + over * share + 127) / 255) as u8
    };
    Rgb([mixed(under[0], r), mixed(under[1], g), mixed(under[2], b)])
}

fn wrapped(text: &str, letters: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if line.len() + 1 + word.len() <= letters => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
