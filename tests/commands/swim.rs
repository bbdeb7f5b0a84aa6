//! `truerun swim` and `truerun target` from outside: usage faults in one line with status 2, nothing
//! written, no panic.

use assert_cmd::Command;
use predicates::prelude::*;
use std::path::Path;

fn truerun() -> Command {
    Command::cargo_bin("truerun").unwrap()
}

/// Runs `swim` in an empty folder on a file that is there but need not be a clip.
fn swim(args: &[&str]) -> (assert_cmd::assert::Assert, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.mp4"), "not a clip").unwrap();
    let done = truerun()
        .current_dir(&folder)
        .args(["swim", "a.mp4"])
        .args(args)
        .assert();
    (done, folder)
}

fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn usage_fault(args: &[&str], says: &str) {
    let (done, folder) = swim(args);
    crate::usage_fault(done, says);
    assert_eq!(files(folder.path()), ["a.mp4"]);
}

#[test]
fn values_that_cannot_be_meant() {
    for (args, says) in [
        (
            vec!["--length", "0"],
            "--length 0: 0 mm is no lure's length",
        ),
        (vec!["--length", "NaN"], "not a number; give the body"),
        (
            vec!["--length", "-5"],
            "--length -5: -5 mm is no lure's length",
        ),
        (vec!["--length=-58"], "10 to 500 mm"),
        (vec!["--length", "5000"], "10 to 500 mm"),
        (vec!["--length", "5m"], "5000 mm is no lure's length"),
        (vec!["--box", "1,2,3"], "four numbers"),
        (vec!["--box", "1,2,0,0"], "holds nothing"),
        (vec!["--box", "1,2,-60,40"], "holds nothing"),
        (vec!["--box", "1,2,NaN,4"], "not a number; give x,y,w,h"),
        (vec!["--box", "nan,nan,nan,nan"], "not a number"),
        (vec!["--box", "1,2,30,40@-1"], "no time before 0"),
        (
            vec!["--tilt", "91"],
            "--tilt 91: cannot be meant; give 0 to 90",
        ),
        (vec!["--tilt", "-5"], "0 to 90"),
        (vec!["--fov", "180"], "1 to 179"),
        (vec!["--real-fps", "0"], "frames a second"),
        (vec!["--real-fps", "inf"], "not a number"),
        (vec!["--speed", "50"], "0.02 to 5 m/s"),
        (vec!["--pull", "north"], "not a number"),
        (vec!["--units", "yards"], "mm, in"),
        (vec!["--enforce"], "--target"),
        (vec!["--colour"], "--colour"),
    ] {
        usage_fault(&[&["--view", "above"], args.as_slice()].concat(), says);
    }
    usage_fault(&[], "--view");
    usage_fault(&["--view", "below"], "above, behind, ahead or side");
}

#[test]
fn outputs_that_cannot_be_written_fail_first() {
    let above = ["--view", "above"];
    for (args, says) in [
        (["--json", "no/a.json"], "there is no folder no"),
        (["--json", "."], "is a folder"),
        (["--track", "a.mp4"], "would overwrite an input"),
        (["--overlay", "./a.mp4"], "would overwrite an input"),
        (["--overlay", "a.gif"], "end the name in .mp4"),
        (["--overlay", "a"], "end the name in .mp4"),
        (["--overlay", "no/a.mp4"], "there is no folder no"),
        (["--chart", "a.txt"], "end the name in .svg or .png"),
        (["--track", "-"], "give the name of a file"),
    ] {
        usage_fault(&[above, args].concat(), says);
    }
    for (one, other) in [("b", "b"), ("b", "./b"), ("../b", ".././b"), ("-", "-")] {
        usage_fault(
            &["--view", "above", "--json", one, "--track", other],
            "is given for two results",
        );
    }
}

#[test]
fn a_target_with_a_typo_fails_first() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.mp4"), "not a clip").unwrap();
    std::fs::write(
        folder.path().join("t.toml"),
        "rate_hz = [4, 5]\nwidht_deg = [1, 2]\n",
    )
    .unwrap();
    truerun()
        .current_dir(&folder)
        .args([
            "swim", "a.mp4", "--view", "above", "--target", "t.toml", "--json", "a.json",
        ])
        .assert()
        .code(2)
        .stderr("truerun: t.toml, line 2, widht_deg: no such key; did you mean `width_deg`?\n");
    truerun()
        .current_dir(&folder)
        .args(["swim", "a.mp4", "--view", "above", "--target", "none.toml"])
        .assert()
        .code(1)
        .stderr("truerun: none.toml: there is no such file; check the name and the folder\n");
    assert_eq!(files(folder.path()), ["a.mp4", "t.toml"]);
}

#[test]
fn help_shows_examples_and_statuses() {
    truerun()
        .args(["swim", "--help"])
        .assert()
        .success()
        .stdout(
            predicate::str::contains("hazel58-03.mp4").and(predicate::str::contains("Exit status")),
        );
    truerun().assert().code(2).stdout("");
    truerun().arg("--version").assert().success();
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let program = assert_cmd::cargo::cargo_bin("truerun");
    let shell = format!(
        "'{}' swim --help | true; exit ${{PIPESTATUS[0]}}",
        program.display()
    );
    Command::new("bash")
        .args(["-c", &shell])
        .assert()
        .success()
        .stderr("");
}

#[test]
fn target_new_writes_what_target_check_reads() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| {
        truerun()
            .current_dir(&folder)
            .arg("target")
            .args(args)
            .assert()
    };
    run(&["new", "t.toml", "--lure", "Hazel 58"]).success();
    run(&["check", "t.toml"])
        .success()
        .stdout(predicate::str::contains("Hazel 58"));
    run(&["new", "t.toml"])
        .code(2)
        .stderr(predicate::str::contains("is there already"));
    run(&["check", "none.toml"])
        .code(1)
        .stderr(predicate::str::contains("none.toml"));
    std::fs::write(folder.path().join("r.json"), "{}").unwrap();
    run(&["new", "u.toml", "--from", "r.json"])
        .code(1)
        .stderr(predicate::str::contains("not a result of truerun"));
    assert_eq!(files(folder.path()), ["r.json", "t.toml"]);
}
