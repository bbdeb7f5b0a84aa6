//! Darts: quick sideways excursions off the wobble-free path that come back by themselves.

use super::robust::{Line, median, spread};
use super::smooth::smooth;

/// A dart goes at least this far off the path, mm.
pub const LEAST_MM: f64 = 25.0;
/// Without a known length: at least this far, body lengths.
pub const LEAST_BODY_LENGTHS: f64 = 0.45;
/// A dart stands out of the path's own scatter by at least this many standard deviations.
pub const LEAST_SPREADS: f64 = 5.0;
/// A dart stays beyond half its size for this long, s: shorter is a slip of the tracking, longer is
/// slow wandering.
pub const HALF_SIZE_S: [f64; 2] = [0.15, 0.95];
/// From start to end a dart takes at most this long, s.
pub const LONGEST_S: f64 = 2.2;
/// A swing to the other side right after a dart counts as its overshoot below this share of its size.
pub const OVERSHOOT: f64 = 0.4;
/// A dart starts and ends where the path is this share of the size off the line.
const EDGE: f64 = 0.08;
/// Half the window, s, whose median is the path that a dart leaves.
const PATH_HALF_WINDOW_S: f64 = 1.75;
/// A jump of this share of the size from one frame to the next is a slip of the tracking, not a swim.
const JUMP: f64 = 0.5;

/// A sideways excursion, in the unit of the path it was found in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Excursion {
    /// First sample off the path.
    pub start: usize,
    /// Sample farthest off.
    pub peak: usize,
    /// First sample back on the path, or the last sample.
    pub end: usize,
    /// Size, + to own right.
    pub size: f64,
    /// Standard deviation of the size.
    pub sd: f64,
    /// Whether it came back.
    pub recovered: bool,
}

/// The darts of a path: `sideways` and `forward` in body lengths at the times `t_s`. `length_mm` is
/// the body length where known.
pub fn find(
    t_s: &[f64],
    forward: &[f64],
    sideways: &[f64],
    length_mm: Option<f64>,
) -> Vec<Excursion> {
    let Some(off) = off_the_path(t_s, forward, sideways) else {
        return Vec::new();
    };
    let least_size = length_mm.map_or(LEAST_BODY_LENGTHS, |l| LEAST_MM / l);
    let noise = spread(&off).max(0.02);
    let least = least_size.max(LEAST_SPREADS * noise);
    let mut used = vec![false; off.len()];
    let mut found: Vec<Excursion> = Vec::new();
    loop {
        let peak = (0..off.len())
            .filter(|&i| !used[i])
            .max_by(|&a, &b| off[a].abs().total_cmp(&off[b].abs()));
        let Some(peak) = peak.filter(|&p| off[p].abs() >= least) else {
            break;
        };
        let e = around(&off, peak, noise, &used);
        used[e.start..=e.end].fill(true);
        if is_dart(t_s, &off, &e) && !is_overshoot(t_s, &found, &e) {
            found.push(e);
        }
    }
    found.sort_by_key(|e| e.start);
    found
}

/// How far the path is off its own slow course: the drift line and a running median about it.
pub fn off_the_path(t_s: &[f64], forward: &[f64], sideways: &[f64]) -> Option<Vec<f64>> {
    let line = Line::huber(forward, sideways)?;
    let rest: Vec<f64> = forward
        .iter()
        .zip(sideways)
        .map(|(x, y)| y - line.at(*x))
        .collect();
    let course = smooth(t_s, &running_median(t_s, &rest), 0.5);
    Some(rest.iter().zip(&course).map(|(r, c)| r - c).collect())
}

/// Median of `y` over ± [`PATH_HALF_WINDOW_S`]; near the ends the window keeps its full length.
fn running_median(t_s: &[f64], y: &[f64]) -> Vec<f64> {
    let n = t_s.len();
    (0..n)
        .map(|i| {
            let first = (t_s[n - 1] - 2.0 * PATH_HALF_WINDOW_S).max(t_s[0]);
            let from_s = (t_s[i] - PATH_HALF_WINDOW_S).clamp(t_s[0], first);
            let to_s = from_s + 2.0 * PATH_HALF_WINDOW_S;
            let from = t_s.partition_point(|&t| t < from_s);
            let to = t_s.partition_point(|&t| t <= to_s);
            median(y[from..to].iter().copied()).unwrap_or(0.0)
        })
        .collect()
}

/// The excursion about the sample `peak`.
fn around(off: &[f64], peak: usize, noise: f64, used: &[bool]) -> Excursion {
    let (size, sign) = (off[peak], off[peak].signum());
    let edge = (EDGE * size.abs()).max(1.5 * noise);
    let out = |i: usize| !used[i] && off[i] * sign > edge;
    let mut start = peak;
    while start > 0 && out(start - 1) {
        start -= 1;
    }
    let mut end = peak;
    while end + 1 < off.len() && out(end + 1) {
        end += 1;
    }
    let recovered = end + 1 < off.len();
    Excursion {
        start: start.saturating_sub(1),
        peak,
        end: (end + 1).min(off.len() - 1),
        size,
        sd: noise,
        recovered,
    }
}

/// Whether the excursion has a dart's course in time.
fn is_dart(t_s: &[f64], off: &[f64], e: &Excursion) -> bool {
    let beyond = |i: usize| off[i] * e.size.signum() > 0.5 * e.size.abs();
    let mut first = e.peak;
    while first > e.start && beyond(first - 1) {
        first -= 1;
    }
    let mut last = e.peak;
    while last < e.end && beyond(last + 1) {
        last += 1;
    }
    let at_edge = first == 0 || last + 1 >= off.len();
    let half = t_s[last] - t_s[first];
    let jumps = (e.start + 1..=e.end)
        .any(|i| t_s[i] - t_s[i - 1] < 0.06 && (off[i] - off[i - 1]).abs() > JUMP * e.size.abs());
    // Out of sight for most of it: what happened there is a guess.
    let seen = (first + 1..=last)
        .map(|i| t_s[i] - t_s[i - 1])
        .fold(0.0, f64::max);
    !at_edge
        && last - first >= 2
        && (HALF_SIZE_S[0]..=HALF_SIZE_S[1]).contains(&half)
        && t_s[e.end] - t_s[e.start] <= LONGEST_S
        && seen < 0.35
        && !jumps
}

/// Whether the excursion is the swing-over of a bigger one that ended just before.
fn is_overshoot(t_s: &[f64], found: &[Excursion], e: &Excursion) -> bool {
    found.iter().any(|d| {
        let pause = t_s[e.start] - t_s[d.end];
        d.size * e.size < 0.0
            && (-0.1..0.25).contains(&pause)
            && e.size.abs() < OVERSHOOT * d.size.abs()
    })
}

/// Which samples lie outside all darts (with a margin of 0.1 s).
pub fn outside(t_s: &[f64], darts: &[Excursion]) -> Vec<bool> {
    t_s.iter()
        .map(|t| {
            !darts
                .iter()
                .any(|d| *t > t_s[d.start] - 0.1 && *t < t_s[d.end] + 0.1)
        })
        .collect()
}
