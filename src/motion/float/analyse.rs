//! From outlines to figures.

use super::afloat::float_heights;
use super::cautions::warnings;
use super::decay::{Decay, decay};
use super::product::{Float, FloatSetup, FloatTrace, LevelFrom, Marks, Rocking};
use super::rest::{Rest, Sight, rest, usual};
use super::way;
use crate::Measured;
use crate::camera::{FloatView, Side, nose_down_deg, right_down_deg};
use crate::tracking::float::{FloatTrack, Missing};

/// What stays of an angle however often it is read, standard deviation, degrees: the edge's own look (rendered
/// photos with known truth), from the side and from an end.
const ANGLE_DOUBT_DEG: f64 = 0.12;
const LEAN_DOUBT_DEG: f64 = 0.15;
/// A clip in which surface and lure show in less than this part of the frames shows no float test.
const LEAST_SEEN: f64 = 0.3;
/// An end outline rounder than this shows no list.
const ROUND: f64 = 1.10;
/// A list known no better than this (95 %, degrees) is none.
const VAGUE_DEG: f64 = 6.0;
/// The nose is guessed to be the fuller end where that is by so much.
const FULLER: f64 = 0.05;
/// Frames that share their errors (ripples), at 30 a second.
const ALIKE_S: f64 = 0.35;

/// Every figure, and the series for the chart.
pub fn analyse(track: &FloatTrack, setup: &FloatSetup) -> (Float, FloatTrace) {
    let end = matches!(setup.view, FloatView::End { .. });
    let sights = sights(track, setup, end);
    // what shows only now and then in a clip is rather something else
    if sights.len() < (LEAST_SEEN * track.frames.len() as f64).ceil() as usize || sights.is_empty()
    {
        return (
            Float::not_found(track.missing.unwrap_or(Missing::Lure)),
            FloatTrace::default(),
        );
    }
    let photo = track.frames.len() == 1;
    let (nose, nose_given) = nose(&sights, &setup.view);
    let sign = sign(&setup.view, nose);
    let t_s: Vec<f64> = sights.iter().map(|s| s.t_s).collect();
    let angles: Vec<f64> = sights.iter().map(|s| sign * s.clockwise_deg).collect();
    let scale = scale(&sights, setup, end);
    let middle_mm = way::heights_mm(&sights, scale);
    let rocking = match photo {
        true => Err(Measured::unmeasurable("rocking needs a clip, not a photo")),
        false => decay(&t_s, &angles),
    };
    let rising = match photo {
        true => Err(Measured::unmeasurable(
            "rising and sinking need a clip, not a photo",
        )),
        false => way::rising(&t_s, &middle_mm, scale),
    };
    let rest = rest(&t_s, &angles, rocking.as_ref().ok(), rising.as_ref().ok());
    let angle = resting_angle(&sights, &angles, &rest, rocking.as_ref().ok(), end, photo);
    let mut float = Float {
        found: true,
        missing: None,
        end_view: end,
        level_from: match sights[0].water {
            Some(_) => LevelFrom::Water,
            None => LevelFrom::Horizon,
        },
        nose,
        nose_given,
        mm_per_px: scale.map(|s| s[0]),
        seen_fraction: sights.len() as f64 / track.frames.len() as f64,
        ..Float::not_found(Missing::Lure)
    };
    match setup.view {
        FloatView::Side { .. } => {
            float.nose_down_deg = match nose {
                Some(_) => angle,
                None => Measured::unmeasurable(format!(
                    "the picture does not tell nose from tail (its right end is {}); say where the nose is with \
                     --nose left or --nose right",
                    up_or_down(angle.value.unwrap_or(0.0))
                )),
            };
            float.list_deg =
                Measured::unmeasurable("from the side a list does not show; take it from an end");
            float_heights(&mut float, &sights, &rest, scale, nose, track);
        }
        FloatView::End { .. } => {
            float.list_deg = list(&sights, &rest, angle);
            from_an_end(&mut float);
        }
    }
    float.rise_mm_s = rising.map_or_else(|why| why, |r| r.mm_s);
    float.rocking = match rocking {
        Ok(fit) => Rocking {
            period_s: fit.period_s.clone(),
            damping: fit.damping.clone(),
            fit: Some(fit),
        },
        Err(why) => Rocking {
            period_s: why.clone(),
            damping: why,
            fit: None,
        },
    };
    float.warnings = warnings(&float, &sights, setup, track);
    let trace = trace(&sights, &rest, nose, t_s, angles, middle_mm);
    (float, trace)
}

fn sights<'a>(track: &'a FloatTrack, setup: &FloatSetup, end: bool) -> Vec<Sight<'a>> {
    track
        .frames
        .iter()
        .filter_map(|f| {
            let outline = f.outline.as_ref()?;
            let level = f.water.map(|w| w.turn_deg).or(setup.horizon_deg)?;
            let straight = if end { 0.0 } else { 90.0 };
            Some(Sight {
                frame: f.frame,
                t_s: f.t_s,
                outline,
                water: f.water.as_ref(),
                clockwise_deg: outline.axis_deg - straight - level,
            })
        })
        .collect()
}

/// Side of the picture on which the nose lies, and whether it was told.
fn nose(sights: &[Sight], view: &FloatView) -> (Option<Side>, bool) {
    match view {
        FloatView::End { .. } => (None, true),
        FloatView::Side { nose: Some(told) } => (Some(*told), true),
        FloatView::Side { nose: None } => {
            let fuller = usual(sights.iter().map(|s| s.outline.fuller_right));
            (Side::of(fuller).filter(|_| fuller.abs() > FULLER), false)
        }
    }
}

