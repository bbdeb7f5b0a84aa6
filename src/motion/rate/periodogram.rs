//! Lomb–Scargle periodogram with a floating mean, standard normalisation only.
//!
//! Z(f) = 1 − χ²(sine + constant)/χ²(constant), between 0 and 1 (Zechmeister & Kürster 2009,
//! A&A 496:577, eq. 4 with equal weights). [`slow`] is the readable reference, [`fast`] the same by
//! non-uniform FFT.

use super::nufft;
use rustfft::num_complex::Complex;
use std::f64::consts::TAU;

/// Frequencies k·`step_hz` for k = `first` … `first` + `count` − 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// Distance of neighbours, Hz.
    pub step_hz: f64,
    /// Number of the first frequency, in steps.
    pub first: usize,
    /// How many.
    pub count: usize,
}

impl Grid {
    /// From `low_hz` to `high_hz` in steps of at most `step_hz`.
    pub fn new(low_hz: f64, high_hz: f64, step_hz: f64) -> Grid {
        let first = (low_hz / step_hz).ceil().max(1.0) as usize;
        let last = (high_hz / step_hz * (1.0 + 1e-12)).floor().max(0.0) as usize;
        Grid {
            step_hz,
            first,
            count: (last + 1).saturating_sub(first),
        }
    }

    /// The `i`-th frequency, Hz.
    pub fn hz(&self, i: usize) -> f64 {
        (self.first + i) as f64 * self.step_hz
    }

    /// The place nearest to `hz`.
    pub fn place(&self, hz: f64) -> usize {
        let step = (hz / self.step_hz).round() as usize;
        step.saturating_sub(self.first)
            .min(self.count.saturating_sub(1))
    }
}

/// Power Z of `values` at stamps `t_s` at one frequency, by its plain definition.
pub fn slow(t_s: &[f64], values: &[f64], hz: f64) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let mut s = Sums::default();
    for (t, v) in t_s.iter().zip(values) {
        let (sin, cos) = (TAU * hz * t).sin_cos();
        s.c += cos / n;
        s.s += sin / n;
        s.cc += cos * cos / n;
        s.cs += cos * sin / n;
        s.yc += (v - mean) * cos / n;
        s.ys += (v - mean) * sin / n;
    }
    s.power(variance(values, mean))
}

/// Power Z of `values` at stamps `t_s` on all of `grid`. O(n + m log m), equal to [`slow`] to about 1e-9.
pub fn fast(t_s: &[f64], values: &[f64], grid: Grid) -> Vec<f64> {
    let (Some(&start), n) = (t_s.first(), values.len() as f64) else {
        return vec![0.0; grid.count];
    };
    let t: Vec<f64> = t_s.iter().map(|t| t - start).collect();
    let mean = values.iter().sum::<f64>() / n;
    let rest: Vec<f64> = values.iter().map(|v| (v - mean) / n).collect();
    let ones = vec![1.0 / n; t.len()];
    let last = grid.first + grid.count;
    let y = nufft::sums(&t, &rest, grid.step_hz, last);
    let window = nufft::sums(&t, &ones, grid.step_hz, 2 * last);
    let variance = variance(values, mean);
    (grid.first..last)
        .map(|k| Sums::from_complex(y[k], window[k], window[2 * k]).power(variance))
        .collect()
}

fn variance(values: &[f64], mean: f64) -> f64 {
    values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / values.len() as f64
}

#[derive(Default)]
struct Sums {
    c: f64,
    s: f64,
    cc: f64,
    cs: f64,
    yc: f64,
    ys: f64,
}

impl Sums {
    fn from_complex(y: Complex<f64>, window: Complex<f64>, doubled: Complex<f64>) -> Sums {
        Sums {
            c: window.re,
            s: window.im,
            cc: 0.5 * (1.0 + doubled.re),
            cs: 0.5 * doubled.im,
            yc: y.re,
            ys: y.im,
        }
    }

    fn power(&self, variance: f64) -> f64 {
        let cc = self.cc - self.c * self.c;
        let ss = 1.0 - self.cc - self.s * self.s;
        let cs = self.cs - self.c * self.s;
        let determinant = cc * ss - cs * cs;
        if determinant < 1e-12 || variance <= 0.0 {
            // At half an even sampling rate one of the two waves vanishes at every stamp.
            let left = if cc > ss {
                self.yc * self.yc / cc
            } else {
                self.ys * self.ys / ss
            };
            return if variance > 0.0 && cc.max(ss) > 1e-12 {
                left / variance
            } else {
                0.0
            };
        }
        (ss * self.yc * self.yc + cc * self.ys * self.ys - 2.0 * cs * self.yc * self.ys)
            / (determinant * variance)
    }
}
