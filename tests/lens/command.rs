//! `plan --lens` and `swim --lens` from the command line: what works, and bad input in one line.

use std::path::Path;

use assert_cmd::Command;
use predicates::prelude::*;

use super::drawn::{PHONE, POSES, photos};

fn truerun() -> Command {
    Command::cargo_bin("truerun").unwrap()
}

fn sample(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-data")
        .join(name)
}

/// A fault: `status`, one line, with `words` in it.
fn faulty(command: &mut Command, status: i32, words: &[&str]) {
    let done = command.assert().code(status);
    let said = String::from_utf8_lossy(&done.get_output().stderr).into_owned();
    assert_eq!(said.trim_end().lines().count(), 1, "{said}");
    for word in words {
        assert!(said.contains(word), "`{word}` in: {said}");
    }
}

fn plan(files: &[impl AsRef<std::ffi::OsStr>], board: &str, out: &Path) -> Command {
    let mut command = truerun();
    command.args(["plan", "--lens"]).args(files);
    command.args(["--board", board, "--out"]).arg(out);
    command
}

/// Photos are drawn once: it takes a few seconds.
#[test]
fn photos_make_a_lens_file_and_bad_ones_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("phone.toml");
    let all = photos(folder.path(), PHONE, &POSES);

    plan(&all, "9x6", &out)
        .assert()
        .success()
        .stdout(predicate::str::contains("12 views of the board"));
    let text = std::fs::read_to_string(&out).unwrap();
    assert!(text.contains("truerun/lens/1") && text.contains("width = 640"));

    // Under water: the same photos make the same figures, and the file says for what it holds.
    let deep = folder.path().join("deep.toml");
    plan(&all, "9x6", &deep)
        .arg("--under-water")
        .assert()
        .success()
        .stdout(predicate::str::contains("640 × 360, under water: 12 views"));
    let wet = std::fs::read_to_string(&deep).unwrap();
    assert_eq!(
        wet.replace("under_water = true", "under_water = false"),
        text
    );
    let under = |more: &[&str]| {
        let mut command = truerun();
        command.arg("swim").arg(sample("hazel58-03.mp4")).args(more);
        command.args([
            "--view", "above", "--length", "58", "--quiet", "--json", "-", "--lens",
        ]);
        command.arg(&deep);
        command
    };
    under(&["--under-water"])
        .assert()
        .success()
        .stdout(predicate::str::contains("deep.toml"));
    faulty(&mut under(&[]), 2, &["deep.toml", "under water"]);

    // One photo only, and too few.
    faulty(&mut plan(&all[..1], "9x6", &out), 1, &["1 view", "least"]);
    faulty(&mut plan(&all[..5], "9x6", &out), 1, &["5 views", "least"]);
    // Counted corners instead of squares: never seen whole.
    faulty(
        &mut plan(&all[..2], "12x9", &out),
        1,
        &["seen whole", "squares"],
    );
    // All from one side: the lens is not settled.
    let flat: Vec<_> = POSES[..7]
        .iter()
        .enumerate()
        .map(|(i, (_, at))| ([0.0; 3], [at[0], at[1], 420.0 + i as f64]))
        .collect();
    let below = folder.path().join("flat");
    std::fs::create_dir(&below).unwrap();
    let flat = photos(&below, PHONE, &flat);
    faulty(
        &mut plan(&flat, "9x6", &out),
        1,
        &["do not settle the lens", "leaning"],
    );
    // A board cut by the frame in every photo.
    let cut = photos(&below, PHONE, &[([0.0; 3], [150.0, 0.0, 420.0]); 1]);
    faulty(
        &mut plan(&cut, "9x6", &out),
        1,
        &["seen whole", "board00.png"],
    );
    // No picture at all.
    let text = folder.path().join("notes.txt");
    std::fs::write(&text, "not a picture").unwrap();
    faulty(&mut plan(&[&text], "9x6", &out), 1, &["notes.txt"]);
    faulty(
        &mut plan(&[&all[0], &text], "9x6", &out),
        1,
        &["notes.txt", "not a photo"],
    );
    let empty = folder.path().join("empty.jpg");
    std::fs::write(&empty, "").unwrap();
    faulty(&mut plan(&[&empty, &empty], "9x6", &out), 1, &["empty.jpg"]);
    faulty(
        &mut plan(&[folder.path().join("absent.jpg")], "9x6", &out),
        1,
        &["absent.jpg: there is no such file; check the name"],
    );
    // Photos that the phone or the copying spoilt; nothing is said but the one line.
    let whole = std::fs::read(&all[0]).unwrap();
    let cut = folder.path().join("cut.png");
    std::fs::write(&cut, &whole[..whole.len() / 2]).unwrap();
    faulty(
        &mut plan(&[&all[1], &cut], "9x6", &out),
        1,
        &["cut.png", "cut short"],
    );
    let heic = folder.path().join("board.heic");
    std::fs::write(&heic, b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").unwrap();
    faulty(
        &mut plan(&[&heic], "9x6", &out),
        1,
        &["HEIC", "save it as JPEG"],
    );
    // Options that plan a shoot are not passed over in silence.
    for option in [
        ["--json", "a.json"],
        ["--sheet", "a.html"],
        ["--view", "side"],
    ] {
        faulty(
            plan(&all, "9x6", &out).args(option),
            2,
            &["--lens", option[0]],
        );
    }
    faulty(&mut plan(&[folder.path()], "9x6", &out), 1, &["folder"]);
    // An output over an input, a wrong ending.
    faulty(&mut plan(&all, "9x6", &all[0]), 2, &["--out"]);
    faulty(&mut plan(&all, "2x2", &out), 2, &["squares"]);

    // A lens file of another mode, and a damaged one.
    let clip = sample("hazel58-03.mp4");
    let swim = |lens: &Path| {
        let mut command = truerun();
        command.arg("swim").arg(&clip);
        command.args(["--view", "above", "--length", "58", "--quiet", "--lens"]);
        command.arg(lens);
        command
    };
    let other = folder.path().join("other.toml");
    std::fs::write(
        &other,
        std::fs::read_to_string(&out)
            .unwrap()
            .replace("height = 360", "height = 480"),
    )
    .unwrap();
    faulty(
        &mut swim(&other),
        2,
        &["other.toml", "640 × 480", "plan --lens"],
    );
    let wet = folder.path().join("wet.toml");
    std::fs::write(
        &wet,
        std::fs::read_to_string(&out)
            .unwrap()
            .replace("under_water = false", "under_water = true"),
    )
    .unwrap();
    faulty(&mut swim(&wet), 2, &["wet.toml", "under water"]);
    let damaged = folder.path().join("damaged.toml");
    std::fs::write(&damaged, &std::fs::read(&out).unwrap()[..400]).unwrap();
    faulty(&mut swim(&damaged), 1, &["damaged.toml", "damaged"]);
    faulty(&mut swim(&clip), 1, &["not a lens file"]);
    faulty(
        &mut swim(&folder.path().join("none.toml")),
        1,
        &["none.toml"],
    );
}

