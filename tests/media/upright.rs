//! Rotation flags, mirrors and pixels that are not square: the frames lie as `ffmpeg` shows them.

use crate::fixtures::*;
use std::path::Path;
use truerun::media::{Clip, ClipOptions};

const ONE: i32 = 1 << 16;

/// The same MP4 file with another display matrix in its track header (ISO/IEC 14496-12, 8.3.2:
/// the matrix begins 40 bytes after the box's kind in version 0).
fn with_matrix(from: &Path, to: &Path, [a, b, c, d]: [i32; 4]) {
    let mut file = std::fs::read(from).unwrap();
    let at = 4 + file
        .windows(4)
        .position(|w| w == b"tkhd")
        .expect("a track header");
    assert_eq!(file[at], 0, "version 0");
    for (i, number) in [a, b, 0, c, d, 0, 0, 0, 1 << 30].into_iter().enumerate() {
        let place = at + 40 + 4 * i;
        file[place..place + 4].copy_from_slice(&i32::to_be_bytes(number));
    }
    std::fs::write(to, file).unwrap();
}

#[test]
fn each_rotation_flag_lies_as_ffmpeg_shows_it() {
    let dir = folder();
    let plain = clip(&dir, "plain.mp4", "96x64", "30", "0.5", H264);
    let turns = [
        (0, [ONE, 0, 0, ONE], [96, 64]),
        (90, [0, ONE, -ONE, 0], [64, 96]),
        (180, [-ONE, 0, 0, -ONE], [96, 64]),
        (270, [0, -ONE, ONE, 0], [64, 96]),
    ];
    for (degrees, matrix, size) in turns {
        let turned = dir.path().join(format!("turned{degrees}.mp4"));
        with_matrix(&plain, &turned, matrix);
        let ours = read(&turned);
        assert_eq!(ours.summary.rotation_deg, degrees);
        assert_eq!(
            [ours.summary.width, ours.summary.height],
            size.map(|s| s as u32)
        );
        assert!(!ours.summary.mirrored);
        assert!(
            ours.planes == shown_by_ffmpeg(&turned, "null", size),
            "{degrees}°"
        );
    }
}

#[test]
fn each_mirror_lies_as_ffmpeg_shows_it_and_is_told() {
    let dir = folder();
    let plain = clip(&dir, "plain.mp4", "96x64", "30", "0.2", H264);
    let mirrors = [
        ("x", [-ONE, 0, 0, ONE], [96, 64]),
        ("y", [ONE, 0, 0, -ONE], [96, 64]),
        ("main", [0, ONE, ONE, 0], [64, 96]),
        ("anti", [0, -ONE, -ONE, 0], [64, 96]),
    ];
    for (name, matrix, size) in mirrors {
        let mirrored = dir.path().join(format!("mirror_{name}.mp4"));
        with_matrix(&plain, &mirrored, matrix);
        let ours = read(&mirrored);
        assert!(
            ours.planes == shown_by_ffmpeg(&mirrored, "null", size),
            "{name}"
        );
        assert!(
            ours.summary
                .warnings()
                .iter()
                .any(|w| w.code() == "mirrored"),
            "{name}"
        );
    }
}

#[test]
fn pixels_are_made_square() {
    let dir = folder();
    let wide: &[&str] = &[
        "-vf",
        "setsar=7/6",
        "-c:v",
        "libx264",
        "-pix_fmt",
        "yuv420p",
    ];
    let path = clip(&dir, "wide.mp4", "240x160", "30", "0.2", wide);
    let ours = read(&path);
    assert_eq!([ours.summary.width, ours.summary.height], [280, 160]);
    let theirs = shown_by_ffmpeg(&path, "scale=280:160:flags=bilinear", [280, 160]);
    for (a, b) in ours.planes.iter().zip(&theirs) {
        assert!(
            mean_difference(&a[0], &b[0]) < 1.5,
            "{}",
            mean_difference(&a[0], &b[0])
        );
        assert!(mean_difference(&a[1], &b[1]) < 3.0);
    }

    let tall: &[&str] = &[
        "-vf",
        "setsar=3/4",
        "-c:v",
        "libx264",
        "-pix_fmt",
        "yuv420p",
    ];
    let path = clip(&dir, "tall.mp4", "240x150", "30", "0.2", tall);
    let clip = Clip::open(&path, &ClipOptions::default()).unwrap();
    assert_eq!([clip.info().width, clip.info().height], [240, 200]);
}

#[test]
fn pixels_that_are_not_square_are_turned_after_they_are_stretched() {
    let dir = folder();
    let wide: &[&str] = &[
        "-vf",
        "setsar=3/2",
        "-c:v",
        "libx264",
        "-pix_fmt",
        "yuv420p",
    ];
    let plain = clip(&dir, "plain.mp4", "96x64", "30", "0.1", wide);
    let turned = dir.path().join("turned.mp4");
    with_matrix(&plain, &turned, [0, ONE, -ONE, 0]);
    let summary = read(&turned).summary;
    assert_eq!([summary.width, summary.height], [64, 144]);
}

#[test]
fn the_shared_fork_clips_have_square_pixels() {
    let name = "real/fork-clips/tuning_hz32_fps250_50-1_640x420.mp4";
    let Some(path) = shared(name) else { return };
    let clip = Clip::open(
        &path,
        &ClipOptions {
            real_fps: Some(250.0),
        },
    )
    .unwrap();
    // 640 stored pixels of aspect 7:6.
    assert_eq!([clip.info().width, clip.info().height], [747, 420]);
}
