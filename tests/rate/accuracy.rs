//! The rate estimator's parts against values from outside.

use crate::support::Dice;
use approx::assert_relative_eq;
use proptest::prelude::*;
use rayon::prelude::*;
use std::f64::consts::TAU;
use truerun::motion::rate::periodogram::{Grid, fast, slow};
use truerun::motion::rate::{Channel, Parity, RateOptions, false_alarm, find, sine};

fn reference(name: &str) -> String {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(root.join("tests/reference").join(name)).unwrap()
}

/// NIST StRD "ENSO": certified periods, amplitudes, standard deviations and residual sum of squares,
/// from both of NIST's starting points for the periods.
#[test]
fn sine_fit_reproduces_the_certified_enso_values() {
    let text = reference("ENSO.dat");
    let rows: Vec<Vec<f64>> = text
        .lines()
        .skip(60)
        .map(|l| l.split_whitespace().map(|c| c.parse().unwrap()).collect())
        .collect();
    let (y, t): (Vec<f64>, Vec<f64>) = rows.iter().map(|r| (r[0], r[1])).unzip();
    assert_eq!(t.len(), 168);
    for starts in [[40.0, 25.0], [44.0, 26.0]] {
        let fit = sine::fit(&t, &y, &[1.0 / 12.0], &starts.map(|p| 1.0 / p)).unwrap();
        assert_relative_eq!(fit.residual_squares, 788.53978668, max_relative = 1e-9);
        assert_relative_eq!(fit.level[0], 10.510749193, max_relative = 1e-8);
        assert_relative_eq!(fit.level[1], 0.17488832467, max_relative = 1e-6);
        let certified = [
            // period, its sd, cosine, its sd, sine, its sd
            [
                12.0,
                0.0,
                3.0762128085,
                0.24310052139,
                0.53280138227,
                0.24354686618,
            ],
            [
                44.311088700,
                0.94408025976,
                -1.6231428586,
                0.28078369611,
                0.52554493756,
                0.48073701119,
            ],
            [
                26.887614440,
                0.41612939130,
                0.21232288488,
                0.51460022911,
                1.4966870418,
                0.25434468893,
            ],
        ];
        for (sine, c) in fit.sines.iter().zip(certified) {
            assert_relative_eq!(1.0 / sine.hz, c[0], max_relative = 1e-7);
            assert_relative_eq!(sine.hz_sd / sine.hz.powi(2), c[1], max_relative = 1e-4);
            assert_relative_eq!(sine.cosine[0], c[2], max_relative = 1e-5);
            assert_relative_eq!(sine.cosine[1], c[3], max_relative = 1e-4);
            assert_relative_eq!(sine.sine[0], c[4], max_relative = 1e-5);
            assert_relative_eq!(sine.sine[1], c[5], max_relative = 1e-4);
        }
    }
}

/// Four-parameter sine fit (IEEE 1057), value computed with an independent implementation: 3 cos −
/// 1.5 sin + 0.8 at 6.37 Hz, 480 samples at 120/s, from 6.30 Hz.
#[test]
fn sine_fit_finds_the_ieee_1057_check_amplitude() {
    let t: Vec<f64> = (0..480).map(|i| f64::from(i) / 120.0).collect();
    let y: Vec<f64> = t
        .iter()
        .map(|t| 3.0 * (TAU * 6.37 * t).cos() - 1.5 * (TAU * 6.37 * t).sin() + 0.8)
        .collect();
    let fit = sine::fit(&t, &y, &[], &[6.30]).unwrap();
    assert_relative_eq!(fit.sines[0].amplitude(), 3.35410197, epsilon = 1e-8);
    assert_relative_eq!(fit.sines[0].hz, 6.37, epsilon = 1e-10);
    assert_relative_eq!(fit.level[0], 0.8, epsilon = 1e-9);
}

#[test]
fn sine_fit_refuses_what_it_cannot_fit() {
    assert_eq!(sine::fit(&[], &[], &[], &[2.0]), None);
    assert_eq!(
        sine::fit(&[0.0, 0.1, 0.2], &[1.0, 2.0, 1.0], &[], &[2.0]),
        None
    );
    let t: Vec<f64> = (0..30).map(f64::from).collect();
    assert_eq!(sine::fit(&t, &[1.0; 30], &[0.0], &[]), None);
}

