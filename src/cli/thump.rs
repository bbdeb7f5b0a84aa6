//! `truerun thump`: a rod-tip recording in, figures and a verdict out.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, ValueEnum};
use truerun::media::{AccelerationUnit, LogOptions, Recording, read_recording};
use truerun::motion::thump::{self, ClipWobble, Thump, ThumpOptions, Together};
use truerun::record::TestKind;
use truerun::report::{self, OutFile, TextStyle, ThumpChart, ThumpDocument};
use truerun::tuning::{self, BySpeed, Call, Change, Earlier, Target, ThumpAtSpeed};
use truerun::{Error, Result};

use super::record::SaveArgs;
use super::{outputs, terminal, values};

const EXAMPLES: &str = "\
Examples:
  truerun thump hazel58-03-rod.csv
  truerun thump hazel58-03-rod.csv --speed 0.55 --target hazel58-target.toml
  truerun thump hazel58-03-rod.wav --from 2 --to 20 --chart thump.svg
  truerun thump hazel58-03-rod.csv --with hazel58-03.json
  truerun thump hazel58-03-rod.csv --save hazel58-03 --where reservoir
  truerun thump hazel58-04-rod.csv --against hazel58-03-thump.json
  truerun thump fast.csv --speed 0.8 --speeds slow.json,middle.json
  truerun thump plain.csv --rate 200 --x 2 --y 3 --z 4 --unit g --json - | less

Exit status: 0 measured, 1 could not measure, 2 wrong usage, 3 outside the target (--enforce).";

/// Measure a rod-tip recording: rate and strength of the thump
#[derive(Args)]
#[command(after_help = EXAMPLES)]
pub struct ThumpArgs {
    /// The recording: a logger's CSV, a WAV file, or a phone clip (mp4, mov) for its sound
    recording: PathBuf,
    /// Column of the time, by name or number [told by the header]
    #[arg(long, value_name = "COLUMN")]
    time: Option<String>,
    /// Column of the first axis, by name or number [told by the header]
    #[arg(long, value_name = "COLUMN")]
    x: Option<String>,
    /// Column of the second axis
    #[arg(long, value_name = "COLUMN")]
    y: Option<String>,
    /// Column of the third axis
    #[arg(long, value_name = "COLUMN")]
    z: Option<String>,
    /// Unit of the acceleration [told by the header, or by the size of gravity]
    #[arg(long, value_enum, value_name = "g|mg|m/s2")]
    unit: Option<UnitName>,
    /// Rows a second, in place of the file's own time
    #[arg(long, value_parser = values::row_rate, value_name = "N", allow_hyphen_values = true)]
    rate: Option<f64>,
    /// Look from this second on [pulls are found by themselves]
    #[arg(long, value_parser = values::seconds, value_name = "S", allow_hyphen_values = true)]
    from: Option<f64>,
    /// Look up to this second
    #[arg(long, value_parser = values::seconds, value_name = "S", allow_hyphen_values = true)]
    to: Option<f64>,
    /// Retrieve speed, m/s
    #[arg(long, value_parser = values::speed_m_s, value_name = "M/S", allow_hyphen_values = true, conflicts_with = "cranks")]
    speed: Option<f64>,
    /// Cranks of the reel per second, for the retrieve speed
    #[arg(long, value_parser = values::cranks, value_name = "N", requires = "line_per_crank", allow_hyphen_values = true)]
    cranks: Option<f64>,
    /// Line that one crank takes in, m
    #[arg(long, value_parser = values::line_m, value_name = "M", requires = "cranks", allow_hyphen_values = true)]
    line_per_crank: Option<f64>,
    /// A swim result of the same pull (JSON), to be put on one time with the recording
    #[arg(long, value_name = "CLIP.json")]
    with: Option<PathBuf>,
    /// An earlier thump result (JSON), to tell what changed
    #[arg(long, value_name = "EARLIER.json")]
    against: Option<PathBuf>,
    /// Thump results (JSON) of the same lure and rod at other known speeds, to tell how it grows with the speed
    #[arg(long, value_name = "A.json,B.json", value_delimiter = ',')]
    speeds: Vec<PathBuf>,
    /// Hold the figures against a target file
    #[arg(long, value_name = "FILE")]
    target: Option<PathBuf>,
    /// Exit with status 3 where the lure is outside the target
    #[arg(long, requires = "target")]
    enforce: bool,
    /// Print nothing but faults (and JSON where asked for)
    #[arg(long, short)]
    quiet: bool,
    /// Write the result as JSON (`-`: standard output, and nothing else there)
    #[arg(long, value_name = "FILE", help_heading = "Results")]
    json: Option<PathBuf>,
    /// Write the chart sheet: acceleration, spectrum, rate over time, third-octaves (.svg or .png)
    #[arg(long, value_name = "FILE", help_heading = "Results")]
    chart: Option<PathBuf>,
    #[command(flatten)]
    save: SaveArgs,
}

