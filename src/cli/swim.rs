//! `truerun swim`: a clip in, figures and a verdict out.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;
use truerun::Result;
use truerun::camera::{Setup, View};
use truerun::record::TestKind;
use truerun::report::{self, Chart, SwimDocument, SwimTrace, TextStyle};
use truerun::swim_test::{self, SwimOptions, SwimReport};
use truerun::tracking::StartBox;
use truerun::tuning::{self, Call, Target, Verdict};

use super::optics::{DepthArgs, OpticsArgs};
use super::outputs::{OutputArgs, Outputs};
use super::progress::Progress;
use super::record::SaveArgs;
use super::units::Units;
use super::{terminal, values};

const EXAMPLES: &str = "\
Examples:
  truerun swim hazel58-03.mp4 --view above --length 58
  truerun swim hazel58-03.mp4 --view above --length 58 --target hazel58-target.toml
  truerun swim thistle45.mov --view ahead --length 45 --tilt 25 --box 410,220,60,48@0.5
  truerun swim rowan65.mp4 --view side --length 65mm --real-fps 240 --chart rowan65.svg
  truerun swim hazel58-03.mp4 --view above --length 58 --json - | less

Left and right: \"its own right\" is the lure's, seen from behind it; as it comes to you,
that is your left.

Exit status: 0 measured, 1 could not measure, 2 wrong usage, 3 outside the target (--enforce).";

/// Measure a swim test from a clip: rate, width, drift, darts, pivot, speed
#[derive(Args)]
#[command(after_help = EXAMPLES)]
pub struct SwimArgs {
    /// The clip (mp4, mov, mkv, avi)
    clip: PathBuf,
    /// From where it is filmed: above (looking down on it), behind (following it), ahead (it comes
    /// toward the camera, as from a dock), side
    #[arg(long, value_parser = values::view, value_name = "above|behind|ahead|side")]
    view: View,
    /// Body length without lip, as 58, 58mm or 2.3in
    #[arg(long, value_parser = values::length_mm, value_name = "MM", allow_hyphen_values = true)]
    length: Option<f64>,
    /// Where the lure is: left, top, width, height in pixels, at a time in seconds, from which it is
    /// followed both ways [found unaided]
    #[arg(long = "box", value_parser = values::start_box, value_name = "X,Y,W,H[@T]", allow_hyphen_values = true)]
    start: Option<StartBox>,
    /// Where the rod tip draws it, degrees clockwise from the top of the picture [from the line]
    #[arg(long, value_parser = values::direction_deg, value_name = "DEG", allow_hyphen_values = true)]
    pull: Option<f64>,
    /// How far the camera, at the middle of its picture, looks down on the lure, degrees below the horizontal
    #[arg(long, value_parser = values::tilt_deg, value_name = "DEG", allow_hyphen_values = true)]
    tilt: Option<f64>,
    /// Field of view along the picture's long side, degrees
    #[arg(long, value_parser = values::fov_deg, value_name = "DEG", allow_hyphen_values = true)]
    fov: Option<f64>,
    /// Frames per second at which a slow-motion clip was filmed
    #[arg(long, value_parser = values::frame_rate, value_name = "N", allow_hyphen_values = true)]
    real_fps: Option<f64>,
    /// Speed through the water, m/s
    #[arg(long, value_parser = values::speed_m_s, value_name = "M/S", allow_hyphen_values = true)]
    speed: Option<f64>,
    /// Hold the figures against a target file
    #[arg(long, value_name = "FILE")]
    target: Option<PathBuf>,
    /// Exit with status 3 where the lure is outside the target
    #[arg(long, requires = "target")]
    enforce: bool,
    /// Show lengths in mm or in inches (files always hold mm)
    #[arg(long, value_enum, default_value_t = Units::Mm, value_name = "mm|in")]
    units: Units,
    /// Print nothing but faults (and JSON where asked for)
    #[arg(long, short)]
    quiet: bool,
    #[command(flatten)]
    optics: OpticsArgs,
    #[command(flatten)]
    depth: DepthArgs,
    #[command(flatten)]
    outputs: OutputArgs,
    #[command(flatten)]
    save: SaveArgs,
}

