//! `truerun plan --lens`: photos or a clip of a board of squares in, a lens file out.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;
use truerun::camera::Board;
use truerun::{Error, Result};

use super::optics_values as values;

/// Options that plan a shoot: a lens file has no use for them.
const OF_A_SHOOT: [&str; 20] = [
    "view",
    "length",
    "rate",
    "width",
    "speed",
    "target",
    "distance",
    "height",
    "tilt",
    "fov",
    "fps",
    "size",
    "along",
    "water",
    "water_temp",
    "rate_within",
    "drift_within",
    "darts",
    "json",
    "sheet",
];

/// Calibrating a phone's lens.
#[derive(Args)]
#[command(next_help_heading = "Lens file")]
pub struct LensArgs {
    /// Make a lens file from photos of a board of squares, or from one clip of it (with
    /// --under-water where board and phone were in the water)
    #[arg(long = "lens", value_name = "PHOTOS|CLIP", num_args = 1.., conflicts_with_all = OF_A_SHOOT)]
    pictures: Vec<PathBuf>,
    /// Squares of the board along and across (not the corners between them), as 10x7 or 10x7,25mm
    #[arg(long, value_parser = values::board, value_name = "COLSxROWS[,MM]", requires = "pictures", allow_hyphen_values = true)]
    board: Option<Board>,
    /// Where the lens file goes: one per phone and mode
    #[arg(long, value_name = "FILE", requires = "pictures")]
    out: Option<PathBuf>,
}

impl LensArgs {
    /// Whether a lens file is asked for.
    pub fn asked(&self) -> bool {
        !self.pictures.is_empty()
    }
}

/// Makes the lens file.
pub fn run(args: &LensArgs, under_water: bool, quiet: bool) -> Result<ExitCode> {
    let missing = |option: &str, remedy: &str| Error::setting(option, "is missing", remedy);
    let board = args.board.ok_or_else(|| {
        missing(
            "--board",
            "count the squares of the board along and across, as --board 10x7",
        )
    })?;
    let out = args
        .out
        .as_deref()
        .ok_or_else(|| missing("--out", "name the lens file, as --out phone-4k60.toml"))?;
    make(args, board, under_water, out, quiet)
}

#[cfg(feature = "video")]
fn make(
    args: &LensArgs,
    board: Board,
    under_water: bool,
    out: &std::path::Path,
    quiet: bool,
) -> Result<ExitCode> {
    use super::outputs::checked;
    use super::progress::Progress;
    use super::terminal;
    use truerun::camera::{calibrate, lens_text};

    let inputs: Vec<&std::path::Path> = args.pictures.iter().map(PathBuf::as_path).collect();
    let file = checked("--out", out, &["toml"], &inputs)?;
    let pictures = calibrate::LensPictures {
        files: args.pictures.clone(),
        board,
        under_water,
    };
    let total = (args.pictures.len() > 1).then_some(args.pictures.len());
    let progress = Progress::new(quiet);
    let made = calibrate::calibrate(&pictures, &mut |done| progress.show(done, total))?;
    file.write(lens_text(&made.lens)?.as_bytes())?;
    if !quiet {
        terminal::print(&told(&made, out))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// What became of it.
#[cfg(feature = "video")]
fn told(made: &truerun::camera::calibrate::Calibration, out: &std::path::Path) -> String {
    let lens = &made.lens;
    let left_out = match lens.views_left_out {
        0 => String::new(),
        n => format!(", {n} left out that fitted badly"),
    };
    let focal = 0.5 * (lens.lens.fx + lens.lens.fy);
    let doubt = 0.5 * (lens.sd.fx + lens.sd.fy) * 1.96;
    let corners = if lens.seen_to < 0.8 {
        format!(
            "  The board was seen over {:.0} % of the way to the picture's corners only: add views with it there.\n",
            lens.seen_to * 100.0
        )
    } else {
        String::new()
    };
    format!(
        "{}\n  {} × {}{}: {} views of the board out of {} pictures{left_out}\n  \
         focal length {focal:.1} px ({:.1}–{:.1}), field of view {:.1}° along the long side\n  \
         corners lie {:.2} px (RMS) off the fitted board\n{corners}  \
         Use it with --lens {} on clips of this phone in this mode.\n",
        out.display(),
        lens.width,
        lens.height,
        if lens.under_water {
            ", under water"
        } else {
            ""
        },
        lens.views,
        made.pictures,
        focal - doubt,
        focal + doubt,
        lens.fov_deg(),
        lens.rms_px,
        out.display(),
    )
}

#[cfg(not(feature = "video"))]
fn make(_: &LensArgs, _: Board, _: bool, _: &std::path::Path, _: bool) -> Result<ExitCode> {
    Err(Error::setting(
        "plan --lens",
        "this build of truerun cannot read pictures",
        "build it with the feature `video`",
    ))
}