#[derive(Clone, Copy, ValueEnum)]
enum UnitName {
    G,
    Mg,
    #[value(name = "m/s2", alias = "ms2")]
    MetresPerSecond2,
}

/// Runs the command.
pub fn run(args: &ThumpArgs) -> Result<ExitCode> {
    let (json, chart) = args.outputs()?;
    let target = args.target.as_deref().map(Target::read).transpose()?;
    let clip = args
        .with
        .as_deref()
        .map(|path| result(path, "swim", ClipWobble::of))
        .transpose()?;
    let earlier = args
        .against
        .as_deref()
        .map(|path| result(path, "thump", Earlier::of))
        .transpose()?;
    let others = args.other_speeds()?;
    let saving = args.save.ready()?;
    let recording = read_recording(&args.recording, &args.log_options())?;
    let (thump, trace) = thump::analyse(&recording, &args.options())?;
    let together: Option<Together> =
        clip.map(|clip| thump::together(&thump, &clip, recording.start_doubt_s));
    let change: Option<Change> = earlier.as_ref().map(|e| e.change_to(&thump));
    let by_speed: Option<BySpeed> = (!others.is_empty()).then(|| {
        let runs: Vec<ThumpAtSpeed> = others
            .into_iter()
            .chain(ThumpAtSpeed::of_thump(&thump))
            .collect();
        tuning::thump_by_speed(&runs)
    });
    let verdict = target
        .filter(|_| thump.found)
        .map(|t| tuning::judge_thump(&t, &thump));
    let document = ThumpDocument {
        recording: &recording,
        thump: &thump,
        together: together.as_ref(),
        change: earlier
            .as_ref()
            .zip(change.as_ref())
            .map(|(e, c)| (e.file.as_str(), c)),
        by_speed: by_speed.as_ref(),
        verdict: verdict.as_ref(),
    };
    if let Some(file) = chart {
        report::write_thump_chart(
            &ThumpChart {
                document: &document,
                trace: &trace,
            },
            &file,
        )?;
    }
    if let Some(file) = json {
        file.write(report::thump_json(&document).as_bytes())?;
    }
    if let Some(saving) = saving.filter(|_| thump.found) {
        saving.save(TestKind::Thump, &report::thump_json(&document), args.quiet)?;
    }
    show(args, &document)?;
    let outside = verdict.as_ref().is_some_and(|v| v.overall == Call::Outside);
    Ok(status(args, &recording, &thump, outside))
}

fn status(args: &ThumpArgs, recording: &Recording, thump: &Thump, outside: bool) -> ExitCode {
    if !thump.found {
        terminal::complain(&format!(
            "{}: no wobble stands out of its noise; look that the sensor sits firmly, and record a longer steady pull",
            recording.file
        ));
        ExitCode::from(1)
    } else if args.enforce && outside {
        ExitCode::from(3)
    } else {
        ExitCode::SUCCESS
    }
}

