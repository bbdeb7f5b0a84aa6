//! The float test as one JSON object, schema `truerun/float/1`: every key always there, null where unknown.

use serde::Serialize;

use super::json_parts::{interval, pretty, value};
use super::numbers::stored;
use super::verdict_json::VerdictObject;
use crate::camera::{FloatView, Side};
use crate::float_test::FloatReport;
use crate::motion::float::{Float, LevelFrom};
use crate::tracking::float::Missing;
use crate::tuning::{Verdict, WaterChange};
use crate::water::Water;
use crate::{Measured, Status, Warning};

/// What the object is made from.
#[derive(Debug, Clone, Copy)]
pub struct FloatDocument<'a> {
    /// File, figures, set-up.
    pub report: &'a FloatReport,
    /// The lure in another water, where asked for.
    pub change: Option<&'a WaterChange>,
    /// The verdict, where a target was given.
    pub verdict: Option<&'a Verdict>,
}

/// The result as pretty JSON text ending in a line feed.
pub fn float_json(document: &FloatDocument) -> String {
    pretty(&Object::of(document))
}

#[derive(Serialize)]
struct Object<'a> {
    schema: &'static str,
    clip: &'a crate::media::ClipSummary,
    photo: bool,
    view: &'static str,
    from: Option<&'static str>,
    found: bool,
    missing: Option<&'static str>,
    seen_fraction: Option<f64>,
    mm_per_px: Option<f64>,
    nose_in_picture: Option<Side>,
    nose_given: bool,
    level: LevelObject,
    setup: SetupObject,
    angle: AngleObject<'a>,
    list: ListObject<'a>,
    waterline: WaterlineObject<'a>,
    above: AboveObject<'a>,
    freeboard: FreeboardObject<'a>,
    rocking: RockingObject<'a>,
    rise: RiseObject<'a>,
    water_change: Option<ChangeObject<'a>>,
    verdict: Option<VerdictObject<'a>>,
    warnings: &'a [Warning],
}

#[derive(Serialize)]
struct LevelObject {
    from: Option<&'static str>,
    horizon_deg: Option<f64>,
}

#[derive(Serialize)]
struct SetupObject {
    length_mm: Option<f64>,
    horizon_deg: Option<f64>,
}

/// Degrees, + nose down; `end_up` says in a word which end is surely up.
#[derive(Serialize)]
struct AngleObject<'a> {
    status: Status,
    nose_down_deg: Option<f64>,
    nose_down_deg_ci95: Option<[f64; 2]>,
    end_up: Option<&'static str>,
    why: Option<&'a str>,
}

/// Degrees, + own right side down; the sides that are surely down in both frames.
#[derive(Serialize)]
struct ListObject<'a> {
    status: Status,
    right_down_deg: Option<f64>,
    right_down_deg_ci95: Option<[f64; 2]>,
    own_side_down: Option<Side>,
    angler_side_down: Option<Side>,
    why: Option<&'a str>,
}

/// Mm of water over the body's axis, at right angles to it.
#[derive(Serialize)]
struct WaterlineObject<'a> {
    status: Status,
    nose_mm: Option<f64>,
    nose_mm_ci95: Option<[f64; 2]>,
    tail_mm: Option<f64>,
    tail_mm_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
    stations: Vec<StationObject>,
}

#[derive(Serialize)]
struct StationObject {
    from_nose: f64,
    mm: Option<f64>,
    mm_ci95: Option<[f64; 2]>,
}

#[derive(Serialize)]
struct AboveObject<'a> {
    status: Status,
    part: Option<f64>,
    part_ci95: Option<[f64; 2]>,
    volume_part: Option<f64>,
    volume_part_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
}

#[derive(Serialize)]
struct FreeboardObject<'a> {
    status: Status,
    mm: Option<f64>,
    mm_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
}

#[derive(Serialize)]
struct RockingObject<'a> {
    status: Status,
    period_s: Option<f64>,
    period_s_ci95: Option<[f64; 2]>,
    damping_status: Status,
    damping: Option<f64>,
    damping_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
}

