//! Blow-out: the lure leaves its course and does not come back, turns over, or stops wobbling while
//! it is still pulled. A lure that was lost from sight in the middle of the picture may have done so unseen.

use super::BlowOut;
use super::doubt::LEAST_WAY;
use super::robust::{Line, median, spread};
use super::smooth::smooth;
use crate::Status;
use crate::camera::Side;
use crate::tracking::{Track, TrackFrame};

/// It has left when it ends at least this far off its course, body lengths.
pub const LEAVES_BODY_LENGTHS: f64 = 2.5;
/// and has been off it for at least this long, s,
pub const LEAVES_S: f64 = 1.2;
/// going off by at least this part of its way forward (17 degrees),
pub const LEAVES_SLOPE: f64 = 0.3;
/// this many times as far as the background's own errors may carry it (one standard deviation),
pub const LEAVES_COURSE_SD: f64 = 4.0;
/// and this many times as far as it ever strayed before.
pub const LEAVES_TIMES: f64 = 3.0;
/// The course before is told over at least this long, s, and this part of the time …
const LEAST_COURSE_S: f64 = 1.5;
const LEAST_COURSE_PART: f64 = 0.3;
/// … and up to moments so far apart, s, but of no more moments: each costs a look at the whole path.
const MOMENT_S: f64 = 0.1;
const MOST_MOMENTS: f64 = 200.0;
/// Its scatter is no smaller than this, body lengths.
const LEAST_NOISE: f64 = 0.03;
/// It has turned when the body points farther than this off the pull, degrees …
pub const TURNED_DEG: f64 = 65.0;
/// … for at least this long, s.
pub const TURNED_S: f64 = 0.4;
/// It has stopped wobbling when less than this share of the usual width is left until the end …
pub const STOPS_SHARE: f64 = 0.3;
/// … for at least this long, s, while its pace keeps above half. A way of fewer body lengths tells no pace.
pub const STOPS_S: f64 = 1.0;

/// Not seen for so long, s, it is gone; seen again for less than this, s, that may be something else.
pub const GONE_S: f64 = 0.8;
pub const BACK_S: f64 = 1.0;
/// A lure that would reach the picture's edge within this time, s, swam out of it.
const SWIMS_OUT_S: f64 = 0.5;

/// What blow-out is judged from. All vectors have one length.
pub struct Course<'a> {
    /// Time, s.
    pub t_s: &'a [f64],
    /// Forward and sideways, body lengths; `None` where they cannot be told.
    pub forward: Option<&'a [f64]>,
    /// See `forward`.
    pub sideways: Option<&'a [f64]>,
    /// How far aside the background's own errors may carry the end of the path, body lengths (one standard
    /// deviation).
    pub course_sd: f64,
    /// Axis against the pull, degrees.
    pub axis_deg: &'a [f64],
    /// Wobble phase, cycles; empty without a wobble.
    pub cycles: &'a [f64],
    /// Which samples lie outside darts.
    pub keep: &'a [bool],
    /// When it was lost from sight for good, s (see [`lost_s`]).
    pub lost_s: Option<f64>,
}

/// Looks for a blow-out.
pub fn blow_out(course: &Course) -> BlowOut {
    let events = [
        leaves(course).map(|departure| (departure.left_s, left(departure.off))),
        turns(course).map(|t| (t, "it turned across the pull".into())),
        stops(course).map(|t| (t, "it stopped wobbling while it was still pulled".into())),
    ];
    let first = events
        .into_iter()
        .flatten()
        .min_by(|a, b| a.0.total_cmp(&b.0));
    match (first, course.lost_s) {
        (Some((t, what)), _) => BlowOut {
            status: Status::Measured,
            t_s: Some(t),
            why: Some(what),
        },
        (None, Some(lost_s)) => BlowOut {
            status: Status::Unmeasurable,
            t_s: None,
            why: Some(format!(
                "the lure was lost from sight at {lost_s:.1} s; look there whether it rolled over or went off"
            )),
        },
        (None, None) => BlowOut {
            status: Status::None,
            t_s: None,
            why: None,
        },
    }
}

fn left(off: f64) -> String {
    let side = Side::of(off).map_or(String::new(), |side| format!(" to {}", side.both_frames()));
    format!("it left its course{side} and did not come back")
}

/// When the lure was lost from sight for the rest of the clip, s, though it was not about to swim out of the picture.
pub fn lost_s(track: &Track) -> Option<f64> {
    let seen: Vec<&TrackFrame> = track.frames.iter().filter(|f| f.is_seen()).collect();
    let mut stretches: Vec<&[&TrackFrame]> = seen.chunk_by(|a, b| b.t_s - a.t_s < GONE_S).collect();
    let lasts = |s: &[&TrackFrame]| s[s.len() - 1].t_s - s[0].t_s;
    while stretches.len() > 1 && stretches.last().is_some_and(|s| lasts(s) < BACK_S) {
        stretches.pop();
    }
    let last = stretches.last()?;
    let (end, gone) = (track.frames.last()?, last.last()?);
    (end.t_s - gone.t_s >= GONE_S && !swims_out(track, last)).then_some(gone.t_s)
}

