//! `truerun thump` from outside: text, JSON, chart, target, clip, earlier build, faults.

use super::made::Pull;
use assert_cmd::Command;
use predicates::prelude::*;
use serde_json::{Value, json};

struct Bench(tempfile::TempDir);

impl Bench {
    fn new() -> Bench {
        let bench = Bench(tempfile::tempdir().unwrap());
        bench.put("rod.csv", &Pull::default().csv());
        bench
    }

    fn put(&self, name: &str, text: &str) {
        std::fs::write(self.0.path().join(name), text).unwrap();
    }

    fn thump(&self, args: &[&str]) -> assert_cmd::assert::Assert {
        let mut command = Command::cargo_bin("truerun").unwrap();
        command
            .current_dir(&self.0)
            .arg("thump")
            .args(args)
            .assert()
    }

    fn json(&self, args: &[&str]) -> Value {
        let done = self.thump(&[args, &["--quiet", "--json", "-"]].concat());
        serde_json::from_slice(&done.get_output().stdout).unwrap()
    }
}

#[test]
fn text_json_and_chart() {
    let bench = Bench::new();
    let done = bench
        .thump(&[
            "rod.csv", "--speed", "0.5", "--json", "a.json", "--chart", "a.svg",
        ])
        .code(0);
    let text = String::from_utf8(done.get_output().stdout.clone()).unwrap();
    for says in [
        "wobble rate   4.60",
        "thump         1.0",
        "felt thump",
        "harmonics     100 % at 4.6 Hz",
        "wobbles per metre",
    ] {
        assert!(text.contains(says), "{says}\n{text}");
    }
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    let object: Value =
        serde_json::from_slice(&std::fs::read(bench.0.path().join("a.json")).unwrap()).unwrap();
    assert_eq!(object["schema"], "truerun/thump/1");
    assert_eq!(object["found"], true);
    assert_eq!(object["recording"]["unit"], "m/s²");
    assert_eq!(object["verdict"], Value::Null);
    assert_eq!(object["clip"], Value::Null);
    let rms = object["thump"]["rms_m_s2"].as_f64().unwrap();
    assert!((object["thump"]["rms_g"].as_f64().unwrap() - rms / 9.80665).abs() < 1e-4);
    let bands = object["third_octaves"].as_array().unwrap();
    let loudest = bands
        .iter()
        .max_by(|a, b| {
            a["rms"]
                .as_f64()
                .unwrap()
                .total_cmp(&b["rms"].as_f64().unwrap())
        })
        .unwrap();
    assert!(
        (loudest["mid_hz"].as_f64().unwrap() - 5.0119).abs() < 1e-3,
        "{loudest}"
    );
    let chart = std::fs::read_to_string(bench.0.path().join("a.svg")).unwrap();
    assert!(chart.contains("Thirds of an octave") && chart.contains("wobble 4.6"));
}

#[test]
fn judged_by_the_same_target_file_as_a_swim() {
    let bench = Bench::new();
    bench.put(
        "t.toml",
        "rate_hz = [4.3, 4.9]\nwidth_deg = [14, 18]\nthump_rms_m_s2 = [0.9, 1.2]\n",
    );
    let inside = bench.json(&["rod.csv", "--target", "t.toml"]);
    assert_eq!(inside["verdict"]["overall"], "inside");
    assert_eq!(inside["verdict"]["measures"].as_array().unwrap().len(), 2);
    bench.put("t.toml", "thump_rms_m_s2 = [2, 3]\n");
    bench
        .thump(&["rod.csv", "--target", "t.toml"])
        .code(0)
        .stdout(predicate::str::contains("outside"));
    bench
        .thump(&["rod.csv", "--target", "t.toml", "--enforce", "--quiet"])
        .code(3)
        .stdout("");
    bench.put("t.toml", "rate_hz = [4.3, 4.9]\nspeed_m_s = [0.5, 0.6]\n");
    assert_eq!(
        bench.json(&["rod.csv", "--target", "t.toml", "--speed", "1.2"])["verdict"]["overall"],
        "not sure"
    );
}