/// Runs the command.
pub fn run(args: &SwimArgs) -> Result<ExitCode> {
    let record = args.save.record_path();
    let inputs: Vec<&Path> = args.inputs().into_iter().chain(record.as_deref()).collect();
    let outputs = args.outputs.check(&inputs)?;
    let target = args.target.as_deref().map(Target::read).transpose()?;
    let saving = args.save.ready()?;
    let report = measure(args)?;
    let seen_s = tuning::seen_seconds(report.measured_track(), &report.swim);
    let verdict = target
        .filter(|_| report.swim.found)
        .map(|target| tuning::judge(&target, &report.swim, seen_s, report.setup.length_mm));
    let document = SwimDocument {
        clip: &report.clip,
        setup: &report.setup,
        swim: &report.swim,
        seen_s,
        verdict: verdict.as_ref(),
    };
    write(args, &outputs, &report, &document)?;
    if let Some(saving) = saving.filter(|_| report.swim.found) {
        saving.save(TestKind::Swim, &report::swim_json(&document), args.quiet)?;
    }
    show(args, &outputs, &document)?;
    Ok(status(args, &report, verdict.as_ref()))
}

impl SwimArgs {
    fn inputs(&self) -> Vec<&Path> {
        [
            Some(self.clip.as_path()),
            self.target.as_deref(),
            self.optics.inputs(),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    fn setup(&self) -> Result<Setup> {
        Ok(Setup {
            length_mm: self.length,
            pull_deg: self.pull,
            tilt_deg: self.tilt,
            fov_deg: self.fov,
            speed_m_s: self.speed,
            marks: self.optics.marks(&self.depth, self.view, self.tilt)?,
            ..Setup::new(self.view)
        })
    }

    fn style(&self, colour: bool) -> TextStyle {
        TextStyle {
            colour,
            unit: self.units.length(),
        }
    }
}

fn measure(args: &SwimArgs) -> Result<SwimReport> {
    let progress = Progress::new(args.quiet);
    swim_test::run(
        &args.clip,
        SwimOptions {
            setup: args.setup()?,
            start: args.start,
            real_fps: args.real_fps,
            optics: args.optics.optics()?,
            progress: &mut |done, total| progress.show(done, total),
        },
    )
}

fn write(
    args: &SwimArgs,
    outputs: &Outputs,
    report: &SwimReport,
    document: &SwimDocument,
) -> Result<()> {
    if report.swim.found {
        write_charts(args, outputs, report, document)?;
    }
    #[cfg(feature = "video")]
    if let Some(file) = outputs.overlay.as_ref().filter(|_| report.swim.found) {
        let progress = Progress::new(args.quiet);
        let overlay = report::Overlay {
            clip: &args.clip,
            real_fps: args.real_fps,
            fps_median: report.clip.fps_median,
            track: &report.track,
            swim: &report.swim,
        };
        report::write_overlay(&overlay, file, &mut |done| {
            progress.show(done, Some(report.clip.frames));
        })?;
    }
    if let Some(file) = &outputs.track {
        file.write(report::track_csv(&report.track).as_bytes())?;
    }
    if let Some(file) = &outputs.json {
        file.write(report::swim_json(document).as_bytes())?;
    }
    Ok(())
}

fn write_charts(
    args: &SwimArgs,
    outputs: &Outputs,
    report: &SwimReport,
    document: &SwimDocument,
) -> Result<()> {
    let trace = SwimTrace::of(report.measured_track(), &report.setup, &report.swim);
    let chart = Chart {
        document,
        trace: &trace,
        style: args.style(false),
    };
    outputs
        .charts
        .iter()
        .try_for_each(|file| report::write_chart(&chart, file))
}

fn show(args: &SwimArgs, outputs: &Outputs, document: &SwimDocument) -> Result<()> {
    if outputs.json_to_stdout {
        terminal::print(&report::swim_json(document))?;
    }
    match (args.quiet, outputs.json_to_stdout) {
        (true, _) => Ok(()),
        (false, true) => {
            let style = args.style(terminal::colour(&std::io::stderr()));
            terminal::say(&report::swim_text(document, &style));
            Ok(())
        }
        (false, false) => {
            let style = args.style(terminal::colour(&std::io::stdout()));
            terminal::print(&report::swim_text(document, &style))
        }
    }
}

fn status(args: &SwimArgs, report: &SwimReport, verdict: Option<&Verdict>) -> ExitCode {
    let outside = verdict.is_some_and(|v| v.overall == Call::Outside);
    if !report.swim.found {
        let what_to_do = if args.start.is_some() {
            "draw the box close round it at a time when it is clearly seen"
        } else {
            "if there is one, say where: --box X,Y,W,H[@T]"
        };
        let clip = args.clip.display();
        let why = report.swim.why_not_found().unwrap_or("no lure was found");
        terminal::complain(&format!("{clip}: {why}; {what_to_do}"));
        ExitCode::from(1)
    } else if args.enforce && outside {
        ExitCode::from(3)
    } else {
        ExitCode::SUCCESS
    }
}
