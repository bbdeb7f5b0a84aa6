//! `truerun swim` on files that are no clips, and on a box that is not in the picture: one line, the
//! agreed status, no output file.
#![cfg(feature = "video")]

use assert_cmd::Command;
use std::path::{Path, PathBuf};

fn shared(name: &str) -> Option<PathBuf> {
    let root = std::env::var_os("TRUERUN_SHARED").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared"),
        PathBuf::from,
    );
    let path = root.join("clips").join(name);
    path.is_file().then_some(path)
}

/// Runs `swim` with every output asked for; returns its one line on standard error.
fn refused(clip: &Path, more: &[&str], status: i32) -> String {
    let folder = tempfile::tempdir().unwrap();
    let done = Command::cargo_bin("truerun")
        .unwrap()
        .current_dir(&folder)
        .arg("swim")
        .arg(clip)
        .args([
            "--view", "above", "--length", "58", "--json", "a.json", "--track", "a.csv",
        ])
        .args(["--chart", "a.svg", "--overlay", "a.mp4"])
        .args(more)
        .assert()
        .code(status)
        .stdout("");
    assert_eq!(
        std::fs::read_dir(&folder).unwrap().count(),
        0,
        "an output file was left"
    );
    let told = String::from_utf8(done.get_output().stderr.clone()).unwrap();
    assert_eq!(told.lines().count(), 1, "{told}");
    assert!(told.starts_with("truerun: "), "{told}");
    told
}

#[test]
fn files_that_are_no_clips() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    };
    for clip in [
        folder.path().join("missing.mp4"),
        folder.path().to_path_buf(),
        write("empty.mp4", b""),
        write("text.mp4", b"Hazel 58 swam well today.\n"),
    ] {
        let told = refused(&clip, &[], 1);
        assert!(told.contains(&clip.display().to_string()), "{told}");
    }
}

#[test]
fn a_clip_cut_off_before_its_index() {
    let Some(clip) = shared("d02_over_fixed.mp4") else {
        return println!("skipped: the shared clips are not in reach");
    };
    let folder = tempfile::tempdir().unwrap();
    let bytes = std::fs::read(clip).unwrap();
    let cut = folder.path().join("cut.mp4");
    std::fs::write(&cut, &bytes[..200]).unwrap();
    refused(&cut, &[], 1);
}

#[test]
fn a_box_outside_the_picture() {
    let Some(clip) = shared("d02_over_fixed.mp4") else {
        return println!("skipped: the shared clips are not in reach");
    };
    for outside in ["950,100,60,40", "100,520,60,40", "-5,100,60,40"] {
        let told = refused(&clip, &["--box", outside], 2);
        assert!(
            told.contains("--box") && told.contains("960 × 540"),
            "{told}"
        );
    }
}
