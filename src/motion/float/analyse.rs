//! From outlines to figures.

use super::decay::{Decay, decay};
use super::height::{ENLARGED, Heights, STATIONS, heights};
use super::product::{Float, FloatSetup, FloatTrace, LevelFrom, Marks, Rocking, Station};
use super::rise::{Rise, rise};
use crate::camera::{FloatView, Side, nose_down_deg, right_down_deg};
use crate::tracking::float::{FloatTrack, Missing, Outline, WaterLine};
use crate::{Measured, Warning};

/// What stays of an angle however often it is read, standard deviation, degrees: the edge's own look (rendered
/// photos with known truth), from the side and from an end.
const ANGLE_DOUBT_DEG: f64 = 0.12;
const LEAN_DOUBT_DEG: f64 = 0.15;
/// Where in the water's edge at the glass the level lies, standard deviation, mm.
const MENISCUS_MM: f64 = 0.3;
/// The water's edge is seen at the glass, not at the lure: by so much of the camera's height over the water
/// it looks lower, standard deviation (glass to lure over camera to glass, 0 to a quarter).
const PARALLAX: f64 = 0.1;
/// An end outline rounder than this shows no list.
const ROUND: f64 = 1.10;
/// A list known no better than this (95 %, degrees) is none.
const VAGUE_DEG: f64 = 6.0;
/// The nose is guessed to be the fuller end where that is by so much.
const FULLER: f64 = 0.05;
/// It lies still where the angle stays within so much for so long.
const STILL_DEG: f64 = 0.5;
const STILL_S: f64 = 0.35;
const LEAST_STILL_S: f64 = 0.6;
/// Frames that share their errors (ripples), at 30 a second.
const ALIKE_S: f64 = 0.35;

/// One frame in which all was seen.
struct Sight<'a> {
    frame: usize,
    t_s: f64,
    outline: &'a Outline,
    water: Option<&'a WaterLine>,
    /// Turn of the axis (or the upright) clockwise against level, degrees.
    clockwise_deg: f64,
}

