//! How strong it moves from moment to moment: pull told from rest, gusts marked.

use super::{Gust, Part};
use crate::robust::upper_median;

/// Length of a window, s: about a cycle of a slow wobble.
const WINDOW_S: f64 = 0.5;
/// What moves below this share of the usual pull is rest.
const REST: f64 = 0.3;
/// A shorter pull or rest belongs to what is around it, s.
const SHORTEST_S: f64 = 1.5;
/// A pause of the recording as long as this parts what lies on its two sides, s.
const PAUSE_S: f64 = 2.0;
/// So many times as strong as the median of the pulls is a gust. A level of narrow-band noise
/// (Rayleigh) is so far out once in 500 windows.
const GUST: f64 = 3.0;
/// Gusts that fill more than this share of the pulls are the thump itself.
const MOST_GUSTS: f64 = 0.15;

/// Levels over windows of half a second.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Levels {
    edges: Vec<[f64; 2]>,
    rms: Vec<f64>,
}

impl Levels {
    /// Of `bands`, quantities without their slow way, at the stamps `t_s`. They are taken one after
    /// the other, so that only one need be in memory.
    pub fn of(t_s: &[f64], bands: impl IntoIterator<Item = impl AsRef<[f32]>>) -> Levels {
        let windows = windows(t_s);
        let mut power = vec![0.0; windows.len()];
        for band in bands {
            for (power, &[from, to]) in power.iter_mut().zip(&windows) {
                let squares = band.as_ref()[from..to]
                    .iter()
                    .map(|v| f64::from(*v).powi(2));
                *power += squares.sum::<f64>() / (to - from) as f64;
            }
        }
        Levels {
            edges: windows.iter().map(|&[a, b]| [t_s[a], t_s[b - 1]]).collect(),
            rms: power.into_iter().map(f64::sqrt).collect(),
        }
    }

    /// Pulls and rests in order of time.
    pub fn parts(&self) -> Vec<Part> {
        let smooth: Vec<f64> = (0..self.rms.len())
            .map(|i| {
                let near = &self.rms[i.saturating_sub(2)..(i + 3).min(self.rms.len())];
                upper_median(near.iter().copied()).unwrap_or(f64::NAN)
            })
            .collect();
        let mut sorted = smooth.clone();
        sorted.sort_by(f64::total_cmp);
        let usual = sorted.get(sorted.len() * 4 / 5).copied().unwrap_or(0.0);
        let mut parts: Vec<Part> = Vec::new();
        for (edges, level) in self.edges.iter().zip(&smooth) {
            let part = Part {
                from_s: edges[0],
                to_s: edges[1],
                pull: *level >= REST * usual,
            };
            append(&mut parts, part);
        }
        without_short(parts)
    }

    /// One pull over all, parted only where the recording pauses.
    pub fn whole(&self) -> Vec<Part> {
        let mut parts = Vec::new();
        for &[from_s, to_s] in &self.edges {
            append(
                &mut parts,
                Part {
                    from_s,
                    to_s,
                    pull: true,
                },
            );
        }
        parts
    }

    /// What is far stronger than the usual pull.
    pub fn gusts(&self, pulls: &[Part]) -> Vec<Gust> {
        let inside = |e: &[f64; 2]| {
            pulls
                .iter()
                .any(|p| p.pull && e[0] >= p.from_s && e[0] <= p.to_s)
        };
        let seen: Vec<(&[f64; 2], f64)> = self
            .edges
            .iter()
            .zip(self.rms.iter().copied())
            .filter(|(e, _)| inside(e))
            .collect();
        let usual = upper_median(seen.iter().map(|s| s.1)).unwrap_or(f64::NAN);
        let strong: Vec<&(&[f64; 2], f64)> = seen.iter().filter(|s| s.1 > GUST * usual).collect();
        if usual <= 0.0 || strong.len() as f64 > MOST_GUSTS * seen.len() as f64 {
            return vec![];
        }
        let mut gusts: Vec<Gust> = Vec::new();
        for (edges, level) in strong {
            let times = level / usual;
            match gusts
                .last_mut()
                .filter(|g| edges[0] - g.to_s < 0.5 * WINDOW_S)
            {
                Some(gust) => {
                    gust.to_s = edges[1];
                    gust.times = gust.times.max(times);
                }
                None => gusts.push(Gust {
                    from_s: edges[0],
                    to_s: edges[1],
                    times,
                }),
            }
        }
        gusts
    }
}

