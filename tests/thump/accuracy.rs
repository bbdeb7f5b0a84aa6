//! Rate, strength and direction against simulated truth.

use super::made::{DIRECTION, Pull};
use super::support::Dice;
use truerun::Status;
use truerun::motion::thump::{ThumpOptions, analyse};

/// Signal-to-noise ratio as power along the direction over white noise up to half the rate.
fn pull(snr_db: f64, number: u64) -> Pull {
    let mut dice = Dice::new(1000 + number);
    let peak = dice.between(0.5, 3.0);
    Pull {
        hz: dice.between(2.5, 9.0),
        peak,
        noise: peak / 2f64.sqrt() / 10f64.powf(snr_db / 20.0),
        number,
        ..Pull::default()
    }
}

#[test]
fn rate_strength_and_coverage_down_to_0_db() {
    const RUNS: u64 = 500;
    let (mut rate_held, mut rms_held, mut worst_rate, mut worst_db) = (0, 0, 0f64, 0f64);
    for number in 0..RUNS {
        let pull = pull([0.0, 5.0, 10.0, 20.0][number as usize % 4], number);
        let (thump, _) = analyse(&pull.recording(), &ThumpOptions::default()).unwrap();
        let holds = |m: &truerun::Measured, truth: f64| {
            m.ci95.is_some_and(|[lo, hi]| lo <= truth && truth <= hi)
        };
        let rms = pull.peak / 2f64.sqrt();
        rate_held += u64::from(holds(&thump.hz, pull.hz));
        rms_held += u64::from(holds(&thump.rms, rms));
        worst_rate = worst_rate.max((thump.hz.value.unwrap() / pull.hz - 1.0).abs());
        worst_db = worst_db.max((20.0 * (thump.rms.value.unwrap() / rms).log10()).abs());
    }
    let share = |held: u64| held as f64 / RUNS as f64;
    println!(
        "rate: worst {:.3} %, held {:.3}; strength: worst {worst_db:.2} dB, held {:.3}",
        100.0 * worst_rate,
        share(rate_held),
        share(rms_held)
    );
    assert!(worst_rate < 0.002, "{worst_rate}");
    assert!(worst_db < 1.0, "{worst_db}");
    assert!(
        (0.93..=0.97).contains(&share(rate_held)),
        "{}",
        share(rate_held)
    );
    assert!(
        (0.93..=0.97).contains(&share(rms_held)),
        "{}",
        share(rms_held)
    );
}

#[test]
fn the_direction_is_found() {
    let (thump, _) = analyse(&Pull::default().recording(), &ThumpOptions::default()).unwrap();
    let along: f64 = thump
        .lead
        .direction
        .iter()
        .zip(DIRECTION)
        .map(|(a, b)| a * b)
        .sum();
    assert!(along > 0.999, "{:?}", thump.lead.direction);
}

#[test]
fn noise_alone_is_no_wobble() {
    let found = (0..60).filter(|&number| {
        let pull = Pull {
            peak: 0.0,
            noise: 1.0,
            number,
            ..Pull::default()
        };
        analyse(&pull.recording(), &ThumpOptions::default())
            .unwrap()
            .0
            .found
    });
    assert_eq!(found.count(), 0);
}

#[test]
fn rest_and_gusts_stay_out_of_the_figures() {
    let pull = Pull {
        rows_hz: 200.0,
        seconds: 30.0,
        ..Pull::default()
    };
    let mut recording = pull.recording();
    let mut dice = Dice::new(9);
    let times = recording.t_s.clone();
    for (k, strip) in recording.strips.iter_mut().enumerate() {
        for (t, v) in times.iter().zip(&mut strip.values) {
            let still = if k == 2 { 9.80665 } else { 0.0 };
            if *t < 6.0 || *t > 25.0 {
                *v = still + 0.3 * dice.normal() as f32;
            } else if (14.0..14.6).contains(t) {
                *v += 12.0 * dice.normal() as f32;
            }
        }
    }
    let (thump, _) = analyse(&recording, &ThumpOptions::default()).unwrap();
    let pulls: Vec<_> = thump.parts.iter().filter(|p| p.pull).collect();
    assert_eq!(pulls.len(), 1, "{:?}", thump.parts);
    assert!(
        (pulls[0].from_s - 6.0).abs() < 1.0 && (pulls[0].to_s - 25.0).abs() < 1.0,
        "{pulls:?}"
    );
    assert_eq!(thump.gusts.len(), 1, "{:?}", thump.gusts);
    assert!(thump.gusts[0].from_s < 14.1 && thump.gusts[0].to_s > 14.5);
    let rms = pull.peak / 2f64.sqrt();
    assert!(
        (20.0 * (thump.rms.value.unwrap() / rms).log10()).abs() < 0.5,
        "{:?}",
        thump.rms
    );
    assert!((thump.hz.value.unwrap() / 4.6 - 1.0).abs() < 0.002);
}

#[test]
fn a_slow_log_says_aliased_with_the_true_rate_among_the_candidates() {
    let pull = Pull {
        hz: 9.2,
        rows_hz: 15.0,
        seconds: 30.0,
        ..Pull::default()
    };
    let (thump, _) = analyse(&pull.recording(), &ThumpOptions::default()).unwrap();
    assert_eq!(thump.hz.status, Status::Aliased);
    assert!(
        thump
            .alias_candidates_hz
            .iter()
            .any(|hz| (hz / 9.2 - 1.0).abs() < 0.01),
        "{:?}",
        thump.alias_candidates_hz
    );
    assert!(thump.felt.value.is_none());
}

#[test]
fn speed_gives_wobbles_per_metre() {
    let options = ThumpOptions {
        speed_m_s: Some(0.5),
        ..ThumpOptions::default()
    };
    let (thump, _) = analyse(&Pull::default().recording(), &options).unwrap();
    assert!((thump.wobbles_per_m.value.unwrap() - 9.2).abs() < 0.02);
    assert!((thump.rms_per_speed.value.unwrap() / thump.rms.value.unwrap() - 2.0).abs() < 1e-9);
}
