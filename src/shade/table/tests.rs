//! Tables in and out: places of mistakes, illuminants, and that nothing is lost.

use super::*;
use crate::color::Illuminant;
use crate::shade::{References, parse_references};

fn lab_of(text: &str) -> ([f64; 3], Vec<String>) {
    let read = read_values(text, ReadOptions::default()).unwrap_or_else(|problem| panic!("{problem}"));
    (read.readings[0].lab, read.notes)
}

fn refused(text: &str) -> String {
    import_table(text, &ImportOptions::default()).unwrap_err().to_string()
}

const CGATS: &str = "CGATS.17\nORIGINATOR \"a lab\"\nMEASUREMENT_SOURCE \"Illumination=D50 ObserverAngle=2degree\"\n\
NUMBER_OF_FIELDS 5\nBEGIN_DATA_FORMAT\nSAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n\
NUMBER_OF_SETS 2\nBEGIN_DATA\n1 \"pale \"\"one\"\"\" 52.1 -10.25 14 # by hand\n2 deep 40 -9 12\nEND_DATA\n";

#[test]
fn both_kinds_are_read() {
    let imported =
        import_table(CGATS, &ImportOptions { family: "green".into(), ..Default::default() }).unwrap();
    let shades = &imported.references.shades;
    assert_eq!(shades[0].id, "green/pale \"one\"");
    assert!((shades[0].specimens[0].lab[1] + 10.25).abs() < 1e-12);
    assert_eq!(shades[1].label.as_deref(), Some("deep"));
    assert!(imported.notes.iter().any(|note| note.contains("no standard deviations")));
    for csv in [
        "name,L*,a*,b*\npale,52.1,-10.25,14\n",
        "name;L;a;b\npale;52,1;-10,25;14\n",
        "name\tL\ta\tb\npale\t52.1\t-10.25\t14\n",
    ] {
        let (lab, notes) = lab_of(csv);
        assert!((lab[0] - 52.1).abs() < 1e-12 && (lab[1] + 10.25).abs() < 1e-12, "{csv}");
        assert!(notes[0].contains("D50 was taken"), "{notes:?}");
    }
}

/// XYZ of the whites of ASTM E308, as the `palette` crate and python-colormath 3.0.0 have them: white is (100, 0, 0) under
/// its own illuminant.
#[test]
fn a_white_is_white_under_every_illuminant_and_the_conversion_is_told() {
    for (name, x, z) in
        [("A", 109.85, 35.585), ("C", 98.074, 118.232), ("D65", 95.047, 108.883), ("F11", 100.962, 64.35)]
    {
        let (lab, notes) = lab_of(&format!("# illuminant: {name}\nname,X,Y,Z\nwhite,{x},100,{z}\n"));
        assert!(
            (lab[0] - 100.0).abs() < 1e-4 && lab[1].abs() < 1e-3 && lab[2].abs() < 1e-3,
            "{name} {lab:?}"
        );
        assert!(notes.iter().any(|note| note.contains("to D50")), "{notes:?}");
    }
    let per_row = "name,illuminant,L,a,b\none,D50,50,10,10\ntwo,FL2,50,10,10\n";
    let read = read_values(per_row, ReadOptions::default()).unwrap();
    assert_eq!(read.readings[0].conversion_sd, [0.0; 3]);
    assert_eq!(read.readings[1].conversion_sd, adaptation_sd(Illuminant::F2));
    assert!((read.readings[0].lab[1] - 10.0).abs() < 1e-12 && (read.readings[1].lab[1] - 10.0).abs() > 0.05);
}

