//! Darts as the picture itself shows them, where the ground is not known.
//!
//! The hand that turns the camera after a dart makes the lure swing back across the picture, as a second dart
//! would. The line tells the two apart: its direction follows the lure, and no turn of the camera.

use super::analyse::Swum;
use super::hunts::{self, Excursion};
use super::robust::{Line, median, spread};

/// Smaller darts in the picture may be the hand that holds the camera: mm, and body lengths.
const LEAST_MM: f64 = 45.0;
const LEAST_BODY_LENGTHS: f64 = 0.8;
/// A hand follows a dart within this time, s.
const HAND_S: f64 = 0.5;
/// Half the window, s, of the running median that takes slips of the tracking out of the path; about half a
/// wobble, and short against a dart.
const SLIP_HALF_WINDOW_S: f64 = 0.12;
/// The line's own course is drawn through this long before and after a dart, s …
const LINE_FLANK_S: f64 = 1.2;
/// … and it must be seen this often in each part.
const LEAST_LINES: usize = 4;
/// The line answers a dart by this many standard deviations of its scatter.
const LINE_ANSWERS: f64 = 3.0;
/// Below this many it denies it.
const LINE_DENIES: f64 = 1.5;
/// Sightings of the line that tell as much as one that stood alone.
const LINES_THAT_COUNT: f64 = 3.0;

impl Swum<'_> {
    /// Darts as they show across the pull in the picture itself, in body lengths.
    pub(super) fn picture_darts(&self) -> Vec<Excursion> {
        let t_s = &self.series.t_s;
        let across = despiked(t_s, &self.across_the_picture());
        let Some(&start) = t_s.first() else {
            return Vec::new();
        };
        let forward: Vec<f64> = t_s.iter().map(|t| t - start).collect();
        let length_mm = self.setup.body_mm();
        let least = length_mm.map_or(LEAST_BODY_LENGTHS, |l| LEAST_MM / l);
        let found = hunts::find(t_s, &forward, &across, &across, length_mm);
        let answers: Vec<Answer> = found
            .iter()
            .map(|dart| self.line_answer(dart, &found))
            .collect();
        let is_the_hand = |k: usize| {
            (0..found.len())
                .filter(|&j| j != k && follows(t_s, &found[j], &found[k]))
                .any(|j| {
                    answers[j]
                        .rather_than(answers[k])
                        .unwrap_or_else(|| came_first(&found[j], &found[k]))
                })
        };
        (0..found.len())
            .filter(|&k| found[k].size.abs() > least)
            .filter(|&k| answers[k] != Answer::Denies && !is_the_hand(k))
            .map(|k| found[k])
            .collect()
    }

    /// Place across the pull in the picture, + to own right, in body lengths of the moment.
    fn across_the_picture(&self) -> Vec<f64> {
        let series = &self.series;
        let usual = median(series.width_px.iter().copied())
            .unwrap_or(1.0)
            .max(1.0);
        // it grows as it comes nearer: the body's width, which no tilt foreshortens, tells by how much
        let size = grown(&series.t_s, &series.width_px, usual);
        let body_px = longest(&series.length_px, &size);
        let middle = self.pull.frame.sideways([
            0.5 * self.track.picture_width_px,
            0.5 * self.track.picture_height_px,
        ]);
        let places = series.picture_sideways_px.iter().zip(&size);
        places
            .map(|(px, size)| (px - middle) / (body_px * size))
            .collect()
    }

    /// Whether the line swings aside during a dart. Which way it swings depends on where the rod tip is, and is
    /// not asked.
    fn line_answer(&self, dart: &Excursion, all: &[Excursion]) -> Answer {
        match self.line_swing(dart, all) {
            Some(sds) if sds > LINE_ANSWERS => Answer::Confirms,
            Some(sds) if sds < LINE_DENIES => Answer::Denies,
            _ => Answer::Open,
        }
    }

    /// How far the line swings aside during a dart, in standard deviations; `None` where it was not seen often
    /// enough.
    fn line_swing(&self, dart: &Excursion, all: &[Excursion]) -> Option<f64> {
        let t_s = &self.series.t_s;
        let [from, to] = [t_s[dart.start], t_s[dart.end]];
        let in_other = |t: f64| {
            all.iter()
                .any(|d| d.start != dart.start && t > t_s[d.start] && t < t_s[d.end])
        };
        let lines: Vec<[f64; 2]> = self
            .track
            .frames
            .iter()
            .filter(|f| f.is_seen() && f.line_deg.is_finite())
            .map(|f| {
                [
                    f.t_s,
                    crate::units::wrap_deg(f.line_deg - self.pull.frame.pull_deg),
                ]
            })
            .collect();
        let within = |a: f64, b: f64| lines.iter().filter(move |l| l[0] >= a && l[0] <= b);
        let before: Vec<&[f64; 2]> = within(from - LINE_FLANK_S, from)
            .filter(|l| !in_other(l[0]))
            .collect();
        let after: Vec<&[f64; 2]> = within(to, to + LINE_FLANK_S)
            .filter(|l| !in_other(l[0]))
            .collect();
        let inside: Vec<&[f64; 2]> = within(from, to).collect();
        if before.len().min(after.len()).min(inside.len()) < LEAST_LINES {
            return None;
        }
        let (x, y): (Vec<f64>, Vec<f64>) =
            before.iter().chain(&after).map(|l| (l[0], l[1])).unzip();
        let course = Line::huber(&x, &y)?;
        let rest: Vec<f64> = x.iter().zip(&y).map(|(x, y)| y - course.at(*x)).collect();
        let swing = median(inside.iter().map(|l| l[1] - course.at(l[0])))?;
        let sd = spread(&rest).max(0.2) / (inside.len() as f64 / LINES_THAT_COUNT).max(1.0).sqrt();
        Some(swing.abs() / sd)
    }
}

