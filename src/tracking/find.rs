//! Finds the lure: whatever stands out is followed for a moment, and what is drawn by a line, or goes its
//! own way over the bottom for long enough, is the lure. A box from the user narrows the search to itself.

use opencv::core::MatTraitConst;

use super::blobs;
use super::follow::Follower;
use super::line::{self, Fan};
use super::start;
use super::start_box::StartBox;
use super::steady::Steady;
use crate::Result;
use crate::camera::View;
use crate::media::{Clip, Frame};

/// Time of the first look, s, and how much later each further look is than the last.
const FIRST_LOOK_S: f64 = 0.1;
const LATER: f64 = 1.2;
const LONGEST_WAIT_S: f64 = 3.0;
/// Spots looked at, and how many of them are followed.
const SPOTS: usize = 14;
const FOLLOWED: usize = 5;
/// For how long they are followed before a line must have shown, s.
const TRIAL_S: f64 = 0.45;
/// Without a line it must be followed for so long, s.
const ALONE_S: f64 = 2.4;
/// Spots without a line that are followed on at a time.
const ALONE: usize = 2;
/// A spot must be seen for this part of its frames, and a line for this part.
const SEEN: f64 = 0.8;
const WITH_LINE: f64 = 0.5;
/// The line off a spot in the user's box must be so much stronger than the line off the box as a whole.
const CLEARLY: f64 = 1.3;
/// What goes its own way moves over the bottom by this part of the picture's width a second.
const OWN_WAY: f64 = 0.04;

/// A spot being followed.
struct Trial {
    place: StartBox,
    follower: Follower,
    frames: usize,
    seen: usize,
    lines: [usize; 2],
    strength: f64,
    began_s: f64,
    /// place in the picture and on the background, at the start and now, px
    began: [[f64; 2]; 2],
    now: [[f64; 2]; 2],
}

/// Looks through `clip` until a lure is found; gives a box round it and its time.
///
/// # Errors
/// [`crate::Error::Video`] when a picture cannot be worked on.
pub fn lure(clip: &mut Clip, view: View) -> Result<Option<StartBox>> {
    let mut steady = Steady::new(clip.info().width as i32, clip.info().height as i32);
    let (mut trials, mut alone): (Vec<Trial>, Vec<Trial>) = (Vec::new(), Vec::new());
    let mut next_look = FIRST_LOOK_S;
    let mut trial_end = f64::INFINITY;
    let mut frame = Frame::default();
    while clip.read(&mut frame)? {
        let to_scene = steady.next(&frame, None)?;
        for trial in trials.iter_mut().chain(&mut alone) {
            trial.follow(&frame, |p| to_scene.apply(p))?;
        }
        let width = f64::from(frame.luma.cols());
        alone.retain(|t| t.part_seen() >= SEEN && t.goes_its_own_way(frame.t_s, width));
        if let Some(found) = alone.iter().find(|t| frame.t_s - t.began_s >= ALONE_S) {
            return Ok(Some(found.place));
        }
        if frame.t_s >= trial_end {
            if let Some(found) = best_with_line(&trials) {
                return Ok(Some(found.place));
            }
            let room = ALONE - alone.len().min(ALONE);
            alone.extend(movers(std::mem::take(&mut trials), frame.t_s, width).take(room));
            trial_end = f64::INFINITY;
            next_look = frame
                .t_s
                .max((LATER * next_look).min(next_look + LONGEST_WAIT_S));
        }
        if trials.is_empty() && frame.t_s >= next_look {
            trials = begin(&frame, view, promising(&frame)?, |p| to_scene.apply(p))?;
            trial_end = frame.t_s + TRIAL_S;
        }
    }
    // the clip ends in the middle of a trial
    Ok(best_with_line(&trials).map(|t| t.place))
}

/// The lure in the user's box: the box as a whole or a spot in it, whichever is followed better.
///
/// # Errors
/// [`crate::Error::Video`] when a picture cannot be worked on.
pub fn in_box(clip: &mut Clip, view: View, given: &StartBox) -> Result<StartBox> {
    let mut trials: Vec<Trial> = Vec::new();
    let mut frame = Frame::default();
    let mut end_s = f64::INFINITY;
    while clip.read(&mut frame)? && frame.t_s < end_s {
        if frame.t_s + 1e-3 < given.t_s {
            continue;
        }
        if end_s.is_infinite() {
            end_s = frame.t_s + TRIAL_S;
            let mut spots = vec![*given];
            spots.extend(
                blobs::find(&frame, SPOTS)?
                    .iter()
                    .map(|b| b.place)
                    .filter(|b| {
                        let [x, y] = b.centre();
                        given.holds(x, y) && b.w.max(b.h) > 0.4 * given.w.max(given.h)
                    }),
            );
            let spots = spots.into_iter().take(FOLLOWED - 1).collect();
            trials = begin(&frame, view, spots, |p| p)?;
        } else {
            for trial in &mut trials {
                trial.follow(&frame, |p| p)?;
            }
        }
    }
    // the box itself comes first: another spot must be followed clearly better
    let better = |best: &Trial, t: &Trial| match best.drawn_by_line() {
        true => t.drawn_by_line() && t.strength > CLEARLY * best.strength,
        false => t.drawn_by_line() || t.part_seen() > best.part_seen() + 0.2,
    };
    let best = trials
        .iter()
        .reduce(|best, t| if better(best, t) { t } else { best });
    Ok(best.map_or(*given, |t| StartBox {
        t_s: given.t_s,
        ..t.place
    }))
}

