//! A result against the truth.

use truerun::swim_test::SwimReport;
use truerun::units::wrap_deg;
use truerun::{Measured, Status};

use super::truth::{Truth, point};

/// The table's heading.
pub const HEADING: &str = "clip                 start found  seen% false | rate Hz (true)    in | width° (true)  in | drift° (true)    in | darts ok/true/extra | pivot (true) in | axis° RMS  centre% RMS";

/// The errors of one run.
pub struct Score {
    /// Whether a lure was found.
    pub found: bool,
    /// Fraction of the visible frames in which it was followed.
    pub seen: f64,
    /// Frames in which something was followed though the lure was out of sight or absent.
    pub wrongly_seen: usize,
    /// Wobble rate.
    pub rate: Against,
    /// Status of the rate.
    pub rate_status: Status,
    /// Whether the true rate is among the aliased candidates.
    pub candidate: bool,
    /// Wobble width.
    pub width: Against,
    /// Whether the width is apparent only.
    pub apparent: bool,
    /// Drift.
    pub drift: Against,
    /// Pivot.
    pub pivot: Against,
    /// Darts found with the right side, true darts, darts invented.
    pub darts: [usize; 3],
    /// RMS of the axis about its mean error, and of the centre in parts of the body length.
    pub axis_rms_deg: f64,
    /// See `axis_rms_deg`.
    pub centre_rms: f64,
}

/// A figure and its truth.
pub struct Against {
    /// Value.
    pub value: Option<f64>,
    /// Truth.
    pub truth: f64,
    /// Whether the interval holds the truth; `None` without a measured value.
    pub holds: Option<bool>,
}

impl Against {
    fn new(measured: &Measured, truth: f64) -> Against {
        let holds = match (measured.status, measured.ci95) {
            (Status::Measured, Some([lo, hi])) => Some(lo <= truth && truth <= hi),
            _ => None,
        };
        Against {
            value: measured.value.filter(|_| measured.is_measured()),
            truth,
            holds,
        }
    }

    /// Value less truth.
    pub fn error(&self) -> Option<f64> {
        self.value.map(|v| v - self.truth)
    }

    fn cell(&self, places: usize) -> String {
        let value = self
            .value
            .map_or("  –  ".to_owned(), |v| format!("{v:.places$}"));
        let holds = match self.holds {
            Some(true) => "yes",
            Some(false) => "NO ",
            None => " – ",
        };
        format!("{value:>7} ({:>6.places$}) {holds}", self.truth)
    }
}

/// Compares.
pub fn compare(truth: &Truth, report: &SwimReport) -> Score {
    let swim = &report.swim;
    let frames = frames(truth, report);
    Score {
        found: swim.found,
        seen: frames.seen,
        wrongly_seen: frames.wrongly,
        rate: Against::new(&swim.wobble.hz, truth.rate()),
        rate_status: swim.wobble.hz.status,
        candidate: swim
            .wobble
            .alias_candidates_hz
            .iter()
            .any(|c| (c - truth.rate()).abs() < 0.02 * truth.rate()),
        width: Against::new(&swim.wobble.width_deg, width(truth)),
        apparent: swim.wobble.apparent,
        drift: Against::new(&swim.drift.deg, truth.number("drift_deg")),
        pivot: Against::new(&swim.pivot, truth.number("pivot_fraction_from_nose")),
        darts: darts(truth, report),
        axis_rms_deg: frames.axis_rms_deg,
        centre_rms: frames.centre_rms,
    }
}

fn width(truth: &Truth) -> f64 {
    let seen = truth.number("yaw_amp_deg_visible");
    if seen.is_finite() {
        seen
    } else {
        truth.number("yaw_amp_deg")
    }
}

fn darts(truth: &Truth, report: &SwimReport) -> [usize; 3] {
    let mut left: Vec<(f64, f64)> = report
        .swim
        .hunts
        .events
        .iter()
        .map(|h| (h.peak_s, if h.side.word() == "right" { 1.0 } else { -1.0 }))
        .collect();
    let true_darts = truth.darts();
    let mut right = 0;
    for (side, _, peak) in &true_darts {
        if let Some(k) = left
            .iter()
            .position(|f| (f.0 - peak).abs() < 0.6 && f.1 == *side)
        {
            left.remove(k);
            right += 1;
        }
    }
    [right, true_darts.len(), left.len()]
}

struct Frames {
    seen: f64,
    wrongly: usize,
    axis_rms_deg: f64,
    centre_rms: f64,
}

fn frames(truth: &Truth, report: &SwimReport) -> Frames {
    let (mut visible, mut both, mut wrongly) = (0usize, 0usize, 0usize);
    let (mut axis, mut centre) = (0.0, 0.0);
    for (t, f) in truth.frames().iter().zip(&report.track.frames) {
        let there = t["visible"] == true && t["occluded"] == false;
        visible += usize::from(there);
        if f.is_seen() && !there {
            wrongly += 1;
        }
        let (Some(nose), Some(tail), true, true) =
            (point(&t["nose"]), point(&t["tail"]), there, f.is_seen())
        else {
            continue;
        };
        both += 1;
        let length = (nose[0] - tail[0]).hypot(nose[1] - tail[1]);
        let off = wrap_deg(f.axis_deg - t["axis_img_deg"].as_f64().unwrap_or(f64::NAN));
        axis += off * off;
        let (x, y) = (
            t["cx"].as_f64().unwrap_or(f64::NAN),
            t["cy"].as_f64().unwrap_or(f64::NAN),
        );
        centre += ((f.x_px - x).powi(2) + (f.y_px - y).powi(2)) / (length * length);
    }
    let n = both.max(1) as f64;
    Frames {
        seen: both as f64 / visible.max(1) as f64,
        wrongly,
        axis_rms_deg: (axis / n).sqrt(),
        centre_rms: (centre / n).sqrt(),
    }
}

impl Score {
    /// A row of the table.
    pub fn row(&self, name: &str, aided: bool) -> String {
        format!(
            "{name:<20} {:<5} {:<5} {:>5.0} {:>5} | {} {} | {}{} | {} | {}/{}/{} | {} | {:>6.2} {:>6.1}",
            if aided { "box" } else { "own" },
            self.found,
            100.0 * self.seen,
            self.wrongly_seen,
            self.rate.cell(3),
            match self.rate_status {
                Status::Measured => "",
                Status::None => "none",
                Status::Aliased if self.candidate => "aliased+",
                Status::Aliased => "aliased-",
                Status::Unmeasurable => "unmeas",
            },
            self.width.cell(2),
            if self.apparent { "~" } else { " " },
            self.drift.cell(2),
            self.darts[0],
            self.darts[1],
            self.darts[2],
            self.pivot.cell(2),
            self.axis_rms_deg,
            100.0 * self.centre_rms,
        )
    }
}
