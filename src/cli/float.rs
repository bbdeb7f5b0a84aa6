//! `truerun float`: a photo or a clip of the floating lure in, figures and a verdict out.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;
use truerun::camera::{BodyEnd, FloatView, Side};
use truerun::float_test::{self, FloatOptions, FloatReport};
use truerun::motion::float::FloatSetup;
use truerun::record::{TestKind, Water as WaterKind};
use truerun::report::{self, FloatDocument, TextStyle};
use truerun::tracking::StartBox;
use truerun::tuning::{self, Call, Hanging, NewWater, Target};
use truerun::water::buoyancy::Hung;
use truerun::water::{SEA_SALINITY, Water};
use truerun::{Error, Result};

use super::outputs::{self, OutputArgs, Outputs};
use super::progress::Progress;
use super::record::SaveArgs;
use super::terminal;
use super::units::Units;
use super::values::{self, TakenFrom};

const EXAMPLES: &str = "\
Examples:
  truerun float hazel58-03-side.jpg --length 58
  truerun float hazel58-03-push.mp4 --length 58 --nose left --chart float.svg
  truerun float hazel58-03-end.jpg --view end --from tail
  truerun float hazel58-03-side.jpg --length 58 --target hazel58-target.toml --save hazel58-03
  truerun float rowan65-sink.mp4 --length 65 --json - | less
  truerun float hazel58-03-side.jpg --length 58 --mass 9.8 --water fresh --water-temp 15 --to salt

A tank, the phone level at the height of the water, the surface across the whole picture,
something plain behind. Push one end down and let go to see it rock.

Left and right: \"its own right\" is the lure's, seen from behind it; as it comes to you,
that is your left.

Exit status: 0 measured, 1 could not measure, 2 wrong usage, 3 outside the target (--enforce).";

/// Water where none is told a temperature, degrees Celsius.
const USUAL_C: f64 = 15.0;

/// Measure a float test from a photo or a clip: angle, list, waterline, rocking, rise or sink
#[derive(Args)]
#[command(after_help = EXAMPLES)]
pub struct FloatArgs {
    /// The photo (jpg, png) or the clip (mp4, mov, mkv, avi)
    file: PathBuf,
    /// From where it is taken: side, or end (then say which with --from)
    #[arg(long, value_parser = values::taken_from, default_value = "side", value_name = "side|end")]
    view: TakenFrom,
    /// With --view end: the end of the lure nearer to the camera
    #[arg(long, value_parser = values::body_end, value_name = "nose|tail")]
    from: Option<BodyEnd>,
    /// From the side: on which side of the picture the nose is [the fuller end]
    #[arg(long, value_parser = values::picture_side, value_name = "left|right")]
    nose: Option<Side>,
    /// Body length without lip, as 58, 58mm or 2.3in
    #[arg(long, value_parser = values::length_mm, value_name = "MM", allow_hyphen_values = true)]
    length: Option<f64>,
    /// Where the lure is: left, top, width, height in pixels [found unaided]
    #[arg(long = "box", value_parser = values::start_box, value_name = "X,Y,W,H", allow_hyphen_values = true)]
    start: Option<StartBox>,
    /// Which way level runs in the picture, degrees clockwise, by the phone's gravity [by the water]
    #[arg(long, value_parser = values::horizon_deg, value_name = "DEG", allow_hyphen_values = true)]
    horizon: Option<f64>,
    /// Frames per second at which a slow-motion clip was filmed
    #[arg(long, value_parser = values::frame_rate, value_name = "N", allow_hyphen_values = true)]
    real_fps: Option<f64>,
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
    /// Write the result as JSON (`-`: standard output, and nothing else there)
    #[arg(long, value_name = "FILE", help_heading = "Results")]
    json: Option<PathBuf>,
    /// Write the chart sheet: waterline, angle and height over time (.svg or .png; may be given twice)
    #[arg(long, value_name = "FILE", help_heading = "Results")]
    chart: Vec<PathBuf>,
    /// Write the picture with outline, axis and waterline drawn in
    #[arg(long, value_name = "FILE.png", help_heading = "Results")]
    overlay: Option<PathBuf>,
    #[command(flatten)]
    other: OtherWater,
    #[command(flatten)]
    save: SaveArgs,
}

