//! The overlay: a clip of the same size, length and frame times, drawn on where the lure is.

use crate::sample;
use std::path::PathBuf;

use truerun::media::{Clip, ClipOptions, Frame};
use truerun::report::{OutFile, Overlay, write_overlay};
use truerun::tracking::{Affine, State, Track, TrackFrame};

/// The shared development clips, where they are in reach.
fn shared(name: &str) -> Option<PathBuf> {
    let folder = std::env::var_os("TRUERUN_SHARED").map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared"),
        PathBuf::from,
    );
    let path = folder.join("clips").join(name);
    path.is_file().then_some(path)
}

/// The track as the clip's truth has it.
fn true_track(path: &PathBuf) -> Track {
    let truth: serde_json::Value = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    let frames = truth["frames"]
        .as_array()
        .unwrap()
        .iter()
        .enumerate()
        .map(|(i, f)| {
            let number = |key: &str| f[key].as_f64().unwrap_or(f64::NAN);
            let seen = f["visible"] != false && f["occluded"] != true && number("cx").is_finite();
            TrackFrame {
                frame: i,
                t_s: number("t"),
                state: if seen { State::Seen } else { State::Hidden },
                confidence: 1.0,
                x_px: number("cx"),
                y_px: number("cy"),
                axis_deg: number("axis_img_deg"),
                length_px: truth["lure_length_mm"].as_f64().unwrap() / number("mm_per_px"),
                width_px: 0.25 * truth["lure_length_mm"].as_f64().unwrap() / number("mm_per_px"),
                brightness: 0.5,
                line_deg: f64::NAN,
                to_scene: Affine::IDENTITY,
            }
        });
    Track {
        frames: frames.collect(),
        picture_width_px: 960.0,
        picture_height_px: 540.0,
        camera_moves: false,
        doubts: Default::default(),
    }
}

#[test]
fn every_frame_is_there_at_its_own_time_and_drawn_on() {
    let (Some(clip), Some(truth)) = (shared("d02_over_fixed.mp4"), shared("d02_over_fixed.json"))
    else {
        println!("skipped: the shared clips are not in reach");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("overlay.mp4");
    let out = OutFile::new("--overlay", &path, &[&clip]).unwrap();
    let overlay = Overlay {
        clip: &clip,
        real_fps: None,
        fps_median: Some(30.0),
        track: &true_track(&truth),
        swim: &sample::swim(),
    };
    let mut done = 0;
    write_overlay(&overlay, &out, &mut |n| done = n).unwrap();
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);

    let mut before = Clip::open(&clip, &ClipOptions::default()).unwrap();
    let mut after = Clip::open(&path, &ClipOptions::default()).unwrap();
    assert_eq!(
        (before.info().width, before.info().height),
        (after.info().width, after.info().height)
    );
    let (mut one, mut other) = (Frame::default(), Frame::default());
    let mut frames = 0;
    while before.read(&mut one).unwrap() {
        assert!(after.read(&mut other).unwrap(), "frame {frames} is missing");
        assert!(
            (one.t_s - other.t_s).abs() < 1e-3,
            "{} {}",
            one.t_s,
            other.t_s
        );
        frames += 1;
    }
    assert!(!after.read(&mut other).unwrap());
    assert_eq!(frames, done);
    if let Some(keep) = std::env::var_os("TRUERUN_KEEP") {
        std::fs::copy(&path, PathBuf::from(keep).join("overlay.mp4")).unwrap();
    }
}

#[test]
fn a_clip_that_is_gone_leaves_no_overlay() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("overlay.mp4");
    let out = OutFile::new("--overlay", &path, &[]).unwrap();
    let overlay = Overlay {
        clip: &folder.path().join("none.mp4"),
        real_fps: None,
        fps_median: None,
        track: &sample::track(),
        swim: &sample::swim(),
    };
    assert!(write_overlay(&overlay, &out, &mut |_| {}).is_err());
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}
