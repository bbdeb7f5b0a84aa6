//! Darts as the picture itself shows them, where the ground is not known.
//!
//! The hand that turns the camera after a dart makes the lure swing back across the picture, as a second dart
//! would. The bottom tells the two apart where it is followed well enough, else the line: its direction follows
//! the lure, and no turn of the camera.

use super::Series;
use super::analyse::Swum;
use super::bottom::Bottom;
use super::hunts::{self, Excursion};
use super::robust::{Line, median, quantile, spread};
use crate::camera::View;

/// Where neither bottom nor line confirms them, smaller darts may be the hand that holds the camera: mm, and body lengths.
const LEAST_MM: f64 = 45.0;
const LEAST_BODY_LENGTHS: f64 = 0.8;
/// Where one does, they may still be a lure that wanders while the hand turns after it.
const LEAST_CONFIRMED_MM: f64 = 40.0;
const LEAST_CONFIRMED_BODY_LENGTHS: f64 = 0.7;
/// A hand follows a dart within this time, s.
const HAND_S: f64 = 0.5;
/// The line's own course is drawn through this long before and after a dart, s …
const LINE_FLANK_S: f64 = 1.2;
/// … and it must be seen this often in each part.
const LEAST_LINES: usize = 4;
/// The line answers a dart by this many standard deviations of its scatter.
const LINE_ANSWERS: f64 = 2.5;
/// By this many it may: enough where the hand answers too.
const LINE_MAY_ANSWER: f64 = 1.0;
/// It is asked where it is seen in more than this part of the frames.
const LINE_SEEN: f64 = 0.3;
/// Sightings of the line that tell as much as one that stood alone.
const LINES_THAT_COUNT: f64 = 3.0;

