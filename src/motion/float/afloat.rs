//! How high it floats, over the frames at rest, with what each figure leaves open.

use super::height::{ENLARGED, Heights, STATIONS, heights};
use super::product::{Float, Station};
use super::rest::{Rest, Sight, usual};
use crate::Measured;
use crate::camera::Side;
use crate::tracking::float::{FloatTrack, Outline, WaterLine};

/// Where in the water's edge at the glass the level lies, standard deviation, mm.
const MENISCUS_MM: f64 = 0.3;
/// The water's edge is seen at the glass, not at the lure: by so much of the camera's height over the water
/// it looks lower, standard deviation (glass to lure over camera to glass, 0 to a quarter).
const PARALLAX: f64 = 0.1;

/// Fills in waterline, parts above water and freeboard.
pub fn float_heights(
    float: &mut Float,
    sights: &[Sight],
    rest: &Rest,
    scale: Option<[f64; 2]>,
    nose: Option<Side>,
    track: &FloatTrack,
) {
    let seen: Vec<(Heights, &WaterLine)> = rest
        .frames
        .iter()
        .filter_map(|i| {
            let water = sights[*i].water?;
            Some((
                heights(sights[*i].outline, water, nose.unwrap_or(Side::Right)),
                water,
            ))
        })
        .collect();
    if seen.is_empty() {
        let none = || Measured::unmeasurable("no water surface was found in the picture");
        float.water_over_nose_mm = none();
        float.water_over_tail_mm = none();
        float.part_above = none();
        float.volume_above = none();
        float.freeboard_mm = none();
        return;
    }
    let each = |of: &dyn Fn(&Heights) -> f64| usual(seen.iter().map(|s| of(&s.0)));
    let line_px = usual(seen.iter().map(|s| line_doubt_px(s.1, track)));
    let high_px = usual(sights.iter().map(|s| thickness(s.outline)));
    // the line's doubt as a share of the outline, and the enlargement's
    let share = |part: f64, doubt_px: f64| {
        let sd = (1.2 * doubt_px / high_px)
            .hypot(2.0 * ENLARGED[1] * part * (1.0 - part))
            .hypot(0.005);
        Measured::new(
            part,
            [(part - 1.96 * sd).max(0.0), (part + 1.96 * sd).min(1.0)],
        )
    };
    let meniscus_px = scale.map_or(0.03 * high_px, |[mm, _]| MENISCUS_MM / mm);
    float.part_above = share(each(&|h| h.part_above), line_px.hypot(meniscus_px));
    float.volume_above = share(each(&|h| h.volume_above), line_px.hypot(meniscus_px))
        .because("if every section of the body has the same shape");
    let Some([mm, doubt]) = scale else {
        let none = || Measured::unmeasurable("no scale: give the body's length with --length");
        float.water_over_nose_mm = none();
        float.water_over_tail_mm = none();
        float.freeboard_mm = none();
        return;
    };
    let height = |px: f64| {
        let sd = (line_px * mm).hypot(MENISCUS_MM).hypot(doubt * px * mm);
        Measured::within(px * mm, 1.96 * sd)
    };
    let stations: Vec<Station> = STATIONS
        .iter()
        .enumerate()
        .map(|(k, s)| Station {
            from_nose: *s,
            water_mm: height(each(&|h| h.water_over[k])),
        })
        .collect();
    float.freeboard_mm = height(each(&|h| h.freeboard));
    float.round_volume_cm3 = Some(each(&|h| h.round_volume) * mm.powi(3) / 1000.0);
    float.raised = raised(sights, rest, nose, mm);
    if nose.is_none() {
        let none =
            || Measured::unmeasurable("say where the nose is with --nose left or --nose right");
        float.water_over_nose_mm = none();
        float.water_over_tail_mm = none();
        return;
    }
    float.water_over_nose_mm = stations[0].water_mm.clone();
    float.water_over_tail_mm = stations[STATIONS.len() - 1].water_mm.clone();
    float.waterline = stations;
}

/// Part of the volume above water against how far the body is raised, mm.
fn raised(sights: &[Sight], rest: &Rest, nose: Option<Side>, mm: f64) -> Vec<[f64; 2]> {
    const STEPS: i32 = 24;
    const STEP_MM: f64 = 0.5;
    let Some(sight) = rest.frames.get(rest.frames.len() / 2).map(|i| &sights[*i]) else {
        return Vec::new();
    };
    let Some(water) = sight.water else {
        return Vec::new();
    };
    (-STEPS..=STEPS)
        .map(|i| {
            let by_mm = STEP_MM * f64::from(i);
            let mut moved = *water;
            moved.at_px[1] += by_mm / mm;
            [
                by_mm,
                heights(sight.outline, &moved, nose.unwrap_or(Side::Right)).volume_above,
            ]
        })
        .collect()
}

/// How far the line may lie off the water at the lure, standard deviation, px.
fn line_doubt_px(water: &WaterLine, track: &FloatTrack) -> f64 {
    let centre = [f64::from(track.width) / 2.0, f64::from(track.height) / 2.0];
    let off = water.under_px(centre);
    water.sd_px.hypot(0.2 * water.band_px).hypot(PARALLAX * off)
}

fn thickness(outline: &Outline) -> f64 {
    outline
        .slices
        .iter()
        .map(|s| s.edges_px[1] - s.edges_px[0])
        .fold(1.0, f64::max)
}
