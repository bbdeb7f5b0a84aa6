//! Does the wave go on through the clip, or is it a burst?

use super::phase::Phase;
use super::tone::{Tone, Wave};

/// Cycles per piece.
const CYCLES: f64 = 4.0;

/// Part of the time over which the power of the wave is spread: (Σp)²/(n·Σp²) over `n` pieces of a few
/// cycles that were seen, where p is the power of the clearest tone's wave in the piece.
pub(super) fn of(tones: &[Tone], phase: &Phase, hz: f64, [from_s, to_s]: [f64; 2]) -> f64 {
    let weight = |t: &Tone| t.phase_weight(phase);
    let Some(tone) = tones.iter().max_by(|a, b| weight(a).total_cmp(&weight(b))) else {
        return 0.0;
    };
    let count = ((to_s - from_s) * hz / CYCLES).floor().max(1.0);
    let width = (to_s - from_s) / count;
    let powers: Vec<f64> = (0..count as usize)
        .filter_map(|piece| power(tone, phase, from_s + piece as f64 * width, width))
        .collect();
    let (sum, squares) = powers
        .iter()
        .fold((0.0, 0.0), |(s, q), p| (s + p, q + p * p));
    if squares > 0.0 {
        sum * sum / (powers.len() as f64 * squares)
    } else {
        0.0
    }
}

/// Mean square of the wave in one piece; `None` where too little of it was seen.
fn power(tone: &Tone, phase: &Phase, from_s: f64, width: f64) -> Option<f64> {
    let t = &tone.channel.t_s;
    let a = t.partition_point(|&t| t < from_s);
    let b = t.partition_point(|&t| t < from_s + width);
    if b - a < 2 * (1 + 2 * tone.harmonics.len()) {
        return None;
    }
    let cycles: Vec<f64> = t[a..b].iter().map(|&t| phase.at(t)).collect();
    let wave = Wave::fit(&cycles, &tone.channel.values[a..b], &tone.harmonics);
    Some(
        tone.harmonics
            .iter()
            .map(|&k| 0.5 * wave.amplitude(k).powi(2))
            .sum(),
    )
}