#[test]
fn mistakes_name_line_and_column() {
    for (text, wanted) in [
        (CGATS.replace("-10.25", "ten"), vec!["Line 10, column 23", "\"ten\""]),
        (CGATS.replace("2 deep 40", "2 deep"), vec!["Line 11, column 1", "needs 5 values, this line has 4"]),
        (CGATS.replace("SETS 2", "SETS 3"), vec!["Line 8, column 16", "says 3, there are 2"]),
        (CGATS.replace("\nEND_DATA\n", "\n"), vec!["Line 9", "never closed by END_DATA"]),
        (CGATS.replace("pale \"\"one\"\"\"", "pale"), vec!["Line 10, column 3", "does not end"]),
        (CGATS.replace("2degree", "10degree"), vec!["Line 3", "10°"]),
        ("name,L,a,b\none,50,0,0\n\ntwo,50,zero,0\n".into(), vec!["Line 4, column 8", "\"zero\""]),
        ("name,L,a,b\n\"a, b\",50,,0\n".into(), vec!["Line 2, column 11", "found nothing"]),
        ("name,L,a,b\none,50,0\n".into(), vec!["Line 2", "needs 4 values, this one has 3"]),
        ("name,L,a,b\none,150,0,0\n".into(), vec!["Line 2, column 5", "no surface"]),
        ("name,L,a,b\none,NaN,0,0\n".into(), vec!["Line 2, column 5", "a number"]),
        ("# illuminant: moonlight\nname,L,a,b\none,50,0,0\n".into(), vec!["Line 1, column 15", "moonlight"]),
        ("name,red,green,blue\none,1,2,3\n".into(), vec!["Line 1, column 1", "no columns of Lab"]),
        ("name,L,a,b,sd_l,sd_a,sd_b\none,50,0,0,1,0,1\n".into(), vec!["Line 2, column 14", "deviation of 0"]),
        ("shade,id,L,a,b\ng,1,50,0,0\ng,1,51,0,0\n".into(), vec!["Line 3, column 3", "twice"]),
        ("name,400,420,440\none,1,2,3\n".into(), vec!["Line 1, column 6", "3 wavelengths"]),
        ("name,L,a,b\n".into(), vec!["no rows"]),
        (String::new(), vec!["no rows"]),
    ] {
        let problem = refused(&text);
        for word in wanted {
            assert!(problem.contains(word), "{problem}\n  without: {word}\n{text}");
        }
    }
}

const GREEN: &str = r#"{"sameshot_shades": 1, "family": "sea \"green\"", "shades": [
    {"id": "green/light", "label": "light, green", "specimens": [
        {"id": "A 1", "lab": [52.123456789012345, -10.2, 14.0], "sd": [0.6, 0.4, 0.1], "method": "photo", "aged": true,
         "note": "from a \"box\"; 5 % faded", "side": "sheltered", "by": {"hand": 7}, "photos": [{"photo": "x.jpg", "lab": [1.5, 2, 3], "sd": [1, 1.25, 1]}]},
        {"id": "B", "lab": [52.3, -10.0, 14.1], "sd": [0.3333333333333333, 0.4, 0.4], "method": "published", "aged": false}]},
    {"id": "green/medium", "specimens": [
        {"id": "A 1", "lab": [47.1, -12.2, 15.0], "sd": [0.6, 0.4, 0.4], "method": "spectrophotometer", "aged": false}]}]}"#;

#[test]
fn out_and_in_again_loses_nothing() {
    let references: References = parse_references(GREEN.as_bytes()).unwrap();
    for kind in [TableKind::Cgats, TableKind::Csv] {
        let text = export_table(&references, kind).unwrap();
        let again = import_table(&text, &ImportOptions::default())
            .unwrap_or_else(|problem| panic!("{problem}\n{text}"));
        assert_eq!(again.references, references, "{text}");
    }
}

#[test]
fn whatever_stands_in_a_table_is_refused_or_read_but_never_breaks() {
    for base in [CGATS, "name,L,a,b\n\"a\",50,1,2\n"] {
        for cut in (0..base.len()).filter(|&cut| base.is_char_boundary(cut)) {
            let _ = import_table(&base[..cut], &ImportOptions::default());
            let _ = import_table(&base[cut..], &ImportOptions::default());
            let _ = import_table(&format!("{}\"{}", &base[..cut], &base[cut..]), &ImportOptions::default());
            let _ =
                import_table(&format!("{}\u{e9},;{}", &base[..cut], &base[cut..]), &ImportOptions::default());
        }
    }
}
