//! Each frame's own time, from its first to its last, whatever the container does.

use crate::fixtures::*;
use truerun::media::{Clip, ClipOptions};

/// Half a tick of a container that counts milliseconds, and the six digits that `ffprobe` prints.
const EXACT_S: f64 = 1.5e-6;

#[test]
fn frames_out_of_order_keep_their_stamps_to_the_last() {
    let dir = folder();
    for name in ["b.mp4", "b.mov", "b.mkv"] {
        let path = clip(&dir, name, "96x64", "30", "2", H264);
        let ours = read(&path);
        assert_eq!(ours.times.len(), 60, "{name}");
        assert_times(&ours.times, &stamps_by_ffprobe(&path), EXACT_S);
        assert_eq!(ours.summary.mended_stamps, 0, "{name}");
        assert!(!ours.summary.vfr, "{name}");
        assert!(
            (ours.summary.fps_median.unwrap() - 30.0).abs() < 0.02,
            "{name}"
        );
        assert!(
            (ours.summary.duration_s - 59.0 / 30.0).abs() < 1.1e-3,
            "{name}"
        );
    }
}

#[test]
fn stamps_rise_even_where_the_container_has_none() {
    // AVI holds no stamps: only the order of the pieces and one rate.
    let dir = folder();
    for (name, encode) in [("b.avi", H264), ("m.avi", &["-c:v", "mpeg4", "-bf", "2"])] {
        let ours = read(&clip(&dir, name, "96x64", "25", "2", encode));
        assert_eq!(ours.times.len(), 50, "{name}");
        let even: Vec<f64> = (0..50).map(|i| f64::from(i) / 25.0).collect();
        assert_times(&ours.times, &even, 1e-6);
    }
}

#[test]
fn a_variable_rate_keeps_every_gap() {
    let dir = folder();
    let dropped: &[&str] = &[
        "-vf",
        "select='not(eq(mod(n,5),3))'",
        "-vsync",
        "vfr",
        "-c:v",
        "libx264",
    ];
    let ours = read(&clip(&dir, "vfr.mp4", "96x64", "30", "2", dropped));
    let want: Vec<f64> = (0..60)
        .filter(|n| n % 5 != 3)
        .map(|n| f64::from(n) / 30.0)
        .collect();
    assert_times(&ours.times, &want, 1e-4);
    assert!(ours.summary.vfr);
    let warnings = ours.summary.warnings();
    assert!(warnings.iter().any(|w| w.code() == "vfr"), "{warnings:?}");
}

#[test]
fn the_shared_variable_rate_clip_has_the_times_of_its_truth() {
    let Some(truth) = shared("clips/d08_over_vfr_occl.json") else {
        return;
    };
    let truth: serde_json::Value = serde_json::from_slice(&std::fs::read(truth).unwrap()).unwrap();
    let want: Vec<f64> = truth["frames"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| f["t"].as_f64().unwrap())
        .collect();
    let Some(path) = shared("clips/d08_over_vfr_occl.mp4") else {
        return;
    };
    let ours = read(&path);
    assert_times(&ours.times, &want, 1e-5);
    assert!(ours.summary.vfr && ours.summary.mended_stamps == 0);
}

#[test]
fn the_first_frame_is_at_zero_and_the_offset_is_kept_aside() {
    let dir = folder();
    let late: Vec<&str> = [&["-output_ts_offset", "1.5"], H264].concat();
    for name in ["late.mp4", "late.mkv", "late.ts"] {
        let path = clip(&dir, name, "96x64", "30", "1", &late);
        let said = run(
            "ffprobe",
            &[
                "-v",
                "error",
                "-select_streams",
                "v:0",
                "-show_entries",
                "stream=start_time",
                "-of",
                "default=nw=1:nk=1",
                text(&path),
            ],
        );
        // A transport stream lists its streams twice, once under its programme.
        let said = String::from_utf8_lossy(&said);
        let start_s: f64 = said.lines().next().unwrap().trim().parse().unwrap();
        assert!(start_s > 1.4, "{name}: {start_s}");
        let clip = Clip::open(&path, &ClipOptions::default()).unwrap();
        assert!((clip.info().start_s - start_s).abs() < EXACT_S, "{name}");
        let ours = read(&path);
        assert_eq!(ours.times[0], 0.0, "{name}");
        assert!(!ours.summary.cut_short, "{name}");
        assert_times(&ours.times, &stamps_by_ffprobe(&path), EXACT_S);
    }
}

#[test]
fn what_an_edit_list_cuts_is_not_shown() {
    // Cutting without encoding again leaves frames in the file that its edit list hides.
    let dir = folder();
    let whole = clip(&dir, "whole.mp4", "96x64", "30", "4", H264);
    let cut = dir.path().join("cut.mp4");
    let arguments = [
        "-v",
        "error",
        "-ss",
        "1.3",
        "-i",
        text(&whole),
        "-c",
        "copy",
        "-y",
        text(&cut),
    ];
    run("ffmpeg", &arguments);
    let ours = read(&cut);
    assert_times(&ours.times, &stamps_by_ffprobe(&cut), EXACT_S);
    assert!(!ours.summary.cut_short);
}

#[test]
fn a_lost_frame_is_a_gap_and_not_a_variable_rate() {
    let dir = folder();
    let lost: &[&str] = &[
        "-vf",
        "select='not(eq(n,70))'",
        "-vsync",
        "vfr",
        "-c:v",
        "libx264",
    ];
    let ours = read(&clip(&dir, "lost.mp4", "96x64", "60", "2", lost));
    assert_eq!((ours.summary.vfr, ours.summary.long_gaps), (false, 1));
    assert!((ours.summary.fps_median.unwrap() - 60.0).abs() < 0.01);
}

#[test]
fn a_clip_begun_again_gives_the_same_frames() {
    let dir = folder();
    let path = clip(&dir, "b.mp4", "96x64", "30", "1", H264);
    let mut clip = Clip::open(&path, &ClipOptions::default()).unwrap();
    let mut frame = truerun::media::Frame::default();
    let mut times = Vec::new();
    for _ in 0..7 {
        assert!(clip.read(&mut frame).unwrap());
        times.push(frame.t_s);
    }
    clip.rewind().unwrap();
    for (index, t_s) in times.into_iter().enumerate() {
        assert!(clip.read(&mut frame).unwrap());
        assert_eq!((frame.index, frame.t_s), (index, t_s));
    }
}
