//! References out as a table and in again.

use sameshot::shade::table::{ImportOptions, TableKind, export_table, import_table};
use sameshot::shade::{parse_references, references_to_text};

/// One specimen with correlations among further fields, one with nothing else, one without.
#[test]
fn correlations_have_columns_of_their_own_and_come_back_to_the_byte() {
    let specimen = |id: &str, more: &str| {
        format!(
            r#"{{"id": "{id}", "lab": [52.1, -10.2, 14.0], "sd": [0.6, 0.4, 0.1], "method": "photo", "aged": false{more}}}"#
        )
    };
    let specimens = [
        specimen("A", r#", "date": "2024-05-01", "correlation": [-0.625, 0, 0.31], "side": "sheltered""#),
        specimen("B", r#", "correlation": [1e-3, 0.0, -1]"#),
        specimen("C", ""),
    ];
    let text = format!(
        r#"{{"sameshot_shades": 1, "family": "green", "shades": [{{"id": "green/light", "specimens": [{}]}}]}}"#,
        specimens.join(", ")
    );
    let references = parse_references(text.as_bytes()).unwrap();
    let file = references_to_text(&references).unwrap();
    for kind in [TableKind::Cgats, TableKind::Csv] {
        let table = export_table(&references, kind).unwrap();
        let again = import_table(&table, &ImportOptions::default()).unwrap().references;
        assert_eq!(references_to_text(&again).unwrap(), file, "{table}");
    }
    let csv = export_table(&references, TableKind::Csv).unwrap();
    assert!(csv.contains("sd_b,corr_la,corr_lb,corr_ab,method"), "{csv}");
    assert!(csv.contains("0.1,-0.625,0,0.31,photo") && csv.contains("0.1,,,,photo"), "{csv}");
    let cgats = export_table(&references, TableKind::Cgats).unwrap();
    assert!(cgats.contains("KEYWORD \"CORR_LA\"") && cgats.contains("-0.625\t0\t0.31"), "{cgats}");
    let refused = |table: &str| import_table(table, &ImportOptions::default()).unwrap_err().to_string();
    let bent = csv.replace("-0.625,0,0.31", "-0.625,,0.31");
    assert!(refused(&bent).contains("a number is needed here"));
    // Three that cannot go together are refused as in a file of shades.
    let against = csv.replace("-0.625,0,0.31", "0.9,0.9,-0.9");
    assert!(refused(&against).contains("cannot be the correlations"));
}