#[test]
fn against_an_earlier_build() {
    let bench = Bench::new();
    bench
        .thump(&["rod.csv", "--quiet", "--json", "old.json"])
        .code(0);
    bench.put(
        "new.csv",
        &Pull {
            hz: 5.0,
            peak: 3.0,
            number: 7,
            ..Pull::default()
        }
        .csv(),
    );
    let change = &bench.json(&["new.csv", "--against", "old.json"])["change"];
    assert_eq!(change["since"], "rod.csv");
    assert!(
        (change["hz"].as_f64().unwrap() - 0.4).abs() < 0.01,
        "{change}"
    );
    assert!(
        (change["rms_ratio"].as_f64().unwrap() - 2.0).abs() < 0.1,
        "{change}"
    );
    bench
        .thump(&["rod.csv", "--against", "rod.csv"])
        .code(1)
        .stderr(predicate::str::contains("not a thump result"));
}

/// Truth: 8 Hz and 2.5 m/s² peak for each m/s.
#[test]
fn how_it_grows_with_the_retrieve_speed() {
    let bench = Bench::new();
    for (number, speed) in [(1, 0.45), (2, 0.6), (3, 0.75), (4, 0.9)] {
        let pull = Pull {
            hz: 8.0 * speed,
            peak: 2.5 * speed,
            number,
            ..Pull::default()
        };
        bench.put(&format!("{number}.csv"), &pull.csv());
        let json = format!("{number}.json");
        let speed = speed.to_string();
        bench
            .thump(&[
                &format!("{number}.csv"),
                "--speed",
                &speed,
                "-q",
                "--json",
                &json,
            ])
            .code(0);
    }
    let with = |others: &str| bench.json(&["4.csv", "--speed", "0.9", "--speeds", others]);
    let grown = &with("1.json,2.json,3.json")["by_speed"];
    assert_eq!(grown["runs"], 4);
    for (key, truth) in [("hz_per_m_s", 8.0), ("rms_m_s2_per_m_s", 2.5 / 2f64.sqrt())] {
        let ends = &grown[format!("{key}_ci95")];
        let (lo, hi) = (ends[0].as_f64().unwrap(), ends[1].as_f64().unwrap());
        assert!(lo <= truth && truth <= hi, "{grown}");
        assert!(hi - lo < 0.2 * truth, "{grown}");
    }
    bench
        .thump(&[
            "4.csv",
            "--speed",
            "0.9",
            "--speeds",
            "1.json,2.json,3.json",
        ])
        .code(0)
        .stdout(predicate::str::contains(
            "by speed      4 runs, 0.45 to 0.90 m/s; rate: grows",
        ));
    let two = &with("1.json")["by_speed"];
    assert_eq!(two["hz_per_m_s"], Value::Null);
    assert!(
        two["hz_why"]
            .as_str()
            .unwrap()
            .starts_with("cannot tell yet")
    );
    // Its own result beside it is no second run.
    assert_eq!(with("4.json,1.json")["by_speed"]["runs"], 2);
    assert_eq!(bench.json(&["4.csv"])["by_speed"], Value::Null);
    bench
        .thump(&["4.csv", "--speeds", "1.json"])
        .code(2)
        .stderr(predicate::str::contains("needs the speed"));
    bench
        .thump(&["rod.csv", "-q", "--json", "none.json"])
        .code(0);
    bench
        .thump(&["4.csv", "--speed", "0.9", "--speeds", "none.json"])
        .code(1)
        .stderr(predicate::str::contains("retrieve speed in it"));
}

/// A pull whose rate wanders, and what a clip of a part of it says by second.
fn wandering(bench: &Bench, ahead_s: f64) -> Value {
    use std::fmt::Write;
    let rate = |t: f64| 4.6 + 0.25 * (0.5 * t).sin() + 0.15 * (1.3 * t + 1.0).sin();
    let phase = |t: f64| 4.6 * t - 0.5 * (0.5 * t).cos() - 0.15 / 1.3 * (1.3 * t + 1.0).cos();
    let mut text = "time_s,a (m/s2)\n".to_string();
    for i in 0..4000 {
        let t = f64::from(i) / 100.0;
        writeln!(
            text,
            "{t:.2},{:.4}",
            9.8 + 1.5 * (std::f64::consts::TAU * phase(t)).sin()
        )
        .unwrap();
    }
    bench.put("w.csv", &text);
    let seconds: Vec<Value> = (0..12)
        .map(|i| f64::from(i) + 0.5)
        .map(|t| json!({"t_s": t, "hz": rate(t + ahead_s)}))
        .collect();
    let mean = (phase(12.0 + ahead_s) - phase(ahead_s)) / 12.0;
    json!({"schema": "truerun/swim/1", "clip": {"file": "hazel58-03.mp4"}, "wobble": {
        "status": "measured", "hz": mean, "hz_ci95": [mean - 0.03, mean + 0.03], "alias_candidates_hz": [], "by_second": seconds}})
}

