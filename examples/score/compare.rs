//! A result against the truth.

use truerun::motion::Swim;
use truerun::tracking::Track;
use truerun::{Measured, Status};

use super::frames::{Frames, frames};
use super::truth::Truth;

/// A dart counts as found when its peak is told within this, s.
const DART_WITHIN_S: f64 = 0.6;
/// An aliased candidate is the true rate when it is within this part of it.
const CANDIDATE_WITHIN: f64 = 0.02;

/// The measures that have an interval.
pub const MEASURES: [&str; 6] = ["rate", "width", "sweep", "drift", "pivot", "speed"];

/// The errors of one run.
pub struct Score {
    /// Whether a lure was found.
    pub found: bool,
    /// Frame by frame.
    pub frames: Frames,
    /// What was said of the rate: `measured`, `none`, `aliased` (with the true rate among the
    /// candidates), `aliased wrongly` or `unmeasurable`.
    pub rate_said: &'static str,
    /// Wobble rate, Hz.
    pub rate: Against,
    /// Whether the width is as it looks only.
    pub apparent: bool,
    /// Wobble width, degrees.
    pub width: Against,
    /// Tail sweep, mm.
    pub sweep: Against,
    /// Drift, degrees.
    pub drift: Against,
    /// Pivot, fraction from the nose.
    pub pivot: Against,
    /// Speed, m/s.
    pub speed: Against,
    /// The darts.
    pub darts: Darts,
    /// Whether a blow-out was told where there was one, and none where there was none.
    pub blow_out_right: bool,
}

/// Darts found against true ones.
pub struct Darts {
    /// Found at the right time with the right side.
    pub right: usize,
    /// True ones.
    pub all: usize,
    /// Told though there were none.
    pub invented: usize,
    /// Each that was told, in words.
    pub told: Vec<String>,
    /// Each true one, in words.
    pub true_ones: Vec<String>,
}

/// A figure and its truth.
pub struct Against {
    /// Value, where measured.
    pub value: Option<f64>,
    /// Its 95 % interval.
    pub interval: Option<[f64; 2]>,
    /// Truth; NaN where there is none.
    pub truth: f64,
    /// Whether the interval holds the truth; `None` without a measured value or a truth.
    pub holds: Option<bool>,
}

impl Against {
    fn new(measured: &Measured, truth: f64) -> Against {
        let interval = measured
            .ci95
            .filter(|_| measured.is_measured() && truth.is_finite());
        Against {
            value: measured.value.filter(|_| measured.is_measured()),
            interval,
            truth,
            holds: interval.map(|[lo, hi]| lo <= truth && truth <= hi),
        }
    }

    /// How far the value lies off the truth.
    pub fn error(&self) -> Option<f64> {
        self.value.map(|v| (v - self.truth).abs())
    }
}

impl Score {
    /// Every figure with an interval, by name.
    pub fn intervals(&self) -> [(&'static str, &Against); 6] {
        let figures = [
            &self.rate,
            &self.width,
            &self.sweep,
            &self.drift,
            &self.pivot,
            &self.speed,
        ];
        std::array::from_fn(|k| (MEASURES[k], figures[k]))
    }
}

/// Compares.
pub fn compare(truth: &Truth, track: &Track, swim: &Swim) -> Score {
    let rate = true_rate(truth, track);
    // A lure that does not wobble has no width, sweep or pivot to be compared with.
    let of_wobble = |key: &str| {
        if rate > 0.0 {
            truth.number(key)
        } else {
            f64::NAN
        }
    };
    let mut width = Against::new(&swim.wobble.width_deg, truth.width());
    if swim.wobble.apparent {
        width.holds = None;
    }
    Score {
        found: swim.found,
        frames: frames(truth, track),
        rate_said: rate_said(rate, swim),
        rate: Against::new(&swim.wobble.hz, rate),
        apparent: swim.wobble.apparent,
        width,
        sweep: Against::new(&swim.wobble.tail_sweep_mm, of_wobble("tail_sweep_mm")),
        drift: Against::new(&swim.drift.deg, truth.number("drift_deg")),
        pivot: Against::new(&swim.pivot, of_wobble("pivot_fraction_from_nose")),
        speed: Against::new(&swim.speed, truth.number("tow_speed_m_s")),
        darts: darts(truth, swim),
        blow_out_right: (swim.blow_out.status == Status::Measured) == truth.blows_out(),
    }
}

/// The true rate over the time that the lure was followed.
fn true_rate(truth: &Truth, track: &Track) -> f64 {
    let mut seen = track.frames.iter().filter(|f| f.is_seen()).map(|f| f.t_s);
    let first_s = seen.next().unwrap_or(f64::NAN);
    truth.rate_between(first_s, seen.next_back().unwrap_or(first_s))
}

fn rate_said(rate: f64, swim: &Swim) -> &'static str {
    let mut candidates = swim.wobble.alias_candidates_hz.iter();
    match swim.wobble.hz.status {
        Status::Measured => "measured",
        Status::None => "none",
        Status::Aliased if candidates.any(|c| (c - rate).abs() < CANDIDATE_WITHIN * rate) => {
            "aliased"
        }
        Status::Aliased => "aliased wrongly",
        Status::Unmeasurable => "unmeasurable",
    }
}

fn darts(truth: &Truth, swim: &Swim) -> Darts {
    let mut told: Vec<(f64, &str)> = swim
        .hunts
        .events
        .iter()
        .map(|h| (h.peak_s, h.side.word()))
        .collect();
    let all = truth.darts();
    let in_words = |peak_s: f64, side: &str| format!("{peak_s:.2} s {side}");
    let told_ones = told.iter().map(|t| in_words(t.0, t.1)).collect();
    let true_ones = all.iter().map(|d| in_words(d.0, &d.1)).collect();
    let mut right = 0;
    for (peak_s, side) in &all {
        let same = |t: &(f64, &str)| (t.0 - peak_s).abs() < DART_WITHIN_S && t.1 == side;
        if let Some(k) = told.iter().position(same) {
            told.remove(k);
            right += 1;
        }
    }
    Darts {
        right,
        all: all.len(),
        invented: told.len(),
        told: told_ones,
        true_ones,
    }
}
