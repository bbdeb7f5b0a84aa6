//! Everything out and back in, exactly.

use rand::{Rng, SeedableRng};
use truerun::camera::Side;
use truerun::record::{ChangeKind, NewBuild, NewChange, NewTest, Origin, Record, TestKind, Water};

use crate::results::{new_build, place, swim, with_builds};

fn full_record(path: &std::path::Path) -> Record {
    let mut chance = rand_chacha::ChaCha8Rng::seed_from_u64(1);
    let mut record = with_builds(path, &["hazel58-03"]);
    let cast = NewBuild {
        origin: Origin::Cast,
        parent: Some("hazel58-03".into()),
        ..new_build("hazel58-c01")
    };
    record.add_build(&cast).unwrap();
    for _ in 0..30 {
        let test = NewTest {
            when: Some("2026-11-20T10:15".into()),
            place: Some("=2+2 \"reservoir\", north\nshore 🐟".into()),
            water: Some(Water::Fresh),
            water_c: Some(chance.random_range(-1.0..30.0)),
            retrieve: Some("@slow".into()),
            note: Some("'; DROP TABLE test; --".into()),
        };
        let result = swim(
            chance.random_range(3.0..6.0),
            chance.random_range(-5.0..5.0),
            None,
        );
        record
            .save_test("hazel58-c01", TestKind::Swim, &test, &result)
            .unwrap();
    }
    let change = NewChange {
        kind: ChangeKind::Tie,
        when: None,
        sideways: Some((Side::Right, 0.1 + 0.2)),
        upright: Some((false, 1.0 / 3.0)),
        note: None,
    };
    record.log_change("hazel58-03", &change).unwrap();
    record.retire("hazel58-c01", Some("tail cracked")).unwrap();
    record
        .add_photo("hazel58-03", "/photos/<b>&\"'.jpg", Some("fresh"))
        .unwrap();
    record
}

#[test]
fn json_restores_exactly() {
    let (_a, path) = place();
    let (_b, other) = place();
    let text = full_record(&path).to_json().unwrap();
    let mut restored = Record::open(&other).unwrap();
    restored.restore(&text).unwrap();
    assert_eq!(restored.to_json().unwrap(), text);
    assert_eq!(restored.check().unwrap(), Vec::<String>::new());
    // And never into a record that holds something.
    assert!(
        restored
            .restore(&text)
            .unwrap_err()
            .to_string()
            .contains("two records are not mixed")
    );
    assert_eq!(restored.to_json().unwrap(), text);
}

#[test]
fn a_spoiled_export_is_refused_whole() {
    let (_a, path) = place();
    let text = full_record(&path).to_json().unwrap();
    let (_b, other) = place();
    let mut record = Record::open(&other).unwrap();
    let empty = record.to_json().unwrap();
    let spoiled = [
        text[..text.len() / 2].to_string(),
        text.replace("truerun/record/2", "truerun/record/99"),
        text.replace("truerun/record/2", "truerun/swim/1"),
        text.replace("\"build_id\": 2", "\"build_id\": 77"),
        text.replace("\"water\": \"fresh\"", "\"water\": \"beer\""),
        text.replace("\"retrieve\"", "\"retrieve_x\""),
        text.replace("\"length_mm\": 58.0", "\"length_mm\": [1]"),
        String::new(),
    ];
    for text in spoiled {
        let fault = record.restore(&text).unwrap_err().to_string();
        assert_eq!(fault.lines().count(), 1, "{fault}");
        assert_eq!(record.to_json().unwrap(), empty);
    }
}

#[test]
fn csv_for_a_spreadsheet_holds_no_formulas() {
    let (_folder, path) = place();
    let tables = full_record(&path).to_csv().unwrap();
    assert_eq!(tables.len(), 7);
    for (name, text) in &tables {
        let mut reader = csv::Reader::from_reader(&text[..]);
        let width = reader.headers().unwrap().len();
        for row in reader.records() {
            let row = row.unwrap();
            assert_eq!(row.len(), width, "{name}");
            let numeric = |cell: &str| cell.parse::<f64>().is_ok();
            assert!(
                row.iter()
                    .all(|cell| numeric(cell) || !cell.starts_with(['=', '+', '-', '@']))
            );
        }
    }
    let tests = &tables.iter().find(|t| t.0 == "test").unwrap().1;
    let rows = csv::Reader::from_reader(&tests[..]).into_records().count();
    assert_eq!(rows, 30);
}
