//! What counts as a wobble and what does not, on made-up series with known truth.

use crate::support::{Dice, series, wandering};
use rayon::prelude::*;
use std::f64::consts::TAU;
use truerun::Status;
use truerun::camera::{Setup, View};
use truerun::motion::wobble::{Picture, WobbleFit, wobble};

fn setup(view: View, tilt_deg: Option<f64>) -> Setup {
    Setup {
        length_mm: Some(58.0),
        tilt_deg,
        ..Setup::new(view)
    }
}

fn stamps(seconds: f64, fps: f64) -> Vec<f64> {
    (0..(seconds * fps) as usize)
        .map(|i| i as f64 / fps)
        .collect()
}

/// Ripples and hand shake: a few waves of 0.6–1.8 Hz, together up to `peak`.
fn ripples(dice: &mut Dice, t: &[f64], peak: f64) -> Vec<f64> {
    let waves: Vec<(f64, f64)> = (0..3)
        .map(|_| (dice.between(0.6, 1.8), dice.between(0.0, TAU)))
        .collect();
    let wave = |t: f64| {
        waves
            .iter()
            .map(|(f, p)| (TAU * f * t + p).sin())
            .sum::<f64>()
    };
    t.iter().map(|&t| peak / 2.0 * wave(t)).collect()
}

fn sum(parts: &[Vec<f64>]) -> Vec<f64> {
    (0..parts[0].len())
        .map(|i| parts.iter().map(|p| p[i]).sum())
        .collect()
}

fn noisy(dice: &mut Dice, t: &[f64], sd: f64) -> Vec<f64> {
    sum(&[dice.slow(t, 0.7 * sd, 0.15), dice.white(t.len(), 0.7 * sd)])
}

fn still(number: u64) -> WobbleFit {
    let mut dice = Dice::new(number);
    let fps = [24.0, 30.0, 60.0, 120.0][number as usize % 4];
    let seconds = dice.between(3.0, 10.0);
    let t = stamps(seconds, fps);
    let sd = dice.between(0.2, 2.0);
    let axis = sum(&[ripples(&mut dice, &t, 1.5), noisy(&mut dice, &t, sd)]);
    let sway = sum(&[ripples(&mut dice, &t, 4.0), noisy(&mut dice, &t, 0.7)]);
    let mut s = series(&t, axis, sway);
    s.length_px = sum(&[
        s.length_px,
        ripples(&mut dice, &t, 2.0),
        noisy(&mut dice, &t, 0.7),
    ]);
    s.width_px = sum(&[s.width_px, noisy(&mut dice, &t, 0.4)]);
    s.brightness = sum(&[
        s.brightness,
        ripples(&mut dice, &t, 0.02),
        noisy(&mut dice, &t, 0.01),
    ]);
    wobble(&s, &setup(View::Above, None), &Picture::default())
}

#[test]
fn still_lure_does_not_wobble() {
    let found: Vec<(u64, Option<f64>)> = (0..300u64)
        .into_par_iter()
        .map(|n| (n, still(n).wobble.hz))
        .filter(|(_, hz)| hz.status != Status::None)
        .map(|(n, hz)| (n, hz.value))
        .collect();
    assert!(found.is_empty(), "{found:?}");
}

#[test]
fn small_wobble_is_found() {
    let missed: Vec<u64> = (0..120u64)
        .into_par_iter()
        .filter(|&number| {
            let mut dice = Dice::new(5000 + number);
            let t = stamps(6.0, 30.0);
            let hz = dice.between(4.0, 10.0);
            let width = dice.between(2.0, 3.0);
            let cycles = wandering(&mut dice, &t, hz, 0.015, 2.5);
            let swing: Vec<f64> = cycles.iter().map(|c| width * (TAU * c).sin()).collect();
            let axis = sum(&[
                swing,
                ripples(&mut dice, &t, 1.5),
                noisy(&mut dice, &t, 1.2),
            ]);
            let sway = sum(&[ripples(&mut dice, &t, 3.0), noisy(&mut dice, &t, 0.7)]);
            let fit = wobble(
                &series(&t, axis, sway),
                &setup(View::Above, None),
                &Picture::default(),
            );
            !fit.wobble
                .hz
                .value
                .is_some_and(|f| (f - hz).abs() < 0.05 * hz)
        })
        .collect();
    assert!(missed.is_empty(), "{missed:?}");
}

