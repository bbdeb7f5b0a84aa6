//! Sine fits for the picture only: the figures come from `motion`, these show what they rest on.

use std::f64::consts::TAU;

/// Amplitude of the least-squares sine (with a constant) at each rate of `hz`, in the unit of `y`.
///
/// Works on any time stamps; O(len(t)·len(hz)). The amplitude is √(a² + b²) of the fit
/// y ≈ c + a·cos 2πft + b·sin 2πft, the quantity that a Lomb–Scargle periodogram squares
/// (Zechmeister & Kürster 2009, A&A 496:577).
pub fn amplitude_spectrum(t: &[f64], y: &[f64], hz: &[f64]) -> Vec<f64> {
    let weights = vec![1.0; t.len()];
    hz.iter()
        .map(|f| match fit(t, y, &weights, &[TAU * f], 0.0) {
            Some(c) => c[1].hypot(c[2]),
            None => 0.0,
        })
        .collect()
}

/// The wobble near each sample of `at`: a sine at `hz` with its second harmonic and a constant,
/// fitted with a window of about three cycles, so that it may wander in phase and size.
/// NaN where too few samples lie near.
pub fn local_wobble(t: &[f64], y: &[f64], hz: f64, at: &[f64]) -> Vec<f64> {
    let sigma = 1.0 / hz;
    at.iter()
        .map(|&now| {
            let from = t.partition_point(|&x| x < now - 2.5 * sigma);
            let to = t.partition_point(|&x| x <= now + 2.5 * sigma);
            let weights: Vec<f64> = t[from..to]
                .iter()
                .map(|x| (-0.5 * ((x - now) / sigma).powi(2)).exp())
                .collect();
            let rates = [TAU * hz, 2.0 * TAU * hz];
            // At its own time origin every sine is 0 and every cosine 1.
            fit(&t[from..to], &y[from..to], &weights, &rates, now)
                .map_or(f64::NAN, |c| c[0] + c[1] + c[3])
        })
        .collect()
}

/// Weighted least squares for [constant, cos, sin, cos, sin, …] at the angular `rates`, times counted
/// from `origin`. `None` where the samples cannot tell the parts apart.
fn fit(t: &[f64], y: &[f64], weights: &[f64], rates: &[f64], origin: f64) -> Option<Vec<f64>> {
    let parts = 1 + 2 * rates.len();
    if t.len() <= parts {
        return None;
    }
    let mut normal = nalgebra::DMatrix::<f64>::zeros(parts, parts);
    let mut right = nalgebra::DVector::<f64>::zeros(parts);
    let mut row = nalgebra::DVector::<f64>::zeros(parts);
    for ((time, value), weight) in t.iter().zip(y).zip(weights) {
        row[0] = 1.0;
        for (i, rate) in rates.iter().enumerate() {
            let (sin, cos) = (rate * (time - origin)).sin_cos();
            row[1 + 2 * i] = cos;
            row[2 + 2 * i] = sin;
        }
        normal.ger(*weight, &row, &row, 1.0);
        right.axpy(weight * value, &row, 1.0);
    }
    // At half the rate of evenly spaced frames sine and cosine are one: a grain of ridge keeps the size
    // of what cannot be told apart small instead of endless.
    let grain = 1e-6 * weights.iter().sum::<f64>();
    for i in 1..parts {
        normal[(i, i)] += grain;
    }
    let solved = normal.cholesky()?.solve(&right);
    solved
        .iter()
        .all(|c| c.is_finite())
        .then(|| solved.iter().copied().collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn uneven() -> Vec<f64> {
        (0..300)
            .map(|i| i as f64 / 30.0 + 0.004 * (7.3 * i as f64).sin())
            .collect()
    }

    #[test]
    fn the_spectrum_peaks_at_the_tone_with_its_amplitude() {
        let t = uneven();
        let y: Vec<f64> = t
            .iter()
            .map(|t| 2.0 + 16.0 * (TAU * 4.6 * t + 0.4).sin())
            .collect();
        let found = amplitude_spectrum(&t, &y, &[3.0, 4.6, 6.0]);
        assert_abs_diff_eq!(found[1], 16.0, epsilon = 1e-4);
        assert!(found[0] < 1.0 && found[2] < 1.0, "{found:?}");
    }

    #[test]
    fn the_local_wobble_follows_the_wobble_and_leaves_gaps_open() {
        let t = uneven();
        let wobble = |t: f64| 3.0 + 16.0 * (TAU * 4.6 * t).sin() + 2.0 * (TAU * 9.2 * t).cos();
        let y: Vec<f64> = t.iter().map(|t| wobble(*t)).collect();
        let found = local_wobble(&t, &y, 4.6, &[5.0, 5.1, 100.0]);
        assert_abs_diff_eq!(found[0], wobble(5.0), epsilon = 1e-4);
        assert_abs_diff_eq!(found[1], wobble(5.1), epsilon = 1e-4);
        assert!(found[2].is_nan());
    }
}
