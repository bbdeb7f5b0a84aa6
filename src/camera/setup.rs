//! What the user told about the set-up.

use super::View;

/// What the user told about how the clip was shot. Unknown values are `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// From where the lure is filmed.
    pub view: View,
    /// Body length without lip, mm.
    pub length_mm: Option<f64>,
    /// Pull direction as an image angle, degrees clockwise from image-up.
    pub pull_deg: Option<f64>,
    /// How far the camera looks down on the lure, degrees below the horizontal (90 = straight down).
    pub tilt_deg: Option<f64>,
    /// Field of view along the picture's long side, degrees.
    pub fov_deg: Option<f64>,
    /// Speed through the water, m/s.
    pub speed_m_s: Option<f64>,
}

/// A camera that looks down by less than this is level with the lure, degrees: its yaw hardly shows there, and
/// what shows of it is stretched seven times and more.
const LEVEL_DEG: f64 = 8.0;

impl Setup {
    /// Whether the camera was told to be level with the lure in a view that looks along the pull.
    pub fn is_level(&self) -> bool {
        self.view != View::Side && self.tilt_deg.is_some_and(|tilt| tilt.abs() < LEVEL_DEG)
    }
}