/// Whether a lure last seen so lies at the edge of the picture, or soon would.
fn swims_out(track: &Track, seen: &[&TrackFrame]) -> bool {
    let gone = seen[seen.len() - 1];
    let before = seen.iter().rev().find(|f| gone.t_s - f.t_s >= SWIMS_OUT_S);
    let onward = before.map_or([0.0; 2], |b| [gone.x_px - b.x_px, gone.y_px - b.y_px]);
    let beyond = |at: f64, way: f64, size: f64| {
        let reach = 0.75 * gone.length_px;
        [at, at + way]
            .iter()
            .any(|&x| x < reach || x > size - reach)
    };
    beyond(gone.x_px, onward[0], track.picture_width_px)
        || beyond(gone.y_px, onward[1], track.picture_height_px)
}

/// A departure for good: from some moment on it is ever farther off the course that it kept before.
struct Departure {
    left_s: f64,
    /// how far off it ends, body lengths, + to own right
    off: f64,
    /// scatter about the course kept before, body lengths
    noise: f64,
}

/// The departure from the straightest course kept before.
fn leaves(course: &Course) -> Option<Departure> {
    let (forward, sideways) = (course.forward?, course.sideways?);
    let t = course.t_s;
    if t.len() < 20 {
        return None;
    }
    let (first, last) = (t[0], t[t.len() - 1]);
    let from = first + LEAST_COURSE_S.max(LEAST_COURSE_PART * (last - first));
    let step = MOMENT_S.max((last - from) / MOST_MOMENTS);
    (0..)
        .map(|k| from + step * f64::from(k))
        .take_while(|&moment| moment < last - LEAVES_S)
        .filter_map(|moment| Departure::from(course, forward, sideways, moment))
        .min_by(|a, b| a.noise.total_cmp(&b.noise))
}

impl Departure {
    /// From the course kept up to `moment`.
    fn from(course: &Course, forward: &[f64], sideways: &[f64], moment: f64) -> Option<Departure> {
        let t = course.t_s;
        let last = t.len() - 1;
        let before = (0..t.partition_point(|&x| x < moment)).filter(|&i| course.keep[i]);
        let (x, y): (Vec<f64>, Vec<f64>) = before.map(|i| (forward[i], sideways[i])).unzip();
        let line = Line::huber(&x, &y)?;
        let rest: Vec<f64> = x.iter().zip(&y).map(|(x, y)| y - line.at(*x)).collect();
        let noise = spread(&rest).max(LEAST_NOISE);
        let strayed = rest.iter().map(|r| r.abs()).fold(0.0, f64::max);
        // How far the line itself may be wrong when it is drawn out to the end.
        let reach = (forward[last] - line.x_mean).abs() / (x.last()? - x.first()?).abs().max(1e-6);
        let far = LEAVES_BODY_LENGTHS
            .max(6.0 * noise * (1.0 + reach))
            .max(LEAVES_COURSE_SD * course.course_sd);
        let side = (sideways[last] - line.at(forward[last])).signum();
        let off: Vec<f64> = (0..=last)
            .map(|i| side * (sideways[i] - line.at(forward[i])))
            .collect();
        let left = (0..=last)
            .rev()
            .take_while(|&i| off[i] > 3.0 * noise)
            .last()?;
        let away_s = t[last] - t[left];
        let pace = (forward[last] - forward[0]).abs() / (t[last] - t[0]);
        let ends_far = median(off[last.saturating_sub(4)..].iter().copied())? > far;
        let goes_on = off[last] >= 0.8 * off.iter().copied().fold(0.0, f64::max);
        let quickly = away_s >= LEAVES_S && off[last] / away_s > LEAVES_SLOPE * pace;
        let as_never_before = off[last] > LEAVES_TIMES * strayed;
        (ends_far && goes_on && quickly && as_never_before && seen_to_leave(t, t[left])).then(
            || Departure {
                left_s: t[left],
                off: side * off[last],
                noise,
            },
        )
    }
}

/// Whether it was in sight as it left: what shows up elsewhere after an absence may be a stone.
fn seen_to_leave(t_s: &[f64], left_s: f64) -> bool {
    t_s.windows(2)
        .filter(|w| w[1] >= left_s && w[0] < left_s + LEAVES_S)
        .all(|w| w[1] - w[0] < GONE_S)
}

/// When the body turns across the pull and stays so.
fn turns(course: &Course) -> Option<f64> {
    let t = course.t_s;
    let slow = smooth(t, course.axis_deg, 0.3);
    run(t, TURNED_S, |i| slow[i].abs() > TURNED_DEG)
}

