//! A pass over the clip: steady the background, follow the lure, and put its frames into a [`Track`].

use super::astray::Astray;
use super::backdrop::{Backdrop, Lain};
use super::brief::of_a_moment;
use super::clear::Clear;
use super::doubts;
use super::ends::{self, Ends};
use super::follow::{Follower, Sighting};
use super::light::Light;
use super::line_watch::LineLook;
use super::pose::Pose;
use super::start::{self};
use super::start_box::StartBox;
use super::steady::Steady;
use super::track::{Affine, State, Track, TrackFrame};
use crate::Result;
use crate::camera::{Setup, View};
use crate::media::{Clip, Frame};

/// A line off one end in so much more of the frames than off the other shows where the nose is.
const SURE_LINE: f64 = 0.4;
/// A silhouette at least so skew along its axis shows by its taper where the nose is; on our seven rendered clips
/// with a lure it was skewed by 0.005 to 0.17, and always so.
const CLEAR_TAPER: f64 = 0.05;
/// Boxes tried one after the other, in sizes of the one given, until one holds the lure: for so long from its time on, s,
/// it must be seen in this part of the frames.
const BOX_SIZES: [f64; 3] = [1.0, 1.2, 0.85];
const HOLD_S: f64 = 0.4;
const HELD: f64 = 0.5;
/// Longest time out of sight that counts as hidden rather than lost, s.
const LONGEST_HIDING_S: f64 = 1.5;
/// Streaks farther than this from the usual direction of the line are something else, degrees.
const LINE_SPREAD_DEG: f64 = 20.0;
/// The camera moves along when the background goes by at more than this part of the picture a second.
const MOVING_CAMERA: f64 = 0.12;

/// What one frame gave, before nose and tail are known.
struct Row {
    t_s: f64,
    sighting: Option<Sighting>,
    to_scene: Affine,
}

/// Follows the lure through `clip` from the box in which it lies at the box's time; where it is lost soon after, a box a
/// little larger and one a little smaller are tried. `None` when the box is never reached or holds nothing.
///
/// # Errors
/// [`crate::Error::Video`] when a picture cannot be worked on; those of [`Clip::open`] where the clip has to be read again.
pub fn follow(
    clip: &mut Clip,
    setup: &Setup,
    start: &StartBox,
    progress: &mut dyn FnMut(usize),
) -> Result<Option<Track>> {
    let size = [clip.info().width, clip.info().height].map(f64::from);
    let mut most = 0;
    let mut onward = |done: usize| {
        most = most.max(done);
        progress(most);
    };
    for times in BOX_SIZES {
        let boxed = start.grown(times).inside(size);
        if let Some(pass) = run(clip, setup.view, &boxed, true, &mut onward)? {
            return Ok(pass.track(setup, size));
        }
        clip.rewind()?;
    }
    let pass = run(clip, setup.view, start, false, &mut onward)?;
    Ok(pass.and_then(|pass| pass.track(setup, size)))
}

/// What was seen in one pass over the clip.
struct Pass {
    rows: Vec<Row>,
    follower: Option<Follower>,
}

impl Pass {
    fn track(self, setup: &Setup, size: [f64; 2]) -> Option<Track> {
        track(self.rows, &self.follower?, setup, size)
    }
}

