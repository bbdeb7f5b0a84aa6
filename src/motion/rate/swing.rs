//! How strongly a quantity swings at a known phase, with the doubt its noise leaves.

use super::channel::Channel;
use super::harmonics::{NEAR, folded};
use super::noise::{Band, Noise};
use super::phase::Phase;
use super::tone::{Tone, Wave};

/// Zero-to-peak swing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swing {
    /// Zero-to-peak, in the channel's unit.
    pub peak: f64,
    /// Standard deviation.
    pub sd: f64,
    /// Cosine and sine part at the rate itself.
    pub parts: [f64; 2],
}

/// Half width of the window that takes out the slow way, cycles.
const WINDOW_CYCLES: f64 = 2.7;
/// Slow way and wave are fitted in turn so often.
const ROUNDS: usize = 4;
/// A higher harmonic counts from so many standard deviations on.
const SIGNIFICANT: f64 = 4.0;

/// The swing of `channel` at `phase`, with those of the `harmonics` that show; `None` for too few samples.
pub fn wave_at(channel: &Channel, phase: &Phase, harmonics: &[u32]) -> Option<Swing> {
    let (&first, &last) = (phase.t_s.first()?, phase.t_s.last()?);
    let hz = phase.mean_rate(first, last);
    if channel.t_s.len() < 16 {
        return None;
    }
    let window_s = WINDOW_CYCLES / hz;
    let source = channel.tame(window_s);
    let flat = source.flat(window_s);
    let nyquist = super::nyquist_hz(&channel.t_s);
    let near = folded(hz, 2.0 * nyquist);
    let apart = |k: &u32| *k == 1 || told_apart(*k, hz, 2.0 * nyquist);
    let harmonics: Vec<u32> = harmonics.iter().copied().filter(apart).collect();
    let mut tone = Tone {
        source,
        trust: vec![1.0; flat.values.len()],
        channel: flat,
        harmonics: harmonics.clone(),
        weight: 1.0,
    };
    for _ in 0..ROUNDS {
        tone.retrend(phase, window_s);
    }
    let wave = tone.wave(phase);
    let band = Band {
        hz: near,
        nyquist_hz: nyquist,
        follows_hz: 0.0,
        used: 3.0,
    };
    let noise = Noise::around(&tone, phase, band);
    let sd = (2.0 * noise.variance / tone.channel.values.len() as f64).sqrt();
    let real = |k: &u32| *k == 1 || wave.amplitude(*k) > SIGNIFICANT * sd;
    let kept: Vec<u32> = harmonics.iter().copied().filter(real).collect();
    tone.harmonics = kept;
    let wave = tone.wave(phase);
    Some(Swing {
        peak: peak(&wave),
        sd,
        parts: wave.parts.first().copied()?,
    })
}

/// Whether harmonic `k` of `hz` shows apart from the wave itself and from the slow way when sampled at
/// `sampling_hz`: the third of 5 Hz at 15 frames a second stands still.
fn told_apart(k: u32, hz: f64, sampling_hz: f64) -> bool {
    let (own, fold) = (
        folded(hz, sampling_hz),
        folded(f64::from(k) * hz, sampling_hz),
    );
    let wanders = NEAR * f64::from(k + 1) * hz;
    fold > hz / WINDOW_CYCLES + wanders && (fold - own).abs() > wanders
}

/// Half the distance from the wave's highest to its lowest value.
fn peak(wave: &Wave) -> f64 {
    if wave.harmonics.len() == 1 {
        return wave.amplitude(1);
    }
    let values: Vec<f64> = (0..360).map(|i| wave.at(f64::from(i) / 360.0).0).collect();
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    0.5 * (high - low)
}

#[cfg(test)]
mod tests {
    use super::super::channel::Parity;
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_third_harmonic_that_folds_away_is_told_from_none() {
        // 3 × 4.97 Hz shows at 0.09 Hz at 15 frames a second, and at 14.9 Hz at 60.
        assert!(!told_apart(3, 4.97, 15.0));
        assert!(told_apart(3, 4.97, 60.0));
        // 3 × 7.5 Hz lies on 7.5 Hz itself at 30.
        assert!(!told_apart(3, 7.5, 30.0));
    }

    /// A pure sine on a slow sway, sampled so that its third harmonic would stand still: the sway is no part of it.
    #[test]
    fn a_sway_is_not_taken_for_a_folded_third_harmonic() {
        let t: Vec<f64> = (0..110).map(|i| f64::from(i) / 15.0).collect();
        let sine = |t: f64| 17.0 * (std::f64::consts::TAU * 4.97 * t).sin();
        let y: Vec<f64> = t.iter().map(|&t| sine(t) + 3.0 * (0.6 * t).cos()).collect();
        let phase = Phase::steady(4.97, t[0], t[109]);
        let swing = wave_at(&Channel::new("axis", &t, &y, Parity::Odd), &phase, &[1, 3]);
        assert_abs_diff_eq!(swing.unwrap().peak, 17.0, epsilon = 0.3);
    }
}