/// The most promising spots of a picture: some by the line, the rest by how clearly they stand out.
fn promising(frame: &Frame) -> Result<Vec<StartBox>> {
    let mut spots = Vec::new();
    for blob in blobs::find(frame, SPOTS)? {
        let Some(guess) = start::guess(frame, &blob.place)? else {
            continue;
        };
        let mut strength: f64 = 0.0;
        for sense in [1.0, -1.0] {
            if let Some(streak) = line::strongest(&frame.luma, &guess.pose, sense, Fan::WHOLE)? {
                strength = strength.max(streak.strength);
            }
        }
        spots.push((strength, blob.place));
    }
    let mut by_line: Vec<usize> = (0..spots.len()).collect();
    by_line.sort_by(|&a, &b| spots[b].0.total_cmp(&spots[a].0));
    let mut chosen: Vec<usize> = by_line.into_iter().take(FOLLOWED - 2).collect();
    for k in 0..spots.len() {
        if chosen.len() < FOLLOWED && !chosen.contains(&k) {
            chosen.push(k);
        }
    }
    Ok(chosen.into_iter().map(|k| spots[k].1).collect())
}

/// Starts following the spots.
fn begin(
    frame: &Frame,
    view: View,
    spots: Vec<StartBox>,
    scene: impl Fn([f64; 2]) -> [f64; 2],
) -> Result<Vec<Trial>> {
    let mut trials = Vec::new();
    for place in spots {
        let Some(guess) = start::guess(frame, &place)? else {
            continue;
        };
        let here = [guess.pose.x_px, guess.pose.y_px];
        let places = [here, scene(here)];
        let mut trial = Trial {
            place,
            follower: Follower::new(guess, view),
            frames: 0,
            seen: 0,
            lines: [0; 2],
            strength: 0.0,
            began_s: frame.t_s,
            began: places,
            now: places,
        };
        trial.follow(frame, &scene)?;
        trials.push(trial);
    }
    Ok(trials)
}

impl Trial {
    fn follow(&mut self, frame: &Frame, scene: impl Fn([f64; 2]) -> [f64; 2]) -> Result<()> {
        self.frames += 1;
        let sighting = self.follower.next(frame, 1.0)?;
        if let Some(pose) = sighting.pose {
            self.seen += 1;
            let here = [pose.x_px, pose.y_px];
            self.now = [here, scene(here)];
            for (count, streak) in self.lines.iter_mut().zip(&sighting.line.streaks) {
                if let Some(streak) = streak.filter(|s| s.is_line()) {
                    *count += 1;
                    self.strength += streak.strength;
                }
            }
        }
        Ok(())
    }

    /// Whether it was followed with a line off one end.
    fn drawn_by_line(&self) -> bool {
        self.part_seen() >= SEEN && self.part_with_line() >= WITH_LINE
    }

    fn part_seen(&self) -> f64 {
        self.seen as f64 / self.frames.max(1) as f64
    }

    /// Part of the frames with a line off the same end, less those with one off the other.
    fn part_with_line(&self) -> f64 {
        let [a, b] = self.lines;
        (a.max(b) as f64 - a.min(b) as f64) / self.frames.max(1) as f64
    }

    /// How fast it has moved over the background, px/s.
    fn pace(&self, now_s: f64) -> f64 {
        let way = self.way(1);
        way[0].hypot(way[1]) / (now_s - self.began_s).max(0.1)
    }

    /// Whether it moves over the background and, where that slides by, keeps its place in the picture:
    /// near stones slide by faster than the rest of the bottom, the lure does not.
    fn goes_its_own_way(&self, now_s: f64, picture_width: f64) -> bool {
        let (picture, scene) = (self.way(0), self.way(1));
        let slide = (scene[0] - picture[0]).hypot(scene[1] - picture[1]);
        let since = (now_s - self.began_s).max(0.1);
        let camera_stands = slide / since < OWN_WAY * picture_width;
        let keeps_its_place = picture[0].hypot(picture[1]) < 0.6 * slide;
        self.pace(now_s) > OWN_WAY * picture_width && (camera_stands || keeps_its_place)
    }

    /// Way since the start, in the picture (0) or over the background (1), px.
    fn way(&self, of: usize) -> [f64; 2] {
        [0, 1].map(|n| self.now[of][n] - self.began[of][n])
    }
}

fn best_with_line(trials: &[Trial]) -> Option<&Trial> {
    trials
        .iter()
        .filter(|t| t.drawn_by_line())
        .max_by(|a, b| a.strength.total_cmp(&b.strength))
}

/// The spots that go their own way, fastest first.
fn movers(trials: Vec<Trial>, now_s: f64, picture_width: f64) -> impl Iterator<Item = Trial> {
    let mut movers: Vec<Trial> = trials
        .into_iter()
        .filter(|t| t.part_seen() >= 0.9 && t.goes_its_own_way(now_s, picture_width))
        .collect();
    movers.sort_by(|a, b| b.pace(now_s).total_cmp(&a.pace(now_s)));
    movers.into_iter()
}
