//! CPU time of the rate estimator on long recordings.

use std::f64::consts::TAU;
use truerun::motion::rate::periodogram::{Grid, fast, slow};
use truerun::motion::rate::{Channel, Parity, RateOptions, find};

fn main() {
    divan::main();
}

fn channels(seconds: f64, fps: f64) -> Vec<Channel> {
    let t: Vec<f64> = (0..(seconds * fps) as usize)
        .map(|i| i as f64 / fps)
        .collect();
    let phase = |t: f64| 5.3 * t + 0.2 * (TAU * 0.13 * t).sin();
    // Fractional parts of a large multiple of a sine: even noise without a random generator.
    let hiss = |t: f64, k: f64| ((t * 12.9898 * k).sin() * 43_758.545).fract();
    let made = |name, a: f64, k: f64, parity| {
        let y: Vec<f64> = t
            .iter()
            .map(|&t| a * (TAU * phase(t)).sin() + hiss(t, k))
            .collect();
        Channel::new(name, &t, &y, parity)
    };
    vec![
        made("axis", 15.0, 1.0, Parity::Odd),
        made("sway", 2.0, 1.1, Parity::Odd),
        made("length", 0.5, 1.2, Parity::Any),
        made("width", 0.2, 1.3, Parity::Any),
        made("brightness", 0.8, 1.4, Parity::Any),
    ]
}

/// Two minutes at 240 frames a second, five channels.
#[divan::bench(sample_count = 3)]
fn two_minutes_at_240(bencher: divan::Bencher) {
    let channels = channels(120.0, 240.0);
    bencher.bench(|| find(&channels, &RateOptions::default(), |_| true).is_some());
}

/// An ordinary clip.
#[divan::bench(sample_count = 10)]
fn eight_seconds_at_30(bencher: divan::Bencher) {
    let channels = channels(8.0, 30.0);
    bencher.bench(|| find(&channels, &RateOptions::default(), |_| true).is_some());
}

#[divan::bench(sample_count = 5)]
fn fast_periodogram(bencher: divan::Bencher) {
    let c = &channels(30.0, 60.0)[0];
    bencher.bench(|| fast(&c.t_s, &c.values, Grid::new(0.1, 30.0, 1.0 / 180.0)));
}

#[divan::bench(sample_count = 5)]
fn slow_periodogram(bencher: divan::Bencher) {
    let c = &channels(30.0, 60.0)[0];
    let grid = Grid::new(0.1, 30.0, 1.0 / 180.0);
    bencher.bench(|| {
        (0..grid.count)
            .map(|i| slow(&c.t_s, &c.values, grid.hz(i)))
            .sum::<f64>()
    });
}
