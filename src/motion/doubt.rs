//! When the path over ground cannot be told, and what of it can be told all the same.
//!
//! From behind or from the dock the way made is read from the bottom sliding by in perspective and from how
//! the lure grows. A camera that is turned or carried spoils both: the bottom then gives no fixed ground.
//! The place in the picture is still good, and so are quick darts in it.

use super::analyse::{Path, Swum};
use super::hunts::{self, Excursion};
use super::swim::{BlowOut, Swim, Wobble};
use crate::camera::View;
use crate::{Measured, Status};

/// A drift known no better than this to either side (95 %), degrees, is none.
const WIDEST_DRIFT_DEG: f64 = 10.0;
/// The background may shift by this part of the picture under hand shake.
const SHAKE: f64 = 0.06;
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
            && self.track.outline.ends_doubt > 0.0
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
        hunts::find(&series.t_s, &forward, &sideways, &raw, self.setup.length_mm)
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

/// Takes back what the path cannot tell after all.
pub(super) fn withhold(swim: &mut Swim, path: &Path, ground_is_lost: bool) {
    let half = swim.drift.deg.ci95.map(|[lo, hi]| (hi - lo) / 2.0);
    let vague = half.is_some_and(|h| h > WIDEST_DRIFT_DEG);
    let why = if ground_is_lost {
        "the camera was turned or carried while it looked along the water; prop it up, or film from above"
    } else if vague {
        "the way over ground cannot be told well enough here; film from above, or give --tilt and --fov"
    } else {
        return;
    };
    swim.drift.deg = Measured::unmeasurable(why);
    swim.drift.mm_per_m = None;
    swim.speed = if swim
        .speed
        .why
        .as_deref()
        .is_some_and(|w| w.contains("given"))
    {
        swim.speed.clone()
    } else {
        Measured::unmeasurable(why)
    };
    if !swim.speed.is_measured() {
        swim.strouhal = Measured::unmeasurable("needs rate, tail sweep and speed");
    }
    if swim.blow_out.status == Status::Measured || path.darts.is_empty() {
        swim.blow_out = BlowOut {
            status: Status::Unmeasurable,
            t_s: None,
            why: Some(why.into()),
        };
    }
    if ground_is_lost {
        for dart in &mut swim.hunts.events {
            dart.mm_ci95 = dart
                .mm
                .map(|mm| [mm * (1.0 - DART_SIZE_DOUBT), mm * (1.0 + DART_SIZE_DOUBT)]);
        }
    }
    // a slow or small dart can hide under the camera's own motion: nothing found is not nothing there
    if swim.hunts.status == Status::None {
        swim.hunts.status = Status::Unmeasurable;
        swim.hunts.why = Some(why.into());
    }
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
