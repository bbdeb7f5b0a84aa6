//! What the user told about the set-up.

use super::{Ruler, Scale, View, Yardstick};
use crate::water::{Water, YELLOW_UM};

/// What the user told about how the clip was shot. Unknown values are `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// From where the lure is filmed.
    pub view: View,
    /// Body length without lip, mm.
    pub length_mm: Option<f64>,
    /// Pull direction as an image angle, degrees clockwise from image-up.
    pub pull_deg: Option<f64>,
    /// How far the camera, at the middle of its picture, looks down on the lure, degrees below the horizontal (90 = straight
    /// down).
    pub tilt_deg: Option<f64>,
    /// The same as the user told it, where the surface's bending is taken out of `tilt_deg`.
    pub told_tilt_deg: Option<f64>,
    /// Field of view along the picture's long side, degrees.
    pub fov_deg: Option<f64>,
    /// Speed through the water, m/s.
    pub speed_m_s: Option<f64>,
    /// What is marked or known beyond that.
    pub marks: Marks,
    /// The scale at the lure, where it rests on more than the body length; found after the tracking.
    pub scale: Option<Scale>,
    /// Standard deviation of the focal length's logarithm, where a lens file tells it.
    pub focal_sd: Option<f64>,
    /// How far a difference of depth shows against what it would without water between: 1 where nothing is
    /// known of that (see [`super::LookThrough::rise_share`]).
    pub rise_share: f64,
}

/// Marks in the picture, and measures of the place.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Marks {
    /// Something of known size in the picture.
    pub yardstick: Option<Yardstick>,
    /// How many times as far from the camera as the yardstick, the surface line or the pole the lure is.
    pub farther: Option<f64>,
    /// The surface above the lure's way.
    pub surface: Option<SurfaceMark>,
    /// Height of the camera above the water, mm.
    pub camera_height_mm: Option<f64>,
    /// Depth at which the lure runs, mm, where it is known.
    pub depth_mm: Option<f64>,
    /// Line let out, mm.
    pub line_out_mm: Option<f64>,
    /// Whether the camera was under water.
    pub under_water: bool,
    /// The water.
    pub water: Option<Water>,
    /// Name of the lens file that was taken out.
    pub lens: Option<String>,
}

/// What shows where the surface is in a picture from the side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SurfaceMark {
    /// A row of the picture, px from its top, where the surface lies level.
    Level(f64),
    /// Two points on the surface, px.
    Line([[f64; 2]; 2]),
    /// A pole that stands upright: `from` at the surface, `to` lower down, `mm` apart.
    Pole(Ruler),
}

impl SurfaceMark {
    /// A level row as two points in a picture of `width_px`; the others as they are.
    pub fn in_picture(self, width_px: f64) -> SurfaceMark {
        match self {
            SurfaceMark::Level(y) => SurfaceMark::Line([[0.0, y], [width_px, y]]),
            other => other,
        }
    }
}

impl Setup {
    /// A clip filmed from `view`, of which nothing else is known.
    pub fn new(view: View) -> Setup {
        Setup {
            view,
            length_mm: None,
            pull_deg: None,
            tilt_deg: None,
            told_tilt_deg: None,
            fov_deg: None,
            speed_m_s: None,
            marks: Marks::default(),
            scale: None,
            focal_sd: None,
            rise_share: 1.0,
        }
    }

    /// Length that the body in the picture stands for, mm: from the scale where there is one, else the body
    /// length as told.
    pub fn body_mm(&self) -> Option<f64> {
        self.scale.map(|scale| scale.body_mm).or(self.length_mm)
    }

    /// How well millimetres are known, as a part (half-width of a 95 % interval): the scale's doubt where
    /// there is one, else `ends`, to which the body's ends are known in the picture.
    pub fn scale_doubt(&self, ends: f64) -> f64 {
        self.scale.map_or(ends, |scale| scale.doubt)
    }
}

impl Marks {
    /// Refractive index of the water: of fresh water at 15 °C where nothing is told (warm and cold, fresh
    /// and salt, it stays within 0.8 % of that).
    pub fn water_index(&self) -> f64 {
        self.water
            .unwrap_or(Water::fresh(15.0))
            .refractive_index(YELLOW_UM)
    }
}

/// A camera that looks down by less than this is level with the lure, degrees: its yaw hardly shows there, and
/// what shows of it is stretched seven times and more.
const LEVEL_DEG: f64 = 8.0;

/// A camera that looks down by more than this looks straight down, degrees.
const STEEP_DEG: f64 = 75.0;

impl Setup {
    /// Whether the camera looks along the water: from behind, ahead, or told to be tilted.
    pub fn looks_along(&self) -> bool {
        match self.view {
            View::Behind | View::Ahead => self.tilt_deg.is_none_or(|tilt| tilt < STEEP_DEG),
            View::Above => self.tilt_deg.is_some_and(|tilt| tilt < STEEP_DEG),
            View::Side => false,
        }
    }

    /// Whether the camera was told to be level with the lure in a view that looks along the pull.
    pub fn is_level(&self) -> bool {
        self.view != View::Side && self.tilt_deg.is_some_and(|tilt| tilt.abs() < LEVEL_DEG)
    }
}