/// What the line says of a dart.
#[derive(Clone, Copy, PartialEq)]
enum Answer {
    Confirms,
    Open,
    Denies,
}

impl Answer {
    /// Whether the line speaks for this excursion rather than for the other; `None` where it speaks for neither.
    fn rather_than(self, other: Answer) -> Option<bool> {
        match (self, other) {
            (Answer::Confirms, Answer::Open | Answer::Denies) => Some(true),
            (Answer::Open | Answer::Denies, Answer::Confirms) => Some(false),
            _ => None,
        }
    }
}

/// Whether `other` came after the bigger `one`, as the hand's answer does.
fn came_first(one: &Excursion, other: &Excursion) -> bool {
    one.start < other.start && one.size.abs() > other.size.abs()
}

/// Whether two excursions to opposite sides follow each other as a dart and the hand's answer do.
fn follows(t_s: &[f64], one: &Excursion, other: &Excursion) -> bool {
    let (first, second) = if one.start < other.start {
        (one, other)
    } else {
        (other, one)
    };
    first.size * second.size < 0.0 && (-0.3..HAND_S).contains(&(t_s[second.start] - t_s[first.end]))
}

/// Running median.
fn despiked(t_s: &[f64], y: &[f64]) -> Vec<f64> {
    t_s.iter()
        .zip(y)
        .map(|(&t, &here)| {
            let from = t_s.partition_point(|&u| u < t - SLIP_HALF_WINDOW_S);
            let to = t_s.partition_point(|&u| u <= t + SLIP_HALF_WINDOW_S);
            median(y[from..to].iter().copied()).unwrap_or(here)
        })
        .collect()
}

/// Length of the body where it is least foreshortened, px at its usual size.
fn longest(length_px: &[f64], size: &[f64]) -> f64 {
    let lengths = length_px.iter().zip(size).map(|(l, s)| l / s);
    super::robust::quantile(lengths, 0.95)
        .unwrap_or(1.0)
        .max(1.0)
}

/// Size against the usual one, smoothed over half a second to each side.
fn grown(t_s: &[f64], width_px: &[f64], usual: f64) -> Vec<f64> {
    const HALF_S: f64 = 0.5;
    t_s.iter()
        .map(|&t| {
            let from = t_s.partition_point(|&u| u < t - HALF_S);
            let to = t_s.partition_point(|&u| u <= t + HALF_S);
            let near = &width_px[from..to];
            let mean = near.iter().sum::<f64>() / near.len().max(1) as f64;
            (mean / usual).max(0.05)
        })
        .collect()
}
