//! The path without its wobble.

use super::robust::{median, solve, spread};

/// Half the window over which the wobble's size and phase count as steady, s.
const WOBBLE_HALF_WINDOW_S: f64 = 1.0;

/// Half the window of the smoothing that follows, s: short against a dart (0.5 s and more).
const PATH_HALF_WINDOW_S: f64 = 0.15;

/// `y` without the wobble and without jitter. `cycles` is the wobble's phase at each sample, or empty.
///
/// The wobble is a sine of locally steady size at the rate and its double, fitted together with a
/// local parabola, so that a dart is not taken for wobble; what is left is smoothed by a local line
/// (tricube weights, one robust pass). Gaps are bridged by the fits of the neighbours.
pub fn wobble_free(t_s: &[f64], y: &[f64], cycles: &[f64]) -> Vec<f64> {
    let steady = if cycles.len() == t_s.len() && !t_s.is_empty() {
        let swing = local_wobble(t_s, y, cycles);
        y.iter().zip(&swing).map(|(y, s)| y - s).collect()
    } else {
        y.to_vec()
    };
    smooth(t_s, &steady, PATH_HALF_WINDOW_S)
}

/// The wobble's share of `y`: the sines of a local fit of parabola + sines at once and twice the rate.
fn local_wobble(t_s: &[f64], y: &[f64], cycles: &[f64]) -> Vec<f64> {
    // The slow part first: over exactly one cycle a sine has no mean.
    let slow = cycle_mean(y, cycles);
    let quick: Vec<f64> = y.iter().zip(&slow).map(|(y, s)| y - s).collect();
    let mut from = 0;
    (0..t_s.len())
        .map(|i| {
            while t_s[i] - t_s[from] > WOBBLE_HALF_WINDOW_S {
                from += 1;
            }
            sines_at(t_s, &quick, cycles, from, i)
        })
        .collect()
}

/// Running mean of `y` over one cycle about each sample (as far as the ends allow).
fn cycle_mean(y: &[f64], cycles: &[f64]) -> Vec<f64> {
    let n = y.len();
    let (mut from, mut to) = (0, 0);
    (0..n)
        .map(|i| {
            let reach = 0.5_f64
                .min(cycles[i] - cycles[0])
                .min(cycles[n - 1] - cycles[i])
                .max(0.25);
            while cycles[i] - cycles[from] > reach {
                from += 1;
            }
            while to < n && cycles[to] - cycles[i] <= reach {
                to += 1;
            }
            y[from..to].iter().sum::<f64>() / (to - from) as f64
        })
        .collect()
}

/// Value at sample `i` of the sines fitted to the samples from `from` to the window's end.
fn sines_at(t_s: &[f64], y: &[f64], cycles: &[f64], from: usize, i: usize) -> f64 {
    const N: usize = 7;
    let basis = |k: usize| {
        let u = (t_s[k] - t_s[i]) / WOBBLE_HALF_WINDOW_S;
        let (s1, c1) = (std::f64::consts::TAU * cycles[k]).sin_cos();
        let (s2, c2) = (2.0 * s1 * c1, c1 * c1 - s1 * s1);
        [1.0, u, u * u, s1, c1, s2, c2]
    };
    let (mut a, mut b) = (vec![0.0; N * N], vec![0.0; N]);
    for k in from..t_s.len() {
        let u = (t_s[k] - t_s[i]) / WOBBLE_HALF_WINDOW_S;
        if u > 1.0 {
            break;
        }
        let weight = (1.0 - u.abs().powi(3)).max(0.0).powi(3);
        let f = basis(k);
        for p in 0..N {
            for q in 0..N {
                a[p * N + q] += weight * f[p] * f[q];
            }
            b[p] += weight * f[p] * y[k];
        }
    }
    // A breath of ridge: with few samples the sines then vanish instead of running wild.
    let ridge = 1e-3 * a[0];
    for p in 0..N {
        a[p * N + p] += ridge;
    }
    match solve(a, b) {
        Some(x) => {
            let f = basis(i);
            (3..N).map(|p| x[p] * f[p]).sum()
        }
        None => 0.0,
    }
}

