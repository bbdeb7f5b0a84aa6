//! The product of the swim test: every figure with its status and interval. Plain values.

use super::Depth;
use crate::camera::Side;
use crate::{Measured, Status, Warning};

/// Wobble rate over one second of the clip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecondRate {
    /// Middle of the second, s.
    pub t_s: f64,
    /// Rate, Hz.
    pub hz: f64,
}

/// The wobble: how fast and how wide.
#[derive(Debug, Clone, PartialEq)]
pub struct Wobble {
    /// Rate, Hz: full left-right-left cycles counted by phase over the time the lure was seen.
    pub hz: Measured,
    /// Width, degrees zero-to-peak yaw (or the apparent angle, see `apparent`).
    pub width_deg: Measured,
    /// The width is as it looks from this view, not the lure's own yaw.
    pub apparent: bool,
    /// Tail sweep, mm peak-to-peak.
    pub tail_sweep_mm: Measured,
    /// Half the frame rate, Hz: a faster wobble folds back.
    pub nyquist_hz: f64,
    /// Where aliased: the rates that would look the same, Hz, ascending.
    pub alias_candidates_hz: Vec<f64>,
    /// The rate second by second.
    pub by_second: Vec<SecondRate>,
}

/// Roll of the body about its length.
#[derive(Debug, Clone, PartialEq)]
pub struct Roll {
    /// Zero-to-peak, degrees.
    pub width_deg: Measured,
}

/// Steady run to one side.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// Degrees off the pull direction, + to own right.
    pub deg: Measured,
    /// Sideways mm per metre of pull, + to own right.
    pub mm_per_m: Option<f64>,
}

/// A quick sideways dart, off the wobble-free path, that comes back by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Hunt {
    /// When it leaves the path, s.
    pub start_s: f64,
    /// When it is farthest off, s.
    pub peak_s: f64,
    /// When it is back, s.
    pub end_s: f64,
    /// To which side, own frame.
    pub side: Side,
    /// How far, mm (None without a scale).
    pub mm: Option<f64>,
    /// 95 % interval of `mm`.
    pub mm_ci95: Option<[f64; 2]>,
    /// Whether it came back.
    pub recovered: bool,
}

/// All darts of a clip.
#[derive(Debug, Clone, PartialEq)]
pub struct Hunts {
    /// Measured when there are darts, none when there are not.
    pub status: Status,
    /// Why, where there is none or it cannot be measured.
    pub why: Option<String>,
    /// The darts in order of time.
    pub events: Vec<Hunt>,
}

/// It leaves and does not come back, rolls over, or loses its wobble.
#[derive(Debug, Clone, PartialEq)]
pub struct BlowOut {
    /// Measured when it blew out, none when it did not.
    pub status: Status,
    /// When, s.
    pub t_s: Option<f64>,
    /// What was seen, or why it cannot be told.
    pub why: Option<String>,
}

/// The swim test's result.
#[derive(Debug, Clone, PartialEq)]
pub struct Swim {
    /// Whether there was a lure to measure.
    pub found: bool,
    /// Fraction of the frames in which it was followed, 0–1.
    pub tracked_fraction: f64,
    /// Scale at the lure, mm per px (median).
    pub mm_per_px: Option<f64>,
    /// Pull direction used, image degrees.
    pub pull_deg: Option<f64>,
    /// The wobble.
    pub wobble: Wobble,
    /// The roll.
    pub roll: Roll,
    /// The drift.
    pub drift: Drift,
    /// The darts.
    pub hunts: Hunts,
    /// Blow-out.
    pub blow_out: BlowOut,
    /// Pivot as a fraction of the body length from the nose.
    pub pivot: Measured,
    /// Speed, m/s.
    pub speed: Measured,
    /// Strouhal number f·A/U with A the tail sweep.
    pub strouhal: Measured,
    /// How deep it runs.
    pub depth: Depth,
    /// What the user should know.
    pub warnings: Vec<Warning>,
}

impl Swim {
    /// The result where there is nothing to measure, for the reason given.
    pub fn not_found(why: &str) -> Swim {
        let nothing = || Measured::unmeasurable(why);
        Swim {
            found: false,
            tracked_fraction: 0.0,
            mm_per_px: None,
            pull_deg: None,
            wobble: Wobble {
                hz: nothing(),
                width_deg: nothing(),
                apparent: false,
                tail_sweep_mm: nothing(),
                nyquist_hz: f64::NAN,
                alias_candidates_hz: Vec::new(),
                by_second: Vec::new(),
            },
            roll: Roll {
                width_deg: nothing(),
            },
            drift: Drift {
                deg: nothing(),
                mm_per_m: None,
            },
            hunts: Hunts {
                status: Status::Unmeasurable,
                why: Some(why.into()),
                events: Vec::new(),
            },
            blow_out: BlowOut {
                status: Status::Unmeasurable,
                t_s: None,
                why: Some(why.into()),
            },
            pivot: nothing(),
            speed: nothing(),
            strouhal: nothing(),
            depth: Depth::unmeasurable(false, why),
            warnings: Vec::new(),
        }
    }

    /// Why there is nothing to measure, where that is so.
    pub fn why_not_found(&self) -> Option<&str> {
        self.wobble.hz.why.as_deref().filter(|_| !self.found)
    }
}

impl Drift {
    /// The side to which it runs, own frame; `None` where not measured or where the interval reaches
    /// over zero, so that the side is not sure.
    pub fn sure_side(&self) -> Option<Side> {
        let [lo, hi] = self.deg.ci95.filter(|_| self.deg.is_measured())?;
        Side::of(lo).filter(|side| Side::of(hi) == Some(*side))
    }
}
