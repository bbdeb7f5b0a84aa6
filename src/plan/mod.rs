//! The plan of a shoot: can this footage show what the maker wants to know, and with which settings?
//!
//! [`Plan::of`] turns what is told of lure, phone and place ([`Shoot`]) into a distance, a frame rate,
//! a shutter, and how long to film; one file per question. Figures that were not told are assumed, and
//! say so ([`Given::told`]).

mod cautions;
mod dart_time;
mod drift_time;
mod frame_rate;
mod picture;
mod rate_time;
mod safety;
mod shutter;
mod stand;
mod swing;

pub use dart_time::{DartTime, POWER, minutes_to_tell, power_to_tell};
pub use drift_time::DriftTime;
pub use frame_rate::FrameRate;
pub use picture::Picture;
pub use rate_time::{RateTime, WANDER, bound_hz};
pub use safety::SAFETY;
pub use shutter::Shutter;
pub use stand::Stand;
pub use swing::Swing;

use crate::camera::View;
use crate::motion::wobble::FASTEST_PLAUSIBLE_HZ;
use crate::water::Water;
use crate::{Result, Warning};

/// Rate that is planned for where none is told, Hz: the fastest that a lure is taken to have.
pub const ASSUMED_RATE_HZ: f64 = FASTEST_PLAUSIBLE_HZ;
/// Width that is planned for where none is told, degrees to each side. A stand-in of ours, nothing
/// normal: no published widths were found.
pub const ASSUMED_WIDTH_DEG: f64 = 10.0;
/// Speed of the pull where none is told, m/s: within the 0.45–1.9 that common reels and cranking give
/// (computed).
pub const ASSUMED_SPEED_M_S: f64 = 1.0;
/// Field of view along the long side where none is told, degrees: about a phone's main camera in video
/// (no published source).
pub const ASSUMED_FOV_DEG: f64 = 65.0;

/// A figure that the plan rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Given {
    /// The figure.
    pub value: f64,
    /// Whether it was told; else it is assumed.
    pub told: bool,
}

impl Given {
    /// `told` where there is one, else `assumed`.
    pub fn or(told: Option<f64>, assumed: f64) -> Given {
        Given {
            value: told.unwrap_or(assumed),
            told: told.is_some(),
        }
    }
}

/// What is told of the shoot.
#[derive(Debug, Clone, PartialEq)]
pub struct Shoot {
    /// From where the lure is to be filmed.
    pub view: View,
    /// Body length without lip, mm.
    pub length_mm: f64,
    /// Expected wobble rate, Hz.
    pub rate_hz: Given,
    /// Expected wobble width, degrees to each side.
    pub width_deg: Given,
    /// Expected speed of the pull, m/s.
    pub speed_m_s: Given,
    /// Field of view in air along the picture's long side, degrees.
    pub fov_deg: Given,
    /// Long and short side of the picture, px.
    pub size_px: [u32; 2],
    /// Frame rates that the phone offers, 1/s.
    pub fps: Vec<f64>,
    /// From the camera to the lure, m.
    pub distance_m: Option<f64>,
    /// Height of the camera over the water, m.
    pub height_m: Option<f64>,
    /// How far the camera looks down on the lure, degrees below the horizontal.
    pub tilt_deg: Option<f64>,
    /// The water, where the camera is in it, behind a flat port.
    pub under_water: Option<Water>,
    /// Whether the camera goes along with the lure; else it stands still.
    pub goes_along: bool,
    /// How well the rate is wanted, ± Hz (95 %).
    pub rate_within_hz: f64,
    /// How well the drift is wanted, ± degrees (95 %).
    pub drift_within_deg: f64,
    /// Two dart rates that are to be told apart, per minute.
    pub darts_per_minute: [f64; 2],
}

/// The plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// What it was made for.
    pub shoot: Shoot,
    /// Where to stand.
    pub stand: Stand,
    /// What the picture shows of the lure.
    pub picture: Picture,
    /// How small a wobble shows.
    pub swing: Swing,
    /// What each frame rate can tell, in ascending order.
    pub frame_rates: Vec<FrameRate>,
    /// The frame rate to film at, 1/s: the best one there is, which need not be good enough.
    pub fps: f64,
    /// The exposure.
    pub shutter: Shutter,
    /// How long to film for the rate.
    pub rate_time: RateTime,
    /// How long to film for the drift, or why it cannot be had from here.
    pub drift_time: std::result::Result<DriftTime, &'static str>,
    /// How long to film for the darts.
    pub dart_time: DartTime,
    /// What the maker should know besides.
    pub warnings: Vec<Warning>,
}

impl Plan {
    /// The plan for a shoot.
    ///
    /// # Errors
    /// [`Setting`](crate::Error::Setting) where distance, height and tilt contradict each other, or no
    /// frame rate is given.
    pub fn of(shoot: &Shoot) -> Result<Plan> {
        let stand = Stand::of(shoot)?;
        let picture = Picture::of(shoot, &stand);
        let frame_rates = frame_rate::of(shoot);
        let fps = frame_rate::best(shoot, &frame_rates)?;
        let swing = Swing::of(shoot, &stand, &picture, fps);
        let mut plan = Plan {
            shutter: Shutter::of(shoot, &stand, fps),
            rate_time: RateTime::of(shoot, &swing, fps),
            drift_time: DriftTime::of(shoot, &picture),
            dart_time: DartTime::of(shoot.darts_per_minute),
            shoot: shoot.clone(),
            stand,
            picture,
            swing,
            frame_rates,
            fps,
            warnings: vec![],
        };
        plan.warnings = cautions::of(&plan);
        Ok(plan)
    }

    /// The field of view in air, degrees, that would show the body large enough from a distance that is
    /// too far; `None` where it is not.
    pub fn zoom_fov_deg(&self) -> Option<f64> {
        let nearer = self.stand.farthest_m / self.stand.distance.value;
        let half = (self.shoot.fov_deg.value / 2.0).to_radians().tan() * nearer;
        (nearer < 0.999).then(|| 2.0 * half.atan().to_degrees())
    }

    /// Half the 95 % interval, Hz, that the rate in a clip of `seconds` is planned to have.
    pub fn rate_interval_hz(&self, seconds: f64) -> f64 {
        let tone = rate_time::Tone {
            hz: self.shoot.rate_hz.value,
            beats: frame_rate::beats(self.shoot.view),
            noise: self.swing.noise,
            fps: self.fps,
        };
        tone.within_hz(seconds)
    }

    /// How many pulls through a still picture make up `seconds`; `None` where the camera goes along.
    pub fn pulls_for(&self, seconds: f64) -> Option<f64> {
        self.picture
            .seconds_per_pull
            .map(|pull| (seconds / pull).ceil().max(1.0))
    }
}
