//! What is true of a drawn float test, reckoned from the plan and not from the picture.

use serde::Serialize;

use super::body::half_heights;
use super::plan::FloatPlan;

/// What is true at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FloatFrameTruth {
    /// Time, s.
    pub t: f64,
    /// Angle of the axis, degrees, + nose down.
    pub pitch_deg: f64,
    /// List, degrees, + own right side down.
    pub list_deg: f64,
    /// Height of the middle of the axis over the water, mm.
    pub above_mm: f64,
}

/// What is true of the test, at rest.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FloatTruth {
    /// Angle of the axis, degrees, + nose down.
    pub pitch_deg: f64,
    /// List, degrees, + own right side down.
    pub list_deg: f64,
    /// Water over the axis at the nose and at the tail, measured at right angles to the axis, mm
    /// (negative: the axis is out of the water).
    pub water_over_nose_mm: f64,
    /// See `water_over_nose_mm`.
    pub water_over_tail_mm: f64,
    /// Part of the outline's area that is above water (side view).
    pub part_above: f64,
    /// Height of the back's highest spot over the water, mm.
    pub freeboard_mm: f64,
    /// Period of the rocking, s.
    pub period_s: Option<f64>,
    /// Its damping ratio.
    pub damping: Option<f64>,
    /// How fast it rises, mm/s (negative: sinks).
    pub rise_mm_s: Option<f64>,
    /// Mm per px at the lure, in air.
    pub mm_per_px: f64,
    /// How far the picture's level is turned clockwise, degrees.
    pub turn_deg: f64,
    /// Frame by frame.
    pub frames: Vec<FloatFrameTruth>,
}

/// Times of the frames, s.
pub fn frame_times(plan: &FloatPlan) -> Vec<f64> {
    let count = (plan.fps * plan.seconds).round().max(1.0) as usize;
    (0..count).map(|i| i as f64 / plan.fps).collect()
}

impl FloatTruth {
    /// Of a plan.
    pub fn of(plan: &FloatPlan) -> FloatTruth {
        let (sin, cos) = plan.pitch_deg.to_radians().sin_cos();
        let water_over = |forward: f64| (forward * sin - plan.above_mm) / cos;
        let (part_above, freeboard_mm) = out_of_water(plan);
        FloatTruth {
            pitch_deg: plan.pitch_deg,
            list_deg: plan.list_deg,
            water_over_nose_mm: water_over(plan.length_mm / 2.0),
            water_over_tail_mm: water_over(-plan.length_mm / 2.0),
            part_above,
            freeboard_mm,
            period_s: plan.push.map(|p| p.period_s),
            damping: plan.push.map(|p| p.damping),
            rise_mm_s: plan.climb.map(|[_, rate]| rate),
            mm_per_px: 1.0 / plan.px_per_mm,
            turn_deg: plan.turn_deg,
            frames: frame_times(plan)
                .into_iter()
                .map(|t| {
                    let [pitch_deg, list_deg] = plan.angles_deg(t);
                    FloatFrameTruth {
                        t,
                        pitch_deg,
                        list_deg,
                        above_mm: plan.above_mm_at(t),
                    }
                })
                .collect(),
        }
    }
}

/// Part of the side outline above water, and its highest spot, by slices at right angles to the axis.
fn out_of_water(plan: &FloatPlan) -> (f64, f64) {
    const SLICES: usize = 4000;
    let (sin, cos) = plan.pitch_deg.to_radians().sin_cos();
    let (mut above, mut all, mut highest) = (0.0, 0.0, f64::NEG_INFINITY);
    for i in 0..SLICES {
        let s = (i as f64 + 0.5) / SLICES as f64;
        let [back, belly] = half_heights(plan, s);
        let axis = plan.above_mm - (0.5 - s) * plan.length_mm * sin;
        // a spot `up` mm over the axis lies `axis + up·cos` over the water
        let water = -axis / cos;
        above += (back - water.max(-belly)).clamp(0.0, back + belly);
        all += back + belly;
        highest = highest.max(axis + back * cos);
    }
    (above / all, highest)
}