/// Every figure, and the series for the chart.
pub fn analyse(track: &FloatTrack, setup: &FloatSetup) -> (Float, FloatTrace) {
    let end = matches!(setup.view, FloatView::End { .. });
    let sights = sights(track, setup, end);
    if sights.is_empty() {
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
    let middle_mm = middle_heights(&sights, scale);
    let rocking = match photo {
        true => Err(Measured::unmeasurable("rocking needs a clip, not a photo")),
        false => decay(&t_s, &angles),
    };
    let rising = rising(photo, &t_s, &middle_mm, scale, rocking.as_ref().ok());
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
            let fuller = median(sights.iter().map(|s| s.outline.fuller_right).collect());
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
    let length = median(sights.iter().map(|s| s.outline.length_px[0]).collect());
    let sd = median(sights.iter().map(|s| s.outline.length_px[1]).collect());
    Some([length_mm / length, sd / length])
}

fn middle_heights(sights: &[Sight], scale: Option<[f64; 2]>) -> Vec<f64> {
    let one = |s: &Sight| Some(-s.water?.under_px(s.outline.middle_px) * scale?[0]);
    sights.iter().map(|s| one(s).unwrap_or(f64::NAN)).collect()
}

fn rising(
    photo: bool,
    t_s: &[f64],
    middle_mm: &[f64],
    scale: Option<[f64; 2]>,
    rocking: Option<&Decay>,
) -> Result<Rise, Measured> {
    let Some([_, doubt]) = scale else {
        return Err(Measured::unmeasurable(
            "no scale: give the body's length with --length, and film from the side",
        ));
    };
    if photo {
        return Err(Measured::unmeasurable(
            "rising and sinking need a clip, not a photo",
        ));
    }
    if middle_mm.iter().any(|h| h.is_nan()) {
        return Err(Measured::unmeasurable(
            "without the water's surface no height is known",
        ));
    }
    rise(t_s, middle_mm, doubt, rocking)
}

/// Frames at rest, and why they are not quite, if so.
struct Rest {
    frames: Vec<usize>,
    why: Option<&'static str>,
}

fn rest(t_s: &[f64], angles: &[f64], rocking: Option<&Decay>, rising: Option<&Rise>) -> Rest {
    let all = || (0..t_s.len()).collect::<Vec<_>>();
    if t_s.len() == 1 {
        return Rest {
            frames: all(),
            why: None,
        };
    }
    let steps = median(angles.windows(2).map(|w| (w[1] - w[0]).abs()).collect());
    let most = STILL_DEG.max(4.0 * steps);
    let is_still = |i: usize| {
        let near = (0..t_s.len()).filter(|j| (t_s[*j] - t_s[i]).abs() <= STILL_S);
        let (lo, hi) = near.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), j| {
            (lo.min(angles[j]), hi.max(angles[j]))
        });
        let moving = rising.is_some_and(|r| (r.span_s[0]..=r.span_s[1]).contains(&t_s[i]));
        hi - lo <= most && !moving
    };
    let still: Vec<usize> = (0..t_s.len()).filter(|i| is_still(*i)).collect();
    let gap = (t_s[t_s.len() - 1] - t_s[0]) / (t_s.len() - 1) as f64;
    if still.len() as f64 * gap >= LEAST_STILL_S || still.len() == t_s.len() {
        return Rest {
            frames: still,
            why: None,
        };
    }
    match (rising, rocking) {
        (Some(r), _) => Rest {
            frames: (0..t_s.len())
                .filter(|i| (r.span_s[0]..=r.span_s[1]).contains(&t_s[*i]))
                .collect(),
            why: Some("taken while it rose or sank"),
        },
        (None, Some(_)) => Rest {
            frames: all(),
            why: Some("the middle of its rocking: it never lay still"),
        },
        (None, None) => Rest {
            frames: all(),
            why: Some("it never lay quite still"),
        },
    }
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
    let own = median(
        rest.frames
            .iter()
            .map(|i| sights[*i].outline.axis_sd_deg)
            .collect(),
    );
    let level = median(
        rest.frames
            .iter()
            .map(|i| sights[*i].water.map_or(1.0, |w| w.sd_turn_deg))
            .collect(),
    );
    if let (Some(why), Some(fit)) = (rest.why, rocking) {
        let sd = fit.level[1].hypot(own).hypot(doubt);
        return Measured::within(fit.level[0], 1.96 * sd).because(why);
    }
    let value = median(at_rest.clone());
    let scatter = 1.4826 * median(at_rest.iter().map(|a| (a - value).abs()).collect());
    let free = if photo {
        1.0
    } else {
        independent(sights, rest)
    };
    let sd = (scatter / free.sqrt())
        .hypot(own)
        .hypot(level / free.sqrt())
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
    let longer = median(
        rest.frames
            .iter()
            .map(|i| sights[*i].outline.longer)
            .collect(),
    );
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

fn float_heights(
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
    let each = |of: &dyn Fn(&Heights) -> f64| median(seen.iter().map(|s| of(&s.0)).collect());
    let line_px = median(seen.iter().map(|s| line_doubt_px(s.1, track)).collect());
    let high_px = median(sights.iter().map(|s| thickness(s.outline)).collect());
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

fn warnings(
    float: &Float,
    sights: &[Sight],
    setup: &FloatSetup,
    track: &FloatTrack,
) -> Vec<Warning> {
    let mut out = Vec::new();
    let mut warn = |code: &'static str, text: String| out.push(Warning::Other { code, text });
    let long_px = median(sights.iter().map(|s| s.outline.length_px[0]).collect());
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
        let waves = median(waters.iter().map(|w| w.waves_px).collect());
        if waves > 0.02 * long_px.max(60.0) {
            warn(
                "waves",
                "the water is not calm: wait until it lies still, and keep wind off the tank"
                    .into(),
            );
        }
        let turn = median(waters.iter().map(|w| w.turn_deg).collect());
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
        let off = median(waters.iter().map(|w| w.under_px(centre)).collect());
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

/// Median; NaN of none.
fn median(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}