/// One pass over the clip; `None` where the lure `must_hold` on and is lost soon after the start.
fn run(
    clip: &mut Clip,
    view: View,
    start: &StartBox,
    must_hold: bool,
    progress: &mut dyn FnMut(usize),
) -> Result<Option<Pass>> {
    let (width, height) = (clip.info().width as i32, clip.info().height as i32);
    let mut steady = Steady::new(width, height, view);
    let mut clear = Clear::default();
    let mut light = Light::default();
    let mut backdrop = Backdrop::new(view);
    let mut lain = Lain::default();
    let mut astray = Astray::default();
    let mut follower: Option<Follower> = None;
    let mut tried = false;
    let mut rows = Vec::new();
    let mut frame = Frame::default();
    let mut to_be_held = must_hold;
    while clip.read(&mut frame)? {
        clear.make(&mut frame)?;
        let lure = follower.as_ref().map(Follower::whereabouts);
        let to_scene = steady.next(&frame, lure)?;
        let mut gain = light.gain(&frame.luma)?;
        let sighting = match &mut follower {
            Some(follower) => {
                let carried = backdrop.carried(frame.t_s, &to_scene, &lain);
                Some(follower.next(&frame, gain, carried.as_ref())?)
            }
            None if !tried && frame.t_s + 1e-3 >= start.t_s => {
                tried = true;
                // the colours are learned from this picture: brightness is told against it
                light = Light::default();
                gain = light.gain(&frame.luma)?;
                match start::guess_with_care(&frame, start, view)? {
                    Some(guess) => {
                        let begun = follower.insert(Follower::new(guess, view));
                        Some(begun.next(&frame, gain, None)?)
                    }
                    None => None,
                }
            }
            None => None,
        };
        if let Some(follower) = &follower {
            lain.lay(frame.t_s, follower.lies());
            backdrop.keep(&frame, gain, &to_scene, follower.scale()[1])?;
        }
        rows.push(Row {
            t_s: frame.t_s,
            sighting,
            to_scene,
        });
        // along the water the bottom slides faster near than far: what lies on it cannot be told there
        if let (Some(follower), View::Above) = (&mut follower, view) {
            if call_back(follower, &mut astray, &mut rows) {
                lain.lay_all_along(follower.lies());
            }
        }
        if to_be_held && frame.t_s - start.t_s > HOLD_S {
            to_be_held = false;
            if !holds(&rows) {
                return Ok(None);
            }
        }
        progress(frame.index + 1);
    }
    Ok(Some(Pass { rows, follower }))
}

/// Where the follower has strayed onto the bottom, takes back what it saw there and has it look for the lure again; says
/// whether it had.
fn call_back(follower: &mut Follower, astray: &mut Astray, rows: &mut [Row]) -> bool {
    let Some((now, (_, pose))) = rows.last().and_then(|row| Some((row, seen(row)?))) else {
        return false;
    };
    let here = [pose.x_px, pose.y_px];
    let Some(since_s) = astray.take(now.t_s, here, now.to_scene.apply(here), follower) else {
        return false;
    };
    let strayed = rows.iter_mut().rev().take_while(|row| row.t_s > since_s);
    let sightings = strayed.filter_map(|row| row.sighting.as_mut());
    let frames = sightings.map(|sighting| *sighting = Sighting::NOTHING);
    follower.out_of_sight_for(frames.count());
    true
}

/// Whether the lure was seen in most frames since it was begun with.
fn holds(rows: &[Row]) -> bool {
    let looked: Vec<&Row> = rows.iter().filter(|r| r.sighting.is_some()).collect();
    let seen = looked.iter().filter(|r| seen(r).is_some()).count();
    !looked.is_empty() && seen as f64 >= HELD * looked.len() as f64
}

