//! Where to stand: distance, height and tilt, two of which give the third.

use super::{Given, Shoot, picture};
use crate::camera::View;
use crate::{Error, Result};

/// Tilt from which a dock or a boat looks down on a lure where none is told, degrees. Ours, no
/// published source.
const ASSUMED_TILT_DEG: f64 = 30.0;
/// From behind and ahead a camera that looks down by less sees the lure end-on, degrees.
const LEAST_TILT_DEG: f64 = 8.0;
/// Nobody holds a phone nearer to a moving lure than this, m.
const NEAREST_M: f64 = 0.3;
/// A camera that goes along may be so much nearer than the farthest place: the lure stays in the picture.
const NEARER_ALONG: f64 = 0.75;
/// Height, distance and tilt may disagree by this part of the distance: they are paced and guessed.
const AGREE: f64 = 0.15;

/// Where the camera stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// From the camera to the lure, m.
    pub distance: Given,
    /// The farthest at which the body still shows large enough, m.
    pub farthest_m: f64,
    /// How far the camera looks down on the lure, degrees below the horizontal; 0 from the side.
    pub tilt_deg: Given,
    /// Height of the camera over the lure, m, where the view has one: distance × sin(tilt).
    pub height_m: Option<f64>,
}

impl Stand {
    /// From what is told; what is not is recommended.
    ///
    /// # Errors
    /// [`Error::Setting`] where distance, height and tilt contradict each other.
    pub fn of(shoot: &Shoot) -> Result<Stand> {
        if shoot.under_water.is_some() && shoot.height_m.is_some() {
            return Err(Error::setting(
                "--height",
                "is the camera's height over the water, and the camera is to be in it",
                "leave out --height or --under-water",
            ));
        }
        let tilt_deg = tilt(shoot)?;
        let sin = tilt_deg.value.to_radians().sin();
        let farthest_m = picture::farthest_m(shoot, tilt_deg.value);
        let from_height = shoot.height_m.filter(|_| sin > 0.0).map(|h| h / sin);
        let told = shoot.distance_m.or(from_height);
        if let (Some(d), Some(from_height)) = (shoot.distance_m, from_height) {
            if (d - from_height).abs() > AGREE * d {
                return Err(Error::setting(
                    "--distance, --height, --tilt",
                    format!(
                        "contradict each other: looking down {:.0} degrees from {:.2} m up, the lure is {from_height:.2} m away, not {d:.2}",
                        tilt_deg.value,
                        shoot.height_m.unwrap_or_default(),
                    ),
                    "give two of the three",
                ));
            }
        }
        let nearer = if shoot.goes_along { NEARER_ALONG } else { 1.0 };
        let advised = (nearer * farthest_m).max(NEAREST_M);
        let distance = Given::or(told, rounded_down(advised));
        Ok(Stand {
            distance,
            farthest_m,
            tilt_deg,
            height_m: (sin > 0.0).then_some(distance.value * sin),
        })
    }
}

/// The tilt that is told, or follows from height and distance, or is usual in this view.
fn tilt(shoot: &Shoot) -> Result<Given> {
    let usual = match shoot.view {
        View::Above => 90.0,
        View::Behind | View::Ahead => ASSUMED_TILT_DEG,
        View::Side => 0.0,
    };
    let from_height = match (shoot.height_m, shoot.distance_m) {
        (Some(h), Some(d)) if h > (1.0 + AGREE) * d => {
            return Err(Error::setting(
                "--height, --distance",
                format!("the camera cannot be {h} m over the water and {d} m from the lure"),
                "the distance is from the camera to the lure, along the line of sight",
            ));
        }
        (Some(h), Some(d)) if shoot.view != View::Side => {
            Some((h / d).min(1.0).asin().to_degrees())
        }
        _ => None,
    };
    let told = shoot.tilt_deg.filter(|_| shoot.view != View::Side);
    let tilt = Given::or(told.or(from_height), usual);
    let end_on = matches!(shoot.view, View::Behind | View::Ahead) && tilt.value < LEAST_TILT_DEG;
    match end_on {
        true => Err(Error::setting(
            "--tilt",
            format!(
                "looking down by {:.0} degrees the camera sees the lure end-on",
                tilt.value
            ),
            format!("go higher: {LEAST_TILT_DEG} degrees or more"),
        )),
        false => Ok(tilt),
    }
}

/// To two figures, downwards: what a pace or a tape can set.
fn rounded_down(m: f64) -> f64 {
    let step = if m < 1.0 { 0.05 } else { 0.1 };
    ((m / step + 1e-9).floor() * step).max(step)
}
