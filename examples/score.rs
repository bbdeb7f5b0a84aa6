//! Scores the swim test against clips of known truth: `cargo run --release --example score [FOLDER] [NAME…]`.
//!
//! Reads every `NAME.mp4` with its `NAME.json` in the folder (default `../shared/clips`), once with the
//! box of the lure in its first whole frame and once unaided, and prints the error of each measure.
//! Exits with 1 when a clip falls below a bar that was reached before.

#[path = "score/bars.rs"]
mod bars;
#[path = "score/compare.rs"]
mod compare;
#[path = "score/truth.rs"]
mod truth;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use truerun::swim_test::{self, SwimOptions, SwimReport};
use truth::Truth;

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    let folder = words.next().map_or_else(truth::shared_clips, PathBuf::from);
    let only: Vec<String> = words.collect();
    let names: Vec<String> = truth::names(&folder)
        .into_iter()
        .filter(|n| only.is_empty() || only.iter().any(|o| n.starts_with(o.as_str())))
        .collect();
    if names.is_empty() {
        println!("no clips with truth in {}: skipped", folder.display());
        return ExitCode::SUCCESS;
    }
    println!("{}", compare::HEADING);
    let mut fallen = Vec::new();
    for name in &names {
        let truth = match Truth::read(&folder.join(format!("{name}.json"))) {
            Ok(truth) => truth,
            Err(why) => {
                eprintln!("{name}: {why}");
                return ExitCode::FAILURE;
            }
        };
        for aided in [true, false] {
            let report = match run(&folder.join(format!("{name}.mp4")), &truth, aided) {
                Ok(report) => report,
                Err(why) => {
                    fallen.push(format!("{name}: {why}"));
                    continue;
                }
            };
            let score = compare::compare(&truth, &report);
            println!("{}", score.row(name, aided));
            fallen.extend(bars::below(name, aided, &truth, &score));
        }
    }
    for line in &fallen {
        println!("below the bar: {line}");
    }
    println!(
        "{} passed, {} failed",
        2 * names.len() - fallen.len().min(2 * names.len()),
        fallen.len()
    );
    if fallen.is_empty() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

fn run(clip: &Path, truth: &Truth, aided: bool) -> truerun::Result<SwimReport> {
    swim_test::run(
        clip,
        SwimOptions {
            setup: truth.setup(),
            start: if aided { truth.start_box() } else { None },
            real_fps: None,
            progress: &mut |_, _| {},
        },
    )
}