/// Another water: how it floats there, and what ballast brings it back. The test's own water is told by
/// --water, --water-temp and --salinity.
#[derive(Args)]
#[command(next_help_heading = "Another water (the test's own: --water, --water-temp, --salinity)")]
struct OtherWater {
    /// Tell how it floats there, and the ballast that brings it back
    #[arg(long, value_parser = values::water, value_name = "fresh|salt")]
    to: Option<WaterKind>,
    /// Temperature there, degrees Celsius [as in the test]
    #[arg(long, value_parser = values::water_c, value_name = "C", requires = "to", allow_hyphen_values = true)]
    to_temp: Option<f64>,
    /// Salinity there [35 in salt water]
    #[arg(long, value_parser = values::salinity, value_name = "S", requires = "to", allow_hyphen_values = true)]
    to_salinity: Option<f64>,
    /// Salinity in the test [0 in fresh, 35 in salt water]
    #[arg(long, value_parser = values::salinity, value_name = "S", requires = "to", allow_hyphen_values = true)]
    salinity: Option<f64>,
    /// Mass of the lure as it lay in the test, all that hung on it counted
    #[arg(long, value_parser = values::mass_g, value_name = "G", requires = "to", allow_hyphen_values = true)]
    mass: Option<f64>,
    /// Volume of the body [from mass and waterline]
    #[arg(long, value_parser = values::volume_cm3, value_name = "CM3", requires = "to", allow_hyphen_values = true)]
    volume: Option<f64>,
    /// Mass of its hooks with their rings
    #[arg(long, value_parser = values::mass_g, value_name = "G", requires = "to", allow_hyphen_values = true)]
    hooks: Option<f64>,
    /// What hung in place of the hooks in the test: grams and metal, as 1.2,lead
    #[arg(long, value_parser = values::stand_in, value_name = "G,METAL", requires = "hooks", allow_hyphen_values = true)]
    stand_in: Option<Hung>,
}

/// Runs the command.
pub fn run(args: &FloatArgs) -> Result<ExitCode> {
    let outputs = args.outputs()?;
    let view = args.float_view()?;
    let new_water = args.new_water()?;
    let target = args.target.as_deref().map(Target::read).transpose()?;
    let saving = args.save.ready_with_water()?;
    let report = measure(args, view)?;
    let change = new_water
        .filter(|_| report.float.found)
        .map(|told| tuning::water_change(&told, &report.float))
        .transpose()?;
    let verdict = target
        .filter(|_| report.float.found)
        .map(|target| tuning::judge_float(&target, &report.float));
    let document = FloatDocument {
        report: &report,
        change: change.as_ref(),
        verdict: verdict.as_ref(),
    };
    if report.float.found {
        outputs
            .charts
            .iter()
            .try_for_each(|file| report::write_float_chart(&document, args.units.length(), file))?;
    }
    #[cfg(feature = "video")]
    if let Some((file, marks)) = outputs.overlay.as_ref().zip(report.trace.marks.as_ref()) {
        report::write_float_overlay(&args.file, marks, file)?;
    }
    if let Some(file) = &outputs.json {
        file.write(report::float_json(&document).as_bytes())?;
    }
    if let Some(saving) = saving.filter(|_| report.float.found) {
        saving.save(TestKind::Float, &report::float_json(&document), args.quiet)?;
    }
    show(args, &document)?;
    let outside = verdict.as_ref().is_some_and(|v| v.overall == Call::Outside);
    Ok(status(args, &report, outside))
}

fn measure(args: &FloatArgs, view: FloatView) -> Result<FloatReport> {
    let progress = Progress::new(args.quiet);
    float_test::run(
        &args.file,
        FloatOptions {
            setup: FloatSetup {
                view,
                length_mm: args.length,
                horizon_deg: args.horizon,
            },
            start: args.start,
            real_fps: args.real_fps,
            progress: &mut |done, total| progress.show(done, total),
        },
    )
}

