//! `truerun plan` from outside: what it prints and writes; usage faults in one line with status 2.

use assert_cmd::Command;
use predicates::prelude::*;
use serde_json::Value;

fn plan(args: &[&str]) -> (assert_cmd::assert::Assert, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(
        folder.path().join("t.toml"),
        "rate_hz = [4.3, 4.9]\nwidth_deg = { aim = 16, within = 3 }\nspeed_m_s = [0.5, 0.6]\n",
    )
    .unwrap();
    let done = Command::cargo_bin("truerun")
        .unwrap()
        .current_dir(&folder)
        .arg("plan")
        .args(args)
        .assert();
    (done, folder)
}

const ABOVE: [&str; 4] = ["--view", "above", "--length", "58"];
const KNOWN: [&str; 6] = ["--rate", "4.6", "--width", "16", "--speed", "0.55"];

fn text_of(args: &[&str]) -> String {
    let (done, _folder) = plan(args);
    let done = done.success().stderr("");
    String::from_utf8(done.get_output().stdout.clone()).unwrap()
}

fn json_of(args: &[&str]) -> Value {
    let (done, _folder) = plan(&[args, &["--json", "-", "--quiet"]].concat());
    let done = done.success().stderr("");
    serde_json::from_slice(&done.get_output().stdout).unwrap()
}

#[test]
fn text_in_mm() {
    let text = text_of(&[&ABOVE[..], &KNOWN].concat());
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    insta::assert_snapshot!(text);
}

#[test]
fn text_in_inches_from_the_dock() {
    let text = text_of(&[
        "--view", "ahead", "--length", "1.8in", "--tilt", "25", "--height", "3ft", "--units", "in",
    ]);
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    insta::assert_snapshot!(text);
}

#[test]
fn json_is_as_agreed() {
    let (done, _folder) = plan(&[&ABOVE[..], &KNOWN, &["--json", "-", "--quiet"]].concat());
    let text = String::from_utf8(done.success().get_output().stdout.clone()).unwrap();
    insta::assert_snapshot!(text);
}

/// With JSON on standard output the text goes to standard error.
#[test]
fn json_stands_alone() {
    let (done, _folder) = plan(&[&ABOVE[..], &["--json", "-"]].concat());
    let done = done
        .success()
        .stderr(predicate::str::contains("Set it up so"));
    let object: Value = serde_json::from_slice(&done.get_output().stdout).unwrap();
    assert_eq!(object["schema"], "truerun/plan/1");
    assert_eq!(object["expected"]["rate_told"], false);
}

/// A figure that is told with an option counts more than the target's, the target's more than a guess.
#[test]
fn a_target_tells_rate_width_and_speed() {
    let object = json_of(&[&ABOVE[..], &["--target", "t.toml", "--width", "12"]].concat());
    let expected = &object["expected"];
    assert_eq!(expected["rate_hz"], 4.6);
    assert_eq!(expected["width_deg"], 12.0);
    assert_eq!(expected["speed_m_s"], 0.55);
    assert_eq!(expected["speed_told"], true);
}

/// Every key is there whatever the view, null where unknown.
#[test]
fn keys_never_go_missing() {
    let keys = |value: &Value| -> Vec<String> {
        let mut found = vec![];
        fn walk(value: &Value, at: &str, found: &mut Vec<String>) {
            for (key, inner) in value.as_object().into_iter().flatten() {
                found.push(format!("{at}.{key}"));
                walk(inner, &format!("{at}.{key}"), found);
            }
        }
        walk(value, "", &mut found);
        found
    };
    let above = keys(&json_of(&ABOVE));
    for args in [
        vec![
            "--view",
            "side",
            "--length",
            "65",
            "--under-water",
            "--water",
            "salt",
        ],
        vec!["--view", "behind", "--length", "45", "--along"],
        vec![
            "--view",
            "above",
            "--length",
            "45",
            "--darts",
            "100,100.4",
            "--fps",
            "15",
        ],
    ] {
        assert_eq!(keys(&json_of(&args)), above, "{args:?}");
    }
}

#[test]
fn under_water_the_view_is_narrower() {
    let at = ["--view", "side", "--length", "65", "--distance", "0.8"];
    let (air, wet) = (
        json_of(&at),
        json_of(&[&at[..], &["--under-water"]].concat()),
    );
    assert_eq!(air["picture"]["fov_deg"], 65.0);
    assert_eq!(air["camera"]["refractive_index"], Value::Null);
    assert!(wet["picture"]["fov_deg"].as_f64().unwrap() < 48.0);
    assert!(wet["picture"]["body_px"].as_f64() > air["picture"]["body_px"].as_f64());
}

/// The page is whole in itself, and marks the view it was made for.
#[test]
fn the_sheet_needs_nothing_else() {
    for view in ["above", "behind", "ahead", "side"] {
        let (done, folder) = plan(&["--view", view, "--length", "58", "--sheet", "s.html", "-q"]);
        done.success().stdout("").stderr("");
        let page = std::fs::read_to_string(folder.path().join("s.html")).unwrap();
        for outside in ["http:", "https:", "<script", "<link", "<img", "url("] {
            assert!(!page.contains(outside), "{outside} in the page");
        }
        for caution in truerun::plan::SAFETY {
            assert!(page.contains(caution), "{caution}");
        }
        assert_eq!(page.matches("class=\"view this\"").count(), 1);
        assert_eq!(
            page.matches("class=\"view").count(),
            5,
            "four views in their row"
        );
        let marked = page.split("class=\"view this\"").nth(1).unwrap();
        let title = marked.split("Set-up: ").nth(1).unwrap().to_lowercase();
        assert!(title.starts_with(view), "{title}");
        assert!(page.contains(&format!("--view {view} --length 58")));
    }
}

