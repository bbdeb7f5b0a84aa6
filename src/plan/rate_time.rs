//! How long to film for the wobble rate.
//!
//! Two answers, for two questions. The rate *in this clip* is known as soon as noise allows: the
//! Cramér–Rao bound for a real tone, or, where the rate wanders, the phase at both ends. The rate *of the
//! lure* is the mean of a rate that wanders, and needs time however good the picture is.

use super::frame_rate::beats;
use super::{Shoot, Swing};

/// Wander of a lure's rate, one standard deviation over the mean. Real rates wander by several per
/// cent; ours, no published source.
pub const WANDER: f64 = 0.03;
/// For how long the rate keeps to one side of its mean, s. Ours, no published source.
const MEMORY_S: f64 = 2.0;
/// The rate estimator's error over the least possible one (goal of the project, kept by its tests).
const OVER_BOUND: f64 = 1.2;
/// Half width of a 95 % interval, standard deviations.
const Z95: f64 = 1.96;
/// What a wobble must reach before the estimator surely finds it: n·a²/(4σ²) of the tone's power over the
/// noise. Of 300 simulated clips it missed 83 at 35 and one at 53.
pub(super) const STANDS_OUT: f64 = 60.0;
/// Fewest wobbles that count.
const FEWEST_WOBBLES: f64 = 10.0;
/// Shortest clip, s.
const SHORTEST_S: f64 = 2.0;
/// Longer than this nobody films, s.
const LONGEST_S: f64 = 36_000.0;

/// How long to film for the rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateTime {
    /// Least time for a steady tone by the Cramér–Rao bound, s: nothing can do better.
    pub bound_s: f64,
    /// Time until the rate in the clip is known as well as wanted, s.
    pub clip_s: f64,
    /// Time until the mean of the lure's own rate is, s, over one pull or several.
    pub lure_s: f64,
}

impl RateTime {
    /// For the shoot at `fps` frames a second.
    pub fn of(shoot: &Shoot, swing: &Swing, fps: f64) -> RateTime {
        let (hz, within) = (shoot.rate_hz.value, shoot.rate_within_hz);
        let tone = Tone {
            hz,
            beats: beats(shoot.view),
            noise: swing.noise,
            fps,
        };
        let stands_out_s = 4.0 * STANDS_OUT * swing.noise * swing.noise / fps;
        let least = SHORTEST_S.max(FEWEST_WOBBLES / hz).max(stands_out_s);
        let clip_s = seconds_until(|s| tone.within_hz(s) <= within).max(least);
        let lure_s = 2.0 * MEMORY_S * (Z95 * WANDER * hz / within).powi(2);
        RateTime {
            bound_s: seconds_until(|s| Z95 * tone.steady_hz(s) <= within),
            clip_s,
            lure_s: lure_s.max(clip_s),
        }
    }
}

/// What shows of a wobble, in noise.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tone {
    /// Its rate, Hz.
    pub hz: f64,
    /// How often what shows beats per wobble.
    pub beats: f64,
    /// Noise of a frame over its amplitude.
    pub noise: f64,
    /// Frames a second.
    pub fps: f64,
}

impl Tone {
    /// Half the 95 % interval of the mean rate in a clip of `s` seconds, Hz.
    pub fn within_hz(&self, s: f64) -> f64 {
        let ends = ends_hz(self.noise, self.fps, self.beats * self.hz, s) / self.beats;
        Z95 * OVER_BOUND * self.steady_hz(s).hypot(ends)
    }

    /// The bound for a rate that does not wander, one standard deviation, Hz.
    fn steady_hz(&self, s: f64) -> f64 {
        bound_hz(self.noise, self.fps, (s * self.fps).max(2.0)) / self.beats
    }
}

/// Cramér–Rao bound of the frequency of a real tone in white noise, Hz, one standard deviation: `noise`
/// is the noise's standard deviation over the tone's amplitude (zero to peak), `n` samples at `fps`:
/// var f ≥ 24 σ² fs²/((2π)² A² n (n² − 1)) (Rife & Boorstyn 1974, from memory; confirmed numerically).
pub fn bound_hz(noise: f64, fps: f64, n: f64) -> f64 {
    24f64.sqrt() * noise * fps / (std::f64::consts::TAU * (n * (n * n - 1.0)).sqrt())
}

/// What the phase at both ends leaves open of the mean rate over `s` seconds, Hz, where the rate
/// wanders as a random walk of strength q (rad²/s³): a filter that follows phase and rate knows the
/// phase at an end to √2·q^¼·r^¾ rad² with r the noise of a phase reading per second (the steady state
/// of the Kalman filter for this model, derived from its Riccati equation).
fn ends_hz(noise: f64, fps: f64, hz: f64, s: f64) -> f64 {
    let turn = std::f64::consts::TAU;
    let q = 2.0 * (WANDER * turn * hz).powi(2) / MEMORY_S;
    let r = 2.0 * noise * noise / fps;
    let one_end = 2f64.sqrt() * q.powf(0.25) * r.powf(0.75);
    (2.0 * one_end).sqrt() / (turn * s)
}

/// The shortest time from which `enough` holds, s, by bisection in its logarithm.
fn seconds_until(enough: impl Fn(f64) -> bool) -> f64 {
    let (mut short, mut long) = (0.01_f64, LONGEST_S);
    for _ in 0..80 {
        let middle = (short * long).sqrt();
        if enough(middle) {
            long = middle;
        } else {
            short = middle;
        }
    }
    long
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Computed from the numeric Fisher matrix elsewhere.
    #[test]
    fn bound_has_its_values() {
        assert_relative_eq!(bound_hz(0.2, 30.0, 300.0), 9.0032e-4, max_relative = 1e-4);
        assert_relative_eq!(
            bound_hz(1.5 / 8.0, 60.0, 600.0),
            5.9683e-4,
            max_relative = 1e-4
        );
    }

    #[test]
    fn the_time_found_is_the_least_that_is_enough() {
        let s = seconds_until(|s| s * s >= 50.0);
        assert_relative_eq!(s, 50f64.sqrt(), max_relative = 1e-9);
    }
}
