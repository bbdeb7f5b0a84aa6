//! Results of swim tests and records of them, made up for the tests.

use std::path::{Path, PathBuf};

use serde_json::json;
use tempfile::TempDir;
use truerun::record::{BuildMake, LureEdit, NewBuild, NewTest, Origin, Record, TestKind};

/// A result as `truerun swim --json` writes it, as far as the record reads it.
pub fn swim(hz: f64, drift: f64, speed: Option<f64>) -> String {
    let ci = |x: f64, half: f64| json!([x - half, x + half]);
    json!({
        "schema": "truerun/swim/1",
        "clip": {"file": "hazel58-03.mp4", "sha256": "ab".repeat(32)},
        "found": true,
        "wobble": {"status": "measured", "hz": hz, "hz_ci95": ci(hz, 0.05),
            "width_status": "measured", "width_deg": 16.0, "width_deg_ci95": ci(16.0, 0.6),
            "apparent": false, "tail_sweep_status": "unmeasurable", "tail_sweep_mm": null},
        "roll": {"status": "unmeasurable", "width_deg": null, "width_deg_ci95": null},
        "drift": {"status": "measured", "deg": drift, "deg_ci95": ci(drift, 0.4)},
        "hunts": {"status": "none", "per_minute": 0.0, "per_minute_ci95": [0.0, 27.7], "events": []},
        "pivot": {"status": "measured", "from_nose": 0.4, "from_nose_ci95": ci(0.4, 0.03)},
        "speed": {"status": if speed.is_some() { "measured" } else { "unmeasurable" },
            "m_s": speed, "m_s_ci95": speed.map(|s| [s - 0.02, s + 0.02])},
        "verdict": null,
    })
    .to_string()
}

/// A folder with the path of a record in it.
pub fn place() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record.truerun");
    (folder, path)
}

/// A record with the lure Hazel 58 and the builds `builds`.
pub fn with_builds(path: &Path, builds: &[&str]) -> Record {
    let mut record = Record::open(path).unwrap();
    record
        .add_lure(&LureEdit {
            name: Some("Hazel 58".into()),
            length_mm: Some(58.0),
            ..LureEdit::default()
        })
        .unwrap();
    for name in builds {
        record.add_build(&new_build(name)).unwrap();
    }
    record
}

pub fn new_build(name: &str) -> NewBuild {
    NewBuild {
        name: name.into(),
        lure: "hazel 58".into(),
        origin: Origin::Carved,
        parent: None,
        make: BuildMake::default(),
    }
}

/// Saves a test of `build` and returns its number.
pub fn save(record: &mut Record, build: &str, result: &str) -> i64 {
    record
        .save_test(build, TestKind::Swim, &NewTest::default(), result)
        .unwrap()
}
