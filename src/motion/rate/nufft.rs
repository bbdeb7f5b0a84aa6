//! Sums Σ cⱼ·exp(2πi k δ tⱼ) for all k at once, by spreading each sample over an even grid with a
//! Gaussian and one FFT (Greengard & Lee 2004, SIAM Review 46:443, type 1). O(n + m log m).

use rustfft::{FftPlanner, num_complex::Complex};

/// Grid points to each side over which a sample is spread; with twofold oversampling 12 leaves about 1e-12.
const SPREAD: usize = 12;

/// Σⱼ values[j]·exp(2πi·k·step_hz·t[j]) for k = 0 … count − 1, to about twelve digits.
pub(super) fn sums(t: &[f64], values: &[f64], step_hz: f64, count: usize) -> Vec<Complex<f64>> {
    use std::f64::consts::PI;
    let modes = 2 * count;
    let size = (2 * modes).max(4 * SPREAD).next_power_of_two();
    let over = size as f64 / modes as f64;
    let tau = PI * SPREAD as f64 / (modes * modes) as f64 / (over * (over - 0.5));
    let mut grid = vec![Complex::new(0.0, 0.0); size];
    let cell = 2.0 * PI / size as f64;
    // exp(−(d − l·cell)²/4τ) = exp(−d²/4τ) · exp(d·cell/2τ)^l · exp(−(l·cell)²/4τ): two exponentials a sample.
    let fixed: Vec<f64> = (0..=SPREAD)
        .map(|l| (-(l as f64 * cell).powi(2) / (4.0 * tau)).exp())
        .collect();
    for (&t, &v) in t.iter().zip(values) {
        let x = (2.0 * PI * step_hz * t).rem_euclid(2.0 * PI);
        let nearest = (x / cell).floor();
        let d = x - nearest * cell;
        let middle = v * (-d * d / (4.0 * tau)).exp();
        let ratio = (d * cell / (2.0 * tau)).exp();
        let place = nearest as usize + size;
        let (mut up, mut down) = (middle, middle);
        grid[place % size].re += middle;
        for l in 1..=SPREAD {
            up *= ratio;
            down /= ratio;
            grid[(place + l) % size].re += up * fixed[l];
            grid[(place - l) % size].re += down * fixed[l];
        }
    }
    FftPlanner::new().plan_fft_inverse(size).process(&mut grid);
    let scale = (PI / tau).sqrt() / size as f64;
    let undo = |k: usize| scale * (tau * (k * k) as f64).exp();
    (0..count).map(|k| grid[k] * undo(k)).collect()
}
