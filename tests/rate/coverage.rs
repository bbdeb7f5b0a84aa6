//! Do the intervals hold the truth as often as they say, and is the error near the least possible?

use crate::support::{Dice, wandering};
use rayon::prelude::*;
use std::f64::consts::TAU;
use truerun::motion::rate::{Channel, Parity, RateOptions, find};

#[derive(Clone, Copy)]
struct Kind {
    name: &'static str,
    runs: u64,
    seconds: (f64, f64),
    fps: f64,
    wander: (f64, f64),
    snr_db: (f64, f64),
    slow_noise: bool,
    gap_s: (f64, f64),
    vfr: bool,
    two: bool,
    dart: bool,
}

struct Run {
    error: f64,
    half: f64,
    bound: f64,
}

/// How a dart swings the axis, degrees, `since` s from its beginning: out for some 0.35 s and back again for 0.55 s,
/// as steep as a lure that goes 80 mm aside at 0.4 m/s.
fn heading(since: f64) -> f64 {
    let out = |since: f64, lasts: f64| {
        let inside = (0.0..lasts).contains(&since);
        (std::f64::consts::PI * since / lasts).sin().powi(2) * if inside { 1.0 } else { 0.0 }
    };
    45.0 * out(since, 0.35) - 35.0 * out(since - 0.35, 0.55)
}

fn run(kind: &Kind, number: u64) -> Option<Run> {
    let mut dice = Dice::new(number);
    let pick = |dice: &mut Dice, (a, b): (f64, f64)| if b > a { dice.between(a, b) } else { a };
    let seconds = pick(&mut dice, kind.seconds);
    let hz = dice.between(2.0, (0.4 * kind.fps).min(12.0));
    let spread = pick(&mut dice, kind.wander);
    let memory = dice.between(1.5, 4.0);
    let gap = pick(&mut dice, kind.gap_s);
    let gap_at = dice.between(0.25, 0.7) * seconds;
    let mut t = vec![];
    let mut now = 0.0;
    while now < seconds {
        if !(now > gap_at && now < gap_at + gap) {
            t.push(now);
        }
        now += if kind.vfr && dice.between(0.0, 1.0) < 0.2 {
            2.0
        } else {
            1.0
        } / kind.fps;
    }
    let cycles = wandering(&mut dice, &t, hz, spread, memory);
    let amplitude = 10.0;
    let db = pick(&mut dice, kind.snr_db);
    let sigma = amplitude / 2f64.sqrt() / 10f64.powf(db / 20.0);
    let noise = |dice: &mut Dice, sd: f64| {
        if kind.slow_noise {
            let slow = dice.slow(&t, 0.8 * sd, 0.12);
            let white = dice.white(t.len(), 0.6 * sd);
            let ripple = dice.between(0.7, 1.2);
            let phase = dice.between(0.0, TAU);
            (0..t.len())
                .map(|i| slow[i] + white[i] + 1.3 * (TAU * ripple * t[i] + phase).sin())
                .collect()
        } else {
            dice.white(t.len(), sd)
        }
    };
    let offset = dice.between(0.0, 1.0);
    let wave = |lag: f64, a: f64, n: Vec<f64>| -> Vec<f64> {
        cycles
            .iter()
            .zip(n)
            .map(|(c, n)| a * (TAU * (c + lag)).sin() + n)
            .collect()
    };
    let mut n1 = noise(&mut dice, sigma);
    if kind.dart {
        let at = dice.between(0.2, 0.6) * seconds;
        n1.iter_mut()
            .zip(&t)
            .for_each(|(y, t)| *y += heading(t - at));
    }
    let mut channels = vec![Channel::new(
        "axis",
        &t,
        &wave(offset, amplitude, n1),
        Parity::Odd,
    )];
    if kind.two {
        let n2 = noise(&mut dice, 0.25 * sigma);
        channels.push(Channel::new(
            "sway",
            &t,
            &wave(offset + 0.4, 0.15 * amplitude, n2),
            Parity::Odd,
        ));
        channels.push(Channel::new(
            "brightness",
            &t,
            &dice.white(t.len(), 0.02),
            Parity::Any,
        ));
    }
    let fit = find(&channels, &RateOptions::default(), |_| true)?;
    let truth = (cycles[t.len() - 1] - cycles[0]) / (t[t.len() - 1] - t[0]);
    let ci = fit.hz.ci95.unwrap();
    if std::env::var("WHY").is_ok() {
        let e = (fit.hz.value.unwrap() - truth) / (0.5 * (ci[1] - ci[0]));
        println!(
            "{} #{number} hz {hz:.2} spread {spread:.4} mem {memory:.1} db {db:.1} T {seconds:.1} gap {gap:.2} wander {:.4} half {:.4} off {e:.2}",
            kind.name,
            fit.wander,
            0.5 * (ci[1] - ci[0])
        );
    }
    let n = t.len() as f64;
    let bound =
        (24.0f64).sqrt() * sigma * kind.fps / (TAU * amplitude * (n * (n * n - 1.0)).sqrt());
    Some(Run {
        error: fit.hz.value.unwrap() - truth,
        half: 0.5 * (ci[1] - ci[0]),
        bound,
    })
}