/// False-alarm probabilities of astropy's standard normalisation (Baluev 2008) for t = 1…100, up to 2 Hz.
#[test]
fn false_alarm_equals_astropy() {
    let t: Vec<f64> = (1..=100).map(f64::from).collect();
    for (z, single, any) in [
        (0.19, 3.643538942e-5, 0.0249359356),
        (0.30, 3.070824103e-8, 2.87565690e-5),
    ] {
        assert_relative_eq!(
            false_alarm::at_one_frequency(z, 100),
            single,
            max_relative = 1e-9
        );
        assert_relative_eq!(false_alarm::up_to(2.0, z, &t), any, max_relative = 1e-8);
    }
}

/// Powers by SciPy 1.17.1 (see tests/reference/periodogram.py).
#[test]
fn periodogram_equals_scipy() {
    let cases: serde_json::Value = serde_json::from_str(&reference("periodogram.json")).unwrap();
    for case in cases.as_array().unwrap() {
        let list = |key: &str| -> Vec<f64> {
            case[key]
                .as_array()
                .unwrap()
                .iter()
                .map(|v| v.as_f64().unwrap())
                .collect()
        };
        let (t, y) = (list("t_s"), list("values"));
        for (hz, z) in list("hz").iter().zip(list("power")) {
            assert_relative_eq!(slow(&t, &y, *hz), z, epsilon = 1e-10);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn fast_periodogram_equals_the_slow_one(
        number in 0u64..1_000_000, n in 12usize..400, start in -50.0..50.0f64, first in 1usize..40,
    ) {
        let mut dice = Dice::new(number);
        let mut t: Vec<f64> = (0..n).map(|_| start + dice.between(0.0, 7.0)).collect();
        t.sort_by(f64::total_cmp);
        let y: Vec<f64> = t.iter().map(|t| (TAU * 4.3 * t).sin() + dice.normal()).collect();
        let grid = Grid { step_hz: 0.07, first, count: 200 };
        for (i, z) in fast(&t, &y, grid).into_iter().enumerate() {
            let plain = slow(&t, &y, grid.hz(i));
            prop_assert!((z - plain).abs() < 1e-8, "{} Hz: {} against {}", grid.hz(i), z, plain);
        }
    }
}

/// Cramér–Rao bound for a real tone in white noise, Hz: √(24 σ² fs²/((2π)² A² N(N²−1))).
fn bound(sigma: f64, fps: f64, amplitude: f64, n: f64) -> f64 {
    (24.0f64).sqrt() * sigma * fps / (TAU * amplitude * (n * (n * n - 1.0)).sqrt())
}

/// Values of the bound computed from the Fisher matrix elsewhere.
#[test]
fn bound_has_its_published_values() {
    assert_relative_eq!(
        bound(2.0, 30.0, 10.0, 300.0),
        9.0032e-4,
        max_relative = 1e-4
    );
    assert_relative_eq!(bound(1.5, 60.0, 8.0, 600.0), 5.9683e-4, max_relative = 1e-4);
}

/// RMS error over the bound, steady tone in white noise, over SNR and length.
#[test]
fn error_is_near_the_least_possible() {
    for (db, n, fps) in [
        (0.0, 240, 30.0),
        (0.0, 480, 60.0),
        (10.0, 120, 30.0),
        (20.0, 120, 60.0),
        (6.0, 600, 30.0),
    ] {
        let sigma = 10.0 / 2f64.sqrt() / 10f64.powf(db / 20.0);
        let squares: Vec<f64> = (0..160u64)
            .into_par_iter()
            .filter_map(|number| {
                let mut dice = Dice::new(1000 + number);
                let (hz, turn) = (dice.between(2.5, 0.4 * fps), dice.between(0.0, TAU));
                let t: Vec<f64> = (0..n).map(|i| f64::from(i) / fps).collect();
                let y: Vec<f64> = t
                    .iter()
                    .map(|t| 10.0 * (TAU * hz * t + turn).sin() + sigma * dice.normal())
                    .collect();
                let channel = Channel::new("axis", &t, &y, Parity::Odd);
                let fit = find(&[channel], &RateOptions::default(), |_| true)?;
                Some((fit.hz.value? - hz).powi(2))
            })
            .collect();
        let rms = (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
        let over = rms / bound(sigma, fps, 10.0, f64::from(n));
        println!(
            "{db} dB, {n} samples at {fps}/s: {over:.3} of the bound, {} found",
            squares.len()
        );
        assert_eq!(squares.len(), 160);
        assert!(over <= 1.2, "{over} at {db} dB, {n} samples");
    }
}
