//! The result as JSON and as text: every key there, nothing but numbers, both frames for every side.

use crate::sample;
use serde_json::Value;
use truerun::motion::Swim;
use truerun::report::{SwimDocument, TextStyle, swim_json, swim_text, track_csv};
use truerun::tuning::{Target, judge, seen_seconds};
use truerun::units::LengthUnit;
use truerun::{Measured, Status};

const TARGET: &str = "lure = \"Hazel 58\"\nrate_hz = [4.3, 4.9]\nwidth_deg = { aim = 16, within = 0.4 }\n\
                      drift_deg = { aim = 0, within = 2 }\nhunts_per_minute = [4, 20]\n";

fn with_document<T>(swim: &Swim, target: Option<&str>, then: impl Fn(&SwimDocument) -> T) -> T {
    let seen_s = seen_seconds(&sample::track(), swim);
    let verdict = target.map(|text| {
        judge(
            &Target::parse(text, "target").unwrap(),
            swim,
            seen_s,
            Some(58.0),
        )
    });
    then(&SwimDocument {
        clip: &sample::clip(),
        setup: &sample::setup(),
        swim,
        seen_s,
        verdict: verdict.as_ref(),
    })
}

fn json(swim: &Swim, target: Option<&str>) -> Value {
    serde_json::from_str(&with_document(swim, target, swim_json)).unwrap()
}

fn text(swim: &Swim, target: Option<&str>, unit: LengthUnit) -> String {
    let style = TextStyle {
        unit,
        colour: false,
    };
    with_document(swim, target, |document| swim_text(document, &style))
}

#[test]
fn json_is_as_agreed() {
    insta::assert_snapshot!(with_document(&sample::swim(), Some(TARGET), swim_json));
}

#[test]
fn every_agreed_key_is_there_even_where_nothing_was_found() {
    // The object of DESIGN §5, keys only.
    let agreed = serde_json::json!({
        "schema": 0,
        "clip": {"file": 0, "sha256": 0, "frames": 0, "duration_s": 0, "fps_median": 0, "vfr": 0,
                 "rotation_deg": 0, "width": 0, "height": 0},
        "view": 0, "found": 0, "tracked_fraction": 0, "mm_per_px": 0, "pull_deg": 0,
        "wobble": {"status": 0, "hz": 0, "hz_ci95": 0, "width_deg": 0, "width_deg_ci95": 0,
                   "apparent": 0, "tail_sweep_mm": 0, "tail_sweep_mm_ci95": 0, "nyquist_hz": 0,
                   "alias_candidates_hz": 0, "by_second": 0},
        "roll": {"status": 0, "width_deg": 0, "width_deg_ci95": 0},
        "drift": {"status": 0, "deg": 0, "deg_ci95": 0, "mm_per_m": 0, "own_side": 0, "angler_side": 0},
        "hunts": {"status": 0, "events": 0},
        "blow_out": {"status": 0, "t_s": 0},
        "pivot": {"status": 0, "from_nose": 0, "from_nose_ci95": 0},
        "speed": {"status": 0, "m_s": 0}, "strouhal": 0, "verdict": 0, "warnings": 0
    });
    fn missing(agreed: &Value, found: &Value, path: &str, out: &mut Vec<String>) {
        for (key, inner) in agreed.as_object().into_iter().flatten() {
            match found.get(key) {
                Some(value) => missing(inner, value, &format!("{path}.{key}"), out),
                None => out.push(format!("{path}.{key}")),
            }
        }
    }
    for swim in [sample::swim(), sample::nothing()] {
        let mut gaps = Vec::new();
        missing(&agreed, &json(&swim, None), "", &mut gaps);
        assert!(gaps.is_empty(), "{gaps:?}");
    }
    assert_eq!(json(&sample::nothing(), None)["found"], false);
    assert_eq!(json(&sample::nothing(), None)["verdict"], Value::Null);
}

