//! One-third-octave bands of IEC 61260-1.

use super::BandLevel;

/// The octave ratio G = 10^(3/10) (IEC 61260-1, base ten).
const BELS_PER_OCTAVE: f64 = 0.3;

/// Exact midband of third-octave number `n` (0 is 1 Hz, 30 is 1 kHz): 10^(n/10) Hz, which equals
/// 1000 Hz · G^((n − 30)/3).
pub fn midband_hz(n: i32) -> f64 {
    10f64.powf(f64::from(n) / 10.0)
}

/// The nominal midband (IEC 61260-1 annex E, from memory) by which a band is called: 1, 1.25, 1.6, 2 …
pub fn nominal_hz(mid_hz: f64) -> f64 {
    const NAMES: [f64; 10] = [1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0];
    let n = (10.0 * mid_hz.log10()).round() as i32;
    NAMES[n.rem_euclid(10) as usize] * 10f64.powi(n.div_euclid(10))
}

/// Lower and upper edge of a band: midband · G^(∓1/6).
pub fn edges_hz(mid_hz: f64) -> [f64; 2] {
    let half = 10f64.powf(BELS_PER_OCTAVE / 6.0);
    [mid_hz / half, mid_hz * half]
}

/// Levels of the bands that lie whole between twice the spectrum's resolution and `to_hz`, from a
/// power density on rates `step_hz` apart. Each place of the spectrum is shared out between the bands
/// that it touches.
pub fn levels(density: &[f64], step_hz: f64, to_hz: f64) -> Vec<BandLevel> {
    let wide_enough = |[lo, hi]: [f64; 2]| hi - lo >= 2.0 * step_hz;
    (0..30)
        .map(|n| (midband_hz(n), edges_hz(midband_hz(n))))
        .filter(|(_, edges)| wide_enough(*edges) && edges[1] <= to_hz)
        .map(|(mid_hz, edges)| BandLevel {
            mid_hz,
            rms: power_between(density, step_hz, edges).sqrt(),
        })
        .collect()
}

/// Power between two rates.
fn power_between(density: &[f64], step_hz: f64, [lo, hi]: [f64; 2]) -> f64 {
    let share = |i: usize| {
        let (a, b) = ((i as f64 - 0.5) * step_hz, (i as f64 + 0.5) * step_hz);
        (b.min(hi) - a.max(lo)).max(0.0)
    };
    let first = (lo / step_hz - 1.0).max(0.0) as usize;
    let last = ((hi / step_hz + 1.0) as usize).min(density.len().saturating_sub(1));
    (first..=last)
        .filter_map(|i| Some(density.get(i)? * share(i)))
        .sum()
}
