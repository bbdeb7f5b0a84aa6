//! A first guess of the phase: the rate from window to window, then the phase joined across windows.

use super::phase::Phase;
use super::tone::Tone;
use rustfft::num_complex::Complex;
use std::f64::consts::TAU;

/// Cycles per window; long enough to see the rate, short enough that it holds still.
const CYCLES: f64 = 6.0;
/// Windows overlap by three quarters.
const HOPS_PER_WINDOW: f64 = 4.0;
/// Rates looked at: ± this fraction of the clip's.
const REACH: f64 = 0.12;
/// Steps to each side.
const STEPS: i32 = 12;
/// How far a rate may move in a second, as a fraction (one standard deviation).
const WANDER_PER_S: f64 = 0.05;

/// The phase of `tones` near `hz`: rates per window by the best path (Viterbi), then the phase of
/// each window against the last.
pub(super) fn first_phase(tones: &[Tone], hz: f64, from_s: f64, to_s: f64) -> Phase {
    let width = (CYCLES / hz).min(to_s - from_s);
    let hop = width / HOPS_PER_WINDOW;
    let count = (((to_s - from_s - width) / hop).floor() as usize) + 1;
    let centres: Vec<f64> = (0..count)
        .map(|j| from_s + width / 2.0 + j as f64 * hop)
        .collect();
    if count < 2 {
        return Phase::steady(hz, from_s, to_s);
    }
    let path = best_path(tones, hz, &centres, width, hop);
    let mut cycles = vec![path[0] * centres[0]];
    for j in 1..count {
        cycles.push(cycles[j - 1] + 0.5 * (path[j] + path[j - 1]) * hop);
    }
    joined(
        tones,
        Phase {
            t_s: centres,
            cycles,
        },
        width,
    )
}

fn rates(hz: f64) -> Vec<f64> {
    (-STEPS..=STEPS)
        .map(|i| hz * (1.0 + REACH * f64::from(i) / f64::from(STEPS)))
        .collect()
}

fn best_path(tones: &[Tone], hz: f64, centres: &[f64], width: f64, hop: f64) -> Vec<f64> {
    let rates = rates(hz);
    let sigma = WANDER_PER_S * hz * hop.sqrt();
    let cost = |a: usize, b: usize| 0.5 * ((rates[a] - rates[b]) / sigma).powi(2);
    let mut best = vec![0.0; rates.len()];
    let mut from = Vec::with_capacity(centres.len());
    for &centre in centres {
        let here: Vec<f64> = rates
            .iter()
            .map(|&f| gain(tones, f, centre, width))
            .collect();
        let step: Vec<(usize, f64)> = (0..rates.len())
            .map(|b| {
                let reach = |a: usize| best[a] - cost(a, b);
                let a = (0..rates.len())
                    .max_by(|&x, &y| reach(x).total_cmp(&reach(y)))
                    .unwrap_or(b);
                (a, reach(a) + here[b])
            })
            .collect();
        best = step.iter().map(|s| s.1).collect();
        from.push(step.iter().map(|s| s.0).collect::<Vec<_>>());
    }
    let mut at = (0..rates.len())
        .max_by(|&x, &y| best[x].total_cmp(&best[y]))
        .unwrap_or(0);
    let mut path = vec![0.0; centres.len()];
    for j in (0..centres.len()).rev() {
        path[j] = rates[at];
        at = from[j][at];
    }
    path
}

/// Log-likelihood gained in one window by a wave of rate `hz`; overlapping windows share their samples.
fn gain(tones: &[Tone], hz: f64, centre: f64, width: f64) -> f64 {
    let steady = Phase::steady(hz, centre - width, centre + width);
    let per_tone = |tone: &Tone| {
        let per_harmonic = |&k: &u32| {
            let (z, n) = phasor(tone, k, &steady, centre, width);
            if n < 3.0 {
                0.0
            } else {
                tone.weight * z.norm_sqr() / n
            }
        };
        tone.harmonics.iter().map(per_harmonic).sum::<f64>()
    };
    tones.iter().map(per_tone).sum::<f64>() / HOPS_PER_WINDOW
}

/// Σ y·exp(−i·k·phase) over one window, its mean taken out, and the number of samples.
fn phasor(tone: &Tone, k: u32, phase: &Phase, centre: f64, width: f64) -> (Complex<f64>, f64) {
    let t = &tone.channel.t_s;
    let a = t.partition_point(|&t| t < centre - width / 2.0);
    let b = t.partition_point(|&t| t <= centre + width / 2.0);
    let values = &tone.channel.values[a..b];
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n.max(1.0);
    let turn = |t: f64| Complex::cis(-TAU * f64::from(k) * phase.at(t));
    (
        t[a..b]
            .iter()
            .zip(values)
            .map(|(&t, v)| turn(t) * (v - mean))
            .sum(),
        n,
    )
}

/// `phase` with the step of every window's phase against the last put right.
fn joined(tones: &[Tone], phase: Phase, width: f64) -> Phase {
    let mut shifted = phase.clone();
    let mut last: Option<Vec<Complex<f64>>> = None;
    let mut shift = 0.0;
    let pairs: Vec<(&Tone, u32)> = tones
        .iter()
        .flat_map(|t| t.harmonics.iter().map(move |&k| (t, k)))
        .collect();
    for (j, &centre) in phase.t_s.iter().enumerate() {
        let seen: Vec<_> = pairs
            .iter()
            .map(|(tone, k)| phasor(tone, *k, &phase, centre, width))
            .collect();
        if seen.iter().any(|(_, n)| *n >= 3.0) {
            let now: Vec<Complex<f64>> = seen.iter().map(|s| s.0).collect();
            if let Some(before) = &last {
                let (mut sum, mut weight) = (0.0, 0.0);
                for (((tone, k), a), b) in pairs.iter().zip(before).zip(&now) {
                    let step = b * a.conj();
                    let k = f64::from(*k);
                    sum += tone.weight * k * step.norm() * step.arg();
                    weight += tone.weight * k * k * step.norm();
                }
                shift += if weight > 0.0 {
                    sum / weight / TAU
                } else {
                    0.0
                };
            }
            last = Some(now);
        }
        shifted.cycles[j] += shift;
    }
    shifted
}
