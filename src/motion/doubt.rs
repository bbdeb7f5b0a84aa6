//! When the path over ground cannot be told, and what of it can be told all the same.
//!
//! From behind or from the dock the way made is read from the bottom sliding by in perspective and from how
//! the lure grows. A camera that is turned or carried spoils both: the bottom then gives no fixed ground.
//! The place in the picture is still good, and so are quick darts in it.

use super::analyse::{Path, Swum};
use super::hunts::{self, Excursion};
use super::swim::{BlowOut, Swim, Wobble};
use super::trend::Trend;
use crate::camera::View;
use crate::{Measured, Status, Warning};

/// A drift known no better than this to either side (95 %), degrees, is none.
const WIDEST_DRIFT_DEG: f64 = 10.0;
/// The background may shift by this part of the picture under hand shake.
const SHAKE: f64 = 0.06;
/// Less way than this, body lengths, shows no drift.
const LEAST_WAY: f64 = 2.0;
const AGAINST_THE_PULL: &str =
    "the lure moves against the pull direction; turn --pull round by 180 degrees";
const TURNED: &str = "the camera was turned or carried while it looked along the water; prop it up, or film from above";
const VAGUE: &str = "the way over ground cannot be told well enough here; film from above, or give --tilt and --fov";
const NO_WAY: &str = "the lure made no way along the pull";
/// Smaller darts in the picture may be the hand that holds the camera: mm, and body lengths.
const LEAST_MM: f64 = 45.0;
const LEAST_BODY_LENGTHS: f64 = 0.8;
/// A hand follows a dart within this time, s.
const HAND_S: f64 = 0.5;
/// Size of a dart in a picture whose ground is not known: within this part of it (95 %).
const DART_SIZE_DOUBT: f64 = 0.5;

impl Swum<'_> {
    /// Whether the camera is turned or carried in a view that looks along the water.
    pub(super) fn ground_is_lost(&self) -> bool {
        let along = matches!(self.setup.view, View::Behind | View::Ahead);
        let long = self
            .track
            .picture_width_px
            .max(self.track.picture_height_px);
        let way = |p: &[f64; 2]| p[0].hypot(p[1]);
        along
            && self.track.doubts.ends > 0.0
            && self.series.camera_px.iter().any(|p| way(p) > SHAKE * long)
    }

    /// Darts as they show across the pull in the picture itself, in body lengths.
    pub(super) fn picture_darts(&self, place_px: &[[f64; 2]]) -> Vec<Excursion> {
        let series = &self.series;
        let usual = super::rate::median(&series.width_px).max(1.0);
        // it grows as it comes nearer: the body's width, which no tilt foreshortens, tells by how much
        let size = grown(&series.t_s, &series.width_px, usual);
        let body_px = longest(&series.length_px, &size);
        let middle = self.pull.frame.sideways([
            0.5 * self.track.picture_width_px,
            0.5 * self.track.picture_height_px,
        ]);
        let across = |px: f64, i: usize| (px - middle) / (body_px * size[i]);
        let sideways: Vec<f64> = (0..series.len())
            .map(|i| across(self.pull.frame.sideways(place_px[i]), i))
            .collect();
        let raw: Vec<f64> = (0..series.len())
            .map(|i| across(series.picture_sideways_px[i], i))
            .collect();
        let start = series.t_s.first().copied().unwrap_or(0.0);
        let forward: Vec<f64> = series.t_s.iter().map(|t| t - start).collect();
        let least = self
            .setup
            .body_mm()
            .map_or(LEAST_BODY_LENGTHS, |l| LEAST_MM / l);
        let length_mm = self.setup.body_mm();
        let darts = hunts::find(&series.t_s, &forward, &sideways, &raw, length_mm);
        let answers = |dart: &Excursion| darts.iter().any(|d| is_the_hand(&series.t_s, d, dart));
        darts
            .iter()
            .filter(|dart| dart.size.abs() > least && !answers(dart))
            .copied()
            .collect()
    }

    /// Takes back what the path cannot tell after all.
    pub(super) fn withhold(&self, swim: &mut Swim, path: &Path) {
        let lost = self.ground_is_lost();
        let half = swim.drift.deg.ci95.map(|[lo, hi]| (hi - lo) / 2.0);
        let vague = half.is_some_and(|h| h > WIDEST_DRIFT_DEG);
        let forward = self.forward_way(path);
        let backward = self.setup.view != View::Side && forward < -LEAST_WAY;
        let why = if backward {
            AGAINST_THE_PULL
        } else if lost {
            TURNED
        } else if vague {
            VAGUE
        } else if self.setup.view != View::Side && forward < LEAST_WAY {
            NO_WAY
        } else {
            return;
        };
        if backward {
            swim.warnings
                .push(Warning::ViewDoubtful { why: why.into() });
        }
        swim.drift.deg = Measured::unmeasurable(why);
        swim.drift.mm_per_m = None;
        if self.setup.speed_m_s.is_none() {
            swim.speed = Measured::unmeasurable(why);
            swim.strouhal = Measured::unmeasurable("needs rate, tail sweep and speed");
        }
        if lost || backward {
            swim.blow_out = BlowOut {
                status: Status::Unmeasurable,
                t_s: None,
                why: Some(why.into()),
            };
        }
        self.withhold_darts(swim, why, backward);
    }

    /// Darts on ground that is not known: their sizes are rough, and none found is not none there.
    fn withhold_darts(&self, swim: &mut Swim, why: &str, backward: bool) {
        if backward {
            swim.hunts.events.clear();
        }
        for dart in &mut swim.hunts.events {
            dart.mm_ci95 = dart
                .mm
                .map(|mm| [mm * (1.0 - DART_SIZE_DOUBT), mm * (1.0 + DART_SIZE_DOUBT)]);
        }
        if swim.hunts.events.is_empty() {
            swim.hunts.status = Status::Unmeasurable;
            swim.hunts.why = Some(why.into());
        }
    }

    /// Way forward along the pull over the time it was seen, body lengths.
    fn forward_way(&self, path: &Path) -> f64 {
        let t = &self.series.t_s;
        Trend::new(t, t, &path.way.forward, &path.keep)
            .map_or(0.0, |trend| trend.line.slope * self.series.duration_s())
    }
}

