//! The wave that a channel shows at a known phase: constant, and cosine and sine of its harmonics.

use super::channel::Channel;
use super::phase::Phase;
use super::trend::Trend;
use nalgebra::{DMatrix, DVector};
use std::f64::consts::TAU;

/// A channel with the harmonics that it is believed to carry and the weight of its samples.
#[derive(Debug, Clone)]
pub(super) struct Tone {
    /// The channel without wild values, its slow way still in it.
    pub source: Channel,
    /// The same without its slow way.
    pub channel: Channel,
    /// 1 for the rate itself, 2 for twice the rate …
    pub harmonics: Vec<u32>,
    /// One over the variance of the noise around its strongest harmonic.
    pub weight: f64,
    /// How far each sample is trusted against the usual one, 0–1, as a part of a standard deviation (see
    /// [`super::trust`]).
    pub trust: Vec<f64>,
}

/// Constant and `[cosine, sine]` amplitude per harmonic.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Wave {
    pub harmonics: Vec<u32>,
    pub level: f64,
    pub parts: Vec<[f64; 2]>,
}

impl Wave {
    /// Least-squares fit of `values` at the phases `cycles`, all trusted alike; harmonics as given. Zero where the
    /// samples cannot tell them apart.
    pub fn fit(cycles: &[f64], values: &[f64], harmonics: &[u32]) -> Wave {
        Wave::fit_trusted(cycles, values, &vec![1.0; values.len()], harmonics)
    }

    /// The same with each residual counted by its `trust`.
    pub fn fit_trusted(cycles: &[f64], values: &[f64], trust: &[f64], harmonics: &[u32]) -> Wave {
        let size = 1 + 2 * harmonics.len();
        let mut normal = DMatrix::<f64>::zeros(size, size);
        let mut right = DVector::<f64>::zeros(size);
        let mut row = vec![1.0; size];
        for ((&c, &y), &trust) in cycles.iter().zip(values).zip(trust) {
            let weight = trust * trust;
            for (j, &k) in harmonics.iter().enumerate() {
                let (sin, cos) = (TAU * f64::from(k) * c).sin_cos();
                row[1 + 2 * j] = cos;
                row[2 + 2 * j] = sin;
            }
            for a in 0..size {
                right[a] += weight * row[a] * y;
                for b in 0..=a {
                    normal[(a, b)] += weight * row[a] * row[b];
                }
            }
        }
        normal.fill_upper_triangle_with_lower_triangle();
        let solved = normal.cholesky().map(|c| c.solve(&right));
        let x = solved.unwrap_or_else(|| DVector::zeros(size));
        let parts = (0..harmonics.len())
            .map(|j| [x[1 + 2 * j], x[2 + 2 * j]])
            .collect();
        Wave {
            harmonics: harmonics.to_vec(),
            level: x[0],
            parts,
        }
    }

    /// Value and slope per radian at phase `cycles`.
    pub fn at(&self, cycles: f64) -> (f64, f64) {
        let (mut value, mut slope) = (self.level, 0.0);
        for (&k, [a, b]) in self.harmonics.iter().zip(&self.parts) {
            let (sin, cos) = (TAU * f64::from(k) * cycles).sin_cos();
            value += a * cos + b * sin;
            slope += f64::from(k) * (b * cos - a * sin);
        }
        (value, slope)
    }

    /// Zero-to-peak amplitude of harmonic `k`; 0 if it was not fitted.
    pub fn amplitude(&self, k: u32) -> f64 {
        let place = self.harmonics.iter().position(|&h| h == k);
        place.map_or(0.0, |j| self.parts[j][0].hypot(self.parts[j][1]))
    }
}

impl Tone {
    /// The phase at each sample, cycles.
    pub fn cycles(&self, phase: &Phase) -> Vec<f64> {
        self.channel.t_s.iter().map(|&t| phase.at(t)).collect()
    }

    /// How much the tone says about the phase: Σ weight·slope², 1/rad².
    pub fn phase_weight(&self, phase: &Phase) -> f64 {
        let wave = self.wave(phase);
        self.cycles(phase)
            .iter()
            .zip(&self.trust)
            .map(|(&c, trust)| self.weight * (trust * wave.at(c).1).powi(2))
            .sum()
    }

    /// Takes the slow way (slower than about 1/`window_s`) anew, from what the wave at `phase` leaves,
    /// so that it holds nothing of the wave.
    pub fn retrend(&mut self, phase: &Phase, window_s: f64) {
        let wave = self.wave(phase);
        let t = &self.source.t_s;
        let waves: Vec<f64> = t.iter().map(|&t| wave.at(phase.at(t)).0).collect();
        let rest: Vec<f64> = self
            .source
            .values
            .iter()
            .zip(&waves)
            .map(|(y, w)| y - w)
            .collect();
        let trend = Trend::of(t, &rest, window_s);
        self.channel.values = trend.taken_from(t, &self.source.values);
    }

    /// What the wave at `phase` leaves of each sample.
    pub fn rest(&self, phase: &Phase) -> Vec<f64> {
        let cycles = self.cycles(phase);
        let wave = self.wave_at(&cycles);
        let samples = cycles.iter().zip(&self.channel.values);
        samples.map(|(&c, y)| y - wave.at(c).0).collect()
    }

    /// The wave at `phase`.
    pub fn wave(&self, phase: &Phase) -> Wave {
        self.wave_at(&self.cycles(phase))
    }

    /// The same where the phase at each sample is known, cycles.
    pub fn wave_at(&self, cycles: &[f64]) -> Wave {
        Wave::fit_trusted(cycles, &self.channel.values, &self.trust, &self.harmonics)
    }
}
