//! One measured quantity over time, made ready: gaps dropped, slow way taken out, wild values dropped.

use super::trend::Trend;

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

    /// The channel without its slow way (all that is slower than about 1/`window_s`) and without
    /// wild values: those more than [`WILD`] robust standard deviations off.
    pub(super) fn ready(&self, window_s: f64) -> Channel {
        let rest = Trend::of(&self.t_s, &self.values, window_s).taken_from(&self.t_s, &self.values);
        let limit = WILD * robust_sd(&rest);
        let keep: Vec<usize> = (0..rest.len())
            .filter(|&i| rest[i].abs() <= limit)
            .collect();
        let tame = self.pick(&keep);
        let values =
            Trend::of(&tame.t_s, &tame.values, window_s).taken_from(&tame.t_s, &tame.values);
        Channel { values, ..tame }
    }

    /// The samples at the places `keep`.
    pub(super) fn pick(&self, keep: &[usize]) -> Channel {
        Channel {
            name: self.name,
            t_s: keep.iter().map(|&i| self.t_s[i]).collect(),
            values: keep.iter().map(|&i| self.values[i]).collect(),
            parity: self.parity,
        }
    }
}

/// Robust standard deviations beyond which a raw value is a slip of the tracking. A pure sine peaks
/// at 1.35 of its own, so this keeps any wobble whole.
const WILD: f64 = 6.0;

/// Standard deviation from the median absolute value: 1.4826 × it for normal noise about zero.
pub(super) fn robust_sd(values: &[f64]) -> f64 {
    1.4826 * median(&values.iter().map(|v| v.abs()).collect::<Vec<_>>())
}

/// The middle value; NaN for none.
pub fn median(values: &[f64]) -> f64 {
    let mut values = values.to_vec();
    if values.is_empty() {
        return f64::NAN;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}