#[test]
fn no_nan_leaks() {
    let mut swim = sample::swim();
    swim.mm_per_px = Some(f64::NAN);
    swim.wobble.width_deg = Measured::new(f64::NAN, [f64::NAN, f64::INFINITY]);
    swim.drift.deg = Measured::new(1.0, [f64::NEG_INFINITY, f64::INFINITY]);
    swim.hunts.events[0].mm = Some(f64::NAN);
    let written = with_document(&swim, Some(TARGET), swim_json);
    assert!(
        !written.contains("NaN") && !written.contains("inf"),
        "{written}"
    );
    let found = json(&swim, Some(TARGET));
    assert_eq!(found["wobble"]["width_deg"], Value::Null);
    assert_eq!(found["wobble"]["width_deg_ci95"], Value::Null);
    assert_eq!(found["drift"]["own_side"], Value::Null);
    let judged = found["verdict"]["measures"].as_array().unwrap();
    assert!(judged[1]["verdict"] == "not sure" && judged[2]["verdict"] == "not sure");
}

#[test]
fn an_aliased_rate_is_no_value() {
    let mut swim = sample::swim();
    swim.wobble.hz = Measured {
        value: Some(3.2),
        ..Measured::without(Status::Aliased, "the frame rate cannot tell")
    };
    swim.wobble.alias_candidates_hz = vec![3.2, 11.8];
    let found = json(&swim, None);
    assert_eq!(found["wobble"]["status"], "aliased");
    assert_eq!(found["wobble"]["hz"], Value::Null);
    assert_eq!(
        found["wobble"]["alias_candidates_hz"],
        serde_json::json!([3.2, 11.8])
    );
    let told = text(&swim, None, LengthUnit::Millimetres);
    let words: Vec<&str> = told.split_whitespace().collect();
    assert!(
        words.join(" ").contains("it could be 3.20 or 11.80 Hz"),
        "{told}"
    );
}

#[test]
fn the_mirror_swim_has_the_mirror_sides() {
    let one = json(&sample::swim(), Some(TARGET));
    let other = json(&sample::mirrored(&sample::swim()), Some(TARGET));
    for (path, left, right) in [
        ("/drift/own_side", "right", "left"),
        ("/drift/angler_side", "left", "right"),
        ("/hunts/events/0/own_side", "left", "right"),
        ("/hunts/events/0/angler_side", "right", "left"),
        ("/verdict/advice/toward_own_side", "left", "right"),
        ("/verdict/advice/toward_angler_side", "right", "left"),
    ] {
        assert_eq!(one.pointer(path).unwrap(), left, "{path}");
        assert_eq!(other.pointer(path).unwrap(), right, "{path}");
    }
}

#[test]
fn a_side_that_is_not_sure_is_not_named() {
    let mut swim = sample::swim();
    swim.drift.deg = Measured::new(0.1, [-0.4, 0.6]);
    assert_eq!(json(&swim, None)["drift"]["own_side"], Value::Null);
    assert!(text(&swim, None, LengthUnit::Millimetres).contains("no sure side"));
}

#[test]
fn text_reads_well() {
    insta::assert_snapshot!(
        "text_mm",
        text(&sample::swim(), Some(TARGET), LengthUnit::Millimetres)
    );
    insta::assert_snapshot!(
        "text_inches",
        text(&sample::swim(), None, LengthUnit::Inches)
    );
    insta::assert_snapshot!(
        "text_nothing",
        text(&sample::nothing(), None, LengthUnit::Millimetres)
    );
}

#[test]
fn text_fits_80_columns_and_holds_no_codes() {
    for swim in [
        sample::swim(),
        sample::mirrored(&sample::swim()),
        sample::nothing(),
    ] {
        for unit in [LengthUnit::Millimetres, LengthUnit::Inches] {
            let text = text(&swim, Some(TARGET), unit);
            assert!(!text.contains('\u{1b}'));
            for line in text.lines() {
                assert!(line.chars().count() <= 80, "{line}");
            }
        }
    }
}

#[test]
fn track_has_the_agreed_columns_and_empty_cells_where_not_seen() {
    let csv = track_csv(&sample::track());
    let mut lines = csv.lines();
    assert_eq!(
        lines.next(),
        Some("frame,t_s,x_px,y_px,axis_deg,length_px,width_px,confidence,state")
    );
    assert_eq!(lines.count(), 240);
    assert_eq!(
        csv.lines().nth(1),
        Some("0,0.000000,320.000,160.000,93.000,59.800,14.000,0.900,seen")
    );
    assert_eq!(csv.lines().nth(181), Some("180,6.000000,,,,,,0.000,hidden"));
    let empty = truerun::tracking::Track {
        frames: vec![],
        ..sample::track()
    };
    assert_eq!(track_csv(&empty).lines().count(), 1);
}