#[derive(Serialize)]
struct RiseObject<'a> {
    status: Status,
    mm_s: Option<f64>,
    mm_s_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
}

#[derive(Serialize)]
struct WaterObject {
    temperature_c: f64,
    salinity: f64,
    density_kg_m3: Option<f64>,
}

#[derive(Serialize)]
struct ChangeObject<'a> {
    from: WaterObject,
    to: WaterObject,
    mass_g: Option<f64>,
    volume_cm3: Option<f64>,
    volume_cm3_ci95: Option<[f64; 2]>,
    volume_why: Option<&'a str>,
    above_from: Option<f64>,
    above_from_ci95: Option<[f64; 2]>,
    above_to: Option<f64>,
    above_to_ci95: Option<[f64; 2]>,
    higher_mm: Option<f64>,
    higher_mm_ci95: Option<[f64; 2]>,
    higher_why: Option<&'a str>,
    hooks_higher_mm: Option<f64>,
    hooks_higher_mm_ci95: Option<[f64; 2]>,
    hooks_higher_why: Option<&'a str>,
    ballast_within_g: Option<f64>,
    ballast_within_g_ci95: Option<[f64; 2]>,
    ballast_outside: Vec<BallastObject>,
    stand_ins: Vec<StandInObject>,
    disagree: bool,
}

#[derive(Serialize)]
struct BallastObject {
    material: &'static str,
    g: Option<f64>,
    g_ci95: Option<[f64; 2]>,
}

#[derive(Serialize)]
struct StandInObject {
    material: &'static str,
    g: Option<f64>,
}

impl<'a> Object<'a> {
    fn of(document: &FloatDocument<'a>) -> Self {
        let FloatDocument {
            report,
            change,
            verdict,
        } = *document;
        let float = &report.float;
        Object {
            schema: "truerun/float/1",
            clip: &report.clip,
            photo: report.photo,
            view: report.setup.view.word(),
            from: match report.setup.view {
                FloatView::End { from } => Some(from.word()),
                FloatView::Side { .. } => None,
            },
            found: float.found,
            missing: float.missing.map(missing_word),
            seen_fraction: stored(Some(float.seen_fraction)),
            mm_per_px: stored(float.mm_per_px),
            nose_in_picture: float.nose,
            nose_given: float.nose_given,
            level: LevelObject {
                from: float.found.then_some(match float.level_from {
                    LevelFrom::Water => "water",
                    LevelFrom::Horizon => "horizon",
                }),
                horizon_deg: stored(report.setup.horizon_deg),
            },
            setup: SetupObject {
                length_mm: stored(report.setup.length_mm),
                horizon_deg: stored(report.setup.horizon_deg),
            },
            angle: AngleObject {
                status: float.nose_down_deg.status,
                nose_down_deg: value(&float.nose_down_deg),
                nose_down_deg_ci95: interval(&float.nose_down_deg),
                end_up: end_up(&float.nose_down_deg),
                why: why(&float.nose_down_deg),
            },
            list: ListObject::of(float),
            waterline: WaterlineObject::of(float),
            above: AboveObject {
                status: float.part_above.status,
                part: value(&float.part_above),
                part_ci95: interval(&float.part_above),
                volume_part: value(&float.volume_above),
                volume_part_ci95: interval(&float.volume_above),
                why: why(&float.part_above),
            },
            freeboard: FreeboardObject {
                status: float.freeboard_mm.status,
                mm: value(&float.freeboard_mm),
                mm_ci95: interval(&float.freeboard_mm),
                why: why(&float.freeboard_mm),
            },
            rocking: RockingObject {
                status: float.rocking.period_s.status,
                period_s: value(&float.rocking.period_s),
                period_s_ci95: interval(&float.rocking.period_s),
                damping_status: float.rocking.damping.status,
                damping: value(&float.rocking.damping),
                damping_ci95: interval(&float.rocking.damping),
                why: why(&float.rocking.period_s),
            },
            rise: RiseObject {
                status: float.rise_mm_s.status,
                mm_s: value(&float.rise_mm_s),
                mm_s_ci95: interval(&float.rise_mm_s),
                why: why(&float.rise_mm_s),
            },
            water_change: change.map(ChangeObject::of),
            verdict: verdict.map(VerdictObject::of),
            warnings: &float.warnings,
        }
    }
}

