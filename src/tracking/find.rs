//! Finds the lure unaided: whatever stands out is followed for a moment, and what is drawn by a line, or
//! keeps still in the picture while the bottom goes by, is the lure.

use opencv::core::MatTraitConst;

use super::blobs;
use super::follow::Follower;
use super::line;
use super::start;
use super::start_box::StartBox;
use super::steady::Steady;
use crate::Result;
use crate::camera::View;
use crate::media::{Clip, Frame};

/// Time of the first look, s, and how much later each further look is than the last.
const FIRST_LOOK_S: f64 = 0.1;
const LATER: f64 = 1.35;
const LEAST_WAIT_S: f64 = 0.4;
/// Spots looked at, and how many of them are followed.
const SPOTS: usize = 14;
const FOLLOWED: usize = 5;
/// For how long they are followed, s.
const TRIAL_S: f64 = 0.6;
/// A trial must be seen for this part of its frames.
const SEEN: f64 = 0.8;
/// A line must be seen in this part of them.
const WITH_LINE: f64 = 0.5;

/// A spot being followed.
struct Trial {
    place: StartBox,
    follower: Follower,
    frames: usize,
    seen: usize,
    lines: [usize; 2],
    strength: f64,
    /// place in the picture and on the background at the start and now
    began: [[f64; 2]; 2],
    now: [[f64; 2]; 2],
}

/// Looks through `clip` until a lure is found; gives a box round it and its time.
///
/// # Errors
/// [`crate::Error::Video`] when a picture cannot be worked on.
pub fn lure(clip: &mut Clip, view: View) -> Result<Option<StartBox>> {
    let mut steady = Steady::new(clip.info().width as i32, clip.info().height as i32);
    let mut trials: Vec<Trial> = Vec::new();
    let mut next_look = FIRST_LOOK_S;
    let mut trial_end = f64::INFINITY;
    let mut second_best: Option<(f64, StartBox)> = None;
    let mut frame = Frame::default();
    while clip.read(&mut frame)? {
        let to_scene = steady.next(&frame, None)?;
        for trial in &mut trials {
            trial.follow(&frame, |p| to_scene.apply(p))?;
        }
        if frame.t_s >= trial_end {
            if let Some(found) = best_with_line(&trials) {
                return Ok(Some(found));
            }
            if let Some(other) = best_without_line(&trials, frame.luma.cols()) {
                if second_best.is_none_or(|b| other.0 > b.0) {
                    second_best = Some(other);
                }
            }
            trials.clear();
            trial_end = f64::INFINITY;
            next_look = (frame.t_s * LATER).max(frame.t_s + LEAST_WAIT_S - TRIAL_S);
        }
        if trials.is_empty() && frame.t_s >= next_look {
            trials = begin(&frame, view, |p| to_scene.apply(p))?;
            trial_end = frame.t_s + TRIAL_S;
        }
    }
    Ok(second_best.map(|(_, place)| place))
}

/// Starts following the most promising spots of a picture: those with a line first.
fn begin(frame: &Frame, view: View, scene: impl Fn([f64; 2]) -> [f64; 2]) -> Result<Vec<Trial>> {
    let mut promising = Vec::new();
    for blob in blobs::find(frame, SPOTS)? {
        let Some(guess) = start::guess(frame, &blob.place)? else {
            continue;
        };
        let mut strength: f64 = 0.0;
        for sense in [1.0, -1.0] {
            if let Some(streak) = line::strongest(&frame.luma, &guess.pose, sense)? {
                strength = strength.max(streak.strength);
            }
        }
        promising.push((strength, blob, guess));
    }
    // half the places by the line, half by how clearly they stand out
    let mut order: Vec<usize> = (0..promising.len()).collect();
    order.sort_by(|&a, &b| promising[b].0.total_cmp(&promising[a].0));
    let mut chosen: Vec<usize> = order.into_iter().take(FOLLOWED - 2).collect();
    for k in 0..promising.len() {
        if chosen.len() < FOLLOWED && !chosen.contains(&k) {
            chosen.push(k);
        }
    }
    let trials = promising
        .into_iter()
        .enumerate()
        .filter(|(k, _)| chosen.contains(k))
        .map(|(_, (_, blob, guess))| {
            let here = [guess.pose.x_px, guess.pose.y_px];
            let there = scene(here);
            Trial {
                place: blob.place,
                follower: Follower::new(guess, view != View::Side),
                frames: 0,
                seen: 0,
                lines: [0; 2],
                strength: 0.0,
                began: [here, there],
                now: [here, there],
            }
        });
    let mut trials: Vec<Trial> = trials.collect();
    for trial in &mut trials {
        trial.follow(frame, &scene)?;
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
            for (count, streak) in self.lines.iter_mut().zip(&sighting.streaks) {
                if let Some(streak) = streak.filter(|s| s.is_line()) {
                    *count += 1;
                    self.strength += streak.strength;
                }
            }
        }
        Ok(())
    }

    fn part_seen(&self) -> f64 {
        self.seen as f64 / self.frames.max(1) as f64
    }

    /// Part of the frames with a line off the same end, and none off the other.
    fn part_with_line(&self) -> f64 {
        let [a, b] = self.lines;
        (a.max(b) as f64 - a.min(b) as f64) / self.frames.max(1) as f64
    }

    /// How far it has moved over the background, and in the picture, px.
    fn moved(&self) -> [f64; 2] {
        let away = |n: usize| {
            (self.now[n][0] - self.began[n][0]).hypot(self.now[n][1] - self.began[n][1])
        };
        [away(1), away(0)]
    }
}

fn best_with_line(trials: &[Trial]) -> Option<StartBox> {
    trials
        .iter()
        .filter(|t| t.part_seen() >= SEEN && t.part_with_line() >= WITH_LINE)
        .max_by(|a, b| a.strength.total_cmp(&b.strength))
        .map(|t| t.place)
}

/// The spot that moved farthest over the background, where it went clearly.
fn best_without_line(trials: &[Trial], picture_width: i32) -> Option<(f64, StartBox)> {
    let clear = 0.04 * f64::from(picture_width);
    trials
        .iter()
        .filter(|t| t.part_seen() >= 0.9)
        .map(|t| (t.moved()[0], t))
        .filter(|(way, _)| *way > clear)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(way, t)| (way, t.place))
}
