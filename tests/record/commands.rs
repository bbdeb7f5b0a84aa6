//! The commands from outside, as the README shows them.

use assert_cmd::Command;
use predicates::prelude::*;
use tempfile::TempDir;

use crate::results::swim;

pub struct Bench(TempDir);

impl Bench {
    /// A folder of its own for the user's data.
    pub fn empty() -> Bench {
        Bench(tempfile::tempdir().unwrap())
    }

    pub fn folder(&self) -> &std::path::Path {
        self.0.path()
    }

    /// Where the record goes by itself.
    pub fn record(&self) -> std::path::PathBuf {
        self.0.path().join("truerun/record.truerun")
    }

    fn new() -> Bench {
        let bench = Bench::empty();
        bench.says(
            &["lure", "add", "Hazel 58", "--length", "58"],
            "Entered the lure Hazel 58",
        );
        bench.says(
            &[
                "lure",
                "add",
                "hazel58-03",
                "--of",
                "Hazel 58",
                "--mass",
                "9.4",
            ],
            "Entered",
        );
        bench
    }

    pub fn run(&self, args: &[&str]) -> assert_cmd::assert::Assert {
        Command::cargo_bin("truerun")
            .unwrap()
            .current_dir(&self.0)
            .env("XDG_DATA_HOME", self.0.path())
            .args(args)
            .assert()
    }

    pub fn says(&self, args: &[&str], text: &str) {
        self.run(args)
            .success()
            .stdout(predicate::str::contains(text));
    }

    fn test(&self, build: &str, hz: f64, drift: f64) {
        let file = self.0.path().join("result.json");
        std::fs::write(&file, swim(hz, drift, Some(0.5))).unwrap();
        self.says(
            &["lure", "test", build, "result.json", "--where", "reservoir"],
            "Saved as test",
        );
    }
}

#[test]
fn the_round_of_a_build() {
    let bench = Bench::new();
    bench.says(&["bend", "hazel58-03"], "Test it first");
    bench.test("hazel58-03", 4.6, 5.0);
    bench.says(
        &["bend", "hazel58-03"],
        "truerun bend hazel58-03 --left 0.30",
    );
    bench.says(
        &["bend", "hazel58-03"],
        "Bend the line tie toward the lure's own left",
    );
    bench.says(
        &["bend", "hazel58-03", "--left", "0.3"],
        "its own left (your right as it comes",
    );
    bench.says(&["bend", "hazel58-03"], "Pull it again");
    bench.test("hazel58-03", 4.6, 2.9);
    bench.says(&["bend", "hazel58-03"], "from 1 tested bend");
    bench.says(
        &["lure", "show", "hazel58-03"],
        "drift 5.0 degrees to its own right (your left",
    );
    bench.says(&["lure", "list"], "Hazel 58   58 mm       1      2");
    bench.says(&["lure", "check"], "is in order");
    bench.says(
        &["lure", "show", "Hazel 58", "--report", "a.html"],
        "Wrote a.html",
    );
    assert!(bench.0.path().join("truerun/record.truerun").is_file());
}

#[test]
fn a_mirrored_run_gets_the_mirrored_bend() {
    let bench = Bench::new();
    bench.test("hazel58-03", 4.6, -5.0);
    bench.says(
        &["bend", "hazel58-03"],
        "Bend the line tie toward the lure's own right",
    );
    bench.says(&["bend", "hazel58-03"], "--right 0.30");
}

#[test]
fn builds_compared() {
    let bench = Bench::new();
    bench.says(
        &[
            "lure",
            "add",
            "hazel58-04",
            "--of",
            "hazel 58",
            "--cast",
            "--from",
            "hazel58-03",
        ],
        "Entered",
    );
    for (a, b) in [(4.60, 5.00), (4.62, 5.03), (4.58, 4.98)] {
        bench.test("hazel58-03", a, 0.0);
        bench.test("hazel58-04", b, 0.0);
    }
    bench.says(
        &["compare", "hazel58-03", "hazel58-04"],
        "different: 4.60 → 5.00 Hz",
    );
    bench.says(
        &[
            "compare",
            "hazel58-03",
            "hazel58-04",
            "--within",
            "rate_hz=2",
        ],
        "same, within 2",
    );
    let json = bench
        .run(&["compare", "hazel58-03", "hazel58-04", "--json", "-"])
        .success();
    let object: serde_json::Value = serde_json::from_slice(&json.get_output().stdout).unwrap();
    assert_eq!(object["comparisons"][0]["says"], "different");
    // Before and after a change.
    bench.says(
        &["lure", "change", "hazel58-03", "lip", "--note", "1 mm off"],
        "Logged as change 7",
    );
    bench.test("hazel58-03", 5.2, 0.0);
    bench.says(
        &["compare", "hazel58-03"],
        "hazel58-03 after it against hazel58-03 before change 7",
    );
}

#[test]
fn out_and_back_in() {
    let bench = Bench::new();
    bench.test("hazel58-03", 4.6, 5.0);
    bench.says(&["export", "all.json"], "Wrote");
    bench.says(&["export", "csv", "--csv"], "Wrote");
    assert!(bench.0.path().join("csv/figure.csv").is_file());
    bench.says(
        &["import", "all.json", "--record", "new.truerun"],
        "Restored",
    );
    bench.says(
        &["export", "again.json", "--record", "new.truerun"],
        "Wrote",
    );
    let read = |name| std::fs::read(bench.0.path().join(name)).unwrap();
    assert_eq!(read("all.json"), read("again.json"));
    bench.run(&["export", "truerun/record.truerun"]).code(2);
}

#[test]
fn faults_of_use_in_one_line() {
    let bench = Bench::new();
    for args in [
        &["lure", "show", "hazel58-30"][..],
        &["lure", "add", "hazel58-03", "--of", "Hazel 58"],
        &["lure", "add", "x", "--of", "Thistle 45"],
        &["lure", "add", "x", "--mass", "9"],
        &["bend", "hazel58-03", "--left", "0.3", "--right", "0.3"],
        &["bend", "hazel58-03", "--left", "-1"],
        &["bend", "nobody"],
        &["compare", "hazel58-03"],
        &["compare", "hazel58-03", "hazel58-99"],
        &[
            "compare",
            "hazel58-03",
            "hazel58-03",
            "--within",
            "colour=3",
        ],
        &["lure", "change", "hazel58-03", "tie"],
        &["swim", "a.mp4", "--view", "above", "--save", "nobody"],
        &["swim", "a.mp4", "--view", "above", "--where", "lake"],
        &["lure", "list", "--record", "gone.truerun"],
    ] {
        let stderr = bench.run(args).code(2).get_output().stderr.clone();
        let stderr = String::from_utf8(stderr).unwrap();
        assert_eq!(stderr.lines().count(), 1, "{args:?}: {stderr}");
    }
}

#[test]
fn a_thump_test_is_saved_and_charted() {
    let bench = Bench::new();
    let rod = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/sample-data/hazel58-03-rod.csv"
    );
    bench.says(&["thump", rod, "--save", "hazel58-03"], "thump");
    bench.says(&["lure", "show", "hazel58-03"], "thump.rms_m_s2 1.00");
    bench.says(&["lure", "show", "Hazel 58", "--report", "a.html"], "Wrote");
    let page = std::fs::read_to_string(bench.folder().join("a.html")).unwrap();
    assert!(page.contains("Thump: rms m s2"));
    bench.says(&["lure", "check"], "is in order");
}