/// A wobble of `hz` seen at the stamps `t`: axis and sway, mild noise.
fn swimming(number: u64, t: &[f64], hz: f64) -> (WobbleFit, f64) {
    let mut dice = Dice::new(number);
    let cycles = wandering(&mut dice, t, hz, 0.01, 2.5);
    let swing = |a: f64| -> Vec<f64> { cycles.iter().map(|c| a * (TAU * c).sin()).collect() };
    let axis = sum(&[swing(14.0), noisy(&mut dice, t, 1.2)]);
    let sway = sum(&[swing(-2.0), noisy(&mut dice, t, 0.5)]);
    let truth = (cycles[t.len() - 1] - cycles[0]) / (t[t.len() - 1] - t[0]);
    let picture = Picture {
        mm_per_px: Some(1.0),
        calm: vec![],
        ..Picture::default()
    };
    (
        wobble(&series(t, axis, sway), &setup(View::Above, None), &picture),
        truth,
    )
}

#[test]
fn folded_rate_is_aliased_with_the_true_rate_among_the_candidates() {
    for (fps, hz) in [
        (15.0, 9.2),
        (15.0, 5.8),
        (15.0, 3.0),
        (15.0, 11.7),
        (20.0, 11.0),
        (24.0, 12.6),
    ] {
        let (fit, truth) = swimming(7, &stamps(8.0, fps), hz);
        let w = fit.wobble;
        assert_eq!(w.hz.status, Status::Aliased, "{hz} Hz at {fps}/s");
        assert!(
            w.alias_candidates_hz
                .iter()
                .any(|c| (c - truth).abs() < 0.005 * truth),
            "{hz} Hz at {fps}/s: {:?}",
            w.alias_candidates_hz
        );
        assert!(w.alias_candidates_hz.is_sorted());
    }
}

#[test]
fn rate_whose_folds_no_lure_reaches_is_measured() {
    for (fps, hz) in [
        (20.0, 5.0),
        (24.0, 8.0),
        (30.0, 3.0),
        (30.0, 12.0),
        (60.0, 12.0),
        (240.0, 9.0),
    ] {
        let (fit, truth) = swimming(8, &stamps(8.0, fps), hz);
        let w = fit.wobble;
        assert_eq!(
            w.hz.status,
            Status::Measured,
            "{hz} Hz at {fps}/s: {:?}",
            w.hz
        );
        let error = w.hz.value.unwrap() - truth;
        assert!(
            error.abs() < (0.005 * truth).max(0.02),
            "{hz} Hz at {fps}/s off by {error}"
        );
        assert!(
            (w.width_deg.value.unwrap() - 14.0).abs() < 1.0,
            "{:?}",
            w.width_deg
        );
    }
}

/// Uneven stamps leave no doubt about the fold.
#[test]
fn uneven_stamps_settle_the_fold() {
    for (number, hz) in [(1, 9.2), (2, 5.8), (3, 11.0)] {
        let mut dice = Dice::new(number);
        let t: Vec<f64> = stamps(8.0, 15.0)
            .iter()
            .map(|t| t + dice.between(-0.015, 0.015))
            .collect();
        let (fit, truth) = swimming(number, &t, hz);
        let w = fit.wobble;
        assert_eq!(
            w.hz.status,
            Status::Measured,
            "{hz}: {:?} {:?}",
            w.hz,
            w.alias_candidates_hz
        );
        assert!(
            (w.hz.value.unwrap() - truth).abs() < 0.02,
            "{hz}: {truth} {:?}",
            w.hz
        );
        assert!(
            (w.width_deg.value.unwrap() - 14.0).abs() < 1.0,
            "{:?}",
            w.width_deg
        );
    }
}

