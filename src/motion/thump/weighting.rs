//! The hand-arm weighting Wh of ISO 5349-1.

use rustfft::num_complex::Complex;
use std::f64::consts::{FRAC_1_SQRT_2, TAU};

/// Factor of the weighting Wh at `hz`: band limits and weighting as ISO 8041-1:2017 defines them, with
/// f1 = 10^0.8, f2 = 10^3.1, Q1 = Q2 = 1/√2, f3 = f4 = 100/2π, Q4 = 0.64.
///
/// Here it is a weighting only. The standard is scoped to 8–1000 Hz and to injury from tools; nothing
/// about health follows from a rod tip's thump.
pub fn wh(hz: f64) -> f64 {
    let s = Complex::new(0.0, TAU * hz);
    let w = |f: f64| TAU * f;
    let (w1, w2) = (w(10f64.powf(0.8)), w(10f64.powf(3.1)));
    let (w3, w4) = (100.0, 100.0);
    let high_pass = s * s / (s * s + s * w1 / FRAC_1_SQRT_2 + w1 * w1);
    let low_pass = w2 * w2 / (s * s + s * w2 / FRAC_1_SQRT_2 + w2 * w2);
    let weighting = (s + w3) * w4 * w4 / ((s * s + s * w4 / 0.64 + w4 * w4) * w3);
    (high_pass * low_pass * weighting).norm()
}
