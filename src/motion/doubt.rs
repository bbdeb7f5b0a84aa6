//! When the path over ground cannot be told, and what of it can be told all the same.
//!
//! From behind or from the dock the way made is read from the bottom sliding by in perspective and from how
//! the lure grows. A camera that is turned or carried spoils both: the bottom then gives no fixed ground.
//! The place in the picture is still good, and so are quick darts in it.

use super::Series;
use super::analyse::{Path, Swum};
use super::swim::{BlowOut, Hunts, Swim, Wobble};
use super::trend::Trend;
use super::wobble::beats;
use crate::camera::{Setup, View};
use crate::tracking::Track;
use crate::{Measured, Status, Warning};

/// A drift known no better than this to either side (95 %), degrees, is none.
const WIDEST_DRIFT_DEG: f64 = 10.0;
/// The background may shift by this part of the picture under hand shake.
pub(super) const SHAKE: f64 = 0.06;
/// Less way than this, body lengths, shows no drift and no pace.
pub(super) const LEAST_WAY: f64 = 2.0;
const AGAINST_THE_PULL: &str =
    "the lure moves against the pull direction; turn --pull round by 180 degrees";
const TURNED: &str = "the camera was turned or carried while it looked along the water; prop it up, or film from above";
const LEVEL: &str =
    "a camera level with the lure sees no way over ground; look down on it, or film from above";
const VAGUE: &str = "the way over ground cannot be told well enough here; film from above, or give --tilt and --fov";
/// A lure that wobbles makes at least this part of its length in each cycle (a Strouhal number of about 0.6, twice as
/// much as swimming animals cruise at): only water that flows past it makes it wobble.
const LEAST_LENGTHS_PER_CYCLE: f64 = 0.5;
const IDLE: &str = "it wobbles, yet hardly moves over the bottom: it hung in a current, or the bottom could not be followed; give --speed";
const NO_WAY: &str = "the lure made no way along the pull";
/// Size of a dart in a picture whose ground is not known: within this factor (95 %), for the hand that follows it
/// takes some of it away.
const DART_SIZE_DOUBT: f64 = 2.0;

/// Whether the camera is turned or carried in a view that looks along the water.
pub(super) fn ground_is_lost(track: &Track, setup: &Setup, series: &Series) -> bool {
    let along = matches!(setup.view, View::Behind | View::Ahead);
    let long = track.picture_width_px.max(track.picture_height_px);
    let way = |p: &[f64; 2]| p[0].hypot(p[1]);
    along && track.doubts.loose_ground && series.camera_px.iter().any(|p| way(p) > SHAKE * long)
}

