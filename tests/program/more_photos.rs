//! A case that names another photo of the same parts: measured, put into a collection and checked again. The other photo is
//! the demo's own turned by half a turn, so it tells where files go and what is refused, not how much is learned.

use std::fs;
use std::path::Path;

use sameshot::color::srgb_encode;
use sameshot::photo::{Limits, decode};
use serde_json::{Value, json};

use crate::demo::demo;
use crate::run::{Said, sameshot};

fn read(path: &Path) -> Value {
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

fn write(path: &Path, value: &Value) {
    fs::write(path, value.to_string()).unwrap();
}

/// A photo's marks where they are after half a turn.
fn turned(mut case: Value, [width, height]: [f64; 2]) -> Value {
    fn turn(value: &mut Value, size: [f64; 2]) {
        match value {
            Value::Array(list) if list.len() == 2 && list.iter().all(Value::is_number) => {
                for (number, side) in list.iter_mut().zip(size) {
                    *number = json!(side - number.as_f64().unwrap());
                }
            }
            Value::Array(list) => list.iter_mut().for_each(|value| turn(value, size)),
            Value::Object(fields) => fields.values_mut().for_each(|value| turn(value, size)),
            _ => {}
        }
    }
    for list in ["zones", "readings"] {
        for mark in case[list].as_array_mut().unwrap() {
            turn(&mut mark["shape"], [width, height]);
        }
    }
    case
}

/// The demo's exchanged figure in a folder, with and without another photo.
fn folder_with_another_photo() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    for name in ["exchanged.jpg", "skerry-sea-green.shades.json", "skerry-rescue.guide.json"] {
        fs::copy(demo(name), at(name)).unwrap();
    }
    let bytes = fs::read(demo("exchanged.jpg")).unwrap();
    let raster = decode(&bytes, &Limits::default()).unwrap().raster;
    let (width, height) = (raster.width(), raster.height());
    let turned_photo = image::RgbImage::from_fn(width, height, |x, y| {
        let linear = raster.linear_at(width - 1 - x, height - 1 - y);
        image::Rgb(linear.map(|v| (srgb_encode(f64::from(v)) * 255.0).round() as u8))
    });
    turned_photo.save(at("again.png")).unwrap();
    let case = read(&demo("exchanged.case.json"));
    let mut again = turned(case.clone(), [width, height].map(f64::from));
    again["photo"] = json!("again.png");
    again.as_object_mut().unwrap().remove("photo_sha256");
    write(&at("again.case.json"), &again);
    write(&at("alone.case.json"), &case);
    let mut both = case;
    both["more_photos"] = json!(["again.case.json"]);
    write(&at("both.case.json"), &both);
    folder
}

fn result(said: &Said) -> Value {
    serde_json::from_str(&said.out).unwrap()
}

#[test]
fn another_photo_is_read_kept_and_checked_again() {
    let folder = folder_with_another_photo();
    let at = |name: &str| folder.path().join(name).display().to_string();
    let alone = sameshot(&["measure", "--json", &at("alone.case.json")]);
    let both = sameshot(&["measure", "--json", &at("both.case.json")]);
    assert_eq!((alone.status, both.status), (0, 0), "{both:?}");
    let (alone, both) = (result(&alone), result(&both));
    assert_eq!(both["light"]["other_photos"], 1);
    assert!(alone["light"].get("other_photos").is_none());
    assert_ne!(alone["readings"], both["readings"]);

    // Into a collection, with all that it names.
    let kept = at("figures");
    let added = sameshot(&["collection", &kept, "--add", &at("both.case.json"), "--name", "Two photos"]);
    assert_eq!(added.status, 0, "{added:?}");
    let record = read(Path::new(added.out.trim()));
    let sources = record["findings"][0]["sources"].as_array().unwrap();
    let files = |role: &str| sources.iter().filter(|source| source["role"] == role).count();
    assert_eq!((files("case"), files("photo")), (2, 2), "{sources:?}");
    let copy = Path::new(&kept).join(record["cases"][0].as_str().unwrap());
    // What lay elsewhere is gone: the copies stand by themselves.
    fs::remove_file(at("again.png")).unwrap();
    fs::remove_file(at("again.case.json")).unwrap();
    let measured = result(&sameshot(&["measure", "--json", copy.to_str().unwrap()]));
    assert_eq!(measured["readings"], both["readings"]);
    let checked = sameshot(&["collection", &kept, "--check"]);
    assert!(checked.out.contains("0 would say something else"), "{checked:?}");

    // And now the first case has lost its other photo.
    let lost = sameshot(&["measure", "--json", &at("both.case.json")]);
    assert_eq!(lost.status, 1);
    assert!(lost.out.contains("again.case.json"), "{lost:?}");
}

#[test]
fn other_photos_outside_the_folder_and_too_many_are_refused() {
    let folder = folder_with_another_photo();
    let path = folder.path().join("both.case.json");
    let refused = |names: Value| {
        let mut case = read(&path);
        case["more_photos"] = names;
        write(&path, &case);
        let said = sameshot(&["measure", "--json", path.to_str().unwrap()]);
        assert_eq!(said.status, 1, "{said:?}");
        said.all()
    };
    let outside = refused(json!(["../again.case.json"]));
    assert!(outside.contains("more_photos"), "{outside}");
    let many = refused(json!(vec!["again.case.json"; 8]));
    assert!(many.contains("there are 8 other photos; at most 7"), "{many}");
}
