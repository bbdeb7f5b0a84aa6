//! Cycles across gaps: could one more or one less have passed unseen?

use super::phase::Phase;
use super::tone::Tone;
use super::wander;

/// Gaps shorter than this many cycles leave no doubt.
const SHORT: f64 = 1.5;
/// At most so many of the longest gaps are tried.
const TRIED: usize = 3;

/// `phase` with the most probable number of cycles in each gap, and the chance that one is wrong.
pub(super) fn settled(tones: &[Tone], phase: Phase, hz: f64) -> (Phase, f64) {
    let mut best = phase;
    let mut doubt = 0.0;
    for gap in gaps(tones, hz) {
        let follow = |turns: f64| {
            let start = shifted(&best, gap, turns);
            wander::paths(tones, &[start], hz, &wander::FEW_STRENGTHS)
        };
        let tried: Vec<_> = [0.0, -1.0, 1.0].into_iter().map(follow).collect();
        let top = tried
            .iter()
            .map(|p| p.evidence())
            .fold(f64::NEG_INFINITY, f64::max);
        let total: f64 = tried.iter().map(|p| (p.evidence() - top).exp()).sum();
        let chosen = tried.iter().position(|p| p.evidence() == top).unwrap_or(0);
        // The shifted starts may settle back onto the same path: that is no other answer.
        let span = wander::span(tones);
        let count = |i: usize| {
            tried[i]
                .best()
                .map_or(0.0, |p| p.phase.at(span[1]) - p.phase.at(span[0]))
        };
        let same: f64 = (0..tried.len())
            .filter(|&i| (count(i) - count(chosen)).abs() < 0.5)
            .map(|i| (tried[i].evidence() - top).exp())
            .sum();
        doubt += 1.0 - same / total;
        if let (true, Some(path)) = (chosen > 0, tried[chosen].best()) {
            best = path.phase.clone();
        }
    }
    (best, doubt)
}

/// A rate that wanders by 3 % is off by a quarter of a cycle after so many cycles out of sight.
const BLIND: f64 = 8.0;
/// Out of sight: a stretch of this length, s, in which less than half of the usual samples were seen.
const STRETCH_S: f64 = 0.25;

/// Whether the lure was out of sight, but for a few frames, for so long that cycles can only be guessed:
/// lone samples in a long gap may as well be something else.
pub(super) fn blind(tones: &[Tone], hz: f64, sampling_hz: f64) -> bool {
    let [from_s, to_s] = wander::span(tones);
    let count = ((to_s - from_s) / STRETCH_S).floor().max(1.0);
    let width = (to_s - from_s) / count;
    let seen = |piece: usize| {
        let start = from_s + piece as f64 * width;
        let within = |t: &Tone| {
            let t = &t.channel.t_s;
            t.partition_point(|&t| t < start + width) - t.partition_point(|&t| t < start)
        };
        let most = tones.iter().map(within).max().unwrap_or(0);
        most as f64 >= 0.5 * width * usual_hz(tones).min(sampling_hz)
    };
    let mut unseen_s: f64 = 0.0;
    (0..count as usize).any(|piece| {
        unseen_s = if seen(piece) { 0.0 } else { unseen_s + width };
        unseen_s * hz > BLIND
    })
}

/// Samples per second of the densest channel as it is followed (thinned, where sampling is dense).
fn usual_hz(tones: &[Tone]) -> f64 {
    let rates = tones
        .iter()
        .map(|t| 2.0 * super::nyquist_hz(&t.channel.t_s));
    rates.fold(0.0, f64::max)
}

/// The longest gaps that no channel sees into, longest first, `[from, to]` in s.
fn gaps(tones: &[Tone], hz: f64) -> Vec<[f64; 2]> {
    let mut stamps: Vec<f64> = tones
        .iter()
        .flat_map(|t| t.channel.t_s.iter().copied())
        .collect();
    stamps.sort_by(f64::total_cmp);
    let long = |w: &&[f64]| w[1] - w[0] > SHORT / hz;
    let mut gaps: Vec<[f64; 2]> = stamps
        .windows(2)
        .filter(long)
        .map(|w| [w[0], w[1]])
        .collect();
    gaps.sort_by(|a, b| (b[1] - b[0]).total_cmp(&(a[1] - a[0])));
    gaps.truncate(TRIED);
    gaps
}

/// `phase` with `turns` more cycles in the gap.
fn shifted(phase: &Phase, [from_s, to_s]: [f64; 2], turns: f64) -> Phase {
    let mut shifted = phase.clone();
    for (t, c) in shifted.t_s.iter().zip(&mut shifted.cycles) {
        *c += turns * ((t - from_s) / (to_s - from_s)).clamp(0.0, 1.0);
    }
    shifted
}