#[test]
fn marks_that_cannot_be_meant() {
    let clip = sample("hazel58-03.mp4");
    let swim = |rest: &[&str]| {
        let mut command = truerun();
        command.arg("swim").arg(&clip);
        command
            .args(["--view", "above", "--length", "58", "--quiet"])
            .args(rest);
        command
    };
    for (rest, word) in [
        (&["--ruler", "10,10,10,10,100"][..], "one point"),
        (&["--ruler", "10,10,5000,10,100"], "outside the picture"),
        (&["--ruler", "10,10,14,10,100"], "too short"),
        (&["--ruler", "10,10,nan,10,100"], "not a number"),
        (&["--ruler", "10,10,300,10,0"], "cannot be meant"),
        (
            &["--ruler", "10,10,300,10,100", "--board", "9x6,20"],
            "--board",
        ),
        (&["--board", "9x6"], "side of a square"),
        (&["--board", "9x6,20mm"], "no board of 9 × 6 squares"),
        (&["--board", "9x6,20mm@99"], "over before"),
        (&["--farther", "near"], "afloat"),
        (&["--farther", "1.2"], "none is marked"),
        (
            &["--farther", "afloat", "--ruler", "10,10,300,10,100"],
            "--camera-height",
        ),
        (&["--surface", "900"], "outside the picture"),
        (&["--surface", "1,2,3"], "two points"),
        (&["--pole", "10,10,20,5000,400"], "outside the picture"),
        (&["--depth", "500"], "--camera-height"),
        (&["--camera-height", "0"], "give"),
        (&["--water-at", "77"], "°C"),
    ] {
        faulty(&mut swim(rest), 2, &[word]);
    }
}
