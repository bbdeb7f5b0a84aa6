//! Depth and scale as parts of the result.

use serde::Serialize;

use super::json_parts::{interval, value};
use super::numbers::{stored, stored_pair};
use crate::Status;
use crate::camera::Scale;
use crate::motion::Depth;

/// The part `depth`.
#[derive(Serialize)]
pub(super) struct DepthObject<'a> {
    status: Status,
    mm: Option<f64>,
    mm_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
    deepest_mm: Option<f64>,
    deepest_mm_ci95: Option<[f64; 2]>,
    dive_status: Status,
    dive_deg: Option<f64>,
    dive_deg_ci95: Option<[f64; 2]>,
    dive_why: Option<&'a str>,
    time_to_depth_status: Status,
    time_to_depth_s: Option<f64>,
    time_to_depth_s_ci95: Option<[f64; 2]>,
    time_to_depth_why: Option<&'a str>,
    per_line_status: Status,
    per_line_mm_m: Option<f64>,
    per_line_mm_m_ci95: Option<[f64; 2]>,
    line_deg: Option<f64>,
    line_deg_ci95: Option<[f64; 2]>,
    per_line_why: Option<&'a str>,
}

impl<'a> DepthObject<'a> {
    pub(super) fn of(depth: &'a Depth) -> Self {
        let (dive, time, line) = (
            &depth.dive_deg,
            &depth.time_to_depth_s,
            &depth.per_line_mm_m,
        );
        DepthObject {
            status: depth.mm.status,
            mm: value(&depth.mm),
            mm_ci95: interval(&depth.mm),
            why: depth.mm.why.as_deref(),
            deepest_mm: value(&depth.deepest_mm),
            deepest_mm_ci95: interval(&depth.deepest_mm),
            dive_status: dive.status,
            dive_deg: value(dive),
            dive_deg_ci95: interval(dive),
            dive_why: dive.why.as_deref(),
            time_to_depth_status: time.status,
            time_to_depth_s: value(time),
            time_to_depth_s_ci95: interval(time),
            time_to_depth_why: time.why.as_deref(),
            per_line_status: line.status,
            per_line_mm_m: value(line),
            per_line_mm_m_ci95: interval(line),
            line_deg: value(&depth.line_deg),
            line_deg_ci95: interval(&depth.line_deg),
            per_line_why: line.why.as_deref(),
        }
    }
}

/// The part `scale`: there where it rests on more than the body length.
#[derive(Serialize)]
pub(super) struct ScaleObject {
    from: &'static str,
    mm_per_px: Option<f64>,
    mm_per_px_ci95: Option<[f64; 2]>,
    body_mm: Option<f64>,
    body_mm_ci95: Option<[f64; 2]>,
}

impl ScaleObject {
    pub(super) fn of(scale: &Scale) -> Self {
        let ends = |x: f64| [x * (1.0 - scale.doubt), x * (1.0 + scale.doubt)];
        ScaleObject {
            from: scale.source.word(),
            mm_per_px: stored(Some(scale.mm_per_px)),
            mm_per_px_ci95: stored_pair(Some(ends(scale.mm_per_px))),
            body_mm: stored(Some(scale.body_mm)),
            body_mm_ci95: stored_pair(Some(ends(scale.body_mm))),
        }
    }
}
