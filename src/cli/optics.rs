//! Options that tell `swim` of scale, lens, water and depth.

use std::path::{Path, PathBuf};

use clap::Args;
use truerun::camera::{LookThrough, Marks, Ruler, SurfaceMark, View, Yardstick, read_lens};
use truerun::swim_test::{BoardAt, Optics};
use truerun::water::Water;
use truerun::{Error, Result};

use super::optics_values as values;
use super::optics_values::Farther;

/// Scale and lens.
#[derive(Args)]
#[command(next_help_heading = "Scale and lens")]
pub struct OpticsArgs {
    /// A ruler in the picture: its two ends in pixels, and its length, as 120,300,520,310,200mm
    #[arg(long, value_parser = values::ruler, value_name = "X1,Y1,X2,Y2,MM", allow_hyphen_values = true, conflicts_with = "board")]
    ruler: Option<Ruler>,
    /// A board of squares in the picture: squares along and across, side of a square, second at
    /// which it is seen whole, as 9x6,20mm@1.5
    #[arg(long, value_parser = values::board_at, value_name = "COLSxROWS,MM[@T]", allow_hyphen_values = true)]
    board: Option<BoardAt>,
    /// The lure is this many times as far from the camera as the ruler, board, pole or surface line
    /// (`afloat`: the ruler floats, with --camera-height, --depth and --tilt) [1, give or take a tenth]
    #[arg(long, value_parser = values::farther, value_name = "N|afloat", allow_hyphen_values = true)]
    farther: Option<Farther>,
    /// Take this phone's lens out: a file made by `truerun plan --lens`
    #[arg(long, value_name = "FILE", conflicts_with = "fov")]
    lens: Option<PathBuf>,
    /// The phone was under water, in a case (--fov is then its field of view in air)
    #[arg(long)]
    under_water: bool,
    /// Temperature of the water in degrees Celsius, and its salinity, as 12 or 12,35 [15, fresh]
    #[arg(long, value_parser = values::water_at, value_name = "C[,S]", allow_hyphen_values = true)]
    water_at: Option<Water>,
}

/// Depth.
#[derive(Args)]
#[command(next_help_heading = "Depth")]
pub struct DepthArgs {
    /// From the side: where the surface is above the lure's way, as a row of the picture or two points
    #[arg(long, value_parser = values::surface, value_name = "Y|X1,Y1,X2,Y2", allow_hyphen_values = true, conflicts_with = "pole")]
    surface: Option<SurfaceMark>,
    /// From the side: an upright pole; where it meets the surface, a mark lower down, and the way
    /// between them, as 600,80,604,480,500mm
    #[arg(long, value_parser = values::ruler, value_name = "X1,Y1,X2,Y2,MM", allow_hyphen_values = true)]
    pole: Option<Ruler>,
    /// Height of the camera above the water, m
    #[arg(long, value_parser = values::camera_height_mm, value_name = "M", allow_hyphen_values = true, conflicts_with = "under_water")]
    camera_height: Option<f64>,
    /// Depth at which the lure runs, where you know it, as 600mm: with --camera-height it tells how
    /// flat the lure looks through the surface
    #[arg(long, value_parser = values::depth_mm, value_name = "MM", allow_hyphen_values = true, requires = "camera_height")]
    depth: Option<f64>,
    /// Line let out, m: depth is held against it
    #[arg(long, value_parser = values::line_out_mm, value_name = "M", allow_hyphen_values = true)]
    line_out: Option<f64>,
}

impl OpticsArgs {
    /// Files that are read.
    pub fn inputs(&self) -> Option<&Path> {
        self.lens.as_deref()
    }

    /// The lens, read, and the board to be looked for.
    pub fn optics(&self) -> Result<Optics> {
        let lens = self
            .lens
            .as_ref()
            .map(|path| Ok::<_, Error>((path.clone(), read_lens(path)?)))
            .transpose()?;
        Ok(Optics {
            lens,
            board: self.board,
        })
    }

    /// Marks in the picture and measures of the place; `tilt_deg` is how far the camera looks down.
    pub fn marks(&self, depth: &DepthArgs, view: View, tilt_deg: Option<f64>) -> Result<Marks> {
        let marks = Marks {
            yardstick: self.ruler.map(Yardstick::Ruler),
            surface: depth.pole.map(SurfaceMark::Pole).or(depth.surface),
            camera_height_mm: depth.camera_height,
            depth_mm: depth.depth,
            line_out_mm: depth.line_out,
            under_water: self.under_water,
            water: self.water_at,
            farther: None,
            lens: None,
        };
        let marked = marks.yardstick.is_some() || marks.surface.is_some() || self.board.is_some();
        if self.farther.is_some() && !marked {
            return Err(Error::setting(
                "--farther",
                "tells how far away the lure is against a thing in the picture, and none is marked",
                "add --ruler, --board, --pole or --surface",
            ));
        }
        let farther = match self.farther {
            Some(Farther::Times(times)) => Some(times),
            Some(Farther::Afloat) => Some(afloat(&marks, straight_down_or(view, tilt_deg)?)?),
            None => None,
        };
        Ok(Marks { farther, ..marks })
    }
}

/// The tilt told; straight down from above without one.
fn straight_down_or(view: View, tilt_deg: Option<f64>) -> Result<f64> {
    match (view, tilt_deg) {
        (_, Some(tilt)) => Ok(tilt),
        (View::Above, None) => Ok(90.0),
        _ => Err(Error::setting(
            "--farther afloat",
            "needs to know how far the camera looks down",
            "add --tilt DEG, or give a number",
        )),
    }
}

/// How many times as far as a ruler afloat the lure looks through the surface.
fn afloat(marks: &Marks, tilt_deg: f64) -> Result<f64> {
    let (Some(camera_height_mm), Some(depth_mm)) = (marks.camera_height_mm, marks.depth_mm) else {
        return Err(Error::setting(
            "--farther afloat",
            "needs to know how high the camera and how deep the lure is",
            "add --camera-height M and --depth MM, or give a number",
        ));
    };
    let through = LookThrough {
        camera_height_mm,
        depth_mm,
        index: marks.water_index(),
    };
    Ok(through.farther_than_surface(tilt_deg))
}
