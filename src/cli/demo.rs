//! `truerun demo`: the swim test on the sample clip, with every result that there is.

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Parser};
use truerun::{Error, Result};

use super::{swim, terminal};

/// Name of the sample clip, and of the results.
const BUILD: &str = "hazel58-03";
/// Its target.
const TARGET: &str = "hazel58-target.toml";
/// What a maker would tell of the clip.
const TOLD: &str = "--view above --length 58";

/// See it work: measure the sample clip, hold it against the sample target, write a report
#[derive(Args)]
pub struct DemoArgs {
    /// Folder that holds the sample clip and its target
    #[arg(long, value_name = "FOLDER", default_value = "sample-data")]
    samples: PathBuf,
    /// Folder to write the report to
    #[arg(long, value_name = "FOLDER", default_value = "reports")]
    reports: PathBuf,
}

/// The command that the demo runs, read as if it had been typed.
#[derive(Parser)]
struct Typed {
    #[command(flatten)]
    swim: swim::SwimArgs,
}

/// Runs the command.
pub fn run(args: &DemoArgs) -> Result<ExitCode> {
    let clip = sample(&args.samples, &format!("{BUILD}.mp4"))?;
    let target = sample(&args.samples, TARGET)?;
    std::fs::create_dir_all(&args.reports).map_err(|e| Error::file(&args.reports, e))?;
    let results = Results::new(&args.reports);
    let words = words(&clip, &target, &results);
    terminal::print(&format!(
        "The sample clip is drawn, not filmed; its truth is {}.\n{}\n\n",
        args.samples.join(format!("{BUILD}.json")).display(),
        typed(&words)
    ))?;
    let typed = Typed::try_parse_from(&words).map_err(|e| {
        Error::setting(
            "demo",
            e.to_string().lines().next().unwrap_or_default(),
            "report this fault",
        )
    })?;
    let status = swim::run(&typed.swim)?;
    terminal::print(&results.told())?;
    Ok(status)
}

/// A file of the sample folder.
fn sample(folder: &Path, name: &str) -> Result<PathBuf> {
    let path = folder.join(name);
    if path.is_file() {
        return Ok(path);
    }
    Err(Error::setting(
        path.display().to_string(),
        "the sample is not here",
        "run `truerun demo` in the folder of the repository, or name its sample-data with --samples",
    ))
}

/// Where the results go.
struct Results {
    json: PathBuf,
    track: PathBuf,
    charts: [PathBuf; 2],
    overlay: PathBuf,
}

impl Results {
    fn new(folder: &Path) -> Results {
        let named = |ending: &str| folder.join(format!("{BUILD}{ending}"));
        Results {
            json: named(".json"),
            track: named("-track.csv"),
            charts: [named(".svg"), named(".png")],
            overlay: named("-overlay.mp4"),
        }
    }

    fn told(&self) -> String {
        let [svg, png] = &self.charts;
        let lines = [
            (png, "the chart sheet"),
            (svg, "the same, sharp at any size"),
            (
                &self.overlay,
                "the clip with outline, path and darts drawn in",
            ),
            (&self.json, "every figure, for programs"),
            (&self.track, "the lure in every frame"),
        ];
        let wide = lines.map(|(path, _)| path.display().to_string().chars().count());
        let wide = wide.into_iter().max().unwrap_or(0);
        let rows =
            lines.map(|(path, what)| format!("  {:<wide$}  {what}\n", path.display().to_string()));
        format!("\nThe report:\n{}", rows.concat())
    }
}

/// The command line, word by word.
fn words(clip: &Path, target: &Path, results: &Results) -> Vec<OsString> {
    let mut words: Vec<OsString> = vec!["truerun swim".into(), clip.into()];
    words.extend(TOLD.split(' ').map(OsString::from));
    let [svg, png] = &results.charts;
    for (option, path) in [
        ("--target", target),
        ("--json", &results.json),
        ("--track", &results.track),
        ("--chart", svg),
        ("--chart", png),
        ("--overlay", &results.overlay),
    ] {
        words.extend([option.into(), path.into()]);
    }
    words
}

/// The command as it would be typed, in short: the results left out.
fn typed(words: &[OsString]) -> String {
    let upto_target = words
        .iter()
        .position(|w| w == "--json")
        .unwrap_or(words.len());
    let shown: Vec<_> = words[..upto_target]
        .iter()
        .map(|w| w.to_string_lossy())
        .collect();
    format!("This runs:\n  {} …", shown.join(" "))
}
