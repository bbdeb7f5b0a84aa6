//! When each frame is taken.

use super::chance::Chance;
use super::description::ClipPlan;

/// Time of the middle of each frame's exposure, s, from 0: even, or jittered and with frames missing.
/// Uneven stamps fall on whole milliseconds, which every container that takes them can hold.
pub fn stamps(clip: &ClipPlan, seed: u64) -> Vec<f64> {
    if !is_variable(clip) {
        let frames = (clip.seconds * clip.fps).round().max(1.0) as usize;
        return (0..frames).map(|i| i as f64 / clip.fps).collect();
    }
    let mut chance = Chance::new(seed, "stamps");
    let mut t = 0.0;
    let mut out = Vec::new();
    while t < clip.seconds {
        out.push((t * 1e3_f64).round() / 1e3);
        let stretch = 1.0 + clip.gap_jitter * chance.normal().clamp(-2.0, 2.0);
        let missing = if chance.between(0.0, 1.0) < clip.dropped {
            1.0
        } else {
            0.0
        };
        t += ((stretch + missing) / clip.fps).max(0.002);
    }
    out
}

/// Whether the gaps between frames differ.
pub fn is_variable(clip: &ClipPlan) -> bool {
    clip.gap_jitter > 0.0 || clip.dropped > 0.0
}
