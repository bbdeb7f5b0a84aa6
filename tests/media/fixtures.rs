//! Clips made on the spot with the `ffmpeg` program, and what that program says of them.

use opencv::core::Mat;
use opencv::prelude::*;
use std::path::{Path, PathBuf};
use std::process::Command;
use tempfile::TempDir;
use truerun::media::{Clip, ClipOptions, ClipSummary, Frame};

/// Settings of `libx264` for a small clip with frames out of order.
pub const H264: &[&str] = &[
    "-c:v", "libx264", "-preset", "veryfast", "-bf", "3", "-pix_fmt", "yuv420p",
];

/// A folder that goes when the test ends.
pub fn folder() -> TempDir {
    tempfile::tempdir().expect("a folder for fixtures")
}

/// Runs a program; its standard output. Panics with its words if it fails.
pub fn run(program: &str, arguments: &[&str]) -> Vec<u8> {
    let done = Command::new(program)
        .args(arguments)
        .output()
        .expect("ffmpeg is installed");
    let words = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{program} {arguments:?}: {words}");
    done.stdout
}

/// A clip of FFmpeg's test picture: `seconds` long, `size` such as "96x64", at `rate`.
pub fn clip(
    dir: &TempDir,
    name: &str,
    size: &str,
    rate: &str,
    seconds: &str,
    encode: &[&str],
) -> PathBuf {
    let path = dir.path().join(name);
    let source = format!("testsrc2=size={size}:rate={rate}:duration={seconds}");
    let mut arguments = vec![
        "-v", "error", "-nostdin", "-y", "-f", "lavfi", "-i", &source,
    ];
    arguments.extend_from_slice(encode);
    arguments.push(text(&path));
    run("ffmpeg", &arguments);
    path
}

/// The path as the programs take it.
pub fn text(path: &Path) -> &str {
    path.to_str().expect("fixtures have plain names")
}

/// A clip read to its end: every frame's time and planes, and the summary.
pub struct ReadThrough {
    pub times: Vec<f64>,
    /// Per frame: brightness, blueness, redness, row after row.
    pub planes: Vec<[Vec<u8>; 3]>,
    pub summary: ClipSummary,
}

/// Reads a clip to its end, keeping the planes.
pub fn read(path: &Path) -> ReadThrough {
    read_with(path, &ClipOptions::default())
}

pub fn read_with(path: &Path, options: &ClipOptions) -> ReadThrough {
    let mut clip = Clip::open(path, options).expect("a clip that opens");
    let (mut times, mut planes) = (Vec::new(), Vec::new());
    let mut frame = Frame::default();
    while clip.read(&mut frame).expect("a clip that reads") {
        assert_eq!(frame.index, times.len());
        times.push(frame.t_s);
        planes.push([bytes(&frame.luma), bytes(&frame.cb), bytes(&frame.cr)]);
    }
    assert!(!clip.read(&mut frame).unwrap(), "the end stays the end");
    ReadThrough {
        times,
        planes,
        summary: clip.summary(),
    }
}

/// A plane's bytes, row after row.
pub fn bytes(plane: &Mat) -> Vec<u8> {
    (0..plane.rows())
        .flat_map(|y| plane.at_row::<u8>(y).expect("a row of bytes").to_vec())
        .collect()
}

/// The same clip's frames as `ffmpeg` shows them (turned as the file asks), after `filter`,
/// as 8-bit planes.
pub fn shown_by_ffmpeg(
    path: &Path,
    filter: &str,
    [width, height]: [usize; 2],
) -> Vec<[Vec<u8>; 3]> {
    let raw = run(
        "ffmpeg",
        &[
            "-v",
            "error",
            "-nostdin",
            "-i",
            text(path),
            "-vf",
            filter,
            "-vsync",
            "passthrough",
            "-f",
            "rawvideo",
            "-pix_fmt",
            "yuv420p",
            "-",
        ],
    );
    let (full, half) = (width * height, width.div_ceil(2) * height.div_ceil(2));
    assert_eq!(
        raw.len() % (full + 2 * half),
        0,
        "frames of {width} × {height}"
    );
    raw.chunks_exact(full + 2 * half)
        .map(|f| {
            [
                f[..full].to_vec(),
                f[full..full + half].to_vec(),
                f[full + half..].to_vec(),
            ]
        })
        .collect()
}

/// Every frame's stamp as `ffprobe` decodes it, s, the first frame at 0.
pub fn stamps_by_ffprobe(path: &Path) -> Vec<f64> {
    let table = run(
        "ffprobe",
        &[
            "-v",
            "error",
            "-select_streams",
            "v:0",
            "-show_entries",
            "frame=best_effort_timestamp_time",
            "-of",
            "default=nw=1:nk=1",
            text(path),
        ],
    );
    let stamps: Vec<f64> = String::from_utf8_lossy(&table)
        .lines()
        .filter_map(|line| line.trim().parse().ok())
        .collect();
    stamps.iter().map(|s| s - stamps[0]).collect()
}

/// Asserts that two lists of times agree to `within_s`, and name the first that does not.
pub fn assert_times(ours: &[f64], theirs: &[f64], within_s: f64) {
    assert_eq!(ours.len(), theirs.len(), "number of frames");
    for (i, (a, b)) in ours.iter().zip(theirs).enumerate() {
        assert!((a - b).abs() <= within_s, "frame {i}: {a} s against {b} s");
    }
}

/// Mean absolute difference of two planes.
pub fn mean_difference(a: &[u8], b: &[u8]) -> f64 {
    assert_eq!(a.len(), b.len());
    let sum: u64 = a
        .iter()
        .zip(b)
        .map(|(x, y)| u64::from(x.abs_diff(*y)))
        .sum();
    sum as f64 / a.len() as f64
}

/// The shared clips' folder, or `None` (and a word about it) where they are absent.
pub fn shared(name: &str) -> Option<PathBuf> {
    let root = std::env::var_os("TRUERUN_SHARED").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared"),
        PathBuf::from,
    );
    let path = root.join(name);
    if !path.exists() {
        println!("skipped: no shared {name}");
        return None;
    }
    Some(path)
}