/// What the sheet says to run afterwards is what `swim` takes, with all that was told of the camera.
#[test]
fn the_sheets_command_is_one_that_swim_takes() {
    for (told, says) in [
        (&["--fov", "70"][..], "--fov 70"),
        (
            &["--under-water", "--fov", "70"],
            "--fov 70 --under-water --water-at 15,0",
        ),
        (
            &["--under-water", "--water", "salt", "--water-temp", "9.5"],
            "--under-water --water-at 9.5,35",
        ),
    ] {
        let side = [
            "--view", "side", "--length", "65", "--sheet", "s.html", "-q",
        ];
        let (done, folder) = plan(&[&side, told].concat());
        done.success();
        let page = std::fs::read_to_string(folder.path().join("s.html")).unwrap();
        let command = page.split("<code>truerun ").nth(1).unwrap();
        let command = command.split("</code>").next().unwrap();
        assert!(command.ends_with(says), "{command}");
        std::fs::write(folder.path().join("CLIP.mp4"), "no clip").unwrap();
        let clip = Command::cargo_bin("truerun")
            .unwrap()
            .current_dir(&folder)
            .args(command.split(' '))
            .assert();
        let fault = String::from_utf8(clip.get_output().stderr.clone()).unwrap();
        let accepted = fault.starts_with("truerun: CLIP.mp4: this is not a video clip")
            || fault.contains("build it with the feature `video`");
        assert!(accepted, "{fault}");
    }
}

fn usage_fault(args: &[&str], says: &str) {
    let (done, folder) = plan(args);
    crate::usage_fault(done, says);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn values_that_cannot_be_meant() {
    for (args, says) in [
        (vec!["--rate", "0"], "0.2 to 40"),
        (vec!["--rate", "fast"], "not a number"),
        (vec!["--rate", "-4"], "0.2 to 40"),
        (vec!["--width", "90"], "0.5 to 80"),
        (vec!["--speed", "9"], "0.02 to 5 m/s"),
        (vec!["--distance", "0"], "0.05 to 50 m"),
        (vec!["--distance", "4yd"], "not a number"),
        (vec!["--height", "-1"], "0.05 to 50 m"),
        (vec!["--tilt", "95"], "0 to 90"),
        (vec!["--fov", "180"], "1 to 179"),
        (vec!["--fps", "0"], "frames a second"),
        (vec!["--fps", "30,x"], "not a number"),
        (vec!["--size", "1920"], "1920x1080"),
        (vec!["--size", "20x10"], "no phone films"),
        (vec!["--size", "1e9x1e9"], "1920x1080"),
        (vec!["--darts", "4"], "4,8"),
        (vec!["--darts", "4,4"], "two different"),
        (vec!["--darts", "4,-1"], "darts a minute"),
        (vec!["--rate-within", "0"], "wobbles a second"),
        (vec!["--drift-within", "NaN"], "not a number"),
        (vec!["--water", "salt"], "--under-water"),
        (vec!["--under-water", "--water", "beer"], "fresh or salt"),
        (vec!["--under-water", "--water-temp", "40.1"], "-2 to 40"),
        (vec!["--under-water", "--height", "1"], "leave out --height"),
        (vec!["--units", "yards"], "mm, in"),
        (vec!["--sheet", "s.pdf"], "end the name in .html"),
        (vec!["--sheet", "no/s.html"], "there is no folder no"),
        (vec!["--sheet", "s.html", "--json", "s.html"], "two results"),
        (
            vec!["--json", "t.toml", "--target", "t.toml"],
            "overwrite an input",
        ),
        (vec!["--colour"], "--colour"),
    ] {
        usage_fault(&[&ABOVE[..], &args].concat(), says);
    }
    usage_fault(&["--length", "58"], "--view");
    usage_fault(&["--view", "above"], "--length");
    usage_fault(&["--view", "above", "--length", "5m"], "10 to 500 mm");
    usage_fault(
        &["--view", "below", "--length", "58"],
        "above, behind, ahead or side",
    );
    let dock = ["--view", "ahead", "--length", "58"];
    usage_fault(&[&dock[..], &["--tilt", "3"]].concat(), "end-on");
    usage_fault(
        &[&dock[..], &["--height", "0.1", "--distance", "2"]].concat(),
        "end-on",
    );
    let ahead = ["--view", "ahead", "--length", "58", "--distance", "4"];
    usage_fault(
        &[&ahead[..], &["--height", "1", "--tilt", "30"]].concat(),
        "two of the three",
    );
    usage_fault(
        &[&ahead[..], &["--height", "9"]].concat(),
        "along the line of sight",
    );
}

#[test]
fn a_target_that_is_not_there() {
    let (done, _folder) = plan(&[&ABOVE[..], &["--target", "none.toml"]].concat());
    done.code(1)
        .stdout("")
        .stderr(predicate::str::contains("none.toml"));
}

#[test]
fn help_shows_examples_and_statuses() {
    let (done, _folder) = plan(&["--help"]);
    done.success().stdout(
        predicate::str::contains("hazel58-target.toml")
            .and(predicate::str::contains("Exit status")),
    );
}
