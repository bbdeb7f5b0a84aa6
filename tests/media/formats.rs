//! Codecs, containers, pixel formats, rates and sizes.

use crate::fixtures::*;
use truerun::media::{Clip, ClipOptions};

const X265: &[&str] = &[
    "-c:v",
    "libx265",
    "-preset",
    "ultrafast",
    "-x265-params",
    "log-level=none",
];

#[test]
fn eight_bit_planes_come_through_unchanged() {
    let dir = folder();
    let clips = [
        clip(&dir, "h264.mp4", "96x64", "30", "0.4", H264),
        clip(&dir, "h264.mkv", "98x66", "30", "0.4", H264),
        clip(
            &dir,
            "hevc.mov",
            "96x64",
            "30",
            "0.4",
            &[X265, &["-pix_fmt", "yuv420p"]].concat(),
        ),
        // Widths and heights that are not even, which MPEG-4 allows.
        clip(&dir, "odd.avi", "161x121", "25", "0.4", &["-c:v", "mpeg4"]),
        clip(
            &dir,
            "full.mp4",
            "96x64",
            "30",
            "0.4",
            &["-c:v", "libx264", "-pix_fmt", "yuvj420p"],
        ),
    ];
    for path in clips {
        let ours = read(&path);
        let size = [ours.summary.width as usize, ours.summary.height as usize];
        let theirs = if path.ends_with("full.mp4") {
            // Asked for video range, ffmpeg would squeeze the full range: let it keep it.
            shown_by_ffmpeg(&path, "scale=in_range=pc:out_range=pc", size)
        } else {
            shown_by_ffmpeg(&path, "null", size)
        };
        assert!(ours.planes == theirs, "{}", path.display());
        assert_eq!((ours.summary.damaged, ours.summary.cut_short), (0, false));
        assert_eq!(ours.summary.warnings(), []);
    }
}

#[test]
fn deeper_and_denser_formats_are_brought_to_eight_bits_at_half_colour() {
    let dir = folder();
    let kinds: [(&str, &[&str]); 6] = [
        ("ten.mp4", &["-pix_fmt", "yuv420p10le"]),
        ("422.mp4", &["-pix_fmt", "yuv422p"]),
        ("444.mkv", &["-pix_fmt", "yuv444p"]),
        ("422ten.mov", &["-pix_fmt", "yuv422p10le"]),
        ("nv12.mp4", &["-pix_fmt", "nv12"]),
        ("grey.mkv", &["-c:v", "ffv1", "-pix_fmt", "gray"]),
    ];
    for (name, format) in kinds {
        let encode = [&["-c:v", "libx264"], format].concat();
        let path = clip(&dir, name, "96x64", "30", "0.2", &encode);
        let ours = read(&path);
        let keep = if name == "grey.mkv" {
            "scale=in_range=pc:out_range=pc"
        } else {
            "scale=flags=bilinear"
        };
        let theirs = shown_by_ffmpeg(&path, keep, [96, 64]);
        assert_eq!(ours.planes.len(), theirs.len(), "{name}");
        for (a, b) in ours.planes.iter().zip(&theirs) {
            assert!(mean_difference(&a[0], &b[0]) < 0.6, "{name}: brightness");
            assert!(mean_difference(&a[1], &b[1]) < 2.0, "{name}: blueness");
            assert!(mean_difference(&a[2], &b[2]) < 2.0, "{name}: redness");
        }
    }
    let ten: Vec<&str> = [X265, &["-pix_fmt", "yuv420p10le"]].concat();
    let ours = read(&clip(&dir, "hevc_ten.mp4", "96x64", "30", "0.2", &ten));
    assert_eq!(ours.times.len(), 6);
}

#[test]
fn rgb_keeps_the_full_range() {
    let dir = folder();
    let path = dir.path().join("rgb.mov");
    // A white left half and a black right half.
    let source = "color=white:s=32x32:d=0.2,format=rgb24,pad=64:32:0:0:black";
    run(
        "ffmpeg",
        &[
            "-v",
            "error",
            "-f",
            "lavfi",
            "-i",
            source,
            "-c:v",
            "qtrle",
            "-y",
            text(&path),
        ],
    );
    let clip = Clip::open(&path, &ClipOptions::default()).unwrap();
    assert!(clip.info().full_range);
    let ours = read(&path);
    let luma = &ours.planes[0][0];
    assert!(
        luma[4] > 250 && luma[60] < 5,
        "white {} black {}",
        luma[4],
        luma[60]
    );
}

#[test]
fn rates_from_15_to_240() {
    let dir = folder();
    for (rate, fps) in [
        ("15", 15.0),
        ("24", 24.0),
        ("30000/1001", 29.97003),
        ("60", 60.0),
        ("120", 120.0),
        ("240", 240.0),
    ] {
        for kind in ["mp4", "mkv"] {
            let name = format!("r{}.{kind}", fps as i32);
            let ours = read(&clip(&dir, &name, "64x48", rate, "1", H264));
            let found = ours.summary.fps_median.unwrap();
            assert!((found / fps - 1.0).abs() < 1e-3, "{name}: {found}");
            assert!(!ours.summary.vfr, "{name}");
        }
    }
}

#[test]
fn sound_beside_the_picture_is_left_alone() {
    let dir = folder();
    let path = dir.path().join("sound.mp4");
    run(
        "ffmpeg",
        &[
            "-v",
            "error",
            "-f",
            "lavfi",
            "-i",
            "testsrc2=s=96x64:r=30:d=1",
            "-f",
            "lavfi",
            "-i",
            "sine=d=3",
            "-c:v",
            "libx264",
            "-c:a",
            "aac",
            "-y",
            text(&path),
        ],
    );
    let ours = read(&path);
    assert_eq!((ours.times.len(), ours.summary.cut_short), (30, false));
}

#[test]
fn a_strongly_compressed_clip_is_said_so() {
    let dir = folder();
    let starved = |name: &str, encode: &[&str]| {
        let ours = read(&clip(&dir, name, "640x360", "30", "2", encode));
        let told = ours.summary.warnings();
        told.iter().any(|w| w.code() == "compressed")
    };
    let few_bits = [
        H264,
        &["-b:v", "200k", "-maxrate", "200k", "-bufsize", "100k"],
    ]
    .concat();
    assert!(starved("sent.mp4", &few_bits));
    assert!(!starved("own.mp4", &[H264, &["-crf", "18"]].concat()));
}

#[test]
fn the_summary_names_the_file_and_its_checksum() {
    let dir = folder();
    let path = clip(&dir, "hazel58-03.mp4", "96x64", "30", "0.5", H264);
    let ours = read(&path);
    let said = run("sha256sum", &[text(&path)]);
    let said = String::from_utf8_lossy(&said);
    let json = serde_json::to_value(&ours.summary).unwrap();
    assert_eq!(json["file"], "hazel58-03.mp4");
    assert_eq!(json["sha256"].as_str(), said.split_whitespace().next());
    let keys: Vec<&str> = json
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect();
    let mut want = vec![
        "file",
        "sha256",
        "frames",
        "duration_s",
        "fps_median",
        "vfr",
        "rotation_deg",
        "width",
        "height",
    ];
    want.sort_unstable();
    assert_eq!(
        {
            let mut k = keys;
            k.sort_unstable();
            k
        },
        want
    );
}
