//! `truerun plan`: can this footage show it, from where, with which settings, for how long?

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;
use truerun::camera::View;
use truerun::plan::{
    ASSUMED_FOV_DEG, ASSUMED_RATE_HZ, ASSUMED_SPEED_M_S, ASSUMED_WIDTH_DEG, Given, Plan, Shoot,
};
use truerun::record::Water as Kind;
use truerun::report::{self, OutFile, TextStyle};
use truerun::tuning::{Measure, Target};
use truerun::water::Water;
use truerun::{Error, Result};

use super::outputs::{all_different, checked};
use super::plan_lens::{self, LensArgs};
use super::units::Units;
use super::{terminal, values};

const EXAMPLES: &str = "\
Examples:
  truerun plan --view above --length 58
  truerun plan --view above --length 58 --rate 4.6 --width 16 --sheet shoot.html
  truerun plan --view above --length 58 --target hazel58-target.toml --darts 4,8
  truerun plan --view ahead --length 45 --height 0.5 --tilt 25 --size 3840x2160
  truerun plan --view side --length 65 --rate 6 --under-water --water salt
  truerun plan --view behind --length 2.3in --fps 30 --fps 60 --units in
  truerun plan --lens board/*.jpg --board 10x7 --out phone-4k60.toml

Exit status: 0 planned, 1 a file could not be read or written, 2 wrong usage.";

/// Water temperature that is taken where none is told, degrees Celsius; the view under water hardly hangs on it.
const ASSUMED_WATER_C: f64 = 15.0;
/// Frame rates that most phones offer (common practice, no published source).
const USUAL_FPS: [f64; 4] = [30.0, 60.0, 120.0, 240.0];

/// Plan a shoot: from where, how close, frame rate, shutter, how long; a checklist to take along
#[derive(Args)]
#[command(after_help = EXAMPLES)]
pub struct PlanArgs {
    /// From where it is filmed: above (looking down on it), behind (following it), ahead (it comes
    /// toward the camera, as from a dock), side
    #[arg(long, required_unless_present = "pictures", value_parser = values::view, value_name = "above|behind|ahead|side")]
    view: Option<View>,
    /// Body length without lip, as 58, 58mm or 2.3in
    #[arg(long, required_unless_present = "pictures", value_parser = values::length_mm, value_name = "MM", allow_hyphen_values = true)]
    length: Option<f64>,
    #[command(flatten)]
    lure: LureArgs,
    #[command(flatten)]
    camera: CameraArgs,
    #[command(flatten)]
    wishes: WishArgs,
    #[command(flatten)]
    lens: LensArgs,
    /// Write the plan as JSON (`-`: standard output, and nothing else there)
    #[arg(long, value_name = "FILE", help_heading = "Results")]
    json: Option<PathBuf>,
    /// Write a one-page checklist to print or to open on the phone
    #[arg(long, value_name = "FILE.html", help_heading = "Results")]
    sheet: Option<PathBuf>,
    /// Show lengths in mm and m or in inches and feet (files always hold mm and m)
    #[arg(long, value_enum, default_value_t = Units::Mm, value_name = "mm|in", help_heading = "Results")]
    units: Units,
    /// Print nothing but faults (and JSON where asked for)
    #[arg(long, short, help_heading = "Results")]
    quiet: bool,
}

/// What is expected of the lure.
#[derive(Args)]
#[command(next_help_heading = "The lure")]
struct LureArgs {
    /// Expected wobble rate, full wobbles a second [as fast as a lure may be]
    #[arg(long, value_parser = values::wobble_hz, value_name = "HZ", allow_hyphen_values = true)]
    rate: Option<f64>,
    /// Expected wobble width, degrees to each side
    #[arg(long, value_parser = values::wobble_deg, value_name = "DEG", allow_hyphen_values = true)]
    width: Option<f64>,
    /// Speed of the pull, m/s
    #[arg(long, value_parser = values::speed_m_s, value_name = "M/S", allow_hyphen_values = true)]
    speed: Option<f64>,
    /// Take rate, width and speed from the middle of a target file's ranges
    #[arg(long, value_name = "FILE")]
    target: Option<PathBuf>,
}

/// The phone and where it stands.
#[derive(Args)]
#[command(next_help_heading = "The camera")]
struct CameraArgs {
    /// From camera to lure, as 1.2, 1.2m or 4ft [recommended]
    #[arg(long, value_parser = values::distance_m, value_name = "M", allow_hyphen_values = true)]
    distance: Option<f64>,
    /// How high the camera is over the water, as 1.5, 1.5m or 5ft
    #[arg(long, value_parser = values::distance_m, value_name = "M", allow_hyphen_values = true)]
    height: Option<f64>,
    /// How far the camera looks down on the lure, degrees below the horizontal
    #[arg(long, value_parser = values::tilt_deg, value_name = "DEG", allow_hyphen_values = true)]
    tilt: Option<f64>,
    /// Field of view in air along the picture's long side, degrees
    #[arg(long, value_parser = values::fov_deg, value_name = "DEG", allow_hyphen_values = true)]
    fov: Option<f64>,
    /// Frames a second that the phone offers; may be given several times [30, 60, 120, 240]
    #[arg(long, value_parser = values::frame_rate, value_name = "N", value_delimiter = ',', allow_hyphen_values = true)]
    fps: Vec<f64>,
    /// Picture size in pixels
    #[arg(long, value_parser = values::picture_size, value_name = "WxH", default_value = "1920x1080", allow_hyphen_values = true)]
    size: [u32; 2],
    /// The camera goes along with the lure [standing still; from behind it always goes along]
    #[arg(long)]
    along: bool,
    /// The camera is under water, behind a flat window
    #[arg(long)]
    under_water: bool,
    /// Which water it is under
    #[arg(long, value_parser = values::water, value_name = "fresh|salt", requires = "under_water")]
    water: Option<Kind>,
    /// Temperature of that water, degrees Celsius
    #[arg(long, value_parser = values::water_c, value_name = "C", requires = "under_water", allow_hyphen_values = true)]
    water_temp: Option<f64>,
}

/// How well it is to be known.
#[derive(Args)]
#[command(next_help_heading = "What you want to know")]
struct WishArgs {
    /// The rate to within so many wobbles a second
    #[arg(long, value_parser = values::within_hz, value_name = "HZ", default_value = "0.1", allow_hyphen_values = true)]
    rate_within: f64,
    /// The drift to within so many degrees
    #[arg(long, value_parser = values::within_deg, value_name = "DEG", default_value = "1", allow_hyphen_values = true)]
    drift_within: f64,
    /// Two dart rates a minute that are to be told apart
    #[arg(long, value_parser = values::two_rates, value_name = "A,B", default_value = "4,8", allow_hyphen_values = true)]
    darts: [f64; 2],
}

/// Runs the command.
pub fn run(args: &PlanArgs) -> Result<ExitCode> {
    if args.lens.asked() {
        return plan_lens::run(&args.lens, args.camera.under_water, args.quiet);
    }
    let outputs = Outputs::check(args)?;
    let plan = Plan::of(&args.shoot()?)?;
    if let Some(file) = &outputs.sheet {
        file.write(report::plan_sheet(&plan, args.units.length())?.as_bytes())?;
    }
    if let Some(file) = &outputs.json {
        file.write(report::plan_json(&plan).as_bytes())?;
    }
    show(args, &outputs, &plan)?;
    Ok(ExitCode::SUCCESS)
}

/// Files that were tried.
struct Outputs {
    json: Option<OutFile>,
    json_to_stdout: bool,
    sheet: Option<OutFile>,
}

impl Outputs {
    fn check(args: &PlanArgs) -> Result<Outputs> {
        let inputs: Vec<&Path> = args.lure.target.iter().map(PathBuf::as_path).collect();
        all_different(args.json.iter().chain(&args.sheet))?;
        let json_to_stdout = args.json.as_deref() == Some(Path::new("-"));
        let json = args.json.as_deref().filter(|_| !json_to_stdout);
        Ok(Outputs {
            json: json
                .map(|path| OutFile::new("--json", path, &inputs))
                .transpose()?,
            json_to_stdout,
            sheet: args
                .sheet
                .as_deref()
                .map(|path| checked("--sheet", path, &["html"], &inputs))
                .transpose()?,
        })
    }
}

impl PlanArgs {
    fn shoot(&self) -> Result<Shoot> {
        let target = self.lure.target.as_deref().map(Target::read).transpose()?;
        let wanted = |measure| Some(target.as_ref()?.range(measure)?.middle());
        let (view, length_mm) = (told("--view", self.view)?, told("--length", self.length)?);
        let (lure, camera, wishes) = (&self.lure, &self.camera, &self.wishes);
        Ok(Shoot {
            view,
            length_mm,
            rate_hz: Given::or(lure.rate.or(wanted(Measure::Rate)), ASSUMED_RATE_HZ),
            width_deg: Given::or(lure.width.or(wanted(Measure::Width)), ASSUMED_WIDTH_DEG),
            speed_m_s: Given::or(lure.speed.or(wanted(Measure::Speed)), ASSUMED_SPEED_M_S),
            fov_deg: Given::or(camera.fov, ASSUMED_FOV_DEG),
            size_px: camera.size,
            fps: match camera.fps[..] {
                [] => USUAL_FPS.to_vec(),
                _ => camera.fps.clone(),
            },
            distance_m: camera.distance,
            height_m: camera.height,
            tilt_deg: camera.tilt,
            under_water: camera.water()?,
            goes_along: camera.along || view == View::Behind,
            rate_within_hz: wishes.rate_within,
            drift_within_deg: wishes.drift_within,
            darts_per_minute: wishes.darts,
        })
    }
}

/// What clap has seen to where it is required.
fn told<T>(option: &str, value: Option<T>) -> Result<T> {
    value.ok_or_else(|| Error::setting(option, "is not given", "`truerun plan --help` shows how"))
}

impl CameraArgs {
    fn water(&self) -> Result<Option<Water>> {
        if !self.under_water {
            return Ok(None);
        }
        let salinity = match self.water {
            Some(Kind::Salt) => truerun::water::SEA_SALINITY,
            _ => 0.0,
        };
        Water::new(self.water_temp.unwrap_or(ASSUMED_WATER_C), salinity).map(Some)
    }
}

fn show(args: &PlanArgs, outputs: &Outputs, plan: &Plan) -> Result<()> {
    if outputs.json_to_stdout {
        terminal::print(&report::plan_json(plan))?;
    }
    let style = |colour| TextStyle {
        colour,
        unit: args.units.length(),
    };
    match (args.quiet, outputs.json_to_stdout) {
        (true, _) => Ok(()),
        (false, true) => {
            let style = style(terminal::colour(&std::io::stderr()));
            terminal::say(&report::plan_text(plan, &style));
            Ok(())
        }
        (false, false) => {
            let style = style(terminal::colour(&std::io::stdout()));
            terminal::print(&report::plan_text(plan, &style))
        }
    }
}
