//! `truerun swim` on files that are no clips, and on a box that is not in the picture: one line, the
//! agreed status, no output file.

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
    let photo = write("photo.heic", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic");
    let told = refused(&photo, &[], 1);
    assert!(told.contains("this is a photo"), "{told}");
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

/// Runs `ffmpeg` in a folder.
fn ffmpeg(folder: &Path, words: &str) {
    let done = std::process::Command::new("ffmpeg")
        .current_dir(folder)
        .args(["-v", "error", "-nostdin", "-y"])
        .args(words.split_whitespace())
        .status()
        .expect("ffmpeg is installed");
    assert!(done.success(), "ffmpeg {words}");
}

#[test]
fn clips_with_nothing_to_measure() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    ffmpeg(folder.path(), "-f lavfi -i sine=440:duration=2 sound.mp4");
    ffmpeg(
        folder.path(),
        "-f lavfi -i testsrc2=size=96x64:rate=30 -frames:v 1 -pix_fmt yuv420p one.mp4",
    );
    let told = refused(&path("sound.mp4"), &[], 1);
    assert!(told.contains("no moving picture"), "{told}");
    for start in [&[][..], &["--box", "20,20,30,20"]] {
        let told = refused(&path("one.mp4"), start, 1);
        assert!(told.contains("1 frame"), "{told}");
    }
}

/// The committed sample clip.
fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-data")
        .join(name)
}

/// The lure in the sample's first frame.
const BOX: [&str; 2] = ["--box", "199,103,82,26"];

/// `swim` on the sample clip from its box.
fn on_the_sample(folder: &Path, more: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("truerun")
        .unwrap()
        .current_dir(folder)
        .arg("swim")
        .arg(sample("hazel58-03.mp4"))
        .args(["--length", "58", "--quiet"])
        .args(BOX)
        .args(more)
        .assert()
}

#[test]
fn usage_faults_on_a_good_clip() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(
        folder.path().join("typo.toml"),
        "rate_hz = [4, 5]\nwidht_deg = [1, 2]\n",
    )
    .unwrap();
    std::fs::write(folder.path().join("unit.toml"), "rate_hz = \"4.5 Hz\"\n").unwrap();
    std::fs::write(folder.path().join("khz.toml"), "rate_khz = [1, 2]\n").unwrap();
    std::fs::write(
        folder.path().join("table.toml"),
        "[wobble]\nrate_hz = [4, 5]\n",
    )
    .unwrap();
    let written = std::fs::read_dir(&folder).unwrap().count();
    for (more, says) in [
        (["--box", "600,300,60,80"], "640 × 360"),
        (["--box", "199,103,82,26@60"], "--box"),
        (["--target", "typo.toml"], "did you mean `width_deg`?"),
        (["--target", "unit.toml"], "unit.toml, line 1, rate_hz"),
        (["--target", "khz.toml"], "did you mean `rate_hz`?"),
        (["--target", "table.toml"], "each key stands by itself"),
    ] {
        let done = Command::cargo_bin("truerun")
            .unwrap()
            .current_dir(&folder)
            .arg("swim")
            .arg(sample("hazel58-03.mp4"))
            .args([
                "--view", "above", "--length", "58", "--json", "a.json", "--track", "a.csv",
            ])
            .args(more)
            .assert()
            .code(2)
            .stdout("");
        let told = String::from_utf8(done.get_output().stderr.clone()).unwrap();
        assert_eq!(told.lines().count(), 1, "{told}");
        assert!(told.contains(says), "{told}");
        assert_eq!(
            std::fs::read_dir(&folder).unwrap().count(),
            written,
            "{more:?}"
        );
    }
}

#[test]
fn outside_the_target_is_status_3_when_enforced() {
    let folder = tempfile::tempdir().unwrap();
    // it wobbles at 4.6
    let target = folder.path().join("quick.toml");
    std::fs::write(&target, "rate_hz = [6.0, 7.0]\n").unwrap();
    let target = target.display().to_string();
    on_the_sample(folder.path(), &["--view", "above", "--target", &target])
        .code(0)
        .stdout("");
    on_the_sample(
        folder.path(),
        &["--view", "above", "--target", &target, "--enforce"],
    )
    .code(3)
    .stdout("")
    .stderr("");
}

/// Filmed from above, told as from the side.
#[test]
fn a_view_that_the_clip_contradicts_is_doubted() {
    let folder = tempfile::tempdir().unwrap();
    let json = |view: &str| {
        let done = on_the_sample(folder.path(), &["--view", view, "--json", "-"]).success();
        String::from_utf8(done.get_output().stdout.clone()).unwrap()
    };
    assert!(json("side").contains("view_doubtful"));
    assert!(!json("above").contains("view_doubtful"));
}

/// Phones write the index last: a recording that was cut off has none.
#[test]
fn a_clip_cut_off_in_the_middle() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::copy(sample("hazel58-03.mp4"), folder.path().join("a.mp4")).unwrap();
    ffmpeg(folder.path(), "-i a.mp4 -c copy whole.mp4");
    let bytes = std::fs::read(folder.path().join("whole.mp4")).unwrap();
    let cut = folder.path().join("cut.mp4");
    std::fs::write(&cut, &bytes[..bytes.len() / 2]).unwrap();
    let told = refused(&cut, &[], 1);
    assert!(told.contains("cut short"), "{told}");
}

/// Where the index stands first, what is there is measured, and said to be a part.
#[test]
fn a_clip_cut_off_behind_its_index() {
    let folder = tempfile::tempdir().unwrap();
    let bytes = std::fs::read(sample("hazel58-03.mp4")).unwrap();
    let cut = folder.path().join("cut.mp4");
    std::fs::write(&cut, &bytes[..bytes.len() / 2]).unwrap();
    Command::cargo_bin("truerun")
        .unwrap()
        .arg("swim")
        .arg(&cut)
        .args(["--view", "above", "--length", "58"])
        .args(BOX)
        .assert()
        .success()
        .stdout(predicates::str::contains("the file ends early"));
    std::fs::write(&cut, &bytes[..bytes.len() / 100]).unwrap();
    let told = refused(&cut, &[], 1);
    assert!(told.contains("not one frame"), "{told}");
}
