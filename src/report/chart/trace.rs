//! The curves of a chart sheet, taken from the track.

use super::swing_fit;
use crate::camera::{PullFrame, Setup, View};
use crate::motion::{Series, Swim};
use crate::tracking::Track;
use crate::{Measured, Status, Warning};

/// Rates drawn in the spectrum.
const SPECTRUM_STEPS: usize = 600;
/// Fastest wobble worth a place in the picture, Hz.
const FASTEST_HZ: f64 = 25.0;

/// The curves of a chart sheet. Vectors of one group have one length and rise in time.
#[derive(Debug, Clone, PartialEq)]
pub struct SwimTrace {
    /// What swings, for the title: "axis" or, from the side, "apparent length".
    pub swing_name: &'static str,
    /// Its unit and sign, for the upright axis.
    pub swing_unit: &'static str,
    /// Time stamps of the frames that show the lure, s.
    pub t_s: Vec<f64>,
    /// The swing at those times.
    pub swing: Vec<f64>,
    /// The fitted wobble, (s, swing); empty where no wobble was measured.
    pub fitted: Vec<(f64, f64)>,
    /// (Hz, amplitude in the swing's unit), rising in Hz.
    pub spectrum: Vec<(f64, f64)>,
    /// The path, where there is a scale.
    pub path: Option<PathTrace>,
}

/// What the path is drawn over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Along {
    /// The way made along the pull, mm.
    Way,
    /// Time, s: this view does not show the way.
    Time,
}

/// The path of the middle of the body.
#[derive(Debug, Clone, PartialEq)]
pub struct PathTrace {
    /// What `along` holds.
    pub kind: Along,
    /// Time stamps, s.
    pub t_s: Vec<f64>,
    /// Way along the pull, mm, or time, s.
    pub along: Vec<f64>,
    /// Sideways, mm, + to own right (from the side: + down).
    pub sideways_mm: Vec<f64>,
}

impl SwimTrace {
    /// The curves of `track` in the lure's own signs.
    pub fn of(track: &Track, setup: &Setup, swim: &Swim) -> SwimTrace {
        let frame = PullFrame::new(setup.view, swim.pull_deg.unwrap_or(0.0), setup.tilt_deg);
        let series = Series::new(track, &frame);
        let (swing_name, swing_unit, swing) = swing(&series, setup.view);
        SwimTrace {
            swing_name,
            swing_unit,
            fitted: fitted(&series.t_s, &swing, &swim.wobble.hz),
            spectrum: spectrum(&series.t_s, &swing, swim.wobble.nyquist_hz),
            path: path(&series, setup.view, track.camera_moves, swim),
            t_s: series.t_s,
            swing,
        }
    }
}

/// From the side no yaw shows; there the apparent length beats, at twice the wobble rate.
fn swing(series: &Series, view: View) -> (&'static str, &'static str, Vec<f64>) {
    match view {
        View::Side => {
            let mean = series.length_px.iter().sum::<f64>() / series.len().max(1) as f64;
            let percent = series
                .length_px
                .iter()
                .map(|l| 100.0 * (l / mean - 1.0))
                .collect();
            ("apparent length", "shorter −, longer +, %", percent)
        }
        _ => (
            "axis against the pull",
            "nose to own left −, right +, °",
            series.axis_deg.clone(),
        ),
    }
}

fn fitted(t_s: &[f64], swing: &[f64], rate: &Measured) -> Vec<(f64, f64)> {
    let (Some(hz), Some(first), Some(last)) = (
        rate.value.filter(|hz| rate.is_measured() && *hz > 0.0),
        t_s.first(),
        t_s.last(),
    ) else {
        return Vec::new();
    };
    // Thirty-two points a cycle look round; a long clip needs no more than the sheet has pixels.
    let points = ((last - first) * hz * 32.0).ceil().clamp(2.0, 8000.0) as usize;
    let at: Vec<f64> = (0..=points)
        .map(|i| first + (last - first) * i as f64 / points as f64)
        .collect();
    let wobble = swing_fit::local_wobble(t_s, swing, hz, &at);
    at.into_iter()
        .zip(wobble)
        .filter(|(t, y)| y.is_finite() && near_a_sample(t_s, *t, 0.5 / hz))
        .collect()
}

/// Whether a frame within `reach` s of `at` shows the lure: nothing is fitted where nothing was seen.
fn near_a_sample(t_s: &[f64], at: f64, reach: f64) -> bool {
    let next = t_s.partition_point(|t| *t < at);
    let near = |i: usize| t_s.get(i).is_some_and(|t| (t - at).abs() <= reach);
    near(next) || (next > 0 && near(next - 1))
}

fn spectrum(t_s: &[f64], swing: &[f64], nyquist_hz: f64) -> Vec<(f64, f64)> {
    // At half the frame rate itself sine and cosine cannot be told apart.
    let highest = match nyquist_hz.is_finite() && nyquist_hz > 0.0 {
        true => (0.98 * nyquist_hz).min(FASTEST_HZ),
        false => FASTEST_HZ,
    };
    // A slower swing than one cycle over the clip is not told from a steady turn.
    let (Some(first), Some(last)) = (t_s.first(), t_s.last()) else {
        return Vec::new();
    };
    let lowest = (1.0 / (last - first)).min(highest);
    let step = (highest - lowest) / SPECTRUM_STEPS as f64;
    let hz: Vec<f64> = (0..=SPECTRUM_STEPS)
        .map(|i| lowest + step * i as f64)
        .collect();
    let amplitudes = swing_fit::amplitude_spectrum(t_s, swing, &hz);
    hz.into_iter().zip(amplitudes).collect()
}

fn path(series: &Series, view: View, camera_moves: bool, swim: &Swim) -> Option<PathTrace> {
    // by a wrong view every side is wrong
    if swim.warnings.iter().any(Warning::doubts_the_view) {
        return None;
    }
    // along the water a camera that turns after the lure hides how far that went aside
    let along_water = matches!(view, View::Behind | View::Ahead);
    if along_water && !swim.drift.deg.is_measured() {
        return None;
    }
    let scale = swim.mm_per_px.filter(|s| s.is_finite() && *s > 0.0)?;
    let first = *series.t_s.first()?;
    let start = *series.sideways_px.first()?;
    let sideways_mm = series
        .sideways_px
        .iter()
        .map(|px| (px - start) * scale)
        .collect();
    let speed = swim
        .speed
        .value
        .filter(|_| swim.speed.status == Status::Measured);
    // under a camera that moves along, the picture shows the way over a bottom farther off than the lure
    let by_picture = matches!(view, View::Above | View::Side) && !camera_moves;
    let (kind, along) = match (by_picture, speed) {
        (true, _) => {
            let start = *series.forward_px.first()?;
            let way = series.forward_px.iter().map(|px| (px - start) * scale);
            (Along::Way, way.collect())
        }
        // The way ahead is foreshortened here, or made over the bottom: the speed tells it better.
        (false, Some(m_s)) => {
            let way = series.t_s.iter().map(|t| (t - first) * m_s * 1e3);
            (Along::Way, way.collect())
        }
        _ => (Along::Time, series.t_s.clone()),
    };
    Some(PathTrace {
        kind,
        t_s: series.t_s.clone(),
        along,
        sideways_mm,
    })
}
