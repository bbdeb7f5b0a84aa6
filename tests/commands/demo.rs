//! `truerun demo`: the committed report is what it writes now, and it says where the report is.

use assert_cmd::Command;
use predicates::prelude::*;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Numbers may differ by this part of themselves …
const RELATIVE: f64 = 0.02;
/// … or by this much, whichever is more: other versions of the decoder and of OpenCV round otherwise.
const ABSOLUTE: f64 = 0.02;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn demo(reports: &Path) -> assert_cmd::assert::Assert {
    Command::cargo_bin("truerun")
        .unwrap()
        .current_dir(root())
        .args(["demo", "--reports"])
        .arg(reports)
        .assert()
}

fn committed(name: &str) -> PathBuf {
    root().join("reports").join(name)
}

#[test]
fn the_committed_report_is_what_demo_writes() {
    let folder = tempfile::tempdir().unwrap();
    let reports = folder.path().join("reports");
    demo(&reports).success().stdout(
        predicate::str::contains("Verdict for Hazel 58")
            .and(predicate::str::contains("hazel58-03.png")),
    );
    same_json(
        &committed("hazel58-03.json"),
        &reports.join("hazel58-03.json"),
    );
    same_track(
        &committed("hazel58-03-track.csv"),
        &reports.join("hazel58-03-track.csv"),
    );
    for name in ["hazel58-03.svg", "hazel58-03.png", "hazel58-03-overlay.mp4"] {
        let size = |path: PathBuf| std::fs::metadata(path).unwrap().len() as f64;
        let (was, is) = (size(committed(name)), size(reports.join(name)));
        assert!(
            (is / was - 1.0).abs() < 0.3,
            "{name}: {was} bytes, now {is}"
        );
    }
}

/// The sample is the first thing a maker sees: what the report says of it is what it is.
#[test]
fn the_figures_of_the_committed_report_hold_the_truth_of_the_sample() {
    let read =
        |path: PathBuf| -> Value { serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap() };
    let report = read(committed("hazel58-03.json"));
    let truth = read(root().join("sample-data/hazel58-03.json"));
    for (interval, true_figure) in [
        ("/wobble/hz_ci95", "wobble_hz"),
        ("/wobble/width_deg_ci95", "yaw_amp_deg"),
        ("/wobble/tail_sweep_mm_ci95", "tail_sweep_mm"),
        ("/drift/deg_ci95", "drift_deg"),
        ("/pivot/from_nose_ci95", "pivot_fraction_from_nose"),
        ("/speed/m_s_ci95", "tow_speed_m_s"),
    ] {
        let told = report.pointer(interval).expect(interval);
        let (low, high) = (told[0].as_f64().unwrap(), told[1].as_f64().unwrap());
        let is = truth[true_figure].as_f64().unwrap();
        assert!(
            (low..=high).contains(&is),
            "{interval}: {low} to {high}, {true_figure} is {is}"
        );
    }
}

fn same_json(was: &Path, is: &Path) {
    let read =
        |path: &Path| -> Value { serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap() };
    let mut apart = Vec::new();
    differences("", &read(was), &read(is), &mut apart);
    assert!(
        apart.is_empty(),
        "run `truerun demo` and look at the report anew: {apart:#?}"
    );
}

/// Where two values differ. Sentences hold rounded figures, so that of them only the presence counts.
fn differences(at: &str, was: &Value, is: &Value, apart: &mut Vec<String>) {
    let sentence = ["/why", "/text"].iter().any(|end| at.ends_with(end)) || at.contains("/advice/");
    match (was, is) {
        (Value::Object(a), Value::Object(b)) if a.keys().eq(b.keys()) => {
            a.iter()
                .for_each(|(key, v)| differences(&format!("{at}/{key}"), v, &b[key], apart));
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            let pairs = a.iter().zip(b).enumerate();
            pairs.for_each(|(k, (a, b))| differences(&format!("{at}/{k}"), a, b, apart));
        }
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64().unwrap(), b.as_f64().unwrap());
            if (a - b).abs() > ABSOLUTE.max(RELATIVE * a.abs()) {
                apart.push(format!("{at}: {a}, now {b}"));
            }
        }
        (Value::String(_), Value::String(_)) if sentence => {}
        _ if was == is => {}
        _ => apart.push(format!("{at}: {was}, now {is}")),
    }
}

fn same_track(was: &Path, is: &Path) {
    let read = |path: &Path| std::fs::read_to_string(path).unwrap();
    let (was, is) = (read(was), read(is));
    assert_eq!(was.lines().next(), is.lines().next());
    assert_eq!(was.lines().count(), is.lines().count());
}

#[test]
fn without_the_sample_it_says_where_to_run() {
    let folder = tempfile::tempdir().unwrap();
    Command::cargo_bin("truerun")
        .unwrap()
        .current_dir(&folder)
        .arg("demo")
        .assert()
        .code(2)
        .stdout("")
        .stderr(
            "truerun: sample-data/hazel58-03.mp4: the sample is not here; run `truerun demo` in the folder of \
             the repository, or name its sample-data with --samples\n",
        );
    assert_eq!(
        std::fs::read_dir(&folder).unwrap().count(),
        0,
        "nothing is written"
    );
}
