//! The plan against what `swim` then measured: pixels along the body and the rate's interval, on clips of
//! known truth that lie outside the repository.

use crate::support::shared;
use serde_json::Value;
use truerun::camera::{Setup, View};
use truerun::plan::{Given, Plan, Shoot};
use truerun::swim_test::{self, SwimOptions};
use truerun::tracking::StartBox;

struct Told {
    clip: &'static str,
    view: View,
    tilt_deg: Option<f64>,
    /// By how much the measured length may differ: the outline takes in some of the lip or leaves out
    /// the tip of the tail, and is foreshortened by the yaw from the side.
    body: [f64; 2],
}

#[test]
fn what_was_planned_is_what_is_measured() {
    for told in [
        Told {
            clip: "d01_over_follow",
            view: View::Above,
            tilt_deg: None,
            body: [0.9, 1.1],
        },
        Told {
            clip: "d03_chase60",
            view: View::Behind,
            tilt_deg: Some(32.0),
            body: [0.7, 1.3],
        },
        Told {
            clip: "d05_side60",
            view: View::Side,
            tilt_deg: None,
            body: [0.7, 1.1],
        },
    ] {
        let Some(file) = shared(&format!("clips/{}.mp4", told.clip)) else {
            return;
        };
        let truth: Value =
            serde_json::from_str(&std::fs::read_to_string(file.with_extension("json")).unwrap())
                .unwrap();
        let plan = planned(&told, &truth);
        let report = swim_test::run(
            &file,
            SwimOptions {
                setup: Setup {
                    length_mm: Some(plan.shoot.length_mm),
                    tilt_deg: told.tilt_deg,
                    ..Setup::new(told.view)
                },
                start: Some(first_box(&truth)),
                real_fps: None,
                optics: Default::default(),
                progress: &mut |_, _| {},
            },
        )
        .unwrap();
        let [low, high] = report.swim.wobble.hz.ci95.unwrap();
        let seen_s = truerun::tuning::seen_seconds(&report.track, &report.swim);
        let foretold = plan.rate_interval_hz(seen_s);
        let mut lengths: Vec<f64> = report
            .track
            .frames
            .iter()
            .filter(|f| f.is_seen())
            .map(|f| f.length_px)
            .collect();
        lengths.sort_by(f64::total_cmp);
        let length = lengths[lengths.len() / 2];
        println!(
            "{}: ±{foretold:.4} Hz planned over {seen_s:.1} s, ±{:.4} measured; {:.1} px planned, {length:.1} measured",
            told.clip,
            0.5 * (high - low),
            plan.picture.body_px
        );
        let ratio = 0.5 * (high - low) / foretold;
        assert!((0.6..=1.6).contains(&ratio), "{}: {ratio:.2}", told.clip);
        let seen = length / plan.picture.body_px;
        assert!(
            (told.body[0]..=told.body[1]).contains(&seen),
            "{}: {seen:.2}",
            told.clip
        );
    }
}

fn number(truth: &Value, key: &str) -> f64 {
    truth[key].as_f64().unwrap()
}

/// The plan as it would have been made beforehand: what the truth says of lure and camera.
fn planned(told: &Told, truth: &Value) -> Plan {
    let known = |key: &str| Given::or(Some(number(truth, key)), f64::NAN);
    let focal_px = number(&truth["camera"], "f_px");
    let size_px = [number(truth, "width"), number(truth, "height")];
    let half = (size_px[0] / 2.0 / focal_px).atan().to_degrees();
    Plan::of(&Shoot {
        view: told.view,
        length_mm: number(truth, "lure_length_mm"),
        rate_hz: known("wobble_hz"),
        width_deg: known("yaw_amp_deg"),
        speed_m_s: known("tow_speed_m_s"),
        fov_deg: Given::or(Some(2.0 * half), f64::NAN),
        size_px: size_px.map(|px| px as u32),
        fps: vec![number(truth, "fps_nominal")],
        distance_m: Some(number(truth, "scale_mm_per_px_median") * focal_px / 1000.0),
        height_m: None,
        tilt_deg: told.tilt_deg,
        under_water: None,
        goes_along: true,
        rate_within_hz: 0.1,
        drift_within_deg: 1.0,
        darts_per_minute: [4.0, 8.0],
    })
    .unwrap()
}

fn first_box(truth: &Value) -> StartBox {
    let frame = truth["frames"]
        .as_array()
        .unwrap()
        .iter()
        .find(|frame| frame["visible"] == true && frame["bbox"].is_array())
        .unwrap();
    let side = |i: usize| frame["bbox"][i].as_f64().unwrap();
    StartBox {
        x: side(0),
        y: side(1),
        w: side(2) - side(0),
        h: side(3) - side(1),
        t_s: number(frame, "t"),
    }
}
