//! `kill -9` at random moments, and two processes writing at once: nothing acknowledged is lost.
//!
//! The writer is this test program run again with a variable set: it saves test after test and prints
//! the number of each once the record has acknowledged it.

use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use rand::{Rng, SeedableRng};
use truerun::record::{NewTest, Record, TestKind};

use crate::results::{new_build, place, swim, with_builds};

const WRITER: &str = "TRUERUN_TEST_WRITER";
const RUNS: usize = 200;

/// Not a test of its own: what the child processes run.
#[test]
fn writer() {
    let Ok(path) = std::env::var(WRITER) else {
        return;
    };
    let (path, most) = path.split_once('|').unwrap();
    // The first process makes the record, so that kills fall into that too.
    let mut record = Record::open(Path::new(path)).unwrap();
    if record.lures(true).unwrap().is_empty() {
        drop(record);
        record = with_builds(Path::new(path), &[]);
    }
    if record.build("hazel58-03").is_err() {
        record.add_build(&new_build("hazel58-03")).unwrap();
    }
    for _ in 0..most.parse::<usize>().unwrap() {
        let result = swim(4.6, 3.0, Some(0.5));
        let test = NewTest::default();
        let id = record
            .save_test("hazel58-03", TestKind::Swim, &test, &result)
            .unwrap();
        println!("saved {id}");
    }
}

fn start(path: &Path, most: usize) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args([
            "crash::writer",
            "--exact",
            "--nocapture",
            "--test-threads=1",
        ])
        .env(WRITER, format!("{}|{most}", path.display()))
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

fn acknowledged(child: &mut Child) -> Vec<i64> {
    let out = child.stdout.take().unwrap();
    BufReader::new(out)
        .lines()
        .map_while(Result::ok)
        .filter_map(|line| number(&line))
        .collect()
}

/// The number acknowledged in a line of the writer.
fn number(line: &str) -> Option<i64> {
    line.rsplit_once("saved ")
        .and_then(|(_, id)| id.parse().ok())
}

fn saved(path: &Path) -> Vec<i64> {
    let record = Record::open_existing(path).unwrap();
    assert_eq!(record.check().unwrap(), Vec::<String>::new());
    let Ok(build) = record.build("hazel58-03") else {
        return Vec::new();
    };
    record
        .runs(&build)
        .unwrap()
        .iter()
        .map(|run| run.test.id)
        .collect()
}

#[test]
fn killed_at_any_moment_every_acknowledged_test_is_there() {
    let mut chance = rand_chacha::ChaCha8Rng::seed_from_u64(4);
    let (mut folder, mut path) = place();
    let mut known: Vec<i64> = Vec::new();
    let (mut total, mut unacknowledged) = (0, 0);
    for run in 0..RUNS {
        if run % 20 == 0 {
            (folder, path) = place();
            known.clear();
        }
        let mut child = start(&path, usize::MAX);
        // Half the kills fall anywhere from the start on, half surely into the writing.
        let out = BufReader::new(child.stdout.take().unwrap());
        let mut lines = out.lines().map_while(Result::ok);
        let mut acknowledged: Vec<i64> = Vec::new();
        let after = match run % 2 {
            0 => 500..80_000,
            _ => {
                acknowledged.extend(lines.find_map(|line| number(&line)));
                100..30_000
            }
        };
        std::thread::sleep(Duration::from_micros(chance.random_range(after)));
        child.kill().unwrap();
        acknowledged.extend(lines.filter_map(|line| number(&line)));
        child.wait().unwrap();
        total += acknowledged.len();
        known.append(&mut acknowledged);
        if path.exists() {
            let there = saved(&path);
            let lost: Vec<&i64> = known.iter().filter(|id| !there.contains(id)).collect();
            assert!(
                lost.is_empty(),
                "run {run}: lost {lost:?} of {}",
                known.len()
            );
            unacknowledged += there.len() - known.len();
            known = there;
        } else {
            assert!(known.is_empty());
        }
    }
    drop(folder);
    println!(
        "{RUNS} kills, {total} acknowledged tests, all there ({unacknowledged} saved whole but not yet told)"
    );
    // Kills that all came before the first save would prove nothing.
    assert!(
        total > RUNS,
        "only {total} tests were saved before the kills"
    );
}

#[test]
fn two_processes_at_once_both_succeed() {
    let (_folder, path) = place();
    with_builds(&path, &["hazel58-03"]);
    let mut children = [start(&path, 40), start(&path, 40)];
    let mut all: Vec<i64> = children.iter_mut().flat_map(acknowledged).collect();
    for child in &mut children {
        assert!(child.wait().unwrap().success());
    }
    all.sort_unstable();
    assert_eq!(all, (1..=80).collect::<Vec<i64>>());
    assert_eq!(saved(&path).len(), 80);
}

#[test]
fn reading_while_another_writes() {
    let (_folder, path) = place();
    with_builds(&path, &["hazel58-03"]);
    let mut child = start(&path, 60);
    let mut first = [0u8; 1];
    child
        .stdout
        .as_mut()
        .unwrap()
        .read_exact(&mut first)
        .unwrap();
    for _ in 0..20 {
        saved(&path);
    }
    acknowledged(&mut child);
    assert!(child.wait().unwrap().success());
}