/// From the side the length beats at twice the rate; a little roll in the axis tells which it is.
#[test]
fn side_view_is_not_read_at_twice_the_rate() {
    for number in 0..40u64 {
        let mut dice = Dice::new(900 + number);
        let t = stamps(6.0, 60.0);
        let hz = dice.between(2.5, 9.0);
        let leak = if number % 4 == 0 {
            0.0
        } else {
            dice.between(1.0, 4.0)
        };
        let cycles = wandering(&mut dice, &t, hz, 0.02, 2.5);
        let axis: Vec<f64> = cycles.iter().map(|c| leak * (TAU * c).sin()).collect();
        let length: Vec<f64> = cycles
            .iter()
            .map(|c| 80.0 * (0.28 * (TAU * c).sin()).cos())
            .collect();
        let axis = sum(&[axis, noisy(&mut dice, &t, 1.0)]);
        let sway = sum(&[ripples(&mut dice, &t, 3.0), noisy(&mut dice, &t, 0.5)]);
        let mut s = series(&t, axis, sway);
        s.length_px = sum(&[length, noisy(&mut dice, &t, 0.6)]);
        let fit = wobble(&s, &setup(View::Side, None), &Picture::default());
        let truth = (cycles[t.len() - 1] - cycles[0]) / (t[t.len() - 1] - t[0]);
        let found = fit.wobble.hz.value.unwrap_or(0.0);
        assert!(
            (found - truth).abs() < 0.03,
            "{number}: {truth} found as {found}, leak {leak}"
        );
        assert_eq!(fit.wobble.width_deg.status, Status::Unmeasurable);
    }
}

/// tan(image) = tan(yaw)/sin(tilt), closed form.
#[test]
fn tilted_camera_is_put_right() {
    for view in [View::Behind, View::Ahead] {
        let mut dice = Dice::new(3);
        let (t, tilt) = (stamps(7.0, 60.0), 35.0f64);
        let yaw: Vec<f64> = t.iter().map(|t| 16.0 * (TAU * 5.3 * t).sin()).collect();
        let image = yaw.iter().map(|y| {
            (y.to_radians().tan() / tilt.to_radians().sin())
                .atan()
                .to_degrees()
        });
        let axis = sum(&[image.collect(), noisy(&mut dice, &t, 1.5)]);
        let s = series(&t, axis, noisy(&mut dice, &t, 0.5));
        let told = wobble(&s, &setup(view, Some(tilt)), &Picture::default()).wobble;
        assert!(
            (told.width_deg.value.unwrap() - 16.0).abs() < 0.6,
            "{:?}",
            told.width_deg
        );
        assert!(!told.apparent);
        let untold = wobble(&s, &setup(view, None), &Picture::default()).wobble;
        assert!(untold.apparent);
        assert!(untold.width_deg.value.unwrap() > 24.0);
    }
}

#[test]
fn odd_input_is_no_wobble_and_no_panic() {
    let empty = truerun::motion::Series::default();
    assert_eq!(
        wobble(&empty, &setup(View::Above, None), &Picture::default())
            .wobble
            .hz
            .status,
        Status::None
    );
    for n in [1, 2, 5, 17] {
        let t = stamps(n as f64 / 30.0, 30.0);
        let s = series(&t, vec![0.0; t.len()], vec![f64::NAN; t.len()]);
        assert_eq!(
            wobble(&s, &setup(View::Side, None), &Picture::default())
                .wobble
                .hz
                .status,
            Status::None
        );
    }
    let t = stamps(4.0, 30.0);
    let s = series(&t, vec![3.0; t.len()], vec![0.0; t.len()]);
    assert_eq!(
        wobble(&s, &setup(View::Above, None), &Picture::default())
            .wobble
            .hz
            .status,
        Status::None
    );
}

