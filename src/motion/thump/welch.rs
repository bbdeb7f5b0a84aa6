//! Power spectra over time and on average, by Welch's method (Welch 1967, IEEE Trans. AU-15:70).

use rustfft::{FftPlanner, num_complex::Complex};
use std::f64::consts::TAU;

/// Power spectral densities of overlapping segments.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spectrogram {
    /// Middle of each segment, s from the first sample.
    pub t_s: Vec<f64>,
    /// Distance of neighbouring rates, Hz; the first is 0.
    pub step_hz: f64,
    /// One-sided density per segment and rate, unit²/Hz.
    pub density: Vec<Vec<f64>>,
}

/// Spectra of segments of `length` samples that overlap by half: periodic Hann window, mean taken
/// out, one-sided density, as SciPy's `spectrogram(…, window="hann", noverlap=length//2)`.
pub fn spectrogram<T: Copy + Into<f64>>(values: &[T], hz: f64, length: usize) -> Spectrogram {
    spectrogram_at_most(values, hz, length, usize::MAX)
}

/// The same at no more than `most` places: of a longer series only each second segment, each third …,
/// so that an hour takes no more memory than some minutes.
pub fn spectrogram_at_most<T: Copy + Into<f64>>(
    values: &[T],
    hz: f64,
    length: usize,
    most: usize,
) -> Spectrogram {
    let length = length.min(values.len());
    if length < 4 {
        return Spectrogram::default();
    }
    let window: Vec<f64> = (0..length)
        .map(|i| 0.5 - 0.5 * (TAU * i as f64 / length as f64).cos())
        .collect();
    let scale = 1.0 / (hz * window.iter().map(|w| w * w).sum::<f64>());
    let fft = FftPlanner::new().plan_fft_forward(length);
    let hop = length - length / 2;
    let all = (values.len() - length) / hop + 1;
    let stride = all.div_ceil(most.max(1));
    let starts: Vec<usize> = (0..all).step_by(stride).map(|i| i * hop).collect();
    let density = |&from: &usize| {
        let part: Vec<f64> = values[from..from + length]
            .iter()
            .map(|v| (*v).into())
            .collect();
        let mean = part.iter().sum::<f64>() / length as f64;
        let mut bins: Vec<Complex<f64>> = part
            .iter()
            .zip(&window)
            .map(|(v, w)| Complex::new((v - mean) * w, 0.0))
            .collect();
        fft.process(&mut bins);
        let sides = |i: usize| if i == 0 || 2 * i == length { 1.0 } else { 2.0 };
        (0..=length / 2)
            .map(|i| sides(i) * scale * bins[i].norm_sqr())
            .collect()
    };
    Spectrogram {
        t_s: starts
            .iter()
            .map(|&from| (from as f64 + length as f64 / 2.0) / hz)
            .collect(),
        step_hz: hz / length as f64,
        density: starts.iter().map(density).collect(),
    }
}

/// The mean of the segments' densities, unit²/Hz; empty for too few samples.
pub fn mean_density(spectra: &Spectrogram) -> Vec<f64> {
    let n = spectra.density.len() as f64;
    let width = spectra.density.first().map_or(0, Vec::len);
    (0..width)
        .map(|i| spectra.density.iter().map(|d| d[i]).sum::<f64>() / n)
        .collect()
}
