//! Files that are no good: each gives a clear error that names the file and says what to do, or is read as
//! far as that is honest.

use std::path::Path;

use image::ExtendedColorType;
use sameshot::photo::{Limits, PhotoError, PhotoProblem, decode, read, read_bytes};

use crate::files::{self, With, open};

fn refused(name: &str) -> PhotoError {
    let error = read(&files::path("bad-photos", name)).expect_err(name);
    assert!(error.to_string().contains(name), "names the file: {error}");
    assert!(error.remedy().len() > 15, "{name}: {}", error.remedy());
    println!("{} | {}", error.to_string().rsplit('/').next().unwrap(), error.remedy());
    error
}

/// Every file of `tests/bad-photos` that must be refused, with words of its error.
#[test]
fn bad_files_are_refused_in_words() {
    let expected = [
        ("empty.jpg", "is empty"),
        ("text.jpg", "it is text"),
        ("page.jpg", "web page"),
        ("zeros.jpg", "zero bytes"),
        ("a.gif", "is a GIF"),
        ("cut.jpg", "is cut off: about"),
        ("damaged.jpg", "is damaged"),
        ("60000x60000.jpg", "60000×60000 pixels; at most 200 megapixels"),
        ("60000x60000.png", "60000×60000 pixels; at most 200 megapixels"),
        ("no-pixels.png", "0×7 pixels"),
        ("printing-inks.jpg", "printing inks (CMYK)"),
        ("printing-inks.tif", "printing inks (CMYK)"),
        ("raw.dng", "a camera's raw file"),
        ("no-such-file.jpg", "does not exist"),
    ];
    for (name, words) in expected {
        let error = refused(name);
        assert!(error.to_string().contains(words), "{error}");
    }
}

#[test]
fn a_folder_and_a_locked_file_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let error = read(folder.path()).unwrap_err();
    assert_eq!(error.problem(), &PhotoProblem::NotAFile("a folder"));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let locked = folder.path().join("locked.jpg");
        std::fs::write(&locked, b"x").unwrap();
        std::fs::set_permissions(&locked, std::fs::Permissions::from_mode(0o000)).unwrap();
        // The system's administrator may read everything, so there is nothing to see then.
        if std::fs::File::open(&locked).is_err() {
            assert_eq!(read(&locked).unwrap_err().problem(), &PhotoProblem::NoPermission);
        }
        let error = read(Path::new("/dev/null")).unwrap_err();
        assert_eq!(error.problem(), &PhotoProblem::NotAFile("a device or a pipe"));
    }
}

#[test]
fn limits_of_file_and_picture_hold() {
    let path = files::path("photos", "full-colour.jpg");
    let error = read_bytes(&path, &Limits { file_bytes: 100, ..Limits::default() }).unwrap_err();
    assert!(matches!(error.problem(), PhotoProblem::FileTooLarge { .. }), "{error}");
    let limits = Limits { pixels: 96 * 64 - 1, ..Limits::default() };
    for name in ["full-colour.jpg", "gradient.heic", "palette.png"] {
        let error = decode(&files::sample(name), &limits).unwrap_err();
        assert!(
            matches!(error.problem(), PhotoProblem::TooManyPixels { width: 96, height: 64, .. }),
            "{error}"
        );
    }
    let small = Limits { memory_bytes: 1000, ..Limits::default() };
    let error = decode(&files::sample("full-colour.jpg"), &small).unwrap_err();
    assert!(matches!(error.problem(), PhotoProblem::TooMuchMemory { .. }), "{error}");
}

#[test]
fn a_profile_that_unpacks_to_16_mebibytes_does_no_harm() {
    let photo = read(&files::path("bad-photos", "profile-bomb.png")).unwrap();
    assert_eq!(photo.facts.profile, None);
    assert!(photo.facts.notes.iter().any(|note| note.fact.starts_with("broken colour profile")));
}

/// Cut at many places, no file may pass for whole: an error, or (where only the end mark of a PNG or the
/// like is missing) the very same picture.
#[test]
fn cut_files_are_told_at_every_cut() {
    let picture = files::busy_picture(64, 48);
    let (size, kind) = ((64, 48), ExtendedColorType::Rgb8);
    let wide: Vec<u16> = picture.as_raw().iter().map(|&v| u16::from(v) * 257).collect();
    let whole = [
        ("baseline JPEG", files::jpeg(&picture, With::default())),
        ("JPEG of 4:4:4", files::sample("full-colour.jpg")),
        ("JPEG with restarts", files::sample("restarts.jpg")),
        ("progressive JPEG", files::sample("progressive.jpg")),
        ("PNG", files::png(&picture, size, kind, With::default())),
        (
            "PNG of 16 bit",
            files::png(&files::bytes_of(&wide), size, ExtendedColorType::Rgb16, With::default()),
        ),
        ("TIFF", files::tiff(&picture, size, kind, With::default())),
        ("WebP", files::webp(&picture, size, kind, With::default())),
        ("HEIC", files::sample("gradient.heic")),
    ];
    for (name, file) in whole {
        let full = open(&file).unwrap_or_else(|error| panic!("{name}: {error}"));
        let step = (file.len() / 400).max(1);
        let (mut cut, mut same, mut other) = (0, 0, 0);
        for length in (1..file.len()).step_by(step).chain(file.len().saturating_sub(20)..file.len()) {
            match open(&file[..length]) {
                Ok(photo) => {
                    assert!(!name.contains("JPEG"), "{name} cut to {length} of {}", file.len());
                    assert_eq!(photo.raster, full.raster, "{name} cut to {length} of {}", file.len());
                    same += 1;
                }
                Err(error) if matches!(error.problem(), PhotoProblem::Cut { .. }) => cut += 1,
                Err(_) => other += 1,
            }
        }
        println!("{name}: {cut} cuts told as such, {other} as another error, {same} with the whole picture");
        assert!(cut > 5 * other, "{name}: a cut should be called a cut");
    }
}

/// The share of a cut JPEG is that of the rows that are there: bytes and rows go together where detail is
/// spread evenly.
#[test]
fn the_share_of_a_cut_jpeg_is_about_right() {
    let file = files::jpeg(&files::busy_picture(320, 480), With::default());
    for share in [0.2, 0.5, 0.8] {
        let error = open(&file[..(file.len() as f64 * share) as usize]).unwrap_err();
        let PhotoProblem::Cut { share_there: Some(told) } = *error.problem() else { panic!("{error}") };
        assert!((told - share).abs() < 0.06, "{share}: {told}");
    }
}
