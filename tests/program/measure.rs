//! The program from outside: arguments in, lines and exit status out.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use image::{ImageBuffer, Rgb, RgbImage};
use sameshot::color::{Lab, to_srgb8};
use serde::Deserialize;
use serde_json::{Value, json};

// Mirrors of the machine-readable interface: nothing may be missing and nothing may be added.

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ResultLine {
    sameshot_result: u32,
    readings: Vec<Reading>,
    pairs: Vec<Pair>,
    light: Light,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Reading {
    id: String,
    lab: [f64; 3],
    cov: [[f64; 3]; 3],
    pixels: Pixels,
    differences: Vec<Difference>,
    shades: Vec<ShadeEntry>,
    call: Option<String>,
    budget: Vec<BudgetEntry>,
    warnings: Vec<Warning>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Pixels {
    inside: usize,
    used: usize,
    glare: usize,
    clipped: usize,
    dark: usize,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Difference {
    shade: String,
    de00: Interval,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Interval {
    median: f64,
    low: f64,
    high: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ShadeEntry {
    // Without the attribute a missing field would pass for null.
    #[serde(deserialize_with = "Option::deserialize")]
    shade: Option<String>,
    probability: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct BudgetEntry {
    source: String,
    share: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Warning {
    code: String,
    text: String,
    remedy: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Pair {
    a: String,
    b: String,
    de00: Interval,
    different_plastic: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Light {
    zones: usize,
    warnings: Vec<Warning>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ErrorLine {
    sameshot_error: u32,
    case: String,
    text: String,
}

const LIGHT: [f64; 3] = [56.0, -14.0, 8.0];
const DARK: [f64; 3] = [44.0, -15.0, 9.0];
const GREYS: [f64; 3] = [92.0, 60.0, 30.0];

/// A folder with a photo of three greys and two parts, references and a case.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let bench = Self { folder: tempfile::tempdir().unwrap() };
        bench.photo().save(bench.path("bench.png")).unwrap();
        bench.write("green.shades.json", shades().to_string());
        bench.write("bench.case.json", bench_case().to_string());
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn write(&self, name: &str, content: impl AsRef<[u8]>) {
        fs::write(self.path(name), content).unwrap();
    }

    fn photo(&self) -> RgbImage {
        let patches = [grey(GREYS[0]), grey(GREYS[1]), grey(GREYS[2]), LIGHT, DARK];
        ImageBuffer::from_fn(500, 120, |x, y| {
            let [l, a, b] = patches[x as usize / 100];
            let code = to_srgb8(Lab::new(l, a, b));
            // One code of regular grain, as any camera has more of.
            Rgb(code.map(|value| value.saturating_add(((x * 7 + y * 3) % 3) as u8).saturating_sub(1)))
        })
    }

    fn measure(&self, arguments: &[&str]) -> Said {
        said(
            Command::new(env!("CARGO_BIN_EXE_sameshot"))
                .current_dir(self.folder.path())
                .arg("measure")
                .args(arguments),
        )
    }

    /// Measures one bad case and gives what was said of it, on the line and to the person.
    fn refusal(&self, case: &str) -> String {
        self.write("bad.case.json", case);
        let said = self.measure(&["--json", "bad.case.json"]);
        assert_eq!(said.status, 1, "{said:?}");
        let error: ErrorLine = serde_json::from_str(said.out.trim_end()).unwrap();
        assert_eq!((error.sameshot_error, error.case.as_str()), (1, "bad.case.json"));
        assert_eq!(said.out.lines().count(), 1);
        assert!(error.text.contains("bad.case.json"), "the file is not named: {}", error.text);
        assert!(said.err.starts_with("sameshot: bad.case.json"), "{said:?}");
        assert!(!said.err.contains("panicked"), "{said:?}");
        error.text
    }
}

#[derive(Debug)]
struct Said {
    status: i32,
    out: String,
    err: String,
}

fn said(command: &mut Command) -> Said {
    let Output { status, stdout, stderr } = command.output().unwrap();
    Said {
        status: status.code().expect("ended by a signal"),
        out: String::from_utf8(stdout).unwrap(),
        err: String::from_utf8(stderr).unwrap(),
    }
}

fn grey(l: f64) -> [f64; 3] {
    [l, 0.0, 0.0]
}

fn shades() -> Value {
    let shade = |id: &str, lab: [f64; 3]| {
        let specimens: Vec<Value> = (0..4)
            .map(|n| {
                let shift = 0.2 * f64::from(n) - 0.3;
                json!({"id": format!("s{n}"), "lab": [lab[0] + shift, lab[1] - shift, lab[2]], "sd": [0.3, 0.3, 0.3],
                       "method": "spectrophotometer", "aged": false})
            })
            .collect();
        json!({"id": id, "specimens": specimens})
    };
    json!({"sameshot_shades": 1, "family": "green", "shades": [shade("green/light", LIGHT), shade("green/dark", DARK)]})
}

fn square(column: u32) -> Value {
    let left = 100 * column + 20;
    json!({"rect": {"min": [left, 20], "max": [left + 60, 100]}})
}

fn bench_case() -> Value {
    let step = |n: usize| json!({"id": format!("step {}", n + 1), "shape": square(n as u32), "known": {"lab": grey(GREYS[n]), "sd": [0.3, 0.2, 0.2]}});
    json!({
        "sameshot_case": 1, "photo": "bench.png", "references": "green.shades.json",
        "zones": [step(0), step(1), step(2)],
        "readings": [
            {"id": "left arm", "slot": "arm-left", "shape": square(3), "surface": "flat"},
            {"id": "torso", "shape": square(4), "surface": "flat"}
        ]
    })
}

fn check_interval(interval: &Interval) {
    assert!(0.0 <= interval.low && interval.low <= interval.median && interval.median <= interval.high);
}

#[test]
fn the_json_is_the_stated_one() {
    let bench = Bench::new();
    let said = bench.measure(&["bench.case.json", "--json"]);
    assert_eq!((said.status, said.err.as_str()), (0, ""), "{said:?}");
    assert!(said.out.ends_with('\n') && said.out.lines().count() == 1);
    assert!(said.out.starts_with("{\"sameshot_result\":1,"), "{}", said.out);
    let result: ResultLine = serde_json::from_str(&said.out).unwrap();
    assert_eq!(result.sameshot_result, 1);
    assert_eq!(result.light.zones, 3);
    let ids: Vec<&str> = result.readings.iter().map(|reading| reading.id.as_str()).collect();
    assert_eq!(ids, ["left arm", "torso"]);
    for (reading, truth) in result.readings.iter().zip([LIGHT, DARK]) {
        for axis in 0..3 {
            let sd = reading.cov[axis][axis].sqrt();
            assert!((reading.lab[axis] - truth[axis]).abs() < 3.0 * sd, "{:?} {truth:?}", reading.lab);
            for other in 0..3 {
                assert!((reading.cov[axis][other] - reading.cov[other][axis]).abs() < 1e-9, "not symmetric");
            }
        }
        let Pixels { inside, used, glare, clipped, dark } = reading.pixels;
        // The shape as it was drawn; of its edge nothing is looked at.
        assert_eq!(inside, 60 * 80);
        assert!(used + glare + clipped + dark <= inside && used > inside / 2);
        let compared: Vec<&str> = reading.differences.iter().map(|entry| entry.shade.as_str()).collect();
        assert_eq!(compared, ["green/light", "green/dark"]);
        reading.differences.iter().for_each(|entry| check_interval(&entry.de00));
        let shades: Vec<Option<&str>> = reading.shades.iter().map(|entry| entry.shade.as_deref()).collect();
        assert_eq!(shades, [Some("green/light"), Some("green/dark"), None]);
        let total: f64 = reading.shades.iter().map(|entry| entry.probability).sum();
        assert!((total - 1.0).abs() < 1e-9, "{total}");
        let call = reading.call.as_deref().unwrap();
        assert!(["green/light", "green/dark", "undecided", "none"].contains(&call), "{call}");
        let shares: f64 = reading.budget.iter().map(|entry| entry.share).sum();
        assert!((shares - 1.0).abs() < 1e-9, "{shares}");
        assert!(reading.budget.iter().all(|entry| !entry.source.is_empty()));
    }
    let warnings = result.readings.iter().flat_map(|reading| &reading.warnings).chain(&result.light.warnings);
    for warning in warnings {
        assert!(!warning.code.is_empty() && !warning.text.is_empty() && !warning.remedy.is_empty());
    }
    // A PNG without a profile is told.
    assert!(result.light.warnings.iter().any(|warning| warning.code == "no-profile"));
    let [pair] = &result.pairs[..] else { panic!("one pair of two readings") };
    assert_eq!((pair.a.as_str(), pair.b.as_str()), ("left arm", "torso"));
    check_interval(&pair.de00);
    assert!(pair.different_plastic > 0.95 && pair.different_plastic <= 1.0, "12 CIEDE2000 apart");
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_one_nearly() {
    let bench = Bench::new();
    let first = bench.measure(&["bench.case.json", "--json", "--seed", "7"]);
    assert_eq!(first.out, bench.measure(&["--json", "--seed=7", "bench.case.json"]).out);
    let other = bench.measure(&["bench.case.json", "--json", "--seed", "8"]);
    assert_ne!(first.out, other.out);
}

#[test]
fn without_references_nothing_is_called() {
    let bench = Bench::new();
    let mut case = bench_case();
    case.as_object_mut().unwrap().remove("references");
    bench.write("plain.case.json", case.to_string());
    let said = bench.measure(&["plain.case.json", "--json"]);
    assert_eq!(said.status, 0, "{said:?}");
    let value: Value = serde_json::from_str(&said.out).unwrap();
    assert_eq!(value["readings"][0]["call"], Value::Null);
    assert!(value["readings"][0].as_object().unwrap().contains_key("call"));
    let result: ResultLine = serde_json::from_str(&said.out).unwrap();
    assert!(
        result.readings.iter().all(|reading| reading.differences.is_empty() && reading.shades.is_empty())
    );
}

#[test]
fn a_failing_case_has_its_line_and_the_rest_go_on_in_order() {
    let bench = Bench::new();
    fs::create_dir(bench.path("more")).unwrap();
    for name in ["b", "a", "c"] {
        bench.write(&format!("more/{name}.case.json"), bench_case().to_string());
    }
    for name in ["bench.png", "green.shades.json"] {
        fs::copy(bench.path(name), bench.path("more").join(name)).unwrap();
    }
    bench.write("more/b.case.json", "{");
    bench.write("more/not-a-case.json", "{");
    let said = bench.measure(&["--json", "gone.case.json", "more", "bench.case.json"]);
    assert_eq!(said.status, 1);
    let firsts: Vec<String> = said
        .out
        .lines()
        .map(|line| {
            let value: Value = serde_json::from_str(line).unwrap();
            value.as_object().unwrap().keys().next().unwrap().clone()
        })
        .collect();
    let (error, result) = ("sameshot_error", "sameshot_result");
    assert_eq!(firsts, [error, result, error, result, result]);
    let lines: Vec<&str> = said.out.lines().collect();
    let gone: ErrorLine = serde_json::from_str(lines[0]).unwrap();
    assert!(gone.case == "gone.case.json" && gone.text.contains("no such file"), "{}", gone.text);
    let cut: ErrorLine = serde_json::from_str(lines[2]).unwrap();
    assert_eq!(Path::new(&cut.case), Path::new("more/b.case.json"));
}

#[test]
fn a_wrong_call_is_status_2_and_says_how_to_call() {
    let bench = Bench::new();
    fs::create_dir(bench.path("empty")).unwrap();
    let calls: [(&[&str], &str); 5] = [
        (&[], "CASE"),
        (&["--jsn", "bench.case.json"], "--jsn"),
        (&["--confidence", "95", "bench.case.json"], "above 0.5 and below 1"),
        (&["--seed=-1", "bench.case.json"], "seed"),
        (&["empty"], "no *.case.json in the folder empty"),
    ];
    for (arguments, wanted) in calls {
        let said = bench.measure(arguments);
        assert_eq!((said.status, said.out.as_str()), (2, ""), "{arguments:?} {said:?}");
        assert!(said.err.contains(wanted), "{arguments:?} {said:?}");
    }
}

#[test]
fn every_help_has_an_example() {
    for arguments in [vec!["--help"], vec!["measure", "--help"], vec!["demo", "--help"]] {
        let said = said(Command::new(env!("CARGO_BIN_EXE_sameshot")).args(&arguments));
        assert_eq!((said.status, said.err.as_str()), (0, ""));
        assert!(said.out.contains("Examples:") && said.out.contains("  sameshot "), "{}", said.out);
    }
}

#[test]
fn the_table_for_people_has_the_numbers_of_the_json() {
    let bench = Bench::new();
    let table = bench.measure(&["bench.case.json"]);
    assert_eq!((table.status, table.err.as_str()), (0, ""));
    let result: ResultLine =
        serde_json::from_str(&bench.measure(&["bench.case.json", "--json"]).out).unwrap();
    for reading in &result.readings {
        for number in [reading.lab[0], reading.differences[0].de00.median, reading.differences[1].de00.high] {
            assert!(table.out.contains(&format!("{number:.1}")), "{number} is missing in\n{}", table.out);
        }
    }
    for wanted in ["left arm: ", "torso: ", "Same plastic?", "no colour profile", "->"] {
        assert!(table.out.contains(wanted), "{wanted} is missing in\n{}", table.out);
    }
    assert!(!table.out.contains('\u{1b}'), "no colour codes");
}

#[test]
fn the_table_shows_what_could_be_measured_and_says_what_could_not() {
    let bench = Bench::new();
    let mut case = bench_case();
    case["readings"][0]["shape"] = json!({"circle": {"centre": [9000, 9000], "radius": 20}});
    bench.write("half.case.json", case.to_string());
    let said = bench.measure(&["half.case.json"]);
    assert_eq!(said.status, 1);
    assert!(said.err.contains("half.case.json") && said.err.contains("left arm"), "{said:?}");
    assert!(said.out.contains("torso: ") && !said.out.contains("left arm: "), "{said:?}");
}

#[test]
fn bad_photos_are_refused_by_name() {
    let bench = Bench::new();
    let png = fs::read(bench.path("bench.png")).unwrap();
    let mut jpeg = Vec::new();
    bench.photo().write_to(&mut std::io::Cursor::new(&mut jpeg), image::ImageFormat::Jpeg).unwrap();
    let mut one_pixel = Vec::new();
    RgbImage::new(1, 1).write_to(&mut std::io::Cursor::new(&mut one_pixel), image::ImageFormat::Png).unwrap();
    let photos: [(&str, Vec<u8>, &str); 7] = [
        ("zero.jpg", Vec::new(), "empty"),
        ("text.jpg", b"This is no photo.".to_vec(), ""),
        ("cut.jpg", jpeg[..jpeg.len() * 2 / 3].to_vec(), ""),
        ("cut.png", png[..png.len() / 2].to_vec(), ""),
        // Its marks lie outside.
        ("one.png", one_pixel, "outside the photo"),
        ("huge.png", huge_png(), ""),
        ("cmyk.jpg", cmyk_jpeg(&jpeg), "CMYK"),
    ];
    for (name, bytes, wanted) in photos {
        bench.write(name, bytes);
        let mut case = bench_case();
        case["photo"] = name.into();
        let text = bench.refusal(&case.to_string());
        if name != "one.png" {
            assert!(text.contains(name), "{name} is not named: {text}");
        }
        assert!(text.contains(wanted), "{name}: {text}");
    }
    let mut case = bench_case();
    case["photo"] = "gone.jpg".into();
    assert!(bench.refusal(&case.to_string()).contains("gone.jpg"));
    case["photo"] = "bench.png".into();
    case["photo_sha256"] = "0".repeat(64).into();
    assert!(bench.refusal(&case.to_string()).contains("not the photo that was marked"));
}

/// A PNG that says it has 60 000 × 60 000 pixels.
fn huge_png() -> Vec<u8> {
    let mut head = b"IHDR".to_vec();
    head.extend(60_000u32.to_be_bytes());
    head.extend(60_000u32.to_be_bytes());
    head.extend([8, 2, 0, 0, 0]);
    let mut png = b"\x89PNG\r\n\x1a\n".to_vec();
    png.extend(13u32.to_be_bytes());
    png.extend(&head);
    png.extend(crc32(&head).to_be_bytes());
    png.extend(b"\0\0\0\0IDAT\x35\xaf\x06\x1e\0\0\0\0IEND\xae\x42\x60\x82");
    png
}

/// The checksum of a PNG chunk (PNG specification, annex D).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0u32, |crc, byte| {
        (0..8).fold(
            crc ^ u32::from(*byte),
            |crc, _| if crc & 1 == 1 { 0xEDB8_8320 ^ (crc >> 1) } else { crc >> 1 },
        )
    })
}

/// A JPEG whose frame header names four components, with the marker by which Adobe tells CMYK.
fn cmyk_jpeg(jpeg: &[u8]) -> Vec<u8> {
    let frame = jpeg.windows(2).position(|pair| pair == [0xFF, 0xC0]).expect("a baseline JPEG");
    let mut bytes = jpeg[..frame].to_vec();
    bytes.extend(b"\xFF\xEE\x00\x0EAdobe\x00\x64\x00\x00\x00\x00\x00");
    bytes.extend([0xFF, 0xC0, 0, 20, 8, 0, 120, 1, 244, 4]);
    for component in 1..=4u8 {
        bytes.extend([component, 0x11, 0]);
    }
    let length = usize::from(jpeg[frame + 2]) * 256 + usize::from(jpeg[frame + 3]);
    bytes.extend(&jpeg[frame + 2 + length..]);
    bytes
}

#[test]
fn bad_marks_are_refused_by_name() {
    let bench = Bench::new();
    let with = |change: &dyn Fn(&mut Value)| {
        let mut case = bench_case();
        change(&mut case);
        bench.refusal(&case.to_string())
    };
    let far = json!({"circle": {"centre": [9000, 9000], "radius": 20}});
    let bow_tie = json!({"polygon": [[20, 20], [80, 80], [80, 20], [20, 80]]});
    let flat = json!({"polygon": [[20, 20], [80, 20], [50, 20]]});
    let cases = [
        (with(&|case| case["zones"][1]["shape"] = far.clone()), vec!["step 2", "outside the photo"]),
        (with(&|case| case["readings"][0]["shape"] = far.clone()), vec!["left arm", "outside the photo"]),
        (with(&|case| case["zones"][0]["shape"] = bow_tie.clone()), vec!["step 1", "crosses itself"]),
        (with(&|case| case["readings"][1]["shape"] = flat.clone()), vec!["torso", "no area"]),
        (
            with(&|case| case["zones"][1]["id"] = "step 1".into()),
            vec!["zone \"step 1\"", "twice", "Line 1, column"],
        ),
        (with(&|case| case["readings"][1]["id"] = "left arm".into()), vec!["reading \"left arm\"", "twice"]),
        (with(&|case| case["zones"][0]["known"]["sd"][1] = json!(0)), vec!["step 1", "known.sd", "above 0"]),
        (with(&|case| case["zones"][0]["known"]["lab"][0] = json!(1e200)), vec!["step 1", "known.lab", "L*"]),
        (
            with(&|case| case["readings"][0]["shape"]["rect"]["max"][0] = json!(1e30)),
            vec!["left arm", "shape"],
        ),
        (with(&|case| case["zones"][2]["surface"] = "shiny".into()), vec!["step 3", "surface", "`shiny`"]),
        (
            with(&|case| case["zones"][2]["known"] = json!({"shade": "blue/light"})),
            vec!["step 3", "blue/light"],
        ),
        (
            with(&|case| case["references"] = "gone.shades.json".into()),
            vec!["gone.shades.json", "no such file"],
        ),
        (with(&|case| case["references"] = "bench.png".into()), vec!["bench.png", "not UTF-8"]),
        (with(&|case| case["references"] = "bench.case.json".into()), vec!["another kind of file"]),
        (with(&|case| case["photo"] = "../bench.png".into()), vec!["field photo", "leads out of the folder"]),
        (with(&|case| case["photo"] = "/etc/passwd".into()), vec!["field photo", "absolute"]),
        (with(&|case| case["sameshot_case"] = json!(2)), vec!["newer Sameshot"]),
        (with(&|case| drop(case.as_object_mut().unwrap().remove("photo"))), vec!["`photo` is missing"]),
    ];
    for (text, wanted) in cases {
        for word in wanted {
            assert!(text.contains(word), "{word} is missing in: {text}");
        }
    }
    let nan = bench_case().to_string().replacen("60.0", "NaN", 1);
    assert!(bench.refusal(&nan).contains("NaN is no number"));
    let infinite = bench_case().to_string().replacen("60.0", "1e999", 1);
    assert!(bench.refusal(&infinite).contains("too large"));
}

#[test]
fn measuring_changes_no_file() {
    let bench = Bench::new();
    let read_all = || {
        let mut files: Vec<(PathBuf, Vec<u8>)> = fs::read_dir(bench.folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .map(|path| (path.clone(), fs::read(path).unwrap()))
            .collect();
        files.sort();
        files
    };
    let before = read_all();
    bench.measure(&["bench.case.json", "--json"]);
    bench.measure(&["bench.case.json"]);
    assert_eq!(read_all(), before);
}

#[test]
fn the_demo_agrees_with_its_truth_and_says_how_to_open_the_window() {
    let folder = tempfile::tempdir().unwrap();
    let demo = || {
        said(
            Command::new(env!("CARGO_BIN_EXE_sameshot")).current_dir(folder.path()).args(["demo", "my demo"]),
        )
    };
    let first = demo();
    println!("{}", first.out);
    assert_eq!((first.status, first.err.as_str()), (0, ""), "{first:?}");
    assert!(first.out.contains(" 0 called wrong") && !first.out.contains("DISAGREES"));
    assert!(first.out.contains("'my demo/bench.case.json'"));
    for name in ["bench", "lamp", "exchanged", "listing"] {
        let picture = image::open(folder.path().join(format!("my demo/{name}.result.jpg"))).unwrap();
        assert!(picture.width() > 1000);
    }
    // What it leaves can be measured as it lies there, and a second run changes nothing but says the same.
    let measured = said(
        Command::new(env!("CARGO_BIN_EXE_sameshot"))
            .args(["measure", "--json"])
            .arg(folder.path().join("my demo")),
    );
    assert_eq!((measured.status, measured.out.lines().count()), (0, 5), "{measured:?}");
    assert_eq!(demo().out, first.out);
    // Somebody's own file of that name is not touched.
    let own = folder.path().join("my demo/bench.case.json");
    fs::write(&own, "mine").unwrap();
    let refused = demo();
    assert_eq!((refused.status, refused.out.as_str()), (1, ""));
    assert!(refused.err.contains("bench.case.json is there already"), "{refused:?}");
    assert_eq!(fs::read(&own).unwrap(), b"mine");
}