fn show(args: &ThumpArgs, document: &ThumpDocument) -> Result<()> {
    let style = |colour| TextStyle {
        colour,
        ..TextStyle::default()
    };
    let to_stdout = args.json_to_stdout();
    if to_stdout {
        terminal::print(&report::thump_json(document))?;
    }
    match (args.quiet, to_stdout) {
        (true, _) => Ok(()),
        (false, true) => {
            terminal::say(&report::thump_text(
                document,
                &style(terminal::colour(&std::io::stderr())),
            ));
            Ok(())
        }
        (false, false) => terminal::print(&report::thump_text(
            document,
            &style(terminal::colour(&std::io::stdout())),
        )),
    }
}

/// A JSON result of the kind named.
fn result<T>(path: &Path, kind: &str, of: impl Fn(&serde_json::Value) -> Option<T>) -> Result<T> {
    let text = std::fs::read(path).map_err(|e| Error::file(path, e))?;
    serde_json::from_slice(&text)
        .ok()
        .and_then(|value| of(&value))
        .ok_or_else(|| {
            Error::unreadable(
                path,
                format!("not a {kind} result"),
                format!("give a file that `truerun {kind} FILE --json FILE` wrote"),
            )
        })
}

impl ThumpArgs {
    fn json_to_stdout(&self) -> bool {
        self.json.as_deref() == Some(Path::new("-"))
    }

    fn outputs(&self) -> Result<(Option<OutFile>, Option<OutFile>)> {
        let record = self.save.record_path();
        let inputs: Vec<&Path> = [
            Some(&self.recording),
            self.with.as_ref(),
            self.against.as_ref(),
            self.target.as_ref(),
            record.as_ref(),
        ]
        .into_iter()
        .flatten()
        .chain(&self.speeds)
        .map(PathBuf::as_path)
        .collect();
        outputs::all_different(self.json.iter().chain(&self.chart))?;
        let json = self.json.as_deref().filter(|_| !self.json_to_stdout());
        let out = |option: &str, path: Option<&Path>, endings: &[&str]| {
            path.map(|path| outputs::checked(option, path, endings, &inputs))
                .transpose()
        };
        Ok((
            out("--json", json, &[])?,
            out("--chart", self.chart.as_deref(), &["svg", "png"])?,
        ))
    }

    /// The results at other speeds.
    fn other_speeds(&self) -> Result<Vec<ThumpAtSpeed>> {
        if !self.speeds.is_empty() && self.options().speed_m_s.is_none() {
            return Err(Error::setting(
                "--speeds",
                "needs the speed of this pull too",
                "give --speed, or --cranks with --line-per-crank",
            ));
        }
        let one = |path: &PathBuf| {
            let text = std::fs::read(path).map_err(|e| Error::file(path, e))?;
            serde_json::from_slice(&text)
                .ok()
                .and_then(|value| ThumpAtSpeed::of_result(&value))
                .ok_or_else(|| {
                    Error::unreadable(
                        path,
                        "not a thump result with a retrieve speed in it",
                        "measure that recording again with --speed and --json",
                    )
                })
        };
        self.speeds.iter().map(one).collect()
    }

    fn log_options(&self) -> LogOptions {
        LogOptions {
            time: self.time.clone(),
            x: self.x.clone(),
            y: self.y.clone(),
            z: self.z.clone(),
            unit: self.unit.map(|unit| match unit {
                UnitName::G => AccelerationUnit::G,
                UnitName::Mg => AccelerationUnit::MilliG,
                UnitName::MetresPerSecond2 => AccelerationUnit::MetresPerSecond2,
            }),
            rate_hz: self.rate,
        }
    }

    fn options(&self) -> ThumpOptions {
        let by_crank = self
            .cranks
            .zip(self.line_per_crank)
            .map(|(cranks, line)| cranks * line);
        ThumpOptions {
            from_s: self.from,
            to_s: self.to,
            speed_m_s: self.speed.or(by_crank),
        }
    }
}
