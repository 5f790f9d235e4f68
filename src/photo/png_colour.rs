//! The colour chunks of a PNG (W3C PNG, third edition, 4.3 and 11.3.2).

use super::colour::StatedColour;

/// What a PNG says of its colour space, by the standard's order of precedence: cICP, iCCP, sRGB, then
/// gAMA with cHRM.
pub(super) fn stated(bytes: &[u8], icc: Option<Vec<u8>>) -> StatedColour {
    let mut srgb = false;
    let mut gamma = None;
    let mut chromaticities = None;
    for (name, body) in chunks_before_data(bytes) {
        match (name, body) {
            (b"cICP", &[primaries, transfer, ..]) => {
                return StatedColour::Cicp { primaries: primaries.into(), transfer: transfer.into() };
            }
            (b"sRGB", _) => srgb = true,
            (b"gAMA", body) => gamma = numbers::<1>(body).map(|[g]| g),
            (b"cHRM", body) => chromaticities = numbers::<8>(body),
            _ => {}
        }
    }
    match (icc, gamma) {
        (Some(icc), _) => StatedColour::Icc(icc),
        (None, _) if srgb => StatedColour::Srgb("sRGB, as the PNG says"),
        // An exponent of 0 or beyond 10 is no transfer curve of any picture.
        (None, Some(gamma)) if (0.1..=10.0).contains(&gamma) => StatedColour::Gamma { gamma, chromaticities },
        _ => StatedColour::Nothing,
    }
}

/// Chunk names and bodies up to the picture data.
fn chunks_before_data(bytes: &[u8]) -> impl Iterator<Item = (&[u8; 4], &[u8])> {
    let mut rest = bytes.get(8..).unwrap_or_default();
    std::iter::from_fn(move || {
        let (length, after) = rest.split_first_chunk::<4>()?;
        let (name, after) = after.split_first_chunk::<4>()?;
        let body = after.get(..u32::from_be_bytes(*length) as usize)?;
        rest = after.get(body.len() + 4..)?;
        (name != b"IDAT").then_some((name, body))
    })
}

/// `N` numbers in hundred-thousandths.
fn numbers<const N: usize>(body: &[u8]) -> Option<[f64; N]> {
    let (words, _) = body.as_chunks::<4>();
    let words: &[[u8; 4]; N] = words.first_chunk()?;
    Some(words.map(|word| f64::from(u32::from_be_bytes(word)) / 100_000.0))
}
