//! The spectra behind the charts and the third-octave levels.

use super::Gust;
use super::stage::Stage;
use super::welch::{self, Spectrogram};
use crate::media::Recording;

/// Length of the spectra, s: resolves third-octaves from 2 Hz on.
const SPECTRUM_S: f64 = 4.0;
/// Places of the spectrogram in time are at most so many.
const MOST_COLUMNS: usize = 400;

/// Rate (Hz) and RMS density of the calm pulls, and spectra over the whole time.
pub(super) fn spectra(
    recording: &Recording,
    values: &[f32],
    hz: f64,
    stage: &Stage,
) -> (Vec<(f64, f64)>, Spectrogram) {
    let length = ((SPECTRUM_S * hz) as usize).max(16);
    let calm = |&[a, b]: &[usize; 2]| {
        let (from, to) = (recording.t_s[a], recording.t_s[b - 1]);
        !stage.gusts.iter().any(|g| from <= g.to_s && to >= g.from_s)
    };
    let between_gusts: Vec<[usize; 2]> = stage
        .pieces
        .iter()
        .flat_map(|p| cut(&recording.t_s, *p, &stage.gusts))
        .collect();
    let mut sum: Vec<f64> = vec![];
    let (mut count, mut step_hz) = (0.0, 0.0);
    for [a, b] in between_gusts
        .iter()
        .filter(|p| p[1] - p[0] >= length && calm(p))
    {
        let spectra = welch::spectrogram(&values[*a..*b], hz, length);
        step_hz = spectra.step_hz;
        let n = spectra.density.len() as f64;
        for (i, density) in welch::mean_density(&spectra).into_iter().enumerate() {
            if i >= sum.len() {
                sum.push(0.0);
            }
            sum[i] += n * density;
        }
        count += n;
    }
    let spectrum = sum
        .iter()
        .enumerate()
        .map(|(i, p)| (i as f64 * step_hz, (p / f64::max(count, 1.0)).sqrt()))
        .collect();
    let mut over_time = welch::spectrogram_at_most(values, hz, length / 2, MOST_COLUMNS);
    let start = recording.t_s.first().copied().unwrap_or(0.0);
    over_time.t_s.iter_mut().for_each(|t| *t += start);
    (spectrum, over_time)
}

/// What is left of a piece between gusts.
fn cut(t_s: &[f64], [a, b]: [usize; 2], gusts: &[Gust]) -> Vec<[usize; 2]> {
    let mut from = a;
    let mut left = Vec::new();
    for gust in gusts {
        let (start, end) = (
            t_s.partition_point(|t| *t < gust.from_s),
            t_s.partition_point(|t| *t <= gust.to_s),
        );
        if end <= from || start >= b {
            continue;
        }
        if start > from {
            left.push([from, start]);
        }
        from = end;
    }
    if from < b {
        left.push([from, b]);
    }
    left
}
