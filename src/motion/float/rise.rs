//! Rising and sinking: a steady change of height.

use crate::Measured;

/// Over so long a change of height is looked at, s.
const STRIDE_S: f64 = 0.3;
/// Slower than this it lies where it is, mm/s; and it must go so far, mm, for so long, s.
const LEAST_MM_S: f64 = 1.5;
const LEAST_WAY_MM: f64 = 6.0;
const LEAST_TIME_S: f64 = 0.6;
/// Parts of the way in which it gathers speed and in which it comes to rest, left out.
const GATHERING: f64 = 0.25;
const ENDING: f64 = 0.1;

/// A steady rise or sinking.
#[derive(Debug, Clone, PartialEq)]
pub struct Rise {
    /// Mm/s, positive upward.
    pub mm_s: Measured,
    /// From when to when, s.
    pub span_s: [f64; 2],
}

/// Finds the longest stretch in which the height (mm over the water) goes one way. `scale_doubt` is the
/// share by which mm may be off (one standard deviation). An error says why there is none.
pub fn rise(t_s: &[f64], above_mm: &[f64], scale_doubt: f64) -> Result<Rise, Measured> {
    let n = t_s.len();
    if n < 8 || t_s[n - 1] - t_s[0] < LEAST_TIME_S {
        return Err(Measured::unmeasurable(
            "rising and sinking need a clip of a second or more",
        ));
    }
    let still = || Err(Measured::none("it stays where it is"));
    let speed: Vec<f64> = (0..n)
        .map(|i| {
            let from = t_s.partition_point(|t| *t < t_s[i] - STRIDE_S / 2.0);
            let to = t_s.partition_point(|t| *t <= t_s[i] + STRIDE_S / 2.0) - 1;
            match to > from + 1 {
                true => slope(&t_s[from..=to], &above_mm[from..=to]),
                false => 0.0,
            }
        })
        .collect();
    let top = speed.iter().fold(0.0f64, |m, v| m.max(v.abs()));
    let least = LEAST_MM_S.max(0.3 * top);
    let mut best: Option<(usize, usize)> = None;
    let mut from = 0;
    while from < n {
        let sign = speed[from].signum();
        let mut to = from;
        while to < n && speed[to] * sign >= least {
            to += 1;
        }
        if to > from
            && best.is_none_or(|(a, b)| {
                (above_mm[to - 1] - above_mm[from]).abs() > (above_mm[b] - above_mm[a]).abs()
            })
        {
            best = Some((from, to - 1));
        }
        from = to.max(from + 1);
    }
    let Some((from, to)) = best else {
        return still();
    };
    let (time, way) = (t_s[to] - t_s[from], (above_mm[to] - above_mm[from]).abs());
    if time < LEAST_TIME_S || way < LEAST_WAY_MM {
        return still();
    }
    let cut = |share: f64| t_s[from] + share * time;
    let a = t_s.partition_point(|t| *t < cut(GATHERING));
    let b = t_s.partition_point(|t| *t <= cut(1.0 - ENDING)).min(to + 1);
    let (t, y) = (&t_s[a..b], &above_mm[a..b]);
    if t.len() < 6 {
        return still();
    }
    let rate = slope(t, y);
    let sd = slope_sd(t, y, rate).hypot(scale_doubt * rate);
    Ok(Rise {
        mm_s: Measured::within(rate, 1.96 * sd),
        span_s: [t[0], t[t.len() - 1]],
    })
}

/// Theil–Sen: the median of all slopes (Sen 1968, from memory).
fn slope(t: &[f64], y: &[f64]) -> f64 {
    let step = (t.len() / 60).max(1);
    let mut slopes = Vec::new();
    for i in (0..t.len()).step_by(step) {
        for j in (i + 1..t.len()).step_by(step) {
            slopes.push((y[j] - y[i]) / (t[j] - t[i]));
        }
    }
    if slopes.is_empty() {
        return 0.0;
    }
    let middle = slopes.len() / 2;
    *slopes.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Standard deviation of a line's slope, residuals as a first-order autoregression.
fn slope_sd(t: &[f64], y: &[f64], rate: f64) -> f64 {
    let n = t.len() as f64;
    let mean_t = t.iter().sum::<f64>() / n;
    let mean_y = y.iter().sum::<f64>() / n;
    let r: Vec<f64> = t
        .iter()
        .zip(y)
        .map(|(t, y)| y - mean_y - rate * (t - mean_t))
        .collect();
    let square: f64 = r.iter().map(|v| v * v).sum();
    let next: f64 = r.windows(2).map(|w| w[0] * w[1]).sum();
    let rho = (next / square.max(1e-12)).clamp(0.0, 0.95);
    let spread: f64 = t.iter().map(|t| (t - mean_t).powi(2)).sum();
    let widen = (1.0 + rho) / (1.0 - rho);
    (widen * square / (n - 2.0) / spread).sqrt()
}
