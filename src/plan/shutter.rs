//! The slowest shutter before the exposure eats the width or motion smears the body.

use super::frame_rate::beats;
use super::{Shoot, Stand};
use crate::camera::View;

/// Part of the width that the exposure may eat (the interval of a measured width allows 4 %).
pub const EATEN: f64 = 0.02;
/// Part of the body length over which its tail may be smeared. Ours, no published source.
pub const SMEARED: f64 = 0.05;
/// From the pivot to the tail, body lengths: a pivot at 0.4 from the nose, which common practice holds
/// to be about the belly hook's place.
const TAIL_ARM: f64 = 0.6;
/// Shutters that phones offer, one over s.
const STOPS: [u32; 12] = [25, 30, 50, 60, 100, 125, 250, 500, 1000, 2000, 4000, 8000];

/// The exposure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shutter {
    /// Longest exposure that eats no more than a fiftieth of the width, s.
    pub blur_s: f64,
    /// Longest exposure that smears the tail by no more than a twentieth of the body, s.
    pub smear_s: f64,
    /// The slowest usual shutter within both and within a frame, one over s.
    pub one_over: u32,
    /// Part of the width that this shutter eats.
    pub eats: f64,
}

impl Shutter {
    /// For the shoot at `fps` frames a second.
    pub fn of(shoot: &Shoot, stand: &Stand, fps: f64) -> Shutter {
        let beat_hz = shoot.rate_hz.value * beats(shoot.view);
        let blur_s = turns_for(1.0 - EATEN) / beat_hz;
        let smear_s = SMEARED * shoot.length_mm / tail_mm_s(shoot, stand);
        let need = 1.0 / blur_s.min(smear_s).min(1.0 / fps);
        let one_over = STOPS
            .into_iter()
            .find(|stop| f64::from(*stop) >= need - 1e-9)
            .unwrap_or(STOPS[STOPS.len() - 1]);
        Shutter {
            blur_s,
            smear_s,
            one_over,
            eats: 1.0 - left_by(beat_hz / f64::from(one_over)),
        }
    }
}

/// What an exposure of `turns` cycles leaves of a sine: sin(πx)/(πx).
pub fn left_by(turns: f64) -> f64 {
    let angle = std::f64::consts::PI * turns;
    if angle.abs() < 1e-8 {
        1.0
    } else {
        angle.sin() / angle
    }
}

/// The exposure in cycles that leaves the part `left` (0–1) of a sine, by bisection: [`left_by`] falls
/// from 1 to 0 over the first cycle.
fn turns_for(left: f64) -> f64 {
    let (mut short, mut long) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (short + long);
        if left_by(middle) > left {
            short = middle;
        } else {
            long = middle;
        }
    }
    short
}

/// How fast the tail goes across the picture at most, mm/s: its swing, and the pull where the camera
/// stands still (along the line of sight it hardly shows).
fn tail_mm_s(shoot: &Shoot, stand: &Stand) -> f64 {
    let swing = shoot.width_deg.value.to_radians() * TAIL_ARM * shoot.length_mm;
    let swing_mm_s = std::f64::consts::TAU * shoot.rate_hz.value * swing;
    let across = match shoot.view {
        View::Above | View::Side => 1.0,
        View::Behind | View::Ahead => stand.tilt_deg.value.to_radians().sin(),
    };
    let pull_mm_s = if shoot.goes_along {
        0.0
    } else {
        1000.0 * shoot.speed_m_s.value * across
    };
    swing_mm_s.hypot(pull_mm_s)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Blur of a sine (computed): 6 Hz, 1/30 s 0.93549; 12 Hz 0.75683; 15 Hz, 1/60 s 0.90032.
    #[test]
    fn what_an_exposure_leaves() {
        for (hz, s, left) in [
            (6.0, 1.0 / 30.0, 0.93549),
            (12.0, 1.0 / 30.0, 0.75683),
            (15.0, 1.0 / 60.0, 0.90032),
        ] {
            assert_abs_diff_eq!(left_by(hz * s), left, epsilon = 5e-6);
        }
        assert_eq!(left_by(0.0), 1.0);
    }

    #[test]
    fn the_longest_exposure_leaves_just_that_much() {
        for left in [0.5, 0.9, 0.98, 0.999] {
            assert_abs_diff_eq!(left_by(turns_for(left)), left, epsilon = 1e-12);
        }
    }
}