/// Slow-motion clips of tuning forks: the sway alone swings, by a fraction of a pixel.
#[test]
fn fast_small_sways_are_read_as_far_as_the_frame_rate_allows() {
    let fork = |hz: f64, fps: f64, px: f64| {
        let mut dice = Dice::new(fps as u64);
        let t = stamps(2.0, fps);
        let sway: Vec<f64> = t
            .iter()
            .map(|t| px * (TAU * hz * t).sin() + 0.08 * dice.normal())
            .collect();
        let axis = noisy(&mut dice, &t, 0.1);
        wobble(
            &series(&t, axis, sway),
            &setup(View::Above, None),
            &Picture::default(),
        )
        .wobble
    };
    for (hz, fps, px) in [
        (32.0, 250.0, 1.66),
        (64.04, 250.0, 0.49),
        (64.04, 500.0, 1.1),
        (127.98, 1000.0, 0.58),
    ] {
        let w = fork(hz, fps, px);
        assert_eq!(w.hz.status, Status::Measured, "{hz} at {fps}");
        assert!(
            (w.hz.value.unwrap() - hz).abs() < 0.05,
            "{hz} at {fps}: {:?}",
            w.hz
        );
    }
    let w = fork(127.92, 250.0, 0.5);
    assert_eq!(w.hz.status, Status::Aliased);
    assert!(
        (w.alias_candidates_hz[0] - 122.08).abs() < 0.05,
        "{:?}",
        w.alias_candidates_hz
    );
    assert!(
        (w.alias_candidates_hz[1] - 127.92).abs() < 0.05,
        "{:?}",
        w.alias_candidates_hz
    );
    assert_eq!(fork(127.98, 500.0, 0.04).hz.status, Status::None);
}

/// A burst in a small part of the clip is no wobble.
#[test]
fn burst_is_no_wobble() {
    let mut dice = Dice::new(11);
    let t = stamps(10.0, 30.0);
    let burst = t.iter().map(|t| {
        if (4.0..5.2).contains(t) {
            8.0 * (TAU * 4.0 * t).sin()
        } else {
            0.0
        }
    });
    let axis = sum(&[burst.collect(), noisy(&mut dice, &t, 1.0)]);
    let s = series(&t, axis, noisy(&mut dice, &t, 0.5));
    let w = wobble(&s, &setup(View::Above, None), &Picture::default()).wobble;
    assert_eq!(w.hz.status, Status::None, "{:?}", w.hz);
}

/// Intervals of width and sweep hold the truth at least nineteen times in twenty.
#[test]
fn width_intervals_hold_the_truth() {
    let off: Vec<(f64, f64)> = (0..200u64)
        .into_par_iter()
        .map(|number| {
            let mut dice = Dice::new(40_000 + number);
            let seconds = dice.between(4.0, 9.0);
            let t = stamps(seconds, 30.0);
            let hz = dice.between(2.5, 8.0);
            let (width, sway) = (dice.between(6.0, 22.0), dice.between(0.5, 2.5));
            let cycles = wandering(&mut dice, &t, hz, 0.02, 2.5);
            let yaw: Vec<f64> = cycles.iter().map(|c| width * (TAU * c).sin()).collect();
            let move_px: Vec<f64> = cycles.iter().map(|c| -sway * (TAU * c).sin()).collect();
            let axis = sum(&[yaw, ripples(&mut dice, &t, 1.5), noisy(&mut dice, &t, 1.5)]);
            let side = sum(&[
                move_px,
                ripples(&mut dice, &t, 3.0),
                noisy(&mut dice, &t, 0.7),
            ]);
            let picture = Picture {
                mm_per_px: Some(1.0),
                calm: vec![],
                ..Picture::default()
            };
            let w = wobble(&series(&t, axis, side), &setup(View::Above, None), &picture).wobble;
            let sweep = 2.0 * (sway + 30.0 * width.to_radians().sin());
            let share = |m: &truerun::Measured, truth: f64| match (m.value, m.ci95) {
                (Some(v), Some([low, _])) => (v - truth).abs() / (v - low),
                _ => f64::INFINITY,
            };
            (share(&w.width_deg, width), share(&w.tail_sweep_mm, sweep))
        })
        .collect();
    let width = off.iter().filter(|o| o.0 <= 1.0).count();
    let sweep = off.iter().filter(|o| o.1 <= 1.0).count();
    println!("width held {width}/200, sweep {sweep}/200");
    assert!(width >= 186 && sweep >= 186, "{width}, {sweep}");
}
