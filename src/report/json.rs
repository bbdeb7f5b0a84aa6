//! The result as one JSON object, schema `truerun/swim/1`: every key always there, null where unknown.

use serde::Serialize;

use super::depth_json::{DepthObject, ScaleObject};
use super::json_parts::{SecondObject, all_stored, interval, pretty, value};
use super::numbers::{stored, stored_pair};
use super::verdict_json::VerdictObject;
use crate::camera::{Setup, Side};
use crate::media::ClipSummary;
use crate::motion::{Hunt, Swim};
use crate::tuning::{self, Verdict};
use crate::{Status, Warning};

/// What the object is made from.
#[derive(Debug, Clone, Copy)]
pub struct SwimDocument<'a> {
    /// The clip.
    pub clip: &'a ClipSummary,
    /// What the user told about the set-up.
    pub setup: &'a Setup,
    /// The figures.
    pub swim: &'a Swim,
    /// Time over which the lure was seen, s.
    pub seen_s: f64,
    /// The verdict, where a target was given.
    pub verdict: Option<&'a Verdict>,
}

/// The result as pretty JSON text ending in a line feed.
pub fn swim_json(document: &SwimDocument) -> String {
    pretty(&Object::of(document))
}

#[derive(Serialize)]
struct Object<'a> {
    schema: &'static str,
    clip: &'a ClipSummary,
    view: &'static str,
    found: bool,
    tracked_fraction: Option<f64>,
    mm_per_px: Option<f64>,
    pull_deg: Option<f64>,
    setup: SetupObject<'a>,
    wobble: WobbleObject<'a>,
    roll: RollObject<'a>,
    drift: DriftObject<'a>,
    hunts: HuntsObject<'a>,
    blow_out: BlowOutObject<'a>,
    pivot: PivotObject<'a>,
    speed: SpeedObject<'a>,
    strouhal: Option<f64>,
    strouhal_ci95: Option<[f64; 2]>,
    depth: DepthObject<'a>,
    scale: Option<ScaleObject>,
    verdict: Option<VerdictObject<'a>>,
    warnings: &'a [Warning],
}

#[derive(Serialize)]
struct SetupObject<'a> {
    length_mm: Option<f64>,
    pull_deg: Option<f64>,
    tilt_deg: Option<f64>,
    fov_deg: Option<f64>,
    speed_m_s: Option<f64>,
    lens: Option<&'a str>,
    farther: Option<f64>,
    camera_height_mm: Option<f64>,
    depth_mm: Option<f64>,
    line_out_mm: Option<f64>,
    under_water: bool,
}

#[derive(Serialize)]
struct WobbleObject<'a> {
    status: Status,
    hz: Option<f64>,
    hz_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
    width_status: Status,
    width_deg: Option<f64>,
    width_deg_ci95: Option<[f64; 2]>,
    width_why: Option<&'a str>,
    apparent: bool,
    tail_sweep_status: Status,
    tail_sweep_mm: Option<f64>,
    tail_sweep_mm_ci95: Option<[f64; 2]>,
    tail_sweep_why: Option<&'a str>,
    nyquist_hz: Option<f64>,
    alias_candidates_hz: Vec<Option<f64>>,
    by_second: Vec<SecondObject>,
}

#[derive(Serialize)]
struct RollObject<'a> {
    status: Status,
    width_deg: Option<f64>,
    width_deg_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
}

#[derive(Serialize)]
struct DriftObject<'a> {
    status: Status,
    deg: Option<f64>,
    deg_ci95: Option<[f64; 2]>,
    mm_per_m: Option<f64>,
    own_side: Option<Side>,
    angler_side: Option<Side>,
    why: Option<&'a str>,
}

#[derive(Serialize)]
struct HuntsObject<'a> {
    status: Status,
    why: Option<&'a str>,
    per_minute: Option<f64>,
    per_minute_ci95: Option<[f64; 2]>,
    events: Vec<HuntObject>,
}

#[derive(Serialize)]
struct HuntObject {
    start_s: Option<f64>,
    peak_s: Option<f64>,
    end_s: Option<f64>,
    own_side: Side,
    angler_side: Side,
    mm: Option<f64>,
    mm_ci95: Option<[f64; 2]>,
    recovered: bool,
}

#[derive(Serialize)]
struct BlowOutObject<'a> {
    status: Status,
    t_s: Option<f64>,
    why: Option<&'a str>,
}

#[derive(Serialize)]
struct PivotObject<'a> {
    status: Status,
    from_nose: Option<f64>,
    from_nose_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
}

#[derive(Serialize)]
struct SpeedObject<'a> {
    status: Status,
    m_s: Option<f64>,
    m_s_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
}