fn status(args: &FloatArgs, report: &FloatReport, outside: bool) -> ExitCode {
    if !report.float.found {
        let words = report::missing_words(report.float.missing);
        terminal::complain(&format!("{}: {words}", args.file.display()));
        ExitCode::from(1)
    } else if args.enforce && outside {
        ExitCode::from(3)
    } else {
        ExitCode::SUCCESS
    }
}

fn show(args: &FloatArgs, document: &FloatDocument) -> Result<()> {
    let style = |colour| TextStyle {
        colour,
        unit: args.units.length(),
    };
    let to_stdout = args.json_to_stdout();
    if to_stdout {
        terminal::print(&report::float_json(document))?;
    }
    // what is missing is told once, as a fault
    match (args.quiet || !document.report.float.found, to_stdout) {
        (true, _) => Ok(()),
        (false, true) => {
            let style = style(terminal::colour(&std::io::stderr()));
            terminal::say(&report::float_text(document, &style));
            Ok(())
        }
        (false, false) => {
            let style = style(terminal::colour(&std::io::stdout()));
            terminal::print(&report::float_text(document, &style))
        }
    }
}

impl FloatArgs {
    fn json_to_stdout(&self) -> bool {
        self.json.as_deref() == Some(Path::new("-"))
    }

    fn outputs(&self) -> Result<Outputs> {
        let told = OutputArgs {
            json: self.json.clone(),
            track: None,
            chart: self.chart.clone(),
            overlay: None,
        };
        let record = self.save.record_path();
        let inputs: Vec<&Path> = [Some(&self.file), self.target.as_ref(), record.as_ref()]
            .into_iter()
            .flatten()
            .map(PathBuf::as_path)
            .collect();
        outputs::all_different(self.json.iter().chain(&self.chart).chain(&self.overlay))?;
        Ok(Outputs {
            overlay: self
                .overlay
                .as_deref()
                .map(|path| outputs::checked("--overlay", path, &["png"], &inputs))
                .transpose()?,
            ..told.check(&inputs)?
        })
    }

    fn float_view(&self) -> Result<FloatView> {
        match (self.view, self.from, self.nose) {
            (TakenFrom::Side, Some(_), _) => Err(Error::setting(
                "--from",
                "says which end the camera looks at, but the view is from the side",
                "add --view end, or leave it out (--nose tells where the nose is)",
            )),
            (TakenFrom::Side, None, nose) => Ok(FloatView::Side { nose }),
            (TakenFrom::End, _, Some(_)) => Err(Error::setting(
                "--nose",
                "is for pictures from the side",
                "say with --from nose or --from tail which end the camera looks at",
            )),
            (TakenFrom::End, Some(from), None) => Ok(FloatView::End { from }),
            (TakenFrom::End, None, None) => Err(Error::setting(
                "--view end",
                "does not say which end the camera looks at, and left and right swap with it",
                "add --from nose or --from tail",
            )),
        }
    }

    fn new_water(&self) -> Result<Option<NewWater>> {
        let other = &self.other;
        let Some(to) = other.to else { return Ok(None) };
        let (kind, temperature) = self.save.water();
        if kind.is_none() && other.salinity.is_none() {
            return Err(Error::setting(
                "--to",
                "the change of water needs to know in which water the test was done",
                "add --water fresh or --water salt",
            ));
        }
        let from_kind = kind.unwrap_or(WaterKind::Fresh);
        let from_c = temperature.unwrap_or(USUAL_C);
        let salt = |kind: WaterKind, told: Option<f64>| {
            told.unwrap_or(match kind {
                WaterKind::Fresh => 0.0,
                WaterKind::Salt => SEA_SALINITY,
            })
        };
        if other.mass.is_none() && other.volume.is_none() {
            return Err(Error::setting(
                "--to",
                "the change of water needs the lure's mass or volume",
                "give --mass G (as it lay in the test), or --volume CM3",
            ));
        }
        Ok(Some(NewWater {
            from: Water::new(from_c, salt(from_kind, other.salinity))?,
            to: Water::new(other.to_temp.unwrap_or(from_c), salt(to, other.to_salinity))?,
            mass_g: other.mass,
            volume_cm3: other.volume,
            hanging: other.hooks.map(|hooks_g| Hanging {
                hooks_g,
                stand_in: other.stand_in,
            }),
        }))
    }
}
