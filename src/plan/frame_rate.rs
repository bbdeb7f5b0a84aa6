//! What each frame rate can tell, and which one to film at.

use super::Shoot;
use crate::camera::View;
use crate::motion::rate::alias;
use crate::motion::wobble::{FASTEST_PLAUSIBLE_HZ, NEAR_NYQUIST};
use crate::{Error, Result};

/// Frames per wobble at which nothing is lost by a slower frame rate (ours).
const FRAMES_PER_WOBBLE: f64 = 8.0;
/// The rate may turn out faster than expected by this factor.
const MARGIN: f64 = 1.25;
/// Look-alikes are listed up to this many times the frame rate.
const LISTED_UP_TO_TURNS: f64 = 2.0;

/// What a frame rate can tell.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameRate {
    /// Frames a second.
    pub fps: f64,
    /// Half of it, Hz: beyond, a rate folds back.
    pub half_hz: f64,
    /// Up to here a rate is told without doubt, Hz: below 85 % of half the frame rate, and its fold
    /// beyond 13 Hz, as `swim` has it. From the side the body shortens twice a wobble, so half of that.
    pub trusted_hz: f64,
    /// Rates that would look just like the expected one, Hz, ascending.
    pub look_alike_hz: Vec<f64>,
    /// Whether the expected rate is told without doubt.
    pub tells: bool,
}

/// Every frame rate of the shoot, ascending.
pub fn of(shoot: &Shoot) -> Vec<FrameRate> {
    let mut all = shoot.fps.clone();
    all.sort_by(f64::total_cmp);
    all.dedup();
    all.into_iter().map(|fps| one(shoot, fps)).collect()
}

fn one(shoot: &Shoot, fps: f64) -> FrameRate {
    let rate = shoot.rate_hz.value;
    let half_hz = fps / 2.0;
    let beats = beats(shoot.view);
    let trusted_hz = trusted_hz(fps) / beats;
    let mut look_alike_hz: Vec<f64> = alias::images(beats * rate, fps, LISTED_UP_TO_TURNS * fps)
        .into_iter()
        .map(|hz| hz / beats)
        .filter(|hz| (hz - rate).abs() > 1e-9 && *hz > 0.0)
        .collect();
    look_alike_hz.sort_by(f64::total_cmp);
    FrameRate {
        fps,
        half_hz,
        trusted_hz,
        look_alike_hz,
        tells: rate <= trusted_hz,
    }
}

/// Up to which frequency a line is told without doubt at `fps`: the rule of `motion::wobble`.
fn trusted_hz(fps: f64) -> f64 {
    (NEAR_NYQUIST * fps / 2.0)
        .min(fps - FASTEST_PLAUSIBLE_HZ)
        .max(0.0)
}

/// How often what shows beats per wobble.
pub fn beats(view: View) -> f64 {
    match view {
        View::Side => 2.0,
        View::Above | View::Behind | View::Ahead => 1.0,
    }
}

/// The frame rate to film at: the slowest that has eight frames a wobble and tells rates a quarter
/// faster than expected (slow motion is dark and often smaller); else the fastest.
///
/// # Errors
/// [`Error::Setting`] where there is none.
pub fn best(shoot: &Shoot, frame_rates: &[FrameRate]) -> Result<f64> {
    let rate = shoot.rate_hz.value;
    let enough = |f: &&FrameRate| {
        f.fps >= FRAMES_PER_WOBBLE * rate * beats(shoot.view) && f.trusted_hz >= MARGIN * rate
    };
    frame_rates
        .iter()
        .find(enough)
        .or(frame_rates.last())
        .map(|f| f.fps)
        .ok_or_else(|| Error::setting("--fps", "no frame rate is given", "give --fps 30 --fps 60"))
}
