//! What the user should know.

use super::product::{Float, FloatSetup};
use super::rest::{Sight, usual};
use crate::Warning;
use crate::tracking::float::{FloatTrack, WaterLine};

/// What the user should know of the picture.
pub fn warnings(
    float: &Float,
    sights: &[Sight],
    setup: &FloatSetup,
    track: &FloatTrack,
) -> Vec<Warning> {
    let mut out = Vec::new();
    let mut warn = |code: &'static str, text: String| out.push(Warning::Other { code, text });
    let long_px = usual(sights.iter().map(|s| s.outline.length_px[0]));
    if let (Some(side), false) = (float.nose, float.nose_given) {
        warn(
            "nose_guessed",
            format!(
                "the nose was taken to be on the {} of the picture, the fuller end; if it is not, give --nose {}",
                side.word(),
                side.opposite().word()
            ),
        );
    }
    let waters: Vec<&WaterLine> = sights.iter().filter_map(|s| s.water).collect();
    if !waters.is_empty() {
        let waves = usual(waters.iter().map(|w| w.waves_px));
        if waves > 0.02 * long_px.max(60.0) {
            warn(
                "waves",
                "the water is not calm: wait until it lies still, and keep wind off the tank"
                    .into(),
            );
        }
        let turn = usual(waters.iter().map(|w| w.turn_deg));
        if turn.abs() > 8.0 {
            warn(
                "camera_turned",
                format!(
                    "the water runs {:.0}° off the picture's level: hold the phone level",
                    turn.abs()
                ),
            );
        }
        if let Some(apart) = setup
            .horizon_deg
            .map(|h| turn - h)
            .filter(|d| d.abs() > 1.5)
        {
            warn(
                "horizon",
                format!(
                    "the water's line lies {:.1}° off the given horizon; the water was taken as level",
                    apart.abs()
                ),
            );
        }
        let centre = [f64::from(track.width) / 2.0, f64::from(track.height) / 2.0];
        let off = usual(waters.iter().map(|w| w.under_px(centre)));
        if off.abs() > 0.12 * f64::from(track.height) {
            let way = if off < 0.0 { "lower" } else { "higher" };
            warn(
                "camera_height",
                format!(
                    "the water lies far from the middle of the picture: if the phone was held level it should be \
                     {way}, at the height of the water, or heights read wrong"
                ),
            );
        }
    } else {
        warn(
            "no_surface",
            "no water surface was found: level is the given horizon, heights are not measured"
                .into(),
        );
    }
    if long_px < 80.0 {
        warn(
            "small_in_picture",
            format!("the lure is only {long_px:.0} px long; go closer"),
        );
    }
    if float.seen_fraction < 0.9 {
        warn(
            "partly_seen",
            format!(
                "the lure was seen whole in {:.0} % of the frames",
                100.0 * float.seen_fraction
            ),
        );
    }
    out
}