/// Puts the rows into a track: nose from tail, ends of the body, the line, and what was hidden or lost.
fn track(mut rows: Vec<Row>, follower: &Follower, setup: &Setup, size: [f64; 2]) -> Option<Track> {
    forget_moments(&mut rows);
    let camera_moves = camera_moves(&rows, size).unwrap_or(false);
    let taper = follower.shape().skew();
    let sense = nose_sense(&rows, setup, camera_moves, taper);
    let ends = ends::find(follower.shape(), sense, setup.view)?;
    let line_deg = line_direction(&rows, sense);
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
            if let Some((sighting, pose)) = seen(row) {
                out.confidence = sighting.confidence;
                out.brightness = sighting.brightness;
                place(&mut out, &pose, &ends);
                out.line_deg = row_line(sighting, sense, line_deg).unwrap_or(f64::NAN);
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

fn seen(row: &Row) -> Option<(&Sighting, Pose)> {
    let sighting = row.sighting.as_ref()?;
    Some((sighting, sighting.pose?))
}

/// Takes back the sightings of a moment.
fn forget_moments(rows: &mut [Row]) {
    let sighted: Vec<usize> = (0..rows.len())
        .filter(|&k| seen(&rows[k]).is_some())
        .collect();
    let seen_s: Vec<f64> = sighted.iter().map(|&k| rows[k].t_s).collect();
    for (&k, of_a_moment) in sighted.iter().zip(of_a_moment(&seen_s)) {
        if of_a_moment {
            rows[k].sighting = None;
        }
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

/// +1 where the nose lies at the body frame's positive end, −1 otherwise: by the pull where it was
/// given, by the line where it is seen, by the view, by the way of travel; where the camera travels too, rather by
/// the taper, for light that dances over the bottom can make it seem to slide the other way.
fn nose_sense(rows: &[Row], setup: &Setup, camera_moves: bool, taper: f64) -> f64 {
    let axes: Vec<f64> = rows
        .iter()
        .filter_map(|r| seen(r).map(|(_, pose)| pose.axis_rad))
        .collect();
    let toward = |deg: f64| -> f64 {
        let pull = deg.to_radians();
        axes.iter().map(|a| (a - pull).cos()).sum()
    };
    if let Some(pull) = setup.pull_deg {
        return toward(pull).signum();
    }
    let [ahead, behind] = line_evidence(rows);
    if (ahead - behind).abs() > SURE_LINE {
        return (ahead - behind).signum();
    }
    match setup.view {
        View::Behind => toward(0.0).signum(),
        View::Ahead => toward(180.0).signum(),
        // the body tapers to the tail: most of it lies toward the nose
        View::Above | View::Side if camera_moves && taper.abs() > CLEAR_TAPER => -taper.signum(),
        View::Above | View::Side => toward(travel_deg(rows)).signum(),
    }
}

/// Fraction of the telling looks with a line off either end of the body frame.
fn line_evidence(rows: &[Row]) -> [f64; 2] {
    let looks: Vec<&LineLook> = rows
        .iter()
        .filter_map(|r| seen(r).map(|s| &s.0.line))
        .filter(|look| look.telling)
        .collect();
    let fraction = |end: usize| {
        let lines = looks
            .iter()
            .filter(|look| look.streaks[end].is_some_and(|k| k.is_line()))
            .count();
        lines as f64 / looks.len().max(1) as f64
    };
    [fraction(0), fraction(1)]
}

/// Image direction in which the lure travels over the background, degrees.
fn travel_deg(rows: &[Row]) -> f64 {
    let mut ends = rows
        .iter()
        .filter_map(|r| seen(r).map(|(_, pose)| r.to_scene.apply([pose.x_px, pose.y_px])));
    let (Some(first), Some(last)) = (ends.next(), ends.next_back()) else {
        return 0.0;
    };
    (last[0] - first[0]).atan2(first[1] - last[1]).to_degrees()
}

/// Usual direction of the line: that of the strongest agreement among the strong streaks, counted in steps of
/// a degree.
fn line_direction(rows: &[Row], sense: f64) -> Option<f64> {
    const STEPS: i32 = 360;
    let streaks: Vec<(f64, f64)> = rows
        .iter()
        .filter_map(|r| seen(r).and_then(|(s, _)| s.line.streaks[end_index(sense)]))
        .filter(|k| k.is_line())
        .map(|k| (k.direction_deg, k.strength))
        .collect();
    if streaks.len() < 5 {
        return None;
    }
    let mut strength = [0.0; STEPS as usize];
    for (deg, s) in &streaks {
        strength[(deg.round() as i32).rem_euclid(STEPS) as usize] += s;
    }
    let reach = (0.5 * LINE_SPREAD_DEG) as i32;
    let support = |step: i32| -> f64 {
        (step - reach..=step + reach)
            .map(|k| strength[k.rem_euclid(STEPS) as usize])
            .sum()
    };
    let best = (0..STEPS).max_by(|&a, &b| support(a).total_cmp(&support(b)))?;
    // the middle of those that agree
    let off = streaks
        .iter()
        .map(|s| (crate::units::wrap_deg(s.0 - f64::from(best)), s.1));
    let (sum, weight) = off
        .filter(|(off, _)| off.abs() <= f64::from(reach))
        .fold((0.0, 0.0), |(sum, weight), (off, s)| {
            (sum + s * off, weight + s)
        });
    Some(crate::units::wrap_deg(f64::from(best) + sum / weight))
}

fn row_line(sighting: &Sighting, sense: f64, usual: Option<f64>) -> Option<f64> {
    let streak = sighting.line.streaks[end_index(sense)]?;
    let near = crate::units::wrap_deg(streak.direction_deg - usual?).abs() < LINE_SPREAD_DEG;
    (near && streak.is_line()).then(|| crate::units::wrap_deg(streak.direction_deg))
}

fn end_index(sense: f64) -> usize {
    usize::from(sense < 0.0)
}

/// Seen, hidden (a short gap between sightings) or lost.
fn states(rows: &[Row]) -> Vec<State> {
    let mut states: Vec<State> = rows
        .iter()
        .map(|r| seen(r).map_or(State::Lost, |_| State::Seen))
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
