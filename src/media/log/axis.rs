//! One axis of a sensor as its rows come: thinned, its farthest values watched.

use crate::media::decimate::Decimator;
use crate::media::recording::STANDARD_GRAVITY;

/// Full scales of accelerometers, g.
const FULL_SCALES_G: [f64; 8] = [2.0, 4.0, 6.0, 8.0, 16.0, 32.0, 100.0, 200.0];
/// A value this near to a full scale, as a part of it, is at it.
const AT_FULL_SCALE: f64 = 0.025;

/// An axis.
pub struct Axis {
    thin: Decimator,
    values: Vec<f32>,
    top: Extreme,
    bottom: Extreme,
}

impl Axis {
    /// One that keeps one value of `factor`.
    pub fn new(factor: usize) -> Axis {
        Axis {
            thin: Decimator::new(factor),
            values: Vec::new(),
            top: Extreme::new(1.0),
            bottom: Extreme::new(-1.0),
        }
    }

    /// Takes the next row's value.
    pub fn push(&mut self, value: f64) {
        self.values.extend(self.thin.push(value).map(|v| v as f32));
        self.top.push(value);
        self.bottom.push(value);
    }

    /// A gap, over which nothing is smoothed.
    pub fn pause(&mut self) {
        self.thin.clear();
    }

    /// What was last comes first.
    pub fn turn(&mut self) {
        self.values.reverse();
    }

    /// The one value that every row held, if so.
    pub fn still_at(&self) -> Option<f64> {
        (self.top.at == self.bottom.at).then_some(self.top.at)
    }

    /// How often it stayed at the end of a sensor's range; `factor` makes its values m/s².
    pub fn runs_at_full_scale(&self, factor: f64) -> usize {
        let at_full_scale = |e: &&Extreme| {
            let g = (e.at * factor / STANDARD_GRAVITY).abs();
            FULL_SCALES_G
                .iter()
                .any(|f| (g / f - 1.0).abs() < AT_FULL_SCALE)
        };
        let ends = [&self.top, &self.bottom];
        ends.into_iter().filter(at_full_scale).map(|e| e.runs).sum()
    }

    /// The kept values times `factor`.
    pub fn in_unit(mut self, factor: f64) -> Vec<f32> {
        for v in &mut self.values {
            *v = (f64::from(*v) * factor) as f32;
        }
        self.values
    }
}

/// The farthest value to one side, and how often it was held for three rows on end.
struct Extreme {
    sign: f64,
    at: f64,
    held: usize,
    runs: usize,
}

impl Extreme {
    fn new(sign: f64) -> Extreme {
        Extreme {
            sign,
            at: -sign * f64::INFINITY,
            held: 0,
            runs: 0,
        }
    }

    fn push(&mut self, value: f64) {
        if self.sign * value > self.sign * self.at {
            (self.at, self.held, self.runs) = (value, 1, 0);
        } else if value == self.at {
            self.held += 1;
            self.runs += usize::from(self.held == 3);
        } else {
            self.held = 0;
        }
    }
}
