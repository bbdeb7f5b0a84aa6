//! How strong it thumps at the rate and its multiples, block by block of a few cycles.

use super::follow::Followed;
use super::levels::slow_gain;
use super::{Gust, Harmonic};
use crate::Measured;
use nalgebra::{Cholesky, DMatrix, DVector};
use rustfft::num_complex::Complex;
use statrs::distribution::{ContinuousCDF, StudentsT};
use std::f64::consts::TAU;

/// Cycles in a block: its waves at k ± 1/2 of the rate stand square to those at k, and tell the noise.
const CYCLES: f64 = 4.0;
/// Multiples looked at.
const MOST: u32 = 8;
/// A multiple counts from so many standard errors on.
const SIGNIFICANT: f64 = 3.0;
/// Fewer blocks than this give no interval.
const FEWEST: usize = 3;

/// Power at each multiple in each block, noise taken off.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Blocks {
    /// Per block, per multiple from 1: mean square in the unit squared.
    power: Vec<Vec<f64>>,
    hz: f64,
}

impl Blocks {
    /// Of `values` at `t_s` in the `followed` pieces; multiples up to `to_hz` of the rate `hz`.
    pub fn of(
        t_s: &[f64],
        values: &[f32],
        followed: &[Followed],
        gusts: &[Gust],
        hz: f64,
        to_hz: f64,
    ) -> Blocks {
        let most = ((to_hz / hz).floor() as u32).clamp(1, MOST);
        let mut power = Vec::new();
        for piece in followed {
            let phase = &piece.fit.phase;
            let [a, b] = piece.samples;
            let mut from = a;
            while from < b {
                let start = phase.at(t_s[from]);
                let mut to = from;
                while to < b && phase.at(t_s[to]) < start + CYCLES {
                    to += 1;
                }
                let whole = to < b && phase.at(t_s[to - 1]) > start + CYCLES - 0.75;
                let full = (to - from) as f64
                    > 0.8 * (t_s[to - 1] - t_s[from]) * 2.0 * piece.fit.nyquist_hz;
                let calm = !gusts
                    .iter()
                    .any(|g| t_s[from] <= g.to_s && t_s[to - 1] >= g.from_s);
                if whole && full && calm && to - from >= 8 {
                    let cycles: Vec<f64> = t_s[from..to].iter().map(|t| phase.at(*t)).collect();
                    let inside: Vec<f64> = values[from..to].iter().map(|v| f64::from(*v)).collect();
                    let mut in_block = block(&cycles, &inside, most);
                    in_block.resize(most as usize, 0.0);
                    for (k, power) in in_block.iter_mut().enumerate() {
                        let gain = slow_gain(hz * (k + 1) as f64, 2.0 * piece.fit.nyquist_hz);
                        *power /= gain * gain;
                    }
                    power.push(in_block);
                }
                from = to.max(from + 1);
            }
        }
        Blocks { power, hz }
    }

    /// Multiples that show, the rate itself always.
    fn shown(&self) -> Vec<usize> {
        let count = self.power.first().map_or(0, Vec::len);
        let shows = |&k: &usize| {
            let (mean, sd, _) = mean_of(self.power.iter().map(|p| p[k]));
            k == 0 || mean > SIGNIFICANT * sd
        };
        (0..count).filter(shows).collect()
    }

    /// The rate and its multiples that show, with their shares of the power.
    pub fn harmonics(&self) -> Vec<Harmonic> {
        let mean = |k: usize| mean_of(self.power.iter().map(|p| p[k])).0.max(0.0);
        let shown = self.shown();
        let total: f64 = shown.iter().map(|&k| mean(k)).sum();
        let one = |&k: &usize| Harmonic {
            number: k as u32 + 1,
            hz: (k + 1) as f64 * self.hz,
            rms: mean(k).sqrt(),
            share: if total > 0.0 { mean(k) / total } else { 0.0 },
        };
        shown.iter().map(one).collect()
    }

    /// RMS over the multiples that show, each weighted by `factor` at its rate, with the interval that
    /// the blocks' spread gives (Student's t, widened for blocks that go together).
    pub fn rms(&self, factor: impl Fn(f64) -> f64) -> Measured {
        let shown = self.shown();
        let weight = |k: usize| factor((k + 1) as f64 * self.hz).powi(2);
        let (mean, sd, n) = mean_of(
            self.power
                .iter()
                .map(|p| shown.iter().map(|&k| weight(k) * p[k]).sum()),
        );
        if n < FEWEST {
            return Measured::unmeasurable("too few undisturbed cycles; record longer");
        }
        let half =
            StudentsT::new(0.0, 1.0, (n - 1) as f64).map_or(1.96, |t| t.inverse_cdf(0.975)) * sd;
        let root = |power: f64| power.max(0.0).sqrt();
        Measured::new(root(mean), [root(mean - half), root(mean + half)])
    }
}

/// Mean, its standard error and the count. Neighbours that go together count for less: variance × (1 + 2 ρ₁).
fn mean_of(values: impl Iterator<Item = f64>) -> (f64, f64, usize) {
    let values: Vec<f64> = values.collect();
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let beside: f64 = values
        .windows(2)
        .map(|w| (w[0] - mean) * (w[1] - mean))
        .sum();
    let together = (beside / (variance * (n - 1.0))).clamp(0.0, 1.0);
    // In few blocks the correlation is chance.
    let widen = if values.len() > 12 {
        1.0 + 2.0 * together
    } else {
        1.0
    };
    (mean, (widen * variance / n).sqrt(), values.len())
}

/// Power at each multiple in one block: a least-squares fit of all of them and a constant, less the
/// noise that the residual shows half a rate to each side. The fit, and not a plain sum, for a block
/// holds no whole number of samples.
fn block(cycles: &[f64], values: &[f64], most: u32) -> Vec<f64> {
    let n = values.len();
    let most = most.min((n / 4) as u32).max(1);
    let column = |j: usize, c: f64| match (j, TAU * (j as f64 / 2.0).ceil() * c) {
        (0, _) => 1.0,
        (j, turn) if j % 2 == 1 => turn.cos(),
        (_, turn) => turn.sin(),
    };
    let waves = DMatrix::from_fn(n, 2 * most as usize + 1, |i, j| column(j, cycles[i]));
    let values = DVector::from_column_slice(values);
    let Some(normal) = Cholesky::new(waves.tr_mul(&waves)) else {
        return vec![0.0; most as usize];
    };
    let parts = normal.solve(&waves.tr_mul(&values));
    let rest = &values - &waves * &parts;
    let noise = |k: f64| {
        let turned = cycles
            .iter()
            .zip(rest.iter())
            .map(|(c, r)| Complex::cis(-TAU * k * c) * *r);
        2.0 * (turned.sum::<Complex<f64>>() / n as f64).norm_sqr()
    };
    (1..=most as usize)
        .map(|k| {
            let power = 0.5 * (parts[2 * k - 1].powi(2) + parts[2 * k].powi(2));
            power - 0.5 * (noise(k as f64 - 0.5) + noise(k as f64 + 0.5))
        })
        .collect()
}
