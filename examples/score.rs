//! Scores the swim test against clips of known truth:
//! `cargo run --release --example score -- [--scenes | --copies | --chance=SEED [--count=N]] [--bars]
//! [--box|--unaided] [FOLDER] [NAME…]`
//!
//! Takes every `NAME.mp4` with its `NAME.json` in the folder (default `../shared/clips`), or with
//! `--scenes` draws every scene of `sample-data/scenes` on the spot, with `--copies` makes changed copies of the
//! shared clips, with `--chance` draws scenes that nobody chose (both into the folder, where one that is there is
//! named, and keeps them). Each is measured once with the box
//! of the lure in its first whole frame and once unaided, or in one of the two ways; a row tells the error of each
//! measure. Exits with 1 when a clip falls below a bar that was reached before. `--bars` prints what was
//! reached as new bars instead of judging by the old ones.

#[path = "score/bars.rs"]
mod bars;
#[path = "score/chance.rs"]
mod chance;
#[path = "score/clips.rs"]
mod clips;
#[path = "score/compare.rs"]
mod compare;
#[path = "score/copies.rs"]
mod copies;
#[path = "score/frames.rs"]
mod frames;
#[path = "score/table.rs"]
mod table;
#[path = "score/truth.rs"]
mod truth;

use std::process::ExitCode;

use bars::Bars;
use clips::{Ask, KnownClip};
use compare::{Score, compare};
use truerun::swim_test::{self, SwimOptions};
use truth::Truth;

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

fn main() -> ExitCode {
    let ask = Ask::read(std::env::args().skip(1));
    match ask.and_then(|ask| score(&ask)) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(why) => {
            eprintln!("score: {why}");
            ExitCode::FAILURE
        }
    }
}

/// Scores what was asked for; whether everything stayed above its bar.
fn score(ask: &Ask) -> Outcome<bool> {
    let drawn = tempfile::tempdir()?;
    let clips = ask.clips(drawn.path())?;
    if clips.is_empty() {
        println!("no clips with truth in {}: skipped", ask.place());
        return Ok(true);
    }
    let bars = Bars::read()?;
    let (mut scores, mut fallen, mut misses) = (Vec::new(), Vec::new(), Vec::new());
    println!("{}", table::heading());
    for clip in &clips {
        let truth = Truth::read(&clip.truth)?;
        for start in truth.starts().iter().filter(|start| ask.tries(start)) {
            let score = match measure(clip, &truth, start) {
                Ok(score) => score,
                Err(why) => {
                    fallen.push(format!("{}, {start}: {why}", clip.name));
                    continue;
                }
            };
            println!("{}", table::row(&clip.name, start, &score));
            if ask.print_bars {
                eprint!("{}", bars::reached(&clip.name, start, &score));
            }
            misses.extend(table::misses(&clip.name, start, &score));
            fallen.extend(bars.below(&clip.name, start, &score));
            scores.push(score);
        }
    }
    for line in &misses {
        println!("{line}");
    }
    println!("{}", table::holding(&scores));
    if let Some(short) = bars.intervals_short(&scores) {
        println!("{short}");
    }
    // Few clips, or other ones, say nothing of the part that was reached over all of them.
    if ask.all_shared() {
        fallen.extend(bars.intervals_below(&scores));
    }
    for line in &fallen {
        println!("below the bar: {line}");
    }
    println!("{} runs, {} below a bar", scores.len(), fallen.len());
    Ok(fallen.is_empty() || ask.print_bars)
}

fn measure(clip: &KnownClip, truth: &Truth, start: &str) -> truerun::Result<Score> {
    let report = swim_test::run(
        &clip.clip,
        SwimOptions {
            setup: truth.setup(),
            start: truth.start_box().filter(|_| start == truth::BOX),
            real_fps: truth.real_fps(),
            optics: Default::default(),
            progress: &mut |_, _| {},
        },
    )?;
    Ok(compare(truth, &report.track, &report.swim))
}