#[test]
fn with_a_clip_of_the_same_pull() {
    let bench = Bench::new();
    let clip = wandering(&bench, 14.3);
    bench.put("clip.json", &clip.to_string());
    let together = bench.json(&["w.csv", "--with", "clip.json"])["clip"].clone();
    assert_eq!(together["offset_status"], "measured", "{together}");
    assert!(
        (together["offset_s"].as_f64().unwrap() - 14.3).abs() < 0.3,
        "{together}"
    );
    let mut other = clip.clone();
    other["wobble"]["hz"] = json!(6.0);
    other["wobble"]["hz_ci95"] = json!([5.9, 6.1]);
    bench.put("clip.json", &other.to_string());
    assert_eq!(
        bench.json(&["w.csv", "--with", "clip.json"])["clip"]["rates_agree"],
        false
    );
    bench
        .thump(&["w.csv", "--with", "clip.json"])
        .code(0)
        .stdout(predicate::str::contains("do NOT agree"));
}

#[test]
fn a_recording_settles_an_aliased_clip_and_a_steady_one_gives_no_offset() {
    let bench = Bench::new();
    let clip = json!({"schema": "truerun/swim/1", "clip": {"file": "c.mp4"}, "wobble": {
        "status": "aliased", "hz": null, "hz_ci95": null, "alias_candidates_hz": [4.61, 10.39], "by_second": []}});
    bench.put("clip.json", &clip.to_string());
    let together = bench.json(&["rod.csv", "--with", "clip.json"])["clip"].clone();
    assert_eq!(together["resolved_hz"], 4.61);
    assert_eq!(together["offset_status"], "unmeasurable");
    let steady: Vec<Value> = (0..8)
        .map(|i| json!({"t_s": f64::from(i) + 0.5, "hz": 4.6}))
        .collect();
    let clip = json!({"schema": "truerun/swim/1", "clip": {"file": "c.mp4"}, "wobble": {
        "status": "measured", "hz": 4.6, "hz_ci95": [4.58, 4.62], "alias_candidates_hz": [], "by_second": steady}});
    bench.put("clip.json", &clip.to_string());
    let together = bench.json(&["rod.csv", "--with", "clip.json"])["clip"].clone();
    assert_eq!(together["rates_agree"], true);
    assert_eq!(together["offset_status"], "unmeasurable", "{together}");
}

#[test]
fn nothing_to_measure_and_wrong_usage() {
    let bench = Bench::new();
    bench.put(
        "noise.csv",
        &Pull {
            peak: 0.0,
            ..Pull::default()
        }
        .csv(),
    );
    bench
        .thump(&["noise.csv"])
        .code(1)
        .stderr(predicate::str::contains("no wobble stands out"));
    assert_eq!(bench.json(&["noise.csv"])["found"], false);
    for (args, status, says) in [
        (vec!["none.csv"], 1, "there is no such file"),
        (vec!["rod.csv", "--x", "roll"], 2, "no such column"),
        (vec!["rod.csv", "--rate", "0"], 2, "rows a second"),
        (vec!["rod.csv", "--unit", "lb"], 2, "lb"),
        (vec!["rod.csv", "--cranks", "2"], 2, "line-per-crank"),
        (vec!["rod.csv", "--enforce"], 2, "target"),
        (vec!["rod.csv", "--from", "90"], 2, "leave nothing"),
        (
            vec!["rod.csv", "--json", "rod.csv"],
            2,
            "overwrite an input",
        ),
        (vec!["rod.csv", "--chart", "a.gif"], 2, ".svg or .png"),
    ] {
        let done = bench
            .thump(&args)
            .code(status)
            .stdout("")
            .stderr(predicate::str::contains(says));
        let told = String::from_utf8(done.get_output().stderr.clone()).unwrap();
        assert_eq!(told.lines().count(), 1, "{told}");
    }
}

#[test]
fn the_same_command_gives_the_same_bytes() {
    let bench = Bench::new();
    assert_eq!(bench.json(&["rod.csv"]), bench.json(&["rod.csv"]));
}
