//! Scenes written as clips: stamps, size, codec and turn are read back with the `ffprobe` and `ffmpeg`
//! programs.

use std::path::{Path, PathBuf};
use std::process::Command;

use truerun::scene::{Codec, Quality, SceneDescription, Stage, write_clip};

fn small() -> SceneDescription {
    let mut d = SceneDescription {
        seed: 2,
        ..Default::default()
    };
    d.name = "small".into();
    d.clip.width = 160;
    d.clip.height = 96;
    d.clip.seconds = 0.8;
    d.clip.quality = Quality::Quick;
    d.file.preset = "ultrafast".into();
    d
}

fn installed() -> bool {
    let there = Command::new("ffprobe").arg("-version").output().is_ok();
    if !there {
        println!("skipped: ffprobe is not installed");
    }
    there
}

fn probe(clip: &Path, entries: &str) -> String {
    let out = Command::new("ffprobe")
        .args([
            "-v",
            "error",
            "-select_streams",
            "v:0",
            "-of",
            "csv=p=0",
            "-show_entries",
            entries,
        ])
        .arg(clip)
        .output()
        .unwrap();
    String::from_utf8(out.stdout).unwrap()
}

/// Stamps in the order of showing, s.
fn stamps(clip: &Path) -> Vec<f64> {
    probe(clip, "frame=best_effort_timestamp_time")
        .lines()
        .filter_map(|l| l.trim_matches(',').parse().ok())
        .collect()
}

/// The first picture as a player shows it, turned.
fn first_picture(clip: &Path) -> Vec<u8> {
    Command::new("ffmpeg")
        .args(["-v", "error", "-i"])
        .arg(clip)
        .args(["-frames:v", "1", "-f", "rawvideo", "-pix_fmt", "rgb24", "-"])
        .output()
        .unwrap()
        .stdout
}

fn mean_difference(a: &[u8], b: &[u8]) -> f64 {
    assert_eq!(a.len(), b.len());
    a.iter()
        .zip(b)
        .map(|(a, b)| f64::from(a.abs_diff(*b)))
        .sum::<f64>()
        / a.len() as f64
}

fn write(d: &SceneDescription, name: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let clip = folder.path().join(name);
    write_clip(d, &clip, |_, _| ()).unwrap();
    (folder, clip)
}

#[test]
fn even_clip_in_each_container() {
    if !installed() {
        return;
    }
    for (name, codec, word) in [
        ("a.mp4", Codec::H264, "h264"),
        ("a.mov", Codec::Hevc, "hevc"),
        ("a.mkv", Codec::Hevc, "hevc"),
        ("a.avi", Codec::H264, "h264"),
    ] {
        let mut d = small();
        d.file.codec = codec;
        let (folder, clip) = write(&d, name);
        let head = probe(&clip, "stream=codec_name,width,height");
        assert_eq!(head.trim(), format!("{word},160,96"), "{name}");
        let t = stamps(&clip);
        assert_eq!(t.len(), 24, "{name}");
        let steps = t.windows(2).map(|w| w[1] - w[0]);
        assert!(
            steps.clone().all(|s| (s - 1.0 / 30.0).abs() < 0.0011),
            "{name}: {t:?}"
        );
        let stage = Stage::new(&d).unwrap();
        let off = mean_difference(&first_picture(&clip), &stage.frame(0).rgb);
        assert!(off < 5.0, "{name}: colours {off:.1} steps off on average");
        // The clip and its truth, and nothing half done.
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
    }
}

#[test]
fn uneven_stamps_are_those_of_the_truth() {
    if !installed() {
        return;
    }
    for name in ["a.mp4", "a.mkv", "a.mov"] {
        let mut d = small();
        d.clip.seconds = 1.5;
        d.clip.gap_jitter = 0.15;
        d.clip.dropped = 0.1;
        let (_folder, clip) = write(&d, name);
        let truth: serde_json::Value =
            serde_json::from_str(&std::fs::read_to_string(clip.with_extension("json")).unwrap())
                .unwrap();
        let real: Vec<f64> = truth["frames"]
            .as_array()
            .unwrap()
            .iter()
            .map(|f| f["t"].as_f64().unwrap())
            .collect();
        let stored = stamps(&clip);
        assert_eq!(stored.len(), real.len(), "{name}");
        for (s, r) in stored.iter().zip(&real) {
            assert!((s - stored[0] - r).abs() < 1e-5, "{name}: {s} against {r}");
        }
    }
}

#[test]
fn turned_clips_show_upright() {
    if !installed() {
        return;
    }
    let upright = Stage::new(&small()).unwrap().frame(0).rgb;
    for turn in [90, 180, 270] {
        let mut d = small();
        d.file.rotation_deg = turn;
        let (_folder, clip) = write(&d, "a.mp4");
        let stored = if turn == 180 { "160,96" } else { "96,160" };
        assert!(
            probe(&clip, "stream=width,height").starts_with(stored),
            "{turn}"
        );
        let off = mean_difference(&first_picture(&clip), &upright);
        assert!(off < 5.0, "{turn}: {off:.1} steps off on average");
    }
}

#[test]
fn slow_motion_plays_slower_than_life() {
    if !installed() {
        return;
    }
    let mut d = small();
    d.clip.fps = 240.0;
    d.clip.exposure_s = 0.002;
    d.clip.seconds = 0.1;
    d.file.play_fps = Some(30.0);
    let (_folder, clip) = write(&d, "a.mp4");
    let t = stamps(&clip);
    assert_eq!(t.len(), 24);
    assert!((t[23] - t[0] - 23.0 / 30.0).abs() < 1e-3);
}

#[test]
fn what_cannot_be_written_says_so_and_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let complaint = |d: &SceneDescription, name: &str| {
        write_clip(d, &folder.path().join(name), |_, _| ())
            .unwrap_err()
            .to_string()
    };
    assert!(complaint(&small(), "a.gif").contains("end it in .mp4, .mov, .mkv or .avi"));
    let mut turned = small();
    turned.file.rotation_deg = 90;
    assert!(complaint(&turned, "a.mkv").contains("file.rotation_deg"));
    let mut uneven = small();
    uneven.clip.gap_jitter = 0.1;
    assert!(complaint(&uneven, "a.avi").contains("avi has no uneven time stamps"));
    if installed() {
        let missing = complaint(&small(), "no/such/folder/a.mp4");
        assert!(
            missing.contains("ffmpeg could not write the clip"),
            "{missing}"
        );
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn a_missing_ffmpeg_is_named() {
    // A second run of this test program that finds no programs at all.
    let out = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "without_programs", "--ignored", "--nocapture"])
        .env("PATH", "")
        .output()
        .unwrap();
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stdout)
    );
}

#[test]
#[ignore = "run by a_missing_ffmpeg_is_named with an empty PATH"]
fn without_programs() {
    let folder = tempfile::tempdir().unwrap();
    let e = write_clip(&small(), &folder.path().join("a.mp4"), |_, _| ())
        .unwrap_err()
        .to_string();
    assert!(
        e.contains("ffmpeg is not installed") && e.contains("apt install ffmpeg"),
        "{e}"
    );
    assert!(!e.contains(".part"), "names the file asked for: {e}");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}