impl<'a> Object<'a> {
    fn of(document: &SwimDocument<'a>) -> Self {
        let SwimDocument {
            clip, setup, swim, ..
        } = *document;
        Object {
            schema: "truerun/swim/1",
            clip,
            view: setup.view.word(),
            found: swim.found,
            tracked_fraction: stored(Some(swim.tracked_fraction)),
            mm_per_px: stored(swim.mm_per_px),
            pull_deg: stored(swim.pull_deg),
            setup: SetupObject::of(setup),
            wobble: WobbleObject::of(swim),
            roll: RollObject {
                status: swim.roll.width_deg.status,
                width_deg: value(&swim.roll.width_deg),
                width_deg_ci95: interval(&swim.roll.width_deg),
                why: swim.roll.width_deg.why.as_deref(),
            },
            drift: DriftObject::of(swim),
            hunts: HuntsObject::of(swim, document.seen_s),
            blow_out: BlowOutObject {
                status: swim.blow_out.status,
                t_s: stored(swim.blow_out.t_s),
                why: swim.blow_out.why.as_deref(),
            },
            pivot: PivotObject {
                status: swim.pivot.status,
                from_nose: value(&swim.pivot),
                from_nose_ci95: interval(&swim.pivot),
                why: swim.pivot.why.as_deref(),
            },
            speed: SpeedObject {
                status: swim.speed.status,
                m_s: value(&swim.speed),
                m_s_ci95: interval(&swim.speed),
                why: swim.speed.why.as_deref(),
            },
            strouhal: value(&swim.strouhal),
            strouhal_ci95: interval(&swim.strouhal),
            depth: DepthObject::of(&swim.depth),
            scale: setup.scale.as_ref().map(ScaleObject::of),
            verdict: document.verdict.map(VerdictObject::of),
            warnings: &swim.warnings,
        }
    }
}

impl<'a> SetupObject<'a> {
    fn of(setup: &'a Setup) -> Self {
        let marks = &setup.marks;
        SetupObject {
            length_mm: stored(setup.length_mm),
            pull_deg: stored(setup.pull_deg),
            tilt_deg: stored(setup.told_tilt_deg.or(setup.tilt_deg)),
            fov_deg: stored(setup.fov_deg),
            speed_m_s: stored(setup.speed_m_s),
            lens: marks.lens.as_deref(),
            farther: stored(marks.farther),
            camera_height_mm: stored(marks.camera_height_mm),
            depth_mm: stored(marks.depth_mm),
            line_out_mm: stored(marks.line_out_mm),
            under_water: marks.under_water,
        }
    }
}

impl<'a> WobbleObject<'a> {
    fn of(swim: &'a Swim) -> Self {
        let wobble = &swim.wobble;
        WobbleObject {
            status: wobble.hz.status,
            hz: value(&wobble.hz),
            hz_ci95: interval(&wobble.hz),
            why: wobble.hz.why.as_deref(),
            width_status: wobble.width_deg.status,
            width_deg: value(&wobble.width_deg),
            width_deg_ci95: interval(&wobble.width_deg),
            width_why: wobble.width_deg.why.as_deref(),
            apparent: wobble.apparent,
            tail_sweep_status: wobble.tail_sweep_mm.status,
            tail_sweep_mm: value(&wobble.tail_sweep_mm),
            tail_sweep_mm_ci95: interval(&wobble.tail_sweep_mm),
            tail_sweep_why: wobble.tail_sweep_mm.why.as_deref(),
            nyquist_hz: stored(Some(wobble.nyquist_hz)),
            alias_candidates_hz: all_stored(&wobble.alias_candidates_hz),
            by_second: SecondObject::all(&wobble.by_second),
        }
    }
}

impl<'a> DriftObject<'a> {
    fn of(swim: &'a Swim) -> Self {
        let deg = &swim.drift.deg;
        let side = swim.drift.sure_side();
        DriftObject {
            status: deg.status,
            deg: value(deg),
            deg_ci95: interval(deg),
            mm_per_m: stored(swim.drift.mm_per_m.filter(|_| deg.is_measured())),
            own_side: side,
            angler_side: side.map(Side::to_angler),
            why: deg.why.as_deref(),
        }
    }
}

impl<'a> HuntsObject<'a> {
    fn of(swim: &'a Swim, seen_s: f64) -> Self {
        let rate = tuning::darts_per_minute(swim, seen_s);
        HuntsObject {
            status: swim.hunts.status,
            why: swim.hunts.why.as_deref(),
            per_minute: value(&rate),
            per_minute_ci95: interval(&rate),
            events: swim.hunts.events.iter().map(HuntObject::of).collect(),
        }
    }
}

impl HuntObject {
    fn of(hunt: &Hunt) -> Self {
        HuntObject {
            start_s: stored(Some(hunt.start_s)),
            peak_s: stored(Some(hunt.peak_s)),
            end_s: stored(Some(hunt.end_s)),
            own_side: hunt.side,
            angler_side: hunt.side.to_angler(),
            mm: stored(hunt.mm),
            mm_ci95: stored_pair(hunt.mm_ci95),
            recovered: hunt.recovered,
        }
    }
}
