//! What the picture shows of the lure: pixels along the body, the water that fits in, for how long.

use super::{Shoot, Stand};
use crate::camera::{View, focal_px};
use crate::water::{YELLOW_UM, refraction};

/// Pixels that the body should show from above and from the side. Under 30 the tracking fails, and 50
/// are little (rendered clips); ours, no published source.
const WANTED_PX: f64 = 60.0;
/// The same of the foreshortened body from behind and ahead, where 32 px gave the rate within 0.02 Hz on
/// a rendered clip.
const WANTED_PX_FORESHORTENED: f64 = 40.0;
/// Fewer pixels than this of the body and it cannot be followed.
pub const LEAST_PX: f64 = 30.0;

/// What the picture shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Picture {
    /// Pixels along the body as it shows: foreshortened from behind and ahead.
    pub body_px: f64,
    /// Scale at the lure, mm per px.
    pub mm_per_px: f64,
    /// Field of view along the long side where the lure is, degrees: narrower behind a flat port.
    pub fov_deg: f64,
    /// Water along the long and the short side at the lure, m.
    pub seen_m: [f64; 2],
    /// For how long a pull keeps the whole lure in a still picture, s; `None` where the camera goes along.
    pub seconds_per_pull: Option<f64>,
}

impl Picture {
    /// From where the camera stands.
    pub fn of(shoot: &Shoot, stand: &Stand) -> Picture {
        let distance_mm = 1000.0 * stand.distance.value;
        let mm_per_px = distance_mm / focal_at_lure_px(shoot);
        let seen_m = shoot
            .size_px
            .map(|px| seen_mm(shoot, f64::from(px), distance_mm) / 1000.0);
        let way_m = way_m(shoot, stand, seen_m) - shoot.length_mm / 1000.0;
        Picture {
            body_px: seen_length_mm(shoot, stand.tilt_deg.value) / mm_per_px,
            mm_per_px,
            fov_deg: fov_at_lure_deg(shoot),
            seen_m,
            seconds_per_pull: (!shoot.goes_along).then_some(way_m.max(0.0) / shoot.speed_m_s.value),
        }
    }
}

/// The farthest at which the body shows as large as wanted, m.
pub fn farthest_m(shoot: &Shoot, tilt_deg: f64) -> f64 {
    let wanted = match shoot.view {
        View::Above | View::Side => WANTED_PX,
        View::Behind | View::Ahead => WANTED_PX_FORESHORTENED,
    };
    seen_length_mm(shoot, tilt_deg) * focal_at_lure_px(shoot) / wanted / 1000.0
}

/// Body length across the line of sight, mm: along it from behind and ahead, but for the tilt.
fn seen_length_mm(shoot: &Shoot, tilt_deg: f64) -> f64 {
    match shoot.view {
        View::Above | View::Side => shoot.length_mm,
        View::Behind | View::Ahead => shoot.length_mm * tilt_deg.to_radians().sin(),
    }
}

/// Way of a pull through the picture, m: along the long side from above and from the side, along the
/// picture's height, drawn out by the tilt, from behind and ahead (filmed upright).
fn way_m(shoot: &Shoot, stand: &Stand, seen_m: [f64; 2]) -> f64 {
    match shoot.view {
        View::Above | View::Side => seen_m[0],
        View::Behind | View::Ahead => seen_m[0] / stand.tilt_deg.value.to_radians().sin(),
    }
}

/// Index of the water that the camera is in; 1 where it is in air.
fn index(shoot: &Shoot) -> f64 {
    shoot
        .under_water
        .map_or(1.0, |water| water.refractive_index(YELLOW_UM))
}

/// Focal length, px, that holds in the middle of the picture at the lure: behind a flat port the index
/// times that in air ([`refraction::flat_port_magnification`] at 0).
fn focal_at_lure_px(shoot: &Shoot) -> f64 {
    focal_px(shoot.fov_deg.value, shoot.size_px.map(f64::from))
        * refraction::flat_port_magnification(0.0, index(shoot))
}

/// Water across a side of `side_px` at `distance_mm`, mm: the ray through its edge, refracted at the port.
fn seen_mm(shoot: &Shoot, side_px: f64, distance_mm: f64) -> f64 {
    let focal = focal_px(shoot.fov_deg.value, shoot.size_px.map(f64::from));
    let edge_deg = (side_px / 2.0 / focal).atan().to_degrees();
    let at_lure = refraction::field_of_view_in_water_deg(2.0 * edge_deg, index(shoot));
    2.0 * distance_mm * (at_lure / 2.0).to_radians().tan()
}

fn fov_at_lure_deg(shoot: &Shoot) -> f64 {
    refraction::field_of_view_in_water_deg(shoot.fov_deg.value, index(shoot))
}