fn judge(kind: Kind) -> (f64, f64) {
    let runs: Vec<Option<Run>> = (0..kind.runs)
        .into_par_iter()
        .map(|n| run(&kind, FRESH + n))
        .collect();
    let found: Vec<&Run> = runs.iter().flatten().collect();
    let n = found.len() as f64;
    let held = found.iter().filter(|r| r.error.abs() <= r.half).count() as f64 / n;
    let rms = (found.iter().map(|r| r.error.powi(2)).sum::<f64>() / n).sqrt();
    let mut ratio: Vec<f64> = found.iter().map(|r| (r.error / r.bound).powi(2)).collect();
    let over = (ratio.iter().sum::<f64>() / n).sqrt();
    ratio.sort_by(f64::total_cmp);
    let mut off: Vec<f64> = found.iter().map(|r| r.error.abs() / r.half).collect();
    off.sort_by(f64::total_cmp);
    let worst: Vec<f64> = off
        .iter()
        .rev()
        .take(5)
        .map(|x| (x * 10.0).round() / 10.0)
        .collect();
    let half = found.iter().map(|r| r.half).sum::<f64>() / n;
    println!(
        "{:28} found {:4}/{} held {:.3} rms {:.4} Hz, rms/bound {:.3} half {:.4} worst {:?}",
        kind.name,
        found.len(),
        kind.runs,
        held,
        rms,
        over,
        half,
        worst
    );
    (held, over)
}

/// The constants of the estimator were chosen on series numbered from 0; it is judged on others.
const FRESH: u64 = 2_000_000;

const PLAIN: Kind = Kind {
    name: "",
    runs: 500,
    seconds: (8.0, 8.0),
    fps: 30.0,
    wander: (0.0, 0.0),
    snr_db: (0.0, 0.0),
    slow_noise: false,
    gap_s: (0.0, 0.0),
    vfr: false,
    two: false,
    dart: false,
};

/// 95 % intervals hold the truth in 93–97 % of simulated series: steady and wandering rates, white
/// and slow noise with ripples, even and variable frame rates, gaps.
#[test]
fn intervals_hold_the_truth_as_often_as_they_say() {
    let runs = std::env::var("RUNS")
        .ok()
        .and_then(|r| r.parse().ok())
        .unwrap_or(150);
    let plain = Kind { runs, ..PLAIN };
    let lifelike = Kind {
        wander: (0.0, 0.03),
        snr_db: (5.0, 20.0),
        seconds: (4.0, 10.0),
        slow_noise: true,
        gap_s: (0.0, 0.6),
        vfr: true,
        two: true,
        ..plain
    };
    let wanders = Kind {
        wander: (0.01, 0.04),
        snr_db: (10.0, 20.0),
        seconds: (4.0, 12.0),
        ..plain
    };
    let kinds = [
        Kind {
            name: "steady",
            snr_db: (0.0, 20.0),
            seconds: (4.0, 12.0),
            ..plain
        },
        Kind {
            name: "steady, long",
            snr_db: (5.0, 5.0),
            seconds: (20.0, 20.0),
            ..plain
        },
        Kind {
            name: "wandering",
            ..wanders
        },
        Kind {
            name: "wandering a little, noisy",
            snr_db: (0.0, 10.0),
            wander: (0.0, 0.02),
            ..wanders
        },
        Kind {
            name: "lifelike, 30 a second",
            ..lifelike
        },
        Kind {
            name: "lifelike, 60 a second",
            fps: 60.0,
            vfr: false,
            ..lifelike
        },
        Kind {
            name: "hidden for a second",
            gap_s: (1.0, 1.0),
            seconds: (8.0, 8.0),
            ..lifelike
        },
        Kind {
            name: "with a dart",
            dart: true,
            ..wanders
        },
    ];
    let held: Vec<f64> = kinds.into_iter().map(|k| judge(k).0).collect();
    let all = held.iter().sum::<f64>() / held.len() as f64;
    println!("over all {:.3} of {} series", all, 8 * runs);
    assert!((0.93..=0.97).contains(&all), "{all}");
    // Three standard errors of 95 % over 150 runs is 5 %.
    assert!(held.iter().all(|h| *h > 0.9), "{held:?}");
}
