//! Which line is the rate itself: decided on the evidence of all channels and their parity.

use super::channel::{Channel, Parity};
use super::spectrum::Spectrum;

/// A wandering line lies within this fraction of its rate.
pub(super) const NEAR: f64 = 0.03;
/// Log-likelihood that a line must gain before it counts (searched place, two amplitudes).
const COST: f64 = 6.0;
/// How many of the highest peaks are looked at.
const PEAKS: usize = 8;
/// A line at twice the rate speaks less for the rate than one at the rate itself: a lone line is the
/// rate, and so is a line whose half shows with less than a quarter of its power.
const DOUBLE: f64 = 0.75;
/// In a channel that beats at twice the rate a lone line speaks for half of it.
const LOPSIDED: f64 = 0.5;

/// Rates worth following, best first: each high peak and its half, ranked by what they explain.
pub(super) fn candidates(channels: &[Channel], spectrum: &Spectrum, sampling_hz: f64) -> Vec<f64> {
    let lowest = spectrum.grid.hz(0);
    let mut ranked: Vec<(f64, f64)> = Vec::new();
    for peak in spectrum.peaks(PEAKS) {
        for hz in [peak, peak / 2.0] {
            let known = ranked
                .iter()
                .any(|(f, _)| (f - hz).abs() < 1.0 / spectrum.piece_s);
            if hz >= lowest && !known {
                ranked.push((hz, explained(channels, spectrum, hz, sampling_hz)));
            }
        }
    }
    ranked.retain(|(_, gain)| *gain > 0.0);
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
    ranked.into_iter().map(|(hz, _)| hz).collect()
}

/// Log-likelihood that a wobble of rate `hz` explains over all channels.
fn explained(channels: &[Channel], spectrum: &Spectrum, hz: f64, sampling_hz: f64) -> f64 {
    let gain = |c: usize, f: f64| (spectrum.gain(c, f, NEAR) - COST).max(0.0);
    let per_channel = |(c, channel): (usize, &Channel)| {
        let double = folded(2.0 * hz, sampling_hz);
        let twice = if (double - hz).abs() > 2.0 * NEAR * hz {
            gain(c, double)
        } else {
            0.0
        };
        match channel.parity {
            Parity::Odd => gain(c, hz),
            Parity::Any => gain(c, hz) + DOUBLE * twice,
            Parity::Even => LOPSIDED * gain(c, hz) + twice,
        }
    };
    channels.iter().enumerate().map(per_channel).sum()
}

/// The harmonics (1, 2) of `hz` that channel `c` shows above its noise.
pub(super) fn shown(
    channel: &Channel,
    spectrum: &Spectrum,
    c: usize,
    hz: f64,
    sampling_hz: f64,
) -> Vec<u32> {
    let double = folded(2.0 * hz, sampling_hz);
    let apart = (double - hz).abs() > 2.0 * NEAR * hz && double > spectrum.grid.hz(0);
    let mut shown = Vec::new();
    if spectrum.gain(c, hz, NEAR) > COST {
        shown.push(1);
    }
    if channel.parity != Parity::Odd && apart && spectrum.gain(c, double, NEAR) > COST {
        shown.push(2);
    }
    shown
}

/// Where a wave of `hz` shows when sampled at `sampling_hz`.
pub(super) fn folded(hz: f64, sampling_hz: f64) -> f64 {
    let turns = (hz / sampling_hz).round();
    (hz - turns * sampling_hz).abs()
}
