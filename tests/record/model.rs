//! Entering, editing, retiring, the order of things.

use truerun::camera::Side;
use truerun::record::{
    BuildEdit, BuildMake, ChangeKind, Entry, LureEdit, NewChange, NewTest, Record, TestKind,
};
use truerun::{Error, Status};

use crate::results::{new_build, place, save, swim, with_builds};

fn bend(side: Side, mm: f64) -> NewChange {
    NewChange {
        kind: ChangeKind::Tie,
        when: None,
        sideways: Some((side, mm)),
        upright: None,
        note: None,
    }
}

#[test]
fn a_result_is_kept_letter_for_letter_with_its_figures() {
    let (_folder, path) = place();
    let mut record = with_builds(&path, &["hazel58-03"]);
    let result = swim(4.6, 3.0, Some(0.5));
    let id = save(&mut record, "HAZEL58-03", &result);
    let record = Record::open_existing(&path).unwrap();
    assert_eq!(record.result(id).unwrap(), result);
    let build = record.build("hazel58-03").unwrap();
    let runs = record.runs(&build).unwrap();
    let figures = &runs[0].figures;
    assert_eq!(figures["rate_hz"].value, Some(4.6));
    assert_eq!(figures["drift_deg"].ci95, Some([2.6, 3.4]));
    assert_eq!(figures["roll_deg"].status, Status::Unmeasurable);
    // A count of no darts is a figure, with an interval.
    assert_eq!(figures["hunts_per_minute"].value, Some(0.0));
    assert_eq!(runs[0].test.source_file.as_deref(), Some("hazel58-03.mp4"));
    assert_eq!(
        runs[0].test.source_sha256.as_deref(),
        Some("ab".repeat(32).as_str())
    );
    assert!(runs[0].test.program.starts_with("truerun "));
}

#[test]
fn an_apparent_width_is_kept_apart() {
    let (_folder, path) = place();
    let mut record = with_builds(&path, &["hazel58-03"]);
    let result = swim(4.6, 3.0, None).replace("\"apparent\":false", "\"apparent\":true");
    save(&mut record, "hazel58-03", &result);
    let runs = record.runs(&record.build("hazel58-03").unwrap()).unwrap();
    assert!(!runs[0].figures.contains_key("width_deg"));
    assert_eq!(runs[0].figures["apparent_width_deg"].value, Some(16.0));
}

#[test]
fn tests_and_bends_of_one_day_keep_their_order() {
    let (_folder, path) = place();
    let mut record = with_builds(&path, &["hazel58-03"]);
    let day = || Some("2026-11-20".to_string());
    let test = |when| NewTest {
        when,
        ..NewTest::default()
    };
    let result = swim(4.6, 3.0, None);
    record
        .save_test("hazel58-03", TestKind::Swim, &test(day()), &result)
        .unwrap();
    let change = NewChange {
        when: day(),
        ..bend(Side::Left, 0.3)
    };
    record.log_change("hazel58-03", &change).unwrap();
    record
        .save_test("hazel58-03", TestKind::Swim, &test(day()), &result)
        .unwrap();
    // Entered last, done first.
    let earlier = Some("2026-11-19 08:30".to_string());
    record
        .save_test("hazel58-03", TestKind::Swim, &test(earlier), &result)
        .unwrap();
    let life = record.life(&record.build("hazel58-03").unwrap()).unwrap();
    let ids: Vec<i64> = life.iter().map(|entry| entry.moment().1).collect();
    assert_eq!(ids, [4, 1, 2, 3]);
    assert!(matches!(&life[2], Entry::Change(change) if change.signed_mm() == Some(-0.3)));
}

#[test]
fn what_is_edited_or_retired_is_never_lost() {
    let (_folder, path) = place();
    let mut record = with_builds(&path, &["hazel58-03"]);
    let to = LureEdit {
        name: Some("Hazel 58 deep".into()),
        note: Some("longer lip".into()),
        ..LureEdit::default()
    };
    record.edit_lure("Hazel 58", &to).unwrap();
    let to = BuildEdit {
        make: BuildMake {
            mass_g: Some(9.4),
            ..BuildMake::default()
        },
        ..BuildEdit::default()
    };
    assert_eq!(
        record.edit_build("hazel58-03", &to).unwrap().make.mass_g,
        Some(9.4)
    );
    record.retire("hazel58-03", Some("cracked")).unwrap();
    assert!(record.retire("hazel58-03", None).is_err());
    let build = record.build("hazel58-03").unwrap();
    assert_eq!(build.retired_why.as_deref(), Some("cracked"));
    record.take_back("hazel58-03").unwrap();
    record.retire("Hazel 58 deep", None).unwrap();
    assert_eq!(record.lures(false).unwrap().len(), 0);
    assert_eq!(record.lures(true).unwrap().len(), 1);
    let everything = record.to_json().unwrap();
    for old in ["Hazel 58\"", "cracked", "mass_g"] {
        assert!(everything.contains(old), "{old}");
    }
}

#[test]
fn what_cannot_be_meant_is_refused_and_changes_nothing() {
    let (_folder, path) = place();
    let mut record = with_builds(&path, &["hazel58-03"]);
    let before = record.to_json().unwrap();
    let lure = |name: &str| LureEdit {
        name: Some(name.into()),
        ..LureEdit::default()
    };
    let mut faults: Vec<Error> = [
        "",
        " \t",
        "a\nb",
        "HAZEL 58",
        "Hazel58-03",
        &"x".repeat(101),
    ]
    .iter()
    .map(|name| record.add_lure(&lure(name)).unwrap_err())
    .collect();
    faults.push(record.add_build(&new_build("hazel58-03")).unwrap_err());
    for mm in [0.0, -0.3, f64::NAN, 50.0] {
        faults.push(
            record
                .log_change("hazel58-03", &bend(Side::Left, mm))
                .unwrap_err(),
        );
    }
    for result in ["", "{}", "[]", r#"{"schema":"truerun/thump/1"}"#] {
        let test = NewTest::default();
        faults.push(
            record
                .save_test("hazel58-03", TestKind::Swim, &test, result)
                .unwrap_err(),
        );
    }
    let late = NewTest {
        when: Some("25.11.2026".into()),
        ..NewTest::default()
    };
    let result = swim(4.6, 3.0, None);
    faults.push(
        record
            .save_test("hazel58-03", TestKind::Swim, &late, &result)
            .unwrap_err(),
    );
    for fault in faults {
        assert_eq!(fault.exit_status(), 2, "{fault}");
        assert_eq!(fault.to_string().lines().count(), 1, "{fault}");
    }
    let meant = record.build("hazle58-03").unwrap_err().to_string();
    assert!(meant.contains("did you mean \"hazel58-03\"?"), "{meant}");
    assert_eq!(record.to_json().unwrap(), before);
}
