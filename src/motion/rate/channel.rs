//! One measured quantity over time, made ready: gaps dropped, slow way taken out, wild values dropped.

use super::trend::Trend;
use crate::robust::upper_median;

/// Which harmonics of the wobble a quantity can carry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parity {
    /// Changes sign with the side (yaw, sideways sway): carries the rate itself and odd multiples.
    Odd,
    /// The same on both sides (apparent length seen square on): beats at twice the rate; the rate
    /// itself shows only as far as the view is lopsided.
    Even,
    /// May carry either (flash of a flank, roll leaking into an axis).
    Any,
}

/// A quantity at its own time stamps.
#[derive(Debug, Clone)]
pub struct Channel {
    /// What it is, for messages.
    pub name: &'static str,
    /// Time stamps, s, rising.
    pub t_s: Vec<f64>,
    /// Values, any unit, one per stamp.
    pub values: Vec<f64>,
    /// Which harmonics it can carry.
    pub parity: Parity,
}

impl Channel {
    /// The finite values of `values` at the stamps `t_s`.
    pub fn new(name: &'static str, t_s: &[f64], values: &[f64], parity: Parity) -> Self {
        let finite = t_s
            .iter()
            .zip(values)
            .filter(|(t, v)| t.is_finite() && v.is_finite());
        let (t_s, values) = finite.map(|(&t, &v)| (t, v)).unzip();
        Channel {
            name,
            t_s,
            values,
            parity,
        }
    }

    /// The channel without wild values: those more than [`WILD`] robust standard deviations off the
    /// slow way (all that is slower than about 1/`window_s`).
    pub(super) fn tame(&self, window_s: f64) -> Channel {
        let rest = self.flat(window_s).values;
        let limit = WILD * robust_sd(&rest);
        let tame =
            |(i, r): (usize, &f64)| (r.abs() <= limit).then_some((self.t_s[i], self.values[i]));
        let (t_s, values) = rest.iter().enumerate().filter_map(tame).unzip();
        Channel {
            t_s,
            values,
            ..*self
        }
    }

    /// The channel without its slow way.
    pub(super) fn flat(&self, window_s: f64) -> Channel {
        let trend = Trend::of(&self.t_s, &self.values, window_s);
        Channel {
            t_s: self.t_s.clone(),
            values: trend.taken_from(&self.t_s, &self.values),
            ..*self
        }
    }

    /// Means over `step_s` at the mean stamps, where the samples lie closer than that; else as it is.
    pub(super) fn thinned(&self, step_s: f64) -> Channel {
        let mut thin = Channel {
            t_s: vec![],
            values: vec![],
            ..*self
        };
        let (Some(first), Some(last)) = (self.t_s.first(), self.t_s.last()) else {
            return thin;
        };
        if step_s <= 0.0 || last - first > 0.5 * step_s * self.t_s.len() as f64 {
            return self.clone();
        }
        let mut from = 0;
        while from < self.t_s.len() {
            let number = ((self.t_s[from] - first) / step_s).floor() + 1.0;
            let to = self
                .t_s
                .partition_point(|&t| t < first + number * step_s)
                .max(from + 1);
            let count = (to - from) as f64;
            thin.t_s
                .push(self.t_s[from..to].iter().sum::<f64>() / count);
            thin.values
                .push(self.values[from..to].iter().sum::<f64>() / count);
            from = to;
        }
        thin
    }
}

/// Robust standard deviations beyond which a raw value is a slip of the tracking. A pure sine peaks
/// at 1.35 of its own, so this keeps any wobble whole.
const WILD: f64 = 6.0;

/// Standard deviation from the median absolute value: 1.4826 × it for normal noise about zero.
pub(super) fn robust_sd(values: &[f64]) -> f64 {
    1.4826 * upper_median(values.iter().map(|v| v.abs())).unwrap_or(f64::NAN)
}
