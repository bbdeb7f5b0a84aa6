//! The scale at the lure from a yardstick in the picture.

use super::analyse::Swum;
use super::wobble::{Picture, wobble};
use crate::Warning;
use crate::camera::{LookThrough, Scale, ScaleSource, Setup, View, Yardstick};
use crate::tracking::Track;

/// The scale that `setup`'s yardstick gives at the lure, together with the body length where that is told too;
/// and what the user should know of it. `None` without a yardstick, or where the lure was seen too briefly.
pub fn scale(track: &Track, setup: &Setup) -> Option<(Scale, Vec<Warning>)> {
    let yardstick = setup.marks.yardstick.as_ref()?;
    let seen = yardstick.scale()?;
    let body_px = body_at_lure_px(track, setup)?;
    let source = match yardstick {
        Yardstick::Ruler(_) => ScaleSource::Ruler,
        Yardstick::Board(_) => ScaleSource::Board,
    };
    let farther = setup.marks.farther;
    let scale = Scale::of_yardstick(seen, source, farther, body_px);
    let mut warnings = Vec::new();
    if farther.is_none() {
        warnings.push(Warning::Other {
            code: "yardstick_distance",
            text: format!(
                "the {} is taken to lie as far from the camera as the lure, give or take a tenth; say --farther N where the lure is N times as far",
                yardstick.word()
            ),
        });
    }
    let Some(length_mm) = setup.length_mm else {
        return Some((scale, warnings));
    };
    let (both, contradiction) = scale.and_length(length_mm, track.doubts.ends);
    if let Some(apart) = contradiction {
        warnings.push(Warning::Other {
            code: "scale_contradiction",
            text: format!(
                "by the {} the body is {:.0} mm long, not {:.0}: mark its ends again, look at --length, or say --farther N where the lure is N times as far away",
                yardstick.word(),
                apart.by_yardstick_mm,
                apart.told_mm
            ),
        });
    }
    Some((both, warnings))
}

/// Length of the body where the lure usually is, px across the line of sight.
fn body_at_lure_px(track: &Track, setup: &Setup) -> Option<f64> {
    let swum = Swum::new(track, setup);
    if swum.is_brief() {
        return None;
    }
    let fit = wobble(&swum.series, setup, &Picture::default());
    let path = swum.path(&fit.cycles)?;
    Some(path.way.body_at_lure_px)
}

/// `setup` as it would be without water between: where the lure is looked at through the surface from a known height
/// and its depth is known, tilt and slopes are those of a camera that sees it as it looks.
pub fn without_surface(setup: &Setup) -> Setup {
    let marks = &setup.marks;
    match (setup.tilt_deg, marks.camera_height_mm, marks.depth_mm) {
        (Some(tilt), Some(camera_height_mm), Some(depth_mm))
            if setup.view != View::Side && !marks.under_water && tilt > 0.0 =>
        {
            let through = LookThrough {
                camera_height_mm,
                depth_mm,
                index: marks.water_index(),
            };
            Setup {
                tilt_deg: Some(through.tilt_deg(tilt)),
                rise_share: through.rise_share(tilt),
                ..setup.clone()
            }
        }
        _ => setup.clone(),
    }
}
