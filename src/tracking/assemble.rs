//! Puts what was seen into a [`Track`]: the ends of the body, and what was hidden or lost.

use super::brief::of_a_moment;
use super::doubts;
use super::ends::{self, Ends};
use super::follow::Sighting;
use super::nose;
use super::pose::Pose;
use super::shape::Shape;
use super::track::{Affine, State, Track, TrackFrame};
use crate::camera::Setup;

/// Longest time out of sight that counts as hidden rather than lost, s.
const LONGEST_HIDING_S: f64 = 1.5;
/// The camera moves along when the background goes by at more than this part of the picture a second.
const MOVING_CAMERA: f64 = 0.12;

/// What one frame gave, before nose and tail are known.
pub struct Row {
    /// Time, s.
    pub t_s: f64,
    /// In which stretch, each begun anew with a silhouette of its own.
    pub stretch: usize,
    /// What was seen, where it was looked for.
    pub sighting: Option<Sighting>,
    /// How the picture lies on the background.
    pub to_scene: Affine,
}

impl Row {
    /// The lure, where it was seen.
    pub fn seen(&self) -> Option<(&Sighting, Pose)> {
        let sighting = self.sighting.as_ref()?;
        Some((sighting, sighting.pose?))
    }
}

/// The body as it was followed in one stretch.
struct Body {
    ends: Ends,
    sense: f64,
    line_deg: Option<f64>,
}

/// Puts the rows into a track, with the silhouette of each stretch. `None` where none has a body.
pub fn track(mut rows: Vec<Row>, shapes: &[Shape], setup: &Setup, size: [f64; 2]) -> Option<Track> {
    forget_moments(&mut rows);
    let camera_moves = camera_moves(&rows, size).unwrap_or(false);
    let bodies = bodies(&mut rows, shapes, setup, camera_moves);
    if bodies.iter().all(Option::is_none) {
        return None;
    }
    let states = states(&rows);
    let frames: Vec<TrackFrame> = rows
        .iter()
        .zip(states)
        .enumerate()
        .map(|(frame, (row, state))| {
            let mut out = TrackFrame {
                frame,
                t_s: row.t_s,
                state,
                confidence: 0.0,
                x_px: f64::NAN,
                y_px: f64::NAN,
                axis_deg: f64::NAN,
                length_px: f64::NAN,
                width_px: f64::NAN,
                brightness: f64::NAN,
                line_deg: f64::NAN,
                to_scene: row.to_scene,
            };
            if let (Some((sighting, pose)), Some(body)) = (row.seen(), &bodies[row.stretch]) {
                out.confidence = sighting.confidence;
                out.brightness = sighting.brightness;
                place(&mut out, &pose, &body.ends);
                out.line_deg =
                    nose::row_line(sighting, body.sense, body.line_deg).unwrap_or(f64::NAN);
            }
            out
        })
        .collect();
    let doubts = doubts::of(setup.view, camera_moves, &frames);
    Some(Track {
        frames,
        picture_width_px: size[0],
        picture_height_px: size[1],
        camera_moves,
        doubts,
    })
}

/// The body in each stretch; what was seen in one without a body is taken back. The longest tells first where the nose
/// points: in a short one little may show.
fn bodies(
    rows: &mut [Row],
    shapes: &[Shape],
    setup: &Setup,
    camera_moves: bool,
) -> Vec<Option<Body>> {
    let seen_in = |stretch: usize| {
        let own = rows.iter().filter(|r| r.stretch == stretch);
        own.filter(|r| r.seen().is_some()).count()
    };
    let mut longest_first: Vec<usize> = (0..shapes.len()).collect();
    longest_first.sort_by_key(|&stretch| std::cmp::Reverse(seen_in(stretch)));
    let mut bodies: Vec<Option<Body>> = shapes.iter().map(|_| None).collect();
    let mut known_deg = None;
    for stretch in longest_first {
        let shape = &shapes[stretch];
        let own: Vec<&Row> = rows.iter().filter(|r| r.stretch == stretch).collect();
        let sense = nose::sense(&own, setup, camera_moves, shape.skew(), known_deg);
        bodies[stretch] = ends::find(shape, sense, setup.view).map(|ends| Body {
            ends,
            sense,
            line_deg: nose::line_direction(&own, sense),
        });
        match bodies[stretch] {
            Some(_) => known_deg = known_deg.or(Some(nose::direction_deg(&own, sense))),
            None => forget(rows, |row| row.stretch == stretch),
        }
    }
    bodies
}

/// Takes back the sightings of a moment.
fn forget_moments(rows: &mut [Row]) {
    let sighted: Vec<usize> = (0..rows.len())
        .filter(|&k| rows[k].seen().is_some())
        .collect();
    let seen_s: Vec<f64> = sighted.iter().map(|&k| rows[k].t_s).collect();
    for (&k, of_a_moment) in sighted.iter().zip(of_a_moment(&seen_s)) {
        if of_a_moment {
            rows[k].sighting = None;
        }
    }
}

fn forget(rows: &mut [Row], which: impl Fn(&Row) -> bool) {
    for row in rows.iter_mut().filter(|row| which(row)) {
        row.sighting = None;
    }
}

/// Lays the body's ends into the picture.
fn place(out: &mut TrackFrame, pose: &Pose, ends: &Ends) {
    let (nose, tail) = (pose.picture_point(ends.nose), pose.picture_point(ends.tail));
    let (dx, dy) = (nose[0] - tail[0], nose[1] - tail[1]);
    out.x_px = 0.5 * (nose[0] + tail[0]);
    out.y_px = 0.5 * (nose[1] + tail[1]);
    out.axis_deg = crate::units::wrap_deg(dx.atan2(-dy).to_degrees());
    out.length_px = dx.hypot(dy);
    out.width_px = ends.width * pose.across_px;
}

/// Seen, hidden (a short gap between sightings) or lost.
fn states(rows: &[Row]) -> Vec<State> {
    let mut states: Vec<State> = rows
        .iter()
        .map(|r| r.seen().map_or(State::Lost, |_| State::Seen))
        .collect();
    let sighted: Vec<usize> = (0..rows.len())
        .filter(|&k| states[k] == State::Seen)
        .collect();
    for gap in sighted.windows(2) {
        if rows[gap[1]].t_s - rows[gap[0]].t_s <= LONGEST_HIDING_S {
            states[gap[0] + 1..gap[1]].fill(State::Hidden);
        }
    }
    states
}

/// Whether the background goes by faster than a hand would shake or pan; `None` for a single frame.
fn camera_moves(rows: &[Row], size: [f64; 2]) -> Option<bool> {
    let middle = [size[0] / 2.0, size[1] / 2.0];
    let first = rows.first()?;
    let last = rows.last()?;
    let duration = last.t_s - first.t_s;
    if duration <= 0.0 {
        return None;
    }
    let at = |row: &Row| row.to_scene.apply(middle);
    let (a, b) = (at(first), at(last));
    let way = (a[0] - b[0]).hypot(a[1] - b[1]);
    Some(way / duration > MOVING_CAMERA * size[0].max(size[1]))
}
