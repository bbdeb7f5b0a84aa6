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
