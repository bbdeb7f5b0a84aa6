//! How strong it moves from moment to moment: pull told from rest, gusts marked.

use super::{Gust, Part};
use crate::motion::rate::median;

/// Length of a window, s: about a cycle of a slow wobble.
const WINDOW_S: f64 = 0.5;
/// What moves below this share of the usual pull is rest.
const REST: f64 = 0.3;
/// A shorter pull or rest belongs to what is around it, s.
const SHORTEST_S: f64 = 1.5;
/// So many times as strong as the median of the pulls is a gust. A level of narrow-band noise
/// (Rayleigh) is so far out once in 500 windows.
const GUST: f64 = 3.0;
/// Gusts that fill more than this share of the pulls are the thump itself.
const MOST_GUSTS: f64 = 0.15;

/// Levels over windows of half a second.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Levels {
    edges: Vec<[f64; 2]>,
    rms: Vec<f64>,
}

impl Levels {
    /// Of `bands`, quantities without their slow way, at the stamps `t_s`.
    pub fn of(t_s: &[f64], bands: &[Vec<f64>]) -> Levels {
        let mut levels = Levels {
            edges: vec![],
            rms: vec![],
        };
        let mut from = 0;
        while from < t_s.len() {
            let to = t_s
                .partition_point(|t| *t < t_s[from] + WINDOW_S)
                .max(from + 1);
            let power: f64 = bands.iter().flat_map(|b| &b[from..to]).map(|v| v * v).sum();
            levels.edges.push([t_s[from], t_s[to - 1]]);
            levels.rms.push((power / (to - from) as f64).sqrt());
            from = to;
        }
        levels
    }

    /// Pulls and rests in order of time.
    pub fn parts(&self) -> Vec<Part> {
        let smooth: Vec<f64> = (0..self.rms.len())
            .map(|i| median(&self.rms[i.saturating_sub(2)..(i + 3).min(self.rms.len())]))
            .collect();
        let mut sorted = smooth.clone();
        sorted.sort_by(f64::total_cmp);
        let usual = sorted.get(sorted.len() * 4 / 5).copied().unwrap_or(0.0);
        let mut parts: Vec<Part> = Vec::new();
        for (edges, level) in self.edges.iter().zip(&smooth) {
            let pull = *level >= REST * usual;
            match parts.last_mut().filter(|p| p.pull == pull) {
                Some(part) => part.to_s = edges[1],
                None => parts.push(Part {
                    from_s: edges[0],
                    to_s: edges[1],
                    pull,
                }),
            }
        }
        without_short(parts)
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
        let usual = median(&seen.iter().map(|s| s.1).collect::<Vec<_>>());
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

/// Short parts given to what is before them (the first to what follows).
fn without_short(mut parts: Vec<Part>) -> Vec<Part> {
    while parts.len() > 1 {
        let length = |p: &Part| p.to_s - p.from_s;
        let shortest =
            (0..parts.len()).min_by(|&a, &b| length(&parts[a]).total_cmp(&length(&parts[b])));
        let Some(i) = shortest.filter(|i| length(&parts[*i]) < SHORTEST_S) else {
            break;
        };
        parts[i].pull = !parts[i].pull;
        let mut joined: Vec<Part> = Vec::new();
        for part in parts {
            match joined.last_mut().filter(|p| p.pull == part.pull) {
                Some(last) => last.to_s = part.to_s,
                None => joined.push(part),
            }
        }
        parts = joined;
    }
    parts
}

/// `values` without what is slower than about `low_hz`: a one-pole high-pass run there and back, so
/// that nothing is shifted in time. It starts anew nowhere; gaps only make it settle again.
pub(super) fn without_slow(t_s: &[f64], values: &[f64], low_hz: f64) -> Vec<f64> {
    let hz = 2.0 * crate::motion::rate::nyquist_hz(t_s);
    let keep = (-std::f64::consts::TAU * low_hz / hz).exp();
    let start = median(&values[..values.len().min(hz.clamp(1.0, 1e6) as usize)]);
    let run = |values: &mut dyn Iterator<Item = f64>, mut slow: f64| {
        let out = values.map(|v| {
            slow = keep * slow + (1.0 - keep) * v;
            v - slow
        });
        out.collect::<Vec<f64>>()
    };
    let there = run(&mut values.iter().copied(), start);
    let mut back = run(&mut there.into_iter().rev(), 0.0);
    back.reverse();
    back
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

/// `values` without what is faster than about twice `hz`: means over a quarter of a cycle.
pub(super) fn around(t_s: &[f64], values: &[f64], hz: f64) -> Vec<f64> {
    let half = (0.125 * 2.0 * crate::motion::rate::nyquist_hz(t_s) / hz) as usize;
    let mut sums = vec![0.0];
    for v in values {
        sums.push(sums[sums.len() - 1] + v);
    }
    let n = values.len();
    (0..n)
        .map(|i| {
            let (a, b) = (i.saturating_sub(half), (i + half + 1).min(n));
            (sums[b] - sums[a]) / (b - a) as f64
        })
        .collect()
}
