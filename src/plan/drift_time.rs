//! How long, or how many pulls, to film for the drift.

use super::{Picture, Shoot};
use crate::camera::View;

/// How far the path wanders about its line by itself, body lengths, one standard deviation: rod and
/// water move it. Ours; rendered clips have half of it.
const WANDER_LENGTHS: f64 = 0.05;
/// For how long it keeps to one side, s. Ours, no published source.
const MEMORY_S: f64 = 1.0;
/// How well one pull's direction is known from the line, degrees, one standard deviation, as `swim`
/// takes it.
const LINE_SD_DEG: f64 = 0.4;
/// The same where the camera goes along and its course stands for the pull's.
const COURSE_SD_DEG: f64 = 1.5;
/// Half width of a 95 % interval, standard deviations.
const Z95: f64 = 1.96;
/// A pull with the camera going along is taken to last this long, s.
const ALONG_S: f64 = 15.0;
/// Shorter pulls do not give a line.
const SHORTEST_S: f64 = 1.0;

/// How long to film for the drift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriftTime {
    /// Pulls to film, both ways along the water.
    pub pulls: u32,
    /// Seconds of each.
    pub pull_s: f64,
    /// Seconds in all.
    pub seconds: f64,
    /// What each pull alone gives, ± degrees (95 %).
    pub one_pull_deg: f64,
}

impl DriftTime {
    /// For the shoot, or why the drift cannot be had from this view.
    pub fn of(shoot: &Shoot, picture: &Picture) -> Result<DriftTime, &'static str> {
        match shoot.view {
            View::Side => return Err("sideways motion does not show from the side"),
            View::Behind | View::Ahead => {
                return Err(
                    "from behind and ahead it is known to a few degrees only; film it from above",
                );
            }
            View::Above => {}
        }
        let pull_s = picture.seconds_per_pull.unwrap_or(ALONG_S);
        if pull_s < SHORTEST_S {
            return Err("a pull crosses the picture too quickly; stand farther off or go along");
        }
        let direction = if shoot.goes_along {
            COURSE_SD_DEG
        } else {
            LINE_SD_DEG
        };
        let sd = path_deg(shoot, pull_s).hypot(direction);
        let pulls = (Z95 * sd / shoot.drift_within_deg).powi(2).ceil().max(1.0);
        Ok(DriftTime {
            pulls: pulls.min(1e4) as u32,
            pull_s,
            seconds: pulls * pull_s,
            one_pull_deg: Z95 * sd,
        })
    }
}

/// What the path's own wander leaves open of the slope of a line through a pull of `s` seconds, degrees,
/// one standard deviation: least squares over s/(2·memory) independent places, at least one.
fn path_deg(shoot: &Shoot, s: f64) -> f64 {
    let places = (s / (2.0 * MEMORY_S)).max(1.0);
    let wander_mm = WANDER_LENGTHS * shoot.length_mm;
    let slope = (12.0 / places).sqrt() * wander_mm / (1000.0 * shoot.speed_m_s.value * s);
    slope.atan().to_degrees()
}
