//! What the maker should know of a plan besides its figures.

use super::Plan;
use super::picture::LEAST_PX;
use crate::Warning;
use crate::camera::View;

/// A body along more than this part of the picture's short side does not stay in it.
const FILLS: f64 = 0.6;
/// A pull shorter than this in the picture is hardly a clip, s.
const SHORT_PULL_S: f64 = 2.0;
/// From this shutter on it takes bright light, one over s.
const BRIGHT_FROM: u32 = 1000;

/// Every caution that the plan calls for.
pub fn of(plan: &Plan) -> Vec<Warning> {
    [
        too_slow(plan),
        too_small(plan),
        too_near(plan),
        too_narrow(plan),
        short_pulls(plan),
        bright_light(plan),
        no_tilt(plan),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn other(code: &'static str, text: String) -> Option<Warning> {
    Some(Warning::Other { code, text })
}

fn too_slow(plan: &Plan) -> Option<Warning> {
    let best = plan.frame_rates.iter().find(|f| f.fps == plan.fps)?;
    if best.tells {
        return None;
    }
    other(
        "frame_rate_too_low",
        format!(
            "none of these frame rates tells a wobble of {:.1} a second without doubt, at best one up to {:.1}; use a faster mode, or pull slower",
            plan.shoot.rate_hz.value, best.trusted_hz
        ),
    )
}

fn too_small(plan: &Plan) -> Option<Warning> {
    let length_px = plan.picture.body_px;
    (length_px < LEAST_PX).then_some(Warning::SmallInPicture { length_px })
}

fn too_near(plan: &Plan) -> Option<Warning> {
    let most_px = FILLS * f64::from(plan.shoot.size_px[1]);
    let times = plan.picture.body_px / most_px;
    if times <= 1.0 {
        return None;
    }
    other(
        "too_near",
        format!(
            "the lure would fill the picture and swing out of it; stand {times:.1} times as far off, or zoom out"
        ),
    )
}

fn too_narrow(plan: &Plan) -> Option<Warning> {
    let width = plan.shoot.width_deg;
    if width.value >= plan.swing.least_deg || !width.told {
        return None;
    }
    other(
        "width_too_small",
        format!(
            "a wobble of {:.1} degrees to each side would not show; from here it takes {:.1}",
            width.value, plan.swing.least_deg
        ),
    )
}

fn short_pulls(plan: &Plan) -> Option<Warning> {
    let pull = plan
        .picture
        .seconds_per_pull
        .filter(|s| *s < SHORT_PULL_S)?;
    other(
        "short_pulls",
        format!(
            "a pull crosses the picture in {pull:.1} s, which is short: go along with the lure, film at a larger picture size from farther off, or pull slower"
        ),
    )
}

fn bright_light(plan: &Plan) -> Option<Warning> {
    (plan.shutter.one_over >= BRIGHT_FROM).then_some(Warning::Other {
        code: "bright_light",
        text: format!(
            "1/{} s takes bright light; where the picture turns dark, take the next slower shutter before a faster frame rate",
            plan.shutter.one_over
        ),
    })
}

fn no_tilt(plan: &Plan) -> Option<Warning> {
    let tilted = matches!(plan.shoot.view, View::Behind | View::Ahead);
    if !tilted || plan.stand.tilt_deg.told {
        return None;
    }
    other(
        "tilt_assumed",
        format!(
            "the tilt is taken as {:.0} degrees; measure it, and give --tilt to plan and to swim: the width hangs on it",
            plan.stand.tilt_deg.value
        ),
    )
}