impl Swum<'_> {
    /// Takes back what the path cannot tell after all.
    pub(super) fn withhold(&self, swim: &mut Swim, path: &Path, cycles: &[f64]) {
        let lost = self.ground_is_lost;
        let half = swim.drift.deg.ci95.map(|[lo, hi]| (hi - lo) / 2.0);
        let vague = half.is_some_and(|h| h > WIDEST_DRIFT_DEG);
        let forward = self.forward_way(path);
        let backward = !lost && self.setup.view != View::Side && forward < -LEAST_WAY;
        let why = if backward {
            AGAINST_THE_PULL
        } else if self.setup.is_level() {
            LEVEL
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
        let on_the_spot = self.blow_out_on_the_spot(cycles, path);
        swim.blow_out = if lost || backward || on_the_spot.status == Status::None {
            BlowOut {
                status: Status::Unmeasurable,
                t_s: None,
                why: Some(why.into()),
            }
        } else {
            on_the_spot
        };
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
                .map(|mm| [mm / DART_SIZE_DOUBT, mm * DART_SIZE_DOUBT]);
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

/// Takes back a "no blow-out" of a lure that was followed too little of the time.
pub(super) fn withhold_no_blow_out(blow_out: &mut BlowOut, tracked_fraction: f64) {
    if blow_out.status == Status::None && tracked_fraction < FOLLOWED_ENOUGH {
        *blow_out = BlowOut {
            status: Status::Unmeasurable,
            t_s: None,
            why: Some(
                "the lure was followed too little of the time to say that it never blew out".into(),
            ),
        };
    }
}

/// Takes back the way and the doings of something that was followed too little and shows no wobble to know a lure by.
pub(super) fn withhold_unknown(swim: &mut Swim, setup: &Setup) {
    if beats(&swim.wobble) || swim.tracked_fraction >= FOLLOWED_ENOUGH {
        return;
    }
    const WHY: &str = "followed too little of the time, and without a wobble to know it by: it may not be the lure";
    swim.drift.deg = Measured::unmeasurable(WHY);
    swim.drift.mm_per_m = None;
    swim.depth.withhold(WHY);
    if setup.speed_m_s.is_none() {
        swim.speed = Measured::unmeasurable(WHY);
    }
    swim.hunts = Hunts {
        status: Status::Unmeasurable,
        why: Some(WHY.into()),
        events: Vec::new(),
    };
    if swim.blow_out.status == Status::Measured {
        swim.blow_out = BlowOut {
            status: Status::Unmeasurable,
            t_s: None,
            why: Some(WHY.into()),
        };
    }
}

/// Takes back a speed over the bottom that is most likely one at which nothing would wobble as this lure does.
pub(super) fn withhold_idle_speed(swim: &mut Swim, setup: &Setup) {
    let (Some(hz), Some(pace)) = (swim.wobble.hz.value, swim.speed.value) else {
        return;
    };
    let wobbles = swim.wobble.hz.status == Status::Measured;
    let length_m = setup.body_mm().map_or(f64::NAN, |mm| mm / 1000.0);
    if wobbles && setup.speed_m_s.is_none() && pace < LEAST_LENGTHS_PER_CYCLE * hz * length_m {
        swim.speed = Measured::unmeasurable(IDLE);
        swim.strouhal = Measured::unmeasurable("needs rate, tail sweep and speed");
    }
}

/// What seems to pivot farther from its nose than this, in parts of its length, is a part of the lure: a diving lure pivots
/// ahead of its middle (common practice; no published source). On 62 runs over rendered clips with truth five pivots came
/// out behind this, and none was right; on 26 more two came out beyond the tail, and only the lip and head had been followed.
const REARMOST_PIVOT: f64 = 0.55;

/// Takes back what hangs on the outline's length and, where the body is foreshortened, on its axis, if what was followed may
/// be a part, such as the lip: where it kept being lost, or would pivot where no lure does (`pivots_at`, the fraction from the
/// nose where the pivot came out, be it told or not).
pub(super) fn withhold_parts(swim: &mut Swim, setup: &Setup, pivots_at: Option<f64>) {
    let foreshortened = matches!(setup.view, View::Behind | View::Ahead);
    let (why, why_no_pivot) = if foreshortened && swim.tracked_fraction < FOLLOWED_ENOUGH {
        let why = "the lure was followed too little of the time to say that it was the whole of it";
        (why, why.to_owned())
    } else if let Some(from_nose) = pivots_at.filter(|p| *p > REARMOST_PIVOT) {
        let where_none_does = format!(
            "it came out at {:.0} % of the length from the nose or behind that, where no diving lure has it: film closer, or give --box round all of the lure",
            100.0 * from_nose
        );
        let why = "only a part of the lure seems to have been followed (see pivot)";
        (why, where_none_does)
    } else {
        return;
    };
    if foreshortened && swim.wobble.width_deg.is_measured() {
        swim.wobble.width_deg = Measured::unmeasurable(why);
        swim.wobble.apparent = false;
    }
    if swim.wobble.tail_sweep_mm.is_measured() {
        swim.wobble.tail_sweep_mm = Measured::unmeasurable(why);
    }
    swim.pivot = Measured::unmeasurable(why_no_pivot);
    if swim.speed.is_measured() && setup.speed_m_s.is_none() {
        swim.speed = Measured::unmeasurable(why);
    }
    swim.strouhal = Measured::unmeasurable("needs rate, tail sweep and speed");
}

/// Takes back a "no wobble" that rests on too little.
pub(super) fn withhold_none(wobble: &mut Wobble, tracked_fraction: f64) {
    if wobble.hz.status == Status::None && tracked_fraction < FOLLOWED_ENOUGH {
        let why = "the lure was followed too little of the time to say that it does not wobble";
        wobble.hz = Measured::unmeasurable(why);
        wobble.width_deg = Measured::unmeasurable(why);
        wobble.tail_sweep_mm = Measured::unmeasurable(why);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_followed_now_and_then_tells_no_width_where_the_body_is_foreshortened() {
        let width = |view, tracked_fraction| {
            let mut swim = Swim {
                tracked_fraction,
                ..Swim::not_found("not looked at yet")
            };
            swim.wobble.width_deg = Measured::new(11.0, [8.0, 14.0]);
            withhold_parts(&mut swim, &Setup::new(view), None);
            swim.wobble.width_deg.status
        };
        assert_eq!(width(View::Ahead, 0.35), Status::Unmeasurable);
        assert_eq!(width(View::Ahead, 0.9), Status::Measured);
        assert_eq!(width(View::Above, 0.35), Status::Measured);
    }

    #[test]
    fn what_would_pivot_near_its_tail_tells_no_pivot_sweep_nor_speed_and_foreshortened_no_width() {
        let told = |view, pivot: f64| {
            let mut swim = Swim {
                tracked_fraction: 0.95,
                pivot: Measured::within(pivot, 0.1),
                speed: Measured::within(0.5, 0.1),
                ..Swim::not_found("not looked at yet")
            };
            swim.wobble.width_deg = Measured::new(11.0, [8.0, 14.0]);
            swim.wobble.tail_sweep_mm = Measured::new(14.0, [10.0, 18.0]);
            withhold_parts(&mut swim, &Setup::new(view), Some(pivot));
            [
                &swim.wobble.width_deg,
                &swim.wobble.tail_sweep_mm,
                &swim.pivot,
                &swim.speed,
            ]
            .map(|m| m.status == Status::Measured)
        };
        assert_eq!(told(View::Ahead, 0.4), [true; 4]);
        assert_eq!(told(View::Ahead, 0.63), [false; 4]);
        assert_eq!(told(View::Above, 0.58), [true, false, false, false]);
    }
}