/// Local straight lines through `y` with tricube weights over ± `half_window_s`; lone samples more
/// than four spreads off their first line count no more in a second pass.
pub fn smooth(t_s: &[f64], y: &[f64], half_window_s: f64) -> Vec<f64> {
    let first = smooth_weighted(t_s, y, half_window_s, &vec![1.0; y.len()]);
    let rest: Vec<f64> = y.iter().zip(&first).map(|(y, s)| y - s).collect();
    let limit = 4.0 * spread(&rest);
    if limit <= 0.0 {
        return first;
    }
    // Lone spikes only: where the neighbours are off as well, the path bends.
    let lone = |i: usize| {
        let around = i.saturating_sub(4)..(i + 5).min(rest.len());
        let usual = median(around.filter(|&k| k != i).map(|k| rest[k].abs())).unwrap_or(0.0);
        rest[i].abs() > limit.max(3.0 * usual)
    };
    let weights: Vec<f64> = (0..rest.len())
        .map(|i| if lone(i) { 0.0 } else { 1.0 })
        .collect();
    smooth_weighted(t_s, y, half_window_s, &weights)
}

fn smooth_weighted(t_s: &[f64], y: &[f64], half_window_s: f64, weights: &[f64]) -> Vec<f64> {
    let mut from = 0;
    (0..t_s.len())
        .map(|i| {
            // Few samples in reach (a low frame rate, a gap's edge): reach for the neighbours.
            let neighbours = [i.saturating_sub(2), (i + 2).min(t_s.len() - 1)];
            let least = (t_s[i] - t_s[neighbours[0]]).min(t_s[neighbours[1]] - t_s[i]);
            let reach = half_window_s.max(1.01 * least);
            while t_s[i] - t_s[from] > reach.max(half_window_s) {
                from += 1;
            }
            let from = from.min(neighbours[0]);
            let (mut s, mut sx, mut sxx, mut sy, mut sxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for k in from..t_s.len() {
                let x = (t_s[k] - t_s[i]) / reach;
                if x > 1.0 {
                    break;
                }
                let w = weights[k] * (1.0 - x.abs().powi(3)).max(0.0).powi(3);
                s += w;
                sx += w * x;
                sxx += w * x * x;
                sy += w * y[k];
                sxy += w * x * y[k];
            }
            let det = s * sxx - sx * sx;
            if det > 1e-9 * s * s {
                (sxx * sy - sx * sxy) / det
            } else if s > 0.0 {
                sy / s
            } else {
                y[i]
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_the_wobble_out_and_leaves_the_dart() {
        let t: Vec<f64> = (0..240).map(|i| f64::from(i) / 30.0).collect();
        let cycles: Vec<f64> = t.iter().map(|t| 4.3 * t + 0.05 * (2.0 * t).sin()).collect();
        let dart = |t: f64| 60.0 * (-((t - 4.0) / 0.25).powi(2)).exp();
        let y: Vec<f64> = t
            .iter()
            .zip(&cycles)
            .map(|(t, c)| dart(*t) + 12.0 * t + 5.0 * (std::f64::consts::TAU * c).sin())
            .collect();
        let path = wobble_free(&t, &y, &cycles);
        for (i, t) in t.iter().enumerate() {
            let off = path[i] - dart(*t) - 12.0 * t;
            // Smoothing over ±0.15 s takes a little off so sharp a peak; at the clip's ends the
            // wobble is known from one side only.
            let at_end = !(0.2..=7.8).contains(t);
            let allowed = if (t - 4.0).abs() < 0.8 {
                7.0
            } else if at_end {
                1.0
            } else {
                0.6
            };
            assert!(off.abs() < allowed, "t {t} off {off}");
        }
    }

    #[test]
    fn a_straight_line_stays_straight_at_any_frame_rate() {
        for fps in [15.0, 24.0, 240.0] {
            let t: Vec<f64> = (0..60).map(|i| f64::from(i) / fps).collect();
            let y: Vec<f64> = t.iter().map(|t| 3.0 - 20.0 * t).collect();
            for (a, b) in smooth(&t, &y, PATH_HALF_WINDOW_S).iter().zip(&y) {
                assert!((a - b).abs() < 1e-9);
            }
        }
    }
}