/// What makes a clockwise turn in the picture the lure's own angle.
fn sign(view: &FloatView, nose: Option<Side>) -> f64 {
    match view {
        FloatView::Side { .. } => nose_down_deg(1.0, nose.unwrap_or(Side::Right)),
        FloatView::End { from } => right_down_deg(1.0, *from),
    }
}

fn up_or_down(right_down_deg: f64) -> String {
    match right_down_deg > 0.0 {
        true => format!("{right_down_deg:.1}° down"),
        false => format!("{:.1}° up", -right_down_deg),
    }
}

/// Mm per px and the share by which it may be off (one standard deviation).
fn scale(sights: &[Sight], setup: &FloatSetup, end: bool) -> Option<[f64; 2]> {
    let length_mm = setup.length_mm.filter(|_| !end)?;
    let length = usual(sights.iter().map(|s| s.outline.length_px[0]));
    let sd = usual(sights.iter().map(|s| s.outline.length_px[1]));
    Some([length_mm / length, sd / length])
}

fn resting_angle(
    sights: &[Sight],
    angles: &[f64],
    rest: &Rest,
    rocking: Option<&Decay>,
    end: bool,
    photo: bool,
) -> Measured {
    let doubt = if end { LEAN_DOUBT_DEG } else { ANGLE_DOUBT_DEG };
    let at_rest: Vec<f64> = rest.frames.iter().map(|i| angles[*i]).collect();
    let own = usual(rest.frames.iter().map(|i| sights[*i].outline.axis_sd_deg));
    let level = usual(
        rest.frames
            .iter()
            .map(|i| sights[*i].water.map_or(1.0, |w| w.sd_turn_deg)),
    );
    // a horizon that was told is off by the same in every frame
    let seen = rest.frames.iter().all(|i| sights[*i].water.is_some());
    let by_hand = if seen { 0.0 } else { level };
    if let (Some(why), Some(fit)) = (rest.why, rocking) {
        let sd = fit.level[1].hypot(own).hypot(doubt).hypot(by_hand);
        return Measured::within(fit.level[0], 1.96 * sd).because(why);
    }
    let value = usual(at_rest.clone());
    let scatter = 1.4826 * usual(at_rest.iter().map(|a| (a - value).abs()));
    let free = if photo {
        1.0
    } else {
        independent(sights, rest)
    };
    let sd = (scatter / free.sqrt())
        .hypot(own)
        .hypot(if seen { level / free.sqrt() } else { level })
        .hypot(doubt);
    let measured = Measured::within(value, 1.96 * sd);
    match rest.why {
        Some(why) => measured.because(why),
        None => measured,
    }
}

/// How many frames' worth of independent readings there are.
fn independent(sights: &[Sight], rest: &Rest) -> f64 {
    let n = rest.frames.len() as f64;
    let (Some(a), Some(b)) = (rest.frames.first(), rest.frames.last()) else {
        return 1.0;
    };
    let seconds = (sights[*b].t_s - sights[*a].t_s).max(1e-3);
    n.min(seconds / ALIKE_S).max(1.0)
}

fn list(sights: &[Sight], rest: &Rest, angle: Measured) -> Measured {
    let longer = usual(rest.frames.iter().map(|i| sights[*i].outline.longer));
    let half = angle.ci95.map_or(f64::INFINITY, |[lo, hi]| (hi - lo) / 2.0);
    if longer < ROUND || half > VAGUE_DEG {
        return Measured::unmeasurable(
            "from this end its outline is too round to show a list; take it from the other end, or draw an upright \
             line on it",
        );
    }
    angle
}

fn from_an_end(float: &mut Float) {
    let side = || Measured::unmeasurable("from an end this does not show; take it from the side");
    float.nose_down_deg = side();
    float.water_over_nose_mm = side();
    float.water_over_tail_mm = side();
    float.part_above = side();
    float.volume_above = side();
    float.freeboard_mm = side();
}

fn trace(
    sights: &[Sight],
    rest: &Rest,
    nose: Option<Side>,
    t_s: Vec<f64>,
    angle_deg: Vec<f64>,
    above_mm: Vec<f64>,
) -> FloatTrace {
    let middle = rest
        .frames
        .get(rest.frames.len() / 2)
        .map_or(&sights[0], |i| &sights[*i]);
    let level = middle.water.map_or(0.0, |w| w.turn_deg).to_radians();
    let o = middle.outline;
    let turned = |[x, y]: [f64; 2]| {
        let (dx, dy) = (x - o.middle_px[0], y - o.middle_px[1]);
        [
            dx * level.cos() + dy * level.sin(),
            dx * level.sin() - dy * level.cos(),
        ]
    };
    let half = o.length_px[0] / 2.0;
    let edge = |k: usize| o.slices.iter().map(move |s| o.point(s.u_px, s.edges_px[k]));
    let outline: Vec<[f64; 2]> = std::iter::once(o.point(-half, 0.0))
        .chain(edge(0))
        .chain(std::iter::once(o.point(half, 0.0)))
        .chain(edge(1).collect::<Vec<_>>().into_iter().rev())
        .collect();
    let toward = if nose == Some(Side::Left) { -1.0 } else { 1.0 };
    let marks = Marks {
        frame: middle.frame,
        axis: [o.point(-toward * half, 0.0), o.point(toward * half, 0.0)],
        water: middle.water.map(|w| (w.at_px, w.turn_deg)),
        outline: outline.clone(),
    };
    FloatTrace {
        t_s,
        angle_deg,
        above_mm,
        outline_px: outline.into_iter().map(turned).collect(),
        water_px: middle.water.map(|w| w.under_px(o.middle_px)),
        marks: Some(marks),
    }
}
