//! `truerun batch`: every copy against the keeper, from the record or from a folder of clips.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;
use truerun::Result;
use truerun::camera::View;
use truerun::record::{Build, Entry, Record};
use truerun::report::{self, Tested};

use super::outputs::{all_different, checked};
use super::record::RecordArg;
use super::{terminal, values};

const EXAMPLES: &str = "\
Examples:
  truerun batch casts/ --keeper hazel58-03 --view above --length 58 --save
  truerun batch --keeper hazel58-03 --chart casts.svg      the casts that are in the record

A clip is called as its build, with what you like after an underscore: hazel58-c01.mp4,
hazel58-c01_2.mp4. They are charted in the order of their names.";

/// Chart the casts against their keeper: measured from a folder of clips, or from the record
#[derive(Args)]
#[command(after_help = EXAMPLES)]
pub struct BatchArgs {
    /// Folder of clips to measure, in parallel [the tests in the record]
    folder: Option<PathBuf>,
    /// The build that the casts are held against
    #[arg(long, value_name = "BUILD")]
    keeper: String,
    /// With a folder: from where all are filmed
    #[arg(long, value_parser = values::view, value_name = "above|behind|ahead|side", requires = "folder")]
    view: Option<View>,
    /// With a folder: body length without lip [that of the keeper's lure]
    #[arg(long, value_parser = values::length_mm, value_name = "MM", requires = "folder", allow_hyphen_values = true)]
    length: Option<f64>,
    /// With a folder: how far the camera, at the middle of its picture, looks down on the lure, degrees
    #[arg(long, value_parser = values::tilt_deg, value_name = "DEG", requires = "folder", allow_hyphen_values = true)]
    tilt: Option<f64>,
    /// With a folder: speed through the water, m/s
    #[arg(long, value_parser = values::speed_m_s, value_name = "M/S", requires = "folder", allow_hyphen_values = true)]
    speed: Option<f64>,
    /// With a folder: save each clip's test to the record, where its build must be
    #[arg(long, requires = "folder")]
    save: bool,
    /// Write the charts as SVG
    #[arg(long, value_name = "FILE.svg")]
    chart: Option<PathBuf>,
    /// Write the charts' figures as JSON
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
    #[command(flatten)]
    record: RecordArg,
}

/// Runs the command.
pub fn run(args: &BatchArgs) -> Result<ExitCode> {
    all_different(args.chart.iter().chain(&args.json))?;
    let mut record = args.record.open_existing()?;
    let out = |option, path: &Option<PathBuf>, extensions| {
        path.as_deref()
            .map(|path| checked(option, path, extensions, &[record.path()]))
            .transpose()
    };
    let chart = out("--chart", &args.chart, &["svg"])?;
    let json = out("--json", &args.json, &[])?;
    let keeper = record.build(&args.keeper)?;
    let (casts, failed) = match &args.folder {
        None => (recorded_casts(&record, &keeper)?, 0),
        Some(folder) => clips::measure(args, folder, &mut record, &keeper)?,
    };
    let keeper = tested(&record, &keeper)?;
    let sheets = report::cast_sheets(&keeper, &casts);
    if let Some(out) = chart.filter(|_| !sheets.is_empty()) {
        out.write(report::cast_svg(&sheets)?.as_bytes())?;
    }
    if let Some(out) = json {
        out.write(report::cast_json(&keeper.name, &sheets).as_bytes())?;
    }
    terminal::print(&report::cast_text(&keeper.name, &sheets))?;
    Ok(ExitCode::from(u8::from(failed > 0)))
}

/// The casts of the keeper that are in use, in the order in which they were entered.
fn recorded_casts(record: &Record, keeper: &Build) -> Result<Vec<Tested>> {
    record
        .builds(keeper.lure_id)?
        .iter()
        .filter(|build| build.parent_id == Some(keeper.id) && build.retired_at.is_none())
        .map(|build| tested(record, build))
        .collect()
}

/// A build with the figures of its tests since its last change: what it is now.
fn tested(record: &Record, build: &Build) -> Result<Tested> {
    let life = record.life(build)?;
    let figures = life.iter().rev().map_while(|entry| match entry {
        Entry::Run(run) => Some(run.figures.clone()),
        Entry::Change(_) => None,
    });
    Ok(Tested {
        name: build.name.clone(),
        figures: figures.collect(),
    })
}

#[cfg(not(feature = "video"))]
mod clips {
    use super::{BatchArgs, Build, Record, Result, Tested};
    use std::path::Path;

    /// Refuses: this build cannot read clips.
    pub fn measure(
        args: &BatchArgs,
        _folder: &Path,
        _record: &mut Record,
        _keeper: &Build,
    ) -> Result<(Vec<Tested>, usize)> {
        let _ = (args.view, args.length, args.tilt, args.speed, args.save);
        Err(truerun::Error::setting(
            "batch",
            "this build of truerun cannot read clips",
            "build it with the feature `video`",
        ))
    }
}

