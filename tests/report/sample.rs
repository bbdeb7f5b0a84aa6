//! A swim made by hand: the values of DESIGN §5, and its mirror image.
#![allow(dead_code)]

use truerun::camera::{Setup, Side, View};
use truerun::media::ClipSummary;
use truerun::motion::{BlowOut, Depth, Drift, Hunt, Hunts, Roll, SecondRate, Swim, Wobble};
use truerun::tracking::{Affine, State, Track, TrackFrame};
use truerun::{Measured, Status, Warning};

pub fn clip() -> ClipSummary {
    // By way of JSON, so that fields that are not stored take their defaults.
    let mut clip: ClipSummary = serde_json::from_value(serde_json::json!({
        "file": "hazel58-03.mp4", "sha256": null, "frames": 240, "duration_s": 7.97,
        "fps_median": 30.0, "vfr": false, "rotation_deg": 0, "width": 640, "height": 360
    }))
    .unwrap();
    clip.sha256 = Some("ab".repeat(32));
    clip
}

pub fn setup() -> Setup {
    Setup {
        length_mm: Some(58.0),
        pull_deg: Some(90.0),
        ..Setup::new(View::Above)
    }
}

/// Runs 3° to its own right, one dart to its own left.
pub fn swim() -> Swim {
    Swim {
        found: true,
        tracked_fraction: 0.98,
        mm_per_px: Some(0.97),
        pull_deg: Some(90.0),
        wobble: Wobble {
            hz: Measured::new(4.59, [4.55, 4.63]),
            width_deg: Measured::new(16.1, [15.5, 16.7]),
            apparent: false,
            tail_sweep_mm: Measured::new(19.8, [19.0, 20.6]),
            nyquist_hz: 15.0,
            alias_candidates_hz: vec![],
            by_second: vec![
                SecondRate { t_s: 0.5, hz: 4.6 },
                SecondRate { t_s: 1.5, hz: 4.58 },
            ],
        },
        roll: Roll {
            width_deg: Measured::unmeasurable("roll does not show from above"),
        },
        drift: Drift {
            deg: Measured::new(3.0, [2.6, 3.4]),
            mm_per_m: Some(52.4),
        },
        hunts: Hunts {
            status: Status::Measured,
            why: None,
            events: vec![Hunt {
                start_s: 3.1,
                peak_s: 3.5,
                end_s: 4.1,
                side: Side::Left,
                mm: Some(60.0),
                mm_ci95: Some([52.0, 68.0]),
                recovered: true,
            }],
        },
        blow_out: BlowOut {
            status: Status::None,
            t_s: None,
            why: None,
        },
        pivot: Measured::new(0.40, [0.36, 0.44]),
        speed: Measured::new(0.55, [0.53, 0.57]),
        strouhal: Measured::new(0.17, [0.15, 0.19]),
        depth: Depth::unmeasurable(false, "the surface was not marked"),
        warnings: vec![Warning::VariableFrameRate {
            gap_s: [0.031, 0.045],
        }],
    }
}

/// The same swim with left and right swapped.
pub fn mirrored(swim: &Swim) -> Swim {
    let mut other = swim.clone();
    other.drift.deg = swim.drift.deg.scaled(-1.0);
    other.drift.mm_per_m = swim.drift.mm_per_m.map(|mm| -mm);
    for hunt in &mut other.hunts.events {
        hunt.side = hunt.side.opposite();
    }
    other
}

/// Nothing found.
pub fn nothing() -> Swim {
    let missing = || Measured::unmeasurable("no lure was found");
    Swim {
        found: false,
        tracked_fraction: 0.0,
        mm_per_px: None,
        pull_deg: None,
        wobble: Wobble {
            hz: missing(),
            width_deg: missing(),
            apparent: false,
            tail_sweep_mm: missing(),
            nyquist_hz: 15.0,
            alias_candidates_hz: vec![],
            by_second: vec![],
        },
        roll: Roll {
            width_deg: missing(),
        },
        drift: Drift {
            deg: missing(),
            mm_per_m: None,
        },
        hunts: Hunts {
            status: Status::Unmeasurable,
            why: Some("no lure was found".into()),
            events: vec![],
        },
        blow_out: BlowOut {
            status: Status::Unmeasurable,
            t_s: None,
            why: Some("no lure was found".into()),
        },
        pivot: missing(),
        speed: missing(),
        strouhal: missing(),
        depth: Depth::unmeasurable(false, "no lure was found"),
        warnings: vec![],
    }
}

/// A track over 8 s at 30 frames a second: pulled to the right of the picture at 0.55 m/s and
/// 0.97 mm per px, 3° to its own right, wobbling 16° at 4.59 Hz, with the dart of [`swim`] and half
/// a second out of sight at 6 s.
pub fn track() -> Track {
    let frame = |i: usize| {
        let t = i as f64 / 30.0;
        let dart = match (3.1..4.1).contains(&t) {
            true => 60.0 * (std::f64::consts::PI * (t - 3.1)).sin().powi(2),
            false => 0.0,
        };
        let along = 550.0 * t;
        // Image y points down: to its own right is down for a lure pulled to the right.
        let side = along * 3f64.to_radians().tan() - dart;
        let wobble = 16.1 * (std::f64::consts::TAU * 4.59 * t).sin();
        let hidden = (6.0..6.5).contains(&t);
        let seen = |x: f64| if hidden { f64::NAN } else { x };
        TrackFrame {
            frame: i,
            t_s: t,
            state: if hidden { State::Hidden } else { State::Seen },
            confidence: if hidden { 0.0 } else { 0.9 },
            x_px: seen(320.0),
            y_px: seen(180.0 - 20.0 + side / 0.97),
            axis_deg: seen(93.0 + wobble),
            length_px: seen(59.8),
            width_px: seen(14.0),
            brightness: seen(0.5),
            line_deg: seen(90.0),
            to_scene: Affine([1.0, 0.0, along / 0.97, 0.0, 1.0, 0.0]),
        }
    };
    Track {
        frames: (0..240).map(frame).collect(),
        picture_width_px: 640.0,
        picture_height_px: 360.0,
        camera_moves: true,
        doubts: Default::default(),
    }
}
