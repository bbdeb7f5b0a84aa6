//! Bad input: one line each, naming the file, what is wrong and what to do; nothing else is said.

use crate::fixtures::*;
use std::path::Path;
use truerun::media::{Clip, ClipOptions};

/// The one line with which `path` is refused, after its name.
fn refusal(path: &Path) -> String {
    let error = Clip::open(path, &ClipOptions::default())
        .err()
        .expect("a refusal");
    let line = error.to_string();
    assert_eq!(error.exit_status(), 1);
    assert!(!line.contains('\n'), "{line}");
    let rest = line
        .strip_prefix(&format!("{}: ", path.display()))
        .expect("the file's name first");
    assert!(rest.contains("; "), "what to do: {rest}");
    rest.to_string()
}

fn file(dir: &tempfile::TempDir, name: &str, content: &[u8]) -> std::path::PathBuf {
    let path = dir.path().join(name);
    std::fs::write(&path, content).unwrap();
    path
}

#[test]
fn what_is_no_file_at_all() {
    let dir = folder();
    assert!(refusal(&dir.path().join("gone.mp4")).contains("no such file"));
    assert!(refusal(dir.path()).contains("folder"));
    assert!(refusal(&file(&dir, "empty.mp4", b"")).contains("empty"));
    assert!(refusal(&file(&dir, "empty.mp4", b"").join("in.mp4")).contains("no such file"));
    assert!(refusal(Path::new("/dev/null")).contains("not a file"));
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read() {
    use std::os::unix::fs::PermissionsExt;
    let dir = folder();
    let path = file(&dir, "locked.mp4", b"x");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o000)).unwrap();
    if std::fs::File::open(&path).is_ok() {
        println!("skipped: this user may read everything");
        return;
    }
    assert!(refusal(&path).contains("may not read"));
}

#[cfg(unix)]
#[test]
fn a_name_that_is_no_text() {
    use std::os::unix::ffi::OsStrExt;
    let dir = folder();
    let path = dir
        .path()
        .join(std::ffi::OsStr::from_bytes(b"ha\xffzel.mp4"));
    std::fs::write(&path, b"x").unwrap();
    assert!(refusal(&path).contains("rename"));
}

#[test]
fn a_name_that_looks_like_something_else() {
    // FFmpeg would take these for a protocol, an option or a pattern.
    let dir = folder();
    let plain = clip(&dir, "plain.mp4", "64x48", "30", "0.2", H264);
    for name in [
        "pipe:0.mp4",
        "a%03d.mp4",
        "-i.mp4",
        "with blank?.mp4",
        "prüfung.mp4",
    ] {
        let path = dir.path().join(name);
        std::fs::copy(&plain, &path).unwrap();
        assert_eq!(read(&path).times.len(), 6, "{name}");
    }
}

#[test]
fn what_is_no_clip() {
    let dir = folder();
    for (name, content) in [
        (
            "notes.mp4",
            "hazel58-03: runs to its own right, bent the tie a touch\n".repeat(40),
        ),
        ("art.txt", "\u{1b}[31m teletype art \u{1b}[0m\n".repeat(40)),
        (
            "list.m3u8",
            "#EXTM3U\n#EXTINF:2,\nother.ts\n#EXT-X-ENDLIST\n".into(),
        ),
        ("list.mp4", "ffconcat version 1.0\nfile other.mp4\n".into()),
        ("one.mp4", "x".into()),
    ] {
        assert!(
            refusal(&file(&dir, name, content.as_bytes())).contains("not a video clip"),
            "{name}"
        );
    }
    let still = dir.path().join("still.png");
    let arguments = [
        "-v",
        "error",
        "-f",
        "lavfi",
        "-i",
        "testsrc2=s=64x48:d=1",
        "-frames:v",
        "1",
        text(&still),
    ];
    run("ffmpeg", &arguments);
    assert!(refusal(&still).contains("not a video clip"));
}

#[test]
fn a_recording_cut_short_before_its_index() {
    let dir = folder();
    let whole = std::fs::read(clip(&dir, "whole.mp4", "96x64", "30", "2", H264)).unwrap();
    let cut = file(&dir, "cut.mp4", &whole[..whole.len() * 2 / 3]);
    assert!(refusal(&cut).contains("cut short"));
}

#[test]
fn an_index_that_is_nonsense() {
    let dir = folder();
    let mut whole = std::fs::read(clip(&dir, "whole.mp4", "96x64", "30", "1", H264)).unwrap();
    let at = whole.windows(4).position(|w| w == b"stsd").unwrap();
    whole[at + 4..].fill(0xff);
    let line = refusal(&file(&dir, "nonsense.mp4", &whole));
    assert!(
        line.contains("damaged") || line.contains("no moving picture"),
        "{line}"
    );
}

#[test]
fn sound_alone_and_sound_with_a_cover() {
    let dir = folder();
    let sound = dir.path().join("sound.m4a");
    run(
        "ffmpeg",
        &[
            "-v",
            "error",
            "-f",
            "lavfi",
            "-i",
            "sine=d=1",
            "-c:a",
            "aac",
            text(&sound),
        ],
    );
    assert!(refusal(&sound).contains("no moving picture"));

    let cover = dir.path().join("cover.m4a");
    run(
        "ffmpeg",
        &[
            "-v",
            "error",
            "-i",
            text(&sound),
            "-f",
            "lavfi",
            "-i",
            "testsrc2=s=64x48:d=0.04",
            "-map",
            "0",
            "-map",
            "1",
            "-c:a",
            "copy",
            "-c:v",
            "png",
            "-frames:v",
            "1",
            "-disposition:v",
            "attached_pic",
            text(&cover),
        ],
    );
    assert!(refusal(&cover).contains("no moving picture"));
}

#[test]
fn one_frame_opens_and_is_too_short_to_measure() {
    let dir = folder();
    let one = clip(&dir, "one.mp4", "96x64", "30", "0.033", H264);
    let ours = read(&one);
    assert_eq!((ours.times.len(), ours.summary.fps_median), (1, None));
    let line = ours.summary.check_long_enough().unwrap_err().to_string();
    assert!(line.contains("1 frame in it"), "{line}");

    let longer = read(&clip(&dir, "longer.mp4", "96x64", "30", "1", H264));
    assert!(longer.summary.check_long_enough().is_ok());
}