/// Followed in less than this part of the frames, a lure that shows no wobble may have one.
const FOLLOWED_ENOUGH: f64 = 0.5;

/// Takes back a "no wobble" that rests on too little.
pub(super) fn withhold_none(wobble: &mut Wobble, tracked_fraction: f64) {
    if wobble.hz.status == Status::None && tracked_fraction < FOLLOWED_ENOUGH {
        let why = "the lure was followed too little of the time to say that it does not wobble";
        wobble.hz = Measured::unmeasurable(why);
        wobble.width_deg = Measured::unmeasurable(why);
        wobble.tail_sweep_mm = Measured::unmeasurable(why);
    }
}

/// Whether `dart` is the hand that turned the camera after the bigger dart `first` and came too late.
fn is_the_hand(t_s: &[f64], first: &Excursion, dart: &Excursion) -> bool {
    let since = t_s[dart.start] - t_s[first.end];
    first.size * dart.size < 0.0
        && first.size.abs() > dart.size.abs()
        && (-0.3..HAND_S).contains(&since)
}

/// Length of the body where it is least foreshortened, px at its usual size.
fn longest(length_px: &[f64], size: &[f64]) -> f64 {
    let mut lengths: Vec<f64> = length_px.iter().zip(size).map(|(l, s)| l / s).collect();
    lengths.sort_by(f64::total_cmp);
    lengths
        .get(lengths.len() * 19 / 20)
        .copied()
        .unwrap_or(1.0)
        .max(1.0)
}

/// Size against the usual one, smoothed over half a second to each side.
fn grown(t_s: &[f64], width_px: &[f64], usual: f64) -> Vec<f64> {
    const HALF_S: f64 = 0.5;
    t_s.iter()
        .map(|&t| {
            let from = t_s.partition_point(|&u| u < t - HALF_S);
            let to = t_s.partition_point(|&u| u <= t + HALF_S);
            let near = &width_px[from..to];
            let mean = near.iter().sum::<f64>() / near.len().max(1) as f64;
            (mean / usual).max(0.05)
        })
        .collect()
}