/// When the wobble stops for the rest of the clip.
fn stops(course: &Course) -> Option<f64> {
    let t = course.t_s;
    if course.cycles.len() != t.len() || t.len() < 20 {
        return None;
    }
    let slow = smooth(t, course.axis_deg, 0.3);
    let power: Vec<f64> = course
        .axis_deg
        .iter()
        .zip(&slow)
        .map(|(a, s)| (a - s).powi(2))
        .collect();
    let width: Vec<f64> = smooth(t, &power, 0.5)
        .iter()
        .map(|p| (2.0 * p.max(0.0)).sqrt())
        .collect();
    let usual = median((0..t.len()).filter(|&i| course.keep[i]).map(|i| width[i]))?;
    let from = (0..t.len())
        .rev()
        .take_while(|&i| width[i] < STOPS_SHARE * usual)
        .last()?;
    let last = t.len() - 1;
    (t[last] - t[from] >= STOPS_S && is_still_pulled(t, course.forward?, from)).then_some(t[from])
}

/// Whether it went on along the pull as it did before.
fn is_still_pulled(t_s: &[f64], forward: &[f64], from: usize) -> bool {
    let way = |a: usize, b: usize| forward[b] - forward[a];
    let pace = |a: usize, b: usize| way(a, b) / (t_s[b] - t_s[a]).max(1e-6);
    way(0, from) >= LEAST_WAY && pace(from, t_s.len() - 1) > 0.5 * pace(0, from)
}

/// Start of the first run of at least `least_s` in which `holds`.
fn run(t_s: &[f64], least_s: f64, holds: impl Fn(usize) -> bool) -> Option<f64> {
    let mut start: Option<f64> = None;
    for (i, &t) in t_s.iter().enumerate() {
        if !holds(i) {
            start = None;
        } else if t - *start.get_or_insert(t) >= least_s {
            return start;
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A lure that runs straight at 5 body lengths a second until `left_s`, then off at `slope` to its own right, or, with
    /// none, on without a wobble.
    fn told(seconds: f64, left_s: f64, slope: f64, knows_the_way: bool) -> BlowOut {
        let t_s: Vec<f64> = (0..(30.0 * seconds) as i32)
            .map(|k| f64::from(k) / 30.0)
            .collect();
        let forward: Vec<f64> = t_s.iter().map(|t| 5.0 * t).collect();
        let sideways: Vec<f64> = t_s
            .iter()
            .map(|t| 0.05 * (7.0 * t).sin() + slope * 5.0 * (t - left_s).max(0.0))
            .collect();
        let beats = |t: &f64| slope != 0.0 || *t < left_s;
        let axis_deg: Vec<f64> = t_s
            .iter()
            .map(|t| {
                if beats(t) {
                    15.0 * (31.4 * t).sin()
                } else {
                    0.0
                }
            })
            .collect();
        blow_out(&Course {
            t_s: &t_s,
            forward: knows_the_way.then_some(&forward[..]),
            sideways: knows_the_way.then_some(&sideways[..]),
            course_sd: 0.0,
            axis_deg: &axis_deg,
            cycles: &t_s.iter().map(|t| 5.0 * t).collect::<Vec<_>>(),
            keep: &vec![true; t_s.len()],
            lost_s: None,
        })
    }

    #[test]
    fn a_lure_that_goes_off_at_one_angle_has_blown_out_however_long_it_goes_on() {
        for seconds in [6.0, 8.0, 12.0, 20.0] {
            for degrees in [30.0_f64, 40.0, 45.0] {
                let left_s = 0.4 * seconds;
                let found = told(seconds, left_s, degrees.to_radians().tan(), true);
                let what = format!("{degrees} degrees, {seconds} s: {found:?}");
                assert_eq!(found.status, Status::Measured, "{what}");
                assert!(
                    found.t_s.is_some_and(|t| (t - left_s).abs() < 0.5),
                    "{what}"
                );
            }
        }
        assert_eq!(told(8.0, 3.0, 0.05, true).status, Status::None);
    }

    #[test]
    fn a_wobble_that_stops_is_a_blow_out_only_where_the_pull_is_known_to_go_on() {
        assert_eq!(told(8.0, 5.0, 0.0, true).status, Status::Measured);
        assert_eq!(told(8.0, 5.0, 0.0, false).status, Status::None);
    }

    #[test]
    fn what_shows_up_elsewhere_after_an_absence_was_not_seen_to_leave() {
        let frames = (0..50).chain(120..170);
        let t: Vec<f64> = frames.map(|k| f64::from(k) / 30.0).collect();
        assert!(seen_to_leave(&t, 4.5));
        assert!(!seen_to_leave(&t, 1.5) && !seen_to_leave(&t, 4.0));
    }
}