#[cfg(feature = "video")]
mod clips {
    use super::{BatchArgs, Build, Record, Result, Tested};
    use crate::cli::terminal;
    use std::collections::BTreeMap;
    use std::path::{Path, PathBuf};
    use std::{panic, thread};
    use truerun::Error;
    use truerun::camera::Setup;
    use truerun::record::{NewTest, TestKind, figures_of};
    use truerun::report::{self, SwimDocument};
    use truerun::swim_test::{self, Optics, SwimOptions};
    use truerun::tuning;

    const CLIPS: [&str; 4] = ["mp4", "mov", "mkv", "avi"];

    /// Measures every clip of the folder, several at a time; returns the casts in the order of their
    /// names, and how many clips could not be measured (each is told).
    pub fn measure(
        args: &BatchArgs,
        folder: &Path,
        record: &mut Record,
        keeper: &Build,
    ) -> Result<(Vec<Tested>, usize)> {
        let clips = clips_of(folder)?;
        if args.save {
            for clip in &clips {
                record.build(&build_of(clip))?;
            }
        }
        let view = args.view.ok_or_else(|| {
            Error::setting(
                "--view",
                "is missing",
                "say from where the clips are filmed",
            )
        })?;
        let setup = Setup {
            length_mm: args.length.or(record.lure_of_id(keeper.lure_id)?.length_mm),
            tilt_deg: args.tilt,
            speed_m_s: args.speed,
            ..Setup::new(view)
        };
        let results = several_at_a_time(&clips, &setup);
        let mut casts: BTreeMap<String, Tested> = BTreeMap::new();
        let mut failed = 0;
        for (clip, result) in clips.iter().zip(results) {
            let name = build_of(clip);
            let result = match result {
                Ok(result) => result,
                Err(e) => {
                    terminal::complain(&e.to_string());
                    failed += 1;
                    continue;
                }
            };
            if args.save {
                record.save_test(&name, TestKind::Swim, &NewTest::default(), &result)?;
            }
            let figures = figures_of(TestKind::Swim, &result);
            let tested = casts.entry(name.clone()).or_insert_with(|| Tested {
                name,
                figures: Vec::new(),
            });
            tested.figures.push(figures);
        }
        Ok((casts.into_values().collect(), failed))
    }

    /// The results in the order of the clips, measured on threads of our own: on those that share the search within a clip,
    /// one that waits there would begin another clip.
    fn several_at_a_time(clips: &[PathBuf], setup: &Setup) -> Vec<Result<String>> {
        let at_a_time = thread::available_parallelism().map_or(1, |n| n.get());
        let share = clips.len().div_ceil(at_a_time).max(1);
        thread::scope(|scope| {
            let threads: Vec<_> = clips
                .chunks(share)
                .map(|some| {
                    scope.spawn(|| some.iter().map(|clip| result_of(clip, setup)).collect())
                })
                .collect();
            let results = threads
                .into_iter()
                .flat_map(|thread| -> Vec<Result<String>> {
                    thread
                        .join()
                        .unwrap_or_else(|fault| panic::resume_unwind(fault))
                });
            results.collect()
        })
    }

    fn result_of(clip: &Path, setup: &Setup) -> Result<String> {
        let options = SwimOptions {
            setup: setup.clone(),
            start: None,
            real_fps: None,
            optics: Optics::default(),
            progress: &mut |_, _| {},
        };
        let report = swim_test::run(clip, options)?;
        if !report.swim.found {
            return Err(Error::unreadable(
                clip,
                "no lure was found in it",
                "measure it alone with `truerun swim --box`",
            ));
        }
        Ok(report::swim_json(&SwimDocument {
            clip: &report.clip,
            setup: &report.setup,
            swim: &report.swim,
            seen_s: tuning::seen_seconds(report.measured_track(), &report.swim),
            verdict: None,
        }))
    }

    fn clips_of(folder: &Path) -> Result<Vec<PathBuf>> {
        let entries = std::fs::read_dir(folder).map_err(|e| Error::file(folder, e))?;
        let mut clips: Vec<PathBuf> = entries
            .filter_map(|entry| Some(entry.ok()?.path()))
            .filter(|path| {
                let ending = path
                    .extension()
                    .unwrap_or_default()
                    .to_string_lossy()
                    .to_lowercase();
                path.is_file() && CLIPS.contains(&ending.as_str())
            })
            .collect();
        clips.sort();
        match clips.is_empty() {
            true => Err(Error::setting(
                folder.display().to_string(),
                "holds no clips",
                "put mp4, mov, mkv or avi files in it, each called as its build",
            )),
            false => Ok(clips),
        }
    }

    /// The name before the first underscore.
    fn build_of(clip: &Path) -> String {
        let stem = clip.file_stem().unwrap_or_default().to_string_lossy();
        stem.split('_').next().unwrap_or_default().to_string()
    }
}