/// Samples of each half second, first and one past the last.
fn windows(t_s: &[f64]) -> Vec<[usize; 2]> {
    let mut windows = Vec::new();
    let mut from = 0;
    while from < t_s.len() {
        let to = t_s
            .partition_point(|t| *t < t_s[from] + WINDOW_S)
            .max(from + 1);
        windows.push([from, to]);
        from = to;
    }
    windows
}

/// Adds `part` to the last one where both are of a kind and no pause of the recording lies between.
fn append(parts: &mut Vec<Part>, part: Part) {
    let joins = |last: &&mut Part| last.pull == part.pull && part.from_s - last.to_s < PAUSE_S;
    match parts.last_mut().filter(joins) {
        Some(last) => last.to_s = part.to_s,
        None => parts.push(part),
    }
}

/// Short parts given to what is around them, the shortest first.
fn without_short(mut parts: Vec<Part>) -> Vec<Part> {
    loop {
        let length = |i: usize| parts[i].to_s - parts[i].from_s;
        let beside = |a: usize, b: usize| {
            parts[a].pull != parts[b].pull && parts[b].from_s - parts[a].to_s < PAUSE_S
        };
        let shortest = (0..parts.len())
            .filter(|&i| length(i) < SHORTEST_S)
            .filter(|&i| (i > 0 && beside(i - 1, i)) || (i + 1 < parts.len() && beside(i, i + 1)))
            .min_by(|&a, &b| length(a).total_cmp(&length(b)));
        let Some(i) = shortest else { return parts };
        parts[i].pull = !parts[i].pull;
        let mut joined = Vec::new();
        parts.into_iter().for_each(|part| append(&mut joined, part));
        parts = joined;
    }
}

/// `values` at `rows_hz` without what is slower than about `low_hz`: a one-pole high-pass run there and
/// back, so that nothing is shifted in time. It starts anew nowhere; gaps only make it settle again.
pub(super) fn without_slow(values: &[f32], rows_hz: f64, low_hz: f64) -> Vec<f32> {
    let keep = (-std::f64::consts::TAU * low_hz / rows_hz).exp();
    let first_second = &values[..values.len().min(rows_hz.clamp(1.0, 1e6) as usize)];
    let wide: Vec<f64> = first_second.iter().map(|v| f64::from(*v)).collect();
    let mut left = values.to_vec();
    let take_out = |value: &mut f32, slow: f64| {
        let slow = keep * slow + (1.0 - keep) * f64::from(*value);
        *value = (f64::from(*value) - slow) as f32;
        slow
    };
    left.iter_mut().fold(
        upper_median(wide.iter().copied()).unwrap_or(f64::NAN),
        |slow, v| take_out(v, slow),
    );
    left.iter_mut().rev().fold(0.0, |slow, v| take_out(v, slow));
    left
}

/// Slower than this is gravity, and the way the rod is held, Hz.
pub(super) const SLOW_HZ: f64 = 0.15;

/// What [`without_slow`] with [`SLOW_HZ`] leaves of a wave at `hz` sampled at `rows_hz`, as a share:
/// |H|² of its one pole, which is run twice.
pub(super) fn slow_gain(hz: f64, rows_hz: f64) -> f64 {
    let keep = (-std::f64::consts::TAU * SLOW_HZ / rows_hz).exp();
    let cos = (std::f64::consts::TAU * hz / rows_hz).cos();
    keep * keep * (2.0 - 2.0 * cos) / (1.0 - 2.0 * keep * cos + keep * keep)
}

/// `values` at `rows_hz` without what is faster than about twice `hz`: means over a quarter of a cycle.
pub(super) fn around(values: &[f32], rows_hz: f64, hz: f64) -> Vec<f32> {
    let half = (0.125 * rows_hz / hz) as usize;
    let n = values.len();
    let (mut first, mut end, mut sum) = (0, 0, 0.0);
    let mean = |i: usize| {
        let (from, to) = (i.saturating_sub(half), (i + half + 1).min(n));
        while end < to {
            sum += f64::from(values[end]);
            end += 1;
        }
        while first < from {
            sum -= f64::from(values[first]);
            first += 1;
        }
        (sum / (to - from) as f64) as f32
    };
    (0..n).map(mean).collect()
}
