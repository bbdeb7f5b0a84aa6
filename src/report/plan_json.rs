//! The plan as one JSON object, schema `truerun/plan/1`: every key always there, null where unknown.

use serde::Serialize;

use super::json_parts::pretty;
use super::numbers::stored;
use crate::plan::{Given, POWER, Plan, WANDER};
use crate::water::YELLOW_UM;
use crate::{Status, Warning};

/// The plan as pretty JSON text ending in a line feed.
pub fn plan_json(plan: &Plan) -> String {
    pretty(&Object::of(plan))
}

#[derive(Serialize)]
struct Object<'a> {
    schema: &'static str,
    view: &'static str,
    length_mm: Option<f64>,
    settings: Settings,
    expected: Expected,
    camera: Camera,
    stand: Stand,
    picture: Picture,
    smallest_width_deg: Option<f64>,
    smallest_width_apparent: bool,
    frame_rates: Vec<FrameRate>,
    shutter: Shutter,
    rate: Rate,
    drift: Drift<'a>,
    darts: Darts,
    warnings: &'a [Warning],
}

/// What is recommended.
#[derive(Serialize)]
struct Settings {
    distance_m: Option<f64>,
    fps: Option<f64>,
    shutter_one_over: u32,
}

#[derive(Serialize)]
struct Expected {
    rate_hz: Option<f64>,
    rate_told: bool,
    width_deg: Option<f64>,
    width_told: bool,
    speed_m_s: Option<f64>,
    speed_told: bool,
}

#[derive(Serialize)]
struct Camera {
    fov_deg: Option<f64>,
    fov_told: bool,
    width: u32,
    height: u32,
    goes_along: bool,
    under_water: bool,
    refractive_index: Option<f64>,
}

#[derive(Serialize)]
struct Stand {
    distance_told: bool,
    farthest_m: Option<f64>,
    height_m: Option<f64>,
    tilt_deg: Option<f64>,
    tilt_told: bool,
}

#[derive(Serialize)]
struct Picture {
    body_px: Option<f64>,
    mm_per_px: Option<f64>,
    fov_deg: Option<f64>,
    seen_m: [Option<f64>; 2],
    seconds_per_pull: Option<f64>,
}

#[derive(Serialize)]
struct FrameRate {
    fps: Option<f64>,
    half_hz: Option<f64>,
    trusted_hz: Option<f64>,
    tells: bool,
    look_alike_hz: Vec<Option<f64>>,
}

#[derive(Serialize)]
struct Shutter {
    one_over: u32,
    eats: Option<f64>,
    slowest_before_blur_s: Option<f64>,
    slowest_before_smear_s: Option<f64>,
}

#[derive(Serialize)]
struct Rate {
    within_hz: Option<f64>,
    cramer_rao_s: Option<f64>,
    clip_s: Option<f64>,
    wander: f64,
    lure_s: Option<f64>,
}

#[derive(Serialize)]
struct Drift<'a> {
    status: Status,
    within_deg: Option<f64>,
    pulls: Option<u32>,
    pull_s: Option<f64>,
    seconds: Option<f64>,
    one_pull_deg: Option<f64>,
    why: Option<&'a str>,
}

#[derive(Serialize)]
struct Darts {
    per_minute: [Option<f64>; 2],
    minutes_each: Option<f64>,
    expected: [Option<f64>; 2],
    power: f64,
}

impl<'a> Object<'a> {
    fn of(plan: &'a Plan) -> Object<'a> {
        let shoot = &plan.shoot;
        Object {
            schema: "truerun/plan/1",
            view: shoot.view.word(),
            length_mm: number(shoot.length_mm),
            settings: Settings {
                distance_m: number(plan.stand.distance.value),
                fps: number(plan.fps),
                shutter_one_over: plan.shutter.one_over,
            },
            expected: Expected {
                rate_hz: figure(shoot.rate_hz),
                rate_told: shoot.rate_hz.told,
                width_deg: figure(shoot.width_deg),
                width_told: shoot.width_deg.told,
                speed_m_s: figure(shoot.speed_m_s),
                speed_told: shoot.speed_m_s.told,
            },
            camera: camera(plan),
            stand: Stand {
                distance_told: plan.stand.distance.told,
                farthest_m: number(plan.stand.farthest_m),
                height_m: stored(plan.stand.height_m),
                tilt_deg: figure(plan.stand.tilt_deg),
                tilt_told: plan.stand.tilt_deg.told,
            },
            picture: Picture {
                body_px: number(plan.picture.body_px),
                mm_per_px: number(plan.picture.mm_per_px),
                fov_deg: number(plan.picture.fov_deg),
                seen_m: plan.picture.seen_m.map(number),
                seconds_per_pull: stored(plan.picture.seconds_per_pull),
            },
            smallest_width_deg: number(plan.swing.least_deg),
            smallest_width_apparent: plan.swing.apparent,
            frame_rates: plan.frame_rates.iter().map(frame_rate).collect(),
            shutter: Shutter {
                one_over: plan.shutter.one_over,
                eats: number(plan.shutter.eats),
                slowest_before_blur_s: number(plan.shutter.blur_s),
                slowest_before_smear_s: number(plan.shutter.smear_s),
            },
            rate: Rate {
                within_hz: number(shoot.rate_within_hz),
                cramer_rao_s: number(plan.rate_time.bound_s),
                clip_s: number(plan.rate_time.clip_s),
                wander: WANDER,
                lure_s: number(plan.rate_time.lure_s),
            },
            drift: drift(plan),
            darts: Darts {
                per_minute: plan.dart_time.per_minute.map(number),
                minutes_each: stored(plan.dart_time.minutes),
                expected: match plan.dart_time.expected() {
                    Some(expected) => expected.map(number),
                    None => [None; 2],
                },
                power: POWER,
            },
            warnings: &plan.warnings,
        }
    }
}

fn camera(plan: &Plan) -> Camera {
    let shoot = &plan.shoot;
    Camera {
        fov_deg: figure(shoot.fov_deg),
        fov_told: shoot.fov_deg.told,
        width: shoot.size_px[0],
        height: shoot.size_px[1],
        goes_along: shoot.goes_along,
        under_water: shoot.under_water.is_some(),
        refractive_index: stored(shoot.under_water.map(|w| w.refractive_index(YELLOW_UM))),
    }
}

fn frame_rate(rate: &crate::plan::FrameRate) -> FrameRate {
    FrameRate {
        fps: number(rate.fps),
        half_hz: number(rate.half_hz),
        trusted_hz: number(rate.trusted_hz),
        tells: rate.tells,
        look_alike_hz: rate.look_alike_hz.iter().copied().map(number).collect(),
    }
}

fn drift(plan: &Plan) -> Drift<'_> {
    let time = plan.drift_time.as_ref().ok();
    Drift {
        status: match time {
            Some(_) => Status::Measured,
            None => Status::Unmeasurable,
        },
        within_deg: number(plan.shoot.drift_within_deg),
        pulls: time.map(|t| t.pulls),
        pull_s: stored(time.map(|t| t.pull_s)),
        seconds: stored(time.map(|t| t.seconds)),
        one_pull_deg: stored(time.map(|t| t.one_pull_deg)),
        why: plan.drift_time.as_ref().err().copied(),
    }
}

fn number(x: f64) -> Option<f64> {
    stored(Some(x))
}

fn figure(given: Given) -> Option<f64> {
    number(given.value)
}