impl Swum<'_> {
    /// Darts as they show across the pull in the picture itself, in body lengths. `place_px` is where the
    /// lure is without its wobble.
    pub(super) fn picture_darts(&self, place_px: &[[f64; 2]]) -> Vec<Excursion> {
        let t_s = &self.series.t_s;
        let length_mm = self.setup.body_mm();
        let body_px = self.body_then_px();
        let wobble_free = place_px
            .iter()
            .map(|&place| self.pull.frame.sideways(place));
        let path = self.in_body_lengths(&wobble_free.collect::<Vec<f64>>(), &body_px);
        let raw = self.in_body_lengths(&self.series.picture_sideways_px, &body_px);
        // nothing is known of the way forward: the course is drawn over time
        let forward: Vec<f64> = t_s.iter().map(|t| t - t_s[0]).collect();
        let found = hunts::find(t_s, &forward, &path, &raw, length_mm);
        let camera = self.camera_in_body_lengths(&body_px);
        let bottom = Bottom::new(t_s, &path, &raw, &camera);
        let is_seen = self.line_is_seen();
        let least = |mm: f64, body_lengths: f64| length_mm.map_or(body_lengths, |l| mm / l);
        let least_bare = least(LEAST_MM, LEAST_BODY_LENGTHS);
        let least_confirmed = least(LEAST_CONFIRMED_MM, LEAST_CONFIRMED_BODY_LENGTHS);
        let swings = |dart: &Excursion| self.line_swing(dart, &found).unwrap_or(0.0);
        let is_big = |dart: &Excursion| dart.size.abs() > least_bare;
        let is_the_hand = |dart: &Excursion| found.iter().any(|first| answers(t_s, first, dart));
        let the_hand_answers = |dart: &Excursion| found.iter().any(|next| answers(t_s, dart, next));
        let told = bottom.darts(least_confirmed, length_mm);
        // what the bottom tells needs no line, nor does the hand that follows it, be it ever so far
        let is_told = |dart: &Excursion| {
            told.iter()
                .any(|own| own.overlaps(dart) || follows(t_s, own, dart))
        };
        let by_line = found
            .iter()
            .filter(|dart| dart.size.abs() > least_confirmed)
            .filter(|dart| !is_told(dart) && !is_the_hand(dart) && !bottom.tells(dart))
            .filter(|dart| match is_seen {
                true if swings(dart) > LINE_ANSWERS => true,
                true => is_big(dart) && the_hand_answers(dart) && swings(dart) > LINE_MAY_ANSWER,
                false => is_big(dart),
            });
        let mut darts: Vec<Excursion> = told.iter().chain(by_line).copied().collect();
        darts.sort_by_key(|dart| dart.start);
        darts
    }

    /// The body's length at each moment, px, where it is least foreshortened: the lure grows as it comes nearer, and the
    /// body's width, which no tilt foreshortens, tells by how much.
    fn body_then_px(&self) -> Vec<f64> {
        let series = &self.series;
        // a camera that follows keeps its distance
        let size = match self.setup.view {
            View::Behind => vec![1.0; series.len()],
            _ => grown(&series.t_s, &series.width_px),
        };
        let lengths = series.length_px.iter().zip(&size).map(|(l, s)| l / s);
        let body_px = quantile(lengths, 0.95).unwrap_or(1.0).max(1.0);
        size.iter().map(|size| body_px * size).collect()
    }

    /// Ways across the pull from the middle of the picture in body lengths of the moment.
    fn in_body_lengths(&self, sideways_px: &[f64], body_px: &[f64]) -> Vec<f64> {
        let middle = self.pull.frame.sideways([
            0.5 * self.track.picture_width_px,
            0.5 * self.track.picture_height_px,
        ]);
        let places = sideways_px.iter().zip(body_px);
        places.map(|(px, body)| (px - middle) / body).collect()
    }

    /// How the camera moved across the pull over the bottom near the lure, in body lengths of the moment, step by step.
    fn camera_in_body_lengths(&self, body_px: &[f64]) -> Vec<f64> {
        let steadied = Series::new(self.track, &self.pull.frame);
        let way_px: Vec<f64> = steadied
            .camera_px
            .iter()
            .map(|&way| self.pull.frame.sideways(way))
            .collect();
        let steps = way_px.windows(2).zip(body_px.iter().skip(1));
        let mut way = vec![0.0];
        for (step, body) in steps {
            way.push(way[way.len() - 1] + (step[1] - step[0]) / body);
        }
        way
    }

    /// Whether the line is seen often enough to be asked.
    fn line_is_seen(&self) -> bool {
        let seen = self
            .series
            .line_deg
            .iter()
            .filter(|deg| deg.is_finite())
            .count();
        seen as f64 > LINE_SEEN * self.series.len() as f64
    }

    /// How far the line swings aside during a dart, in standard deviations; `None` where it was not seen often
    /// enough. Which way it swings depends on where the rod tip is, and is not asked.
    fn line_swing(&self, dart: &Excursion, all: &[Excursion]) -> Option<f64> {
        let t_s = &self.series.t_s;
        let [from, to] = [t_s[dart.start], t_s[dart.end]];
        let in_bigger = |t: f64| {
            all.iter()
                .any(|d| d.size.abs() > dart.size.abs() && t > t_s[d.start] && t < t_s[d.end])
        };
        let lines: Vec<[f64; 2]> = t_s
            .iter()
            .zip(&self.series.line_deg)
            .filter(|(_, deg)| deg.is_finite())
            .map(|(&t, &deg)| [t, crate::units::wrap_deg(deg - self.pull.frame.pull_deg)])
            .collect();
        let within = |a: f64, b: f64| lines.iter().filter(move |l| l[0] >= a && l[0] <= b);
        let before: Vec<&[f64; 2]> = within(from - LINE_FLANK_S, from)
            .filter(|l| !in_bigger(l[0]))
            .collect();
        let after: Vec<&[f64; 2]> = within(to, to + LINE_FLANK_S)
            .filter(|l| !in_bigger(l[0]))
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

/// Whether `dart` comes as the hand's answer to `first`: right after it, to the other side, and smaller.
fn answers(t_s: &[f64], first: &Excursion, dart: &Excursion) -> bool {
    follows(t_s, first, dart) && first.size.abs() > dart.size.abs()
}

/// Whether `dart` comes right after `first`, to the other side.
fn follows(t_s: &[f64], first: &Excursion, dart: &Excursion) -> bool {
    let since = t_s[dart.start] - t_s[first.end];
    first.size * dart.size < 0.0 && (-0.3..HAND_S).contains(&since)
}

/// Size against the usual one, smoothed over half a second to each side.
fn grown(t_s: &[f64], width_px: &[f64]) -> Vec<f64> {
    const HALF_S: f64 = 0.5;
    let usual = median(width_px.iter().copied()).unwrap_or(1.0).max(1.0);
    t_s.iter()
        .map(|&t| {
            let from = t_s.partition_point(|&u| u < t - HALF_S);
            let to = t_s.partition_point(|&u| u <= t + HALF_S);
            let near = median(width_px[from..to].iter().copied()).unwrap_or(usual);
            (near / usual).max(0.05)
        })
        .collect()
}
