//! How likely noise alone gives a peak that high.

use statrs::function::gamma::ln_gamma;

/// Chance that white noise alone reaches power `z` (standard normalisation) at one given frequency,
/// `n` samples and a floating mean: (1 − z)^((n − 3)/2).
pub fn at_one_frequency(z: f64, n: usize) -> f64 {
    (1.0 - z.clamp(0.0, 1.0)).powf(0.5 * (n as f64 - 3.0))
}

/// Chance that white noise alone reaches power `z` anywhere up to `max_hz`: the upper bound of Baluev
/// 2008 (MNRAS 385:1279, eqs 5–6 and table 1 for a floating mean), for the stamps `t_s`.
///
/// It knows white noise only; see `detect` for the test against the noise as it is.
pub fn up_to(max_hz: f64, z: f64, t_s: &[f64]) -> f64 {
    let n = t_s.len() as f64;
    let mean = t_s.iter().sum::<f64>() / n;
    let spread = t_s.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / n;
    let width = max_hz * (4.0 * std::f64::consts::PI * spread).sqrt();
    let (nh, nk) = (n - 1.0, n - 3.0);
    let gamma = (2.0 / nh).sqrt() * (ln_gamma(nh / 2.0) - ln_gamma((nh - 1.0) / 2.0)).exp();
    let single = at_one_frequency(z, t_s.len());
    let tau = gamma * width * (1.0 - z).powf(0.5 * (nk - 1.0)) * (0.5 * nh * z).sqrt();
    1.0 - (1.0 - single) * (-tau).exp()
}
