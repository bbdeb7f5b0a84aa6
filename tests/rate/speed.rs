//! A long recording is followed in little time.

use crate::support::Dice;
use std::f64::consts::TAU;
use std::time::Instant;
use truerun::motion::rate::{Channel, Parity, RateOptions, find};

#[test]
fn two_minutes_at_240_frames_a_second() {
    let t: Vec<f64> = (0..28_800).map(|i| f64::from(i) / 240.0).collect();
    let phase = |t: f64| 5.3 * t + 0.3 * (TAU * 0.13 * t).sin();
    let made = |name, a: f64, number: u64, parity| {
        let mut dice = Dice::new(number);
        let y: Vec<f64> = t
            .iter()
            .map(|&t| a * (TAU * phase(t)).sin() + dice.normal())
            .collect();
        Channel::new(name, &t, &y, parity)
    };
    let channels = [
        made("axis", 15.0, 1, Parity::Odd),
        made("sway", 2.0, 2, Parity::Odd),
        made("length", 0.5, 3, Parity::Any),
        made("width", 0.2, 4, Parity::Any),
        made("brightness", 0.8, 5, Parity::Any),
    ];
    let start = Instant::now();
    let fit = find(&channels, &RateOptions::default(), |_| true).unwrap();
    println!("{:?}, {:?}", start.elapsed(), fit.hz);
    let truth = (phase(t[t.len() - 1]) - phase(0.0)) / t[t.len() - 1];
    assert!((fit.hz.value.unwrap() - truth).abs() < 0.005);
}

/// An hour of a rod tip at 1,000 samples a second, three axes.
#[test]
#[ignore = "takes some ten seconds; run with --ignored"]
fn an_hour_at_a_thousand_a_second() {
    let t: Vec<f64> = (0..3_600_000).map(|i| f64::from(i) / 1000.0).collect();
    let phase = |t: f64| 6.1 * t + 0.5 * (TAU * 0.05 * t).sin();
    let made = |name, a: f64, number: u64| {
        let mut dice = Dice::new(number);
        let y: Vec<f64> = t
            .iter()
            .map(|&t| a * (TAU * phase(t)).sin() + dice.normal())
            .collect();
        Channel::new(name, &t, &y, Parity::Any)
    };
    let channels = [made("x", 1.0, 1), made("y", 0.3, 2), made("z", 0.1, 3)];
    let start = Instant::now();
    let options = RateOptions {
        max_hz: Some(40.0),
        ..RateOptions::default()
    };
    let fit = find(&channels, &options, |_| true).unwrap();
    println!("{:?}, {:?}", start.elapsed(), fit.hz);
    let truth = (phase(t[t.len() - 1]) - phase(0.0)) / t[t.len() - 1];
    assert!((fit.hz.value.unwrap() - truth).abs() < 0.001);
}