fn why(m: &Measured) -> Option<&str> {
    m.why.as_deref()
}

/// "water", "lure" or "cut": a key for programs.
fn missing_word(missing: Missing) -> &'static str {
    match missing {
        Missing::Water => "water",
        Missing::Lure => "lure",
        Missing::CutByFrame => "cut_by_frame",
    }
}

/// Which end is surely up.
pub fn end_up(nose_down: &Measured) -> Option<&'static str> {
    match interval(nose_down)? {
        [lo, _] if lo > 0.0 => Some("tail"),
        [_, hi] if hi < 0.0 => Some("nose"),
        _ => None,
    }
}

/// Which side is surely down, in the lure's own frame.
pub fn side_down(right_down: &Measured) -> Option<Side> {
    match interval(right_down)? {
        [lo, _] if lo > 0.0 => Some(Side::Right),
        [_, hi] if hi < 0.0 => Some(Side::Left),
        _ => None,
    }
}

impl<'a> ListObject<'a> {
    fn of(float: &'a Float) -> Self {
        let side = side_down(&float.list_deg);
        ListObject {
            status: float.list_deg.status,
            right_down_deg: value(&float.list_deg),
            right_down_deg_ci95: interval(&float.list_deg),
            own_side_down: side,
            angler_side_down: side.map(Side::to_angler),
            why: why(&float.list_deg),
        }
    }
}

impl<'a> WaterlineObject<'a> {
    fn of(float: &'a Float) -> Self {
        WaterlineObject {
            status: float.water_over_nose_mm.status,
            nose_mm: value(&float.water_over_nose_mm),
            nose_mm_ci95: interval(&float.water_over_nose_mm),
            tail_mm: value(&float.water_over_tail_mm),
            tail_mm_ci95: interval(&float.water_over_tail_mm),
            why: why(&float.water_over_nose_mm),
            stations: float
                .waterline
                .iter()
                .map(|s| StationObject {
                    from_nose: s.from_nose,
                    mm: value(&s.water_mm),
                    mm_ci95: interval(&s.water_mm),
                })
                .collect(),
        }
    }
}

impl<'a> ChangeObject<'a> {
    fn of(change: &'a WaterChange) -> Self {
        let water = |w: &Water| WaterObject {
            temperature_c: w.temperature_c,
            salinity: w.salinity,
            density_kg_m3: stored(Some(w.density_kg_m3())),
        };
        ChangeObject {
            from: water(&change.told.from),
            to: water(&change.told.to),
            mass_g: stored(change.told.mass_g),
            volume_cm3: value(&change.volume_cm3),
            volume_cm3_ci95: interval(&change.volume_cm3),
            volume_why: why(&change.volume_cm3),
            above_from: value(&change.above_from),
            above_from_ci95: interval(&change.above_from),
            above_to: value(&change.above_to),
            above_to_ci95: interval(&change.above_to),
            higher_mm: value(&change.higher_mm),
            higher_mm_ci95: interval(&change.higher_mm),
            higher_why: why(&change.higher_mm),
            hooks_higher_mm: value(&change.hooks_higher_mm),
            hooks_higher_mm_ci95: interval(&change.hooks_higher_mm),
            hooks_higher_why: why(&change.hooks_higher_mm),
            ballast_within_g: value(&change.within_g),
            ballast_within_g_ci95: interval(&change.within_g),
            ballast_outside: change
                .outside
                .iter()
                .map(|b| BallastObject {
                    material: b.material.word(),
                    g: value(&b.outside_g),
                    g_ci95: interval(&b.outside_g),
                })
                .collect(),
            stand_ins: change
                .stand_ins
                .iter()
                .map(|(material, g)| StandInObject {
                    material: material.word(),
                    g: stored(Some(*g)),
                })
                .collect(),
            disagree: change.disagree,
        }
    }
}
