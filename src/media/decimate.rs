//! Low-pass and thinning in one step, sample by sample, with memory for one filter's length only.

use std::f64::consts::{PI, TAU};

/// Recordings are thinned to this rate or up to twice it, Hz: room for the harmonics of any wobble.
pub const WORKING_HZ: f64 = 250.0;
/// What is below this share of the rate after thinning is left as it is.
pub const PASSBAND: f64 = 0.4;
/// Length of the filter in samples after thinning. With a Hamming window the step from pass to stop
/// is 3.3 over the length wide, so 0.2 of the rate: what folds, folds above the passband.
const LENGTH: usize = 16;

/// By how much to thin a series of `hz` samples a second.
pub fn factor_for(hz: f64) -> usize {
    ((hz / WORKING_HZ).floor() as usize).max(1)
}

/// A windowed-sinc low-pass (Hamming) that gives one sample in `factor`.
#[derive(Debug, Clone)]
pub struct Decimator {
    factor: usize,
    taps: Vec<f64>,
    held: Vec<f64>,
}

impl Decimator {
    /// Thins by `factor`; 1 passes everything on unchanged.
    pub fn new(factor: usize) -> Decimator {
        let factor = factor.max(1);
        let taps = if factor == 1 { vec![1.0] } else { taps(factor) };
        Decimator {
            factor,
            held: Vec::with_capacity(taps.len()),
            taps,
        }
    }

    /// Takes a sample; gives one where it is due. It belongs to the middle of the samples held.
    pub fn push(&mut self, value: f64) -> Option<f64> {
        self.held.push(value);
        if self.held.len() < self.taps.len() {
            return None;
        }
        let sum = self.held.iter().zip(&self.taps).map(|(v, w)| v * w).sum();
        self.held.drain(..self.factor);
        Some(sum)
    }

    /// Forgets what it holds, as after a gap.
    pub fn clear(&mut self) {
        self.held.clear();
    }

    /// How many samples lie before the first that is given.
    pub fn delay(&self) -> usize {
        self.taps.len() / 2
    }
}

/// Weights of unit sum, cut off at half the rate after thinning.
fn taps(factor: usize) -> Vec<f64> {
    let middle = (LENGTH * factor / 2) as f64;
    let weight = |i: usize| {
        let x = (i as f64 - middle) / factor as f64;
        let sinc = if x == 0.0 {
            1.0
        } else {
            (PI * x).sin() / (PI * x)
        };
        sinc * (0.54 - 0.46 * (TAU * i as f64 / (2.0 * middle)).cos())
    };
    let taps: Vec<f64> = (0..=LENGTH * factor).map(weight).collect();
    let sum: f64 = taps.iter().sum();
    taps.iter().map(|w| w / sum).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RMS of a tone of unit RMS after thinning from 1000 to 250 a second.
    fn left_of(hz: f64) -> f64 {
        let mut thin = Decimator::new(4);
        let tone = (0..20_000).map(|i| 2f64.sqrt() * (TAU * hz * f64::from(i) / 1000.0).sin());
        let left: Vec<f64> = tone.filter_map(|v| thin.push(v)).collect();
        (left.iter().map(|v| v * v).sum::<f64>() / left.len() as f64).sqrt()
    }

    #[test]
    fn the_passband_is_flat_and_folds_are_gone() {
        for hz in [2.0, 20.0, 60.0, 99.0] {
            assert!((left_of(hz) - 1.0).abs() < 0.01, "{hz}: {}", left_of(hz));
        }
        for hz in [151.0, 200.0, 247.0, 254.0, 400.0] {
            assert!(left_of(hz) < 0.01, "{hz}: {}", left_of(hz));
        }
    }
}
