//! Which other rates would look the same at these time stamps.

use super::channel::Channel;
use super::spectrum::Spectrum;
use crate::robust::upper_median;

/// Stamps count as uneven when they leave the even grid by more than this (RMS), s: coarser than the
/// whole milliseconds in which many clips keep their stamps.
const UNEVEN_S: f64 = 1e-3;
/// An alternative is ruled out when it explains less than this share of the power …
const SHARE: f64 = 0.8;
/// … and its log-likelihood is lower by this much.
const LOWER: f64 = 12.0;

/// The rates up to `limit_hz` that fold onto `hz` when sampled at `sampling_hz`, with `hz` itself,
/// ascending: hz, fs − hz, fs + hz, 2 fs − hz …
pub fn images(hz: f64, sampling_hz: f64, limit_hz: f64) -> Vec<f64> {
    let mut rates = vec![hz];
    let mut turns = 1.0;
    while turns * sampling_hz - hz <= limit_hz {
        rates.push(turns * sampling_hz - hz);
        if turns * sampling_hz + hz <= limit_hz {
            rates.push(turns * sampling_hz + hz);
        }
        turns += 1.0;
    }
    rates
}

/// Of `rates`, those that the stamps of `channels` cannot rule out: uneven stamps smear a folded line
/// and leave the true one whole. All of them where the stamps are even.
pub fn undecided(channels: &[Channel], rates: &[f64]) -> Vec<f64> {
    let uneven = channels.iter().map(unevenness).fold(0.0, f64::max) > UNEVEN_S;
    let (Some(&low), Some(&high)) = (rates.first(), rates.last()) else {
        return vec![];
    };
    if !uneven || rates.len() < 2 {
        return rates.to_vec();
    }
    let window_s = 2.7 / low;
    let ready: Vec<Channel> = channels
        .iter()
        .map(|c| c.tame(window_s).flat(window_s))
        .collect();
    let spectrum = Spectrum::of(&ready, 0.9 * low, 1.1 * high);
    let gain = |hz: f64| {
        (0..ready.len())
            .map(|c| spectrum.gain(c, hz, 0.03).max(0.0))
            .sum::<f64>()
    };
    let gains: Vec<f64> = rates.iter().map(|&hz| gain(hz)).collect();
    let best = gains.iter().copied().fold(0.0, f64::max);
    let stands = |gain: f64| gain > SHARE * best || gain > best - LOWER;
    rates
        .iter()
        .zip(&gains)
        .filter(|(_, g)| stands(**g))
        .map(|(&hz, _)| hz)
        .collect()
}

/// RMS distance of a channel's stamps from an even grid of their median step, s.
fn unevenness(channel: &Channel) -> f64 {
    let steps: Vec<f64> = channel.t_s.windows(2).map(|w| w[1] - w[0]).collect();
    let step = upper_median(steps.iter().copied()).unwrap_or(f64::NAN);
    let off = |s: &f64| s - (s / step).round().max(1.0) * step;
    (steps.iter().map(|s| off(s).powi(2)).sum::<f64>() / steps.len() as f64).sqrt()
}
