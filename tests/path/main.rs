//! The path measures against truth: rendered clips' exact truth with a tracker's noise, and made-up
//! lures by the hundred.

mod swum;
mod truth;

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use swum::{Lure, Shoot, mirrored, swim};
use truerun::Measured;
use truerun::camera::{Setup, Side, View};
use truerun::motion::wobble::WobbleFit;
use truerun::motion::{Roll, Swim, Swum, Wobble};
use truerun::tracking::Track;
use truth::Truth;

/// A wobble fit that knows the phase and nothing else.
fn with_cycles(cycles: Vec<f64>, hz: f64) -> WobbleFit {
    WobbleFit {
        wobble: Wobble {
            hz: Measured::within(hz, 0.02),
            width_deg: Measured::within(15.0, 1.0),
            apparent: false,
            tail_sweep_mm: Measured::within(20.0, 1.0),
            nyquist_hz: 15.0,
            alias_candidates_hz: vec![],
            by_second: vec![],
        },
        roll: Roll {
            width_deg: Measured::unmeasurable("not seen"),
        },
        hz: vec![hz; cycles.len()],
        cycles,
    }
}

fn from_truth(truth: &Truth, setup: &Setup, ratio: f64, seed: u64) -> Swim {
    let track = truth.track(ratio, &mut ChaCha8Rng::seed_from_u64(seed));
    let swum = Swum::new(&track, setup);
    let cycles = truth.cycles(&swum.series.t_s);
    swum.measure(with_cycles(cycles, truth.number("wobble_hz")))
}

fn setup(view: View, lure: &Lure) -> Setup {
    Setup {
        view,
        length_mm: Some(lure.length_mm),
        pull_deg: None,
        tilt_deg: None,
        fov_deg: None,
        speed_m_s: None,
    }
}

fn measured(track: &Track, cycles: &[f64], hz: f64, setup: &Setup) -> Swim {
    Swum::new(track, setup).measure(with_cycles(cycles.to_vec(), hz))
}

/// The four ways to shoot in which sideways motion shows.
const SHOOTS: [(View, bool); 4] = [
    (View::Above, false),
    (View::Above, true),
    (View::Behind, true),
    (View::Ahead, false),
];

fn runs() -> u64 {
    std::env::var("TRUERUN_RUNS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(40)
}

fn holds(m: &Measured, truth: f64) -> bool {
    m.ci95
        .is_some_and(|[low, high]| (low..=high).contains(&truth))
}

#[test]
fn intervals_hold_the_truth() {
    for (view, travels) in SHOOTS {
        for told in [false, true] {
            let (mut drift, mut pivot, mut speed, mut width) = (0, 0, 0, 0);
            let (mut pivots, mut widths) = (0, 0);
            let mut errors = vec![];
            let mut halves = vec![];
            for seed in 0..runs() {
                let mut rng = ChaCha8Rng::seed_from_u64(seed);
                let mut g =
                    |mean: f64, sd: f64| mean + sd * (rng.random::<f64>() * 2.0 - 1.0) * 1.7;
                let lure = Lure {
                    drift_deg: g(0.0, 2.5),
                    pivot: g(0.4, 0.03),
                    hz: g(5.0, 1.0),
                    yaw_deg: g(16.0, 3.0),
                    pitch_deg: g(8.0, 3.0),
                    ..Lure::default()
                };
                let mut shoot = Shoot::of(view, travels);
                shoot.depth_ratio = g(1.5, 0.15);
                shoot.seconds = g(6.0, 1.0);
                if view == View::Above {
                    shoot.azimuth_deg = g(0.0, 100.0);
                    if !travels {
                        shoot.azimuth_deg = 90.0
                    }
                } else {
                    shoot.tilt_deg = g(shoot.tilt_deg, 4.0);
                    shoot.fov_deg *= g(1.0, 0.15);
                }
                let (track, cycles) = swim(&lure, &shoot, &mut rng);
                let mut setup = setup(view, &lure);
                if told && view != View::Above {
                    setup.tilt_deg = Some(shoot.middle_tilt_deg(&lure));
                    setup.fov_deg = Some(shoot.fov_deg);
                }
                let s = measured(&track, &cycles, lure.hz, &setup);
                let d = s.drift.deg.value.unwrap();
                let [lo, hi] = s.drift.deg.ci95.unwrap();
                errors.push(d - lure.drift_deg);
                halves.push((hi - lo) / 2.0);
                drift += usize::from(holds(&s.drift.deg, lure.drift_deg));
                speed += usize::from(holds(&s.speed, lure.speed_mm_s / 1000.0));
                if s.pivot.is_measured() {
                    pivots += 1;
                    pivot += usize::from(holds(&s.pivot, lure.pivot));
                }
                if !s.wobble.apparent {
                    widths += 1;
                    width += usize::from(holds(&s.wobble.width_deg, lure.yaw_deg));
                }
                if std::env::var_os("DBG").is_some() {
                    println!(
                        "{seed} drift {:.2} -> {:.2} [{lo:.2} {hi:.2}] speed {:?} pull {:?} w {:?} {}",
                        lure.drift_deg,
                        d,
                        s.speed.ci95,
                        s.pull_deg,
                        s.wobble.width_deg.ci95,
                        lure.yaw_deg
                    );
                }
            }
            let n = errors.len() as f64;
            let rms = (errors.iter().map(|e| e * e).sum::<f64>() / n).sqrt();
            let mean = errors.iter().sum::<f64>() / n;
            halves.sort_by(f64::total_cmp);
            println!(
                "{view:?} travels {travels} told {told}: drift {drift}/{n} rms {rms:.2} mean {mean:.2} half {:.2}, speed {speed}/{n}, pivot {pivot}/{pivots}, width {width}/{widths}",
                halves[halves.len() / 2]
            );
        }
    }
}

#[test]
fn darts_found_and_none_invented() {
    for (view, travels) in SHOOTS {
        let (mut found, mut all, mut invented, mut wrong, mut held) = (0, 0, 0, 0, 0);
        for seed in 0..runs() {
            let mut rng = ChaCha8Rng::seed_from_u64(1000 + seed);
            let mut u = |a: f64, b: f64| a + (b - a) * rng.random::<f64>();
            let mut darts = vec![];
            let count = (u(0.0, 3.0)) as usize;
            let mut at = u(0.8, 1.5);
            for _ in 0..count {
                let (rise, back) = (u(0.25, 0.45), u(0.35, 0.7));
                let mm = u(40.0, 95.0) * if u(0.0, 1.0) < 0.5 { -1.0 } else { 1.0 };
                darts.push([at, at + rise, at + rise + back, mm]);
                at += rise + back + u(0.6, 1.6);
            }
            let swing = if seed % 3 == 0 {
                (u(10.0, 35.0), u(3.0, 6.0))
            } else {
                (0.0, 4.0)
            };
            let lure = Lure {
                darts,
                drift_deg: u(-5.0, 5.0),
                hz: u(2.5, 9.0),
                swing,
                ..Lure::default()
            };
            let mut shoot = Shoot::of(view, travels);
            shoot.seconds = 7.0;
            shoot.range_mm *= if !travels && view == View::Above {
                1.15
            } else {
                1.0
            };
            if view == View::Above && !travels {
                shoot.azimuth_deg = 90.0
            }
            let (track, cycles) = swim(&lure, &shoot, &mut rng);
            let mut setup = setup(view, &lure);
            if view == View::Behind {
                setup.tilt_deg = Some(shoot.tilt_deg);
                setup.fov_deg = Some(shoot.fov_deg)
            }
            let s = measured(&track, &cycles, lure.hz, &setup);
            let mut taken = vec![false; s.hunts.events.len()];
            for d in &lure.darts {
                if d[2] > shoot.seconds - 0.2 {
                    for (k, h) in s.hunts.events.iter().enumerate() {
                        if h.peak_s > d[0] {
                            taken[k] = true
                        }
                    }
                    continue;
                }
                all += 1;
                let hit = s
                    .hunts
                    .events
                    .iter()
                    .position(|h| (h.peak_s - d[1]).abs() < 0.3);
                match hit {
                    Some(k) => {
                        taken[k] = true;
                        found += 1;
                        let side = if d[3] > 0.0 { Side::Right } else { Side::Left };
                        wrong += usize::from(s.hunts.events[k].side != side);
                        let [lo, hi] = s.hunts.events[k].mm_ci95.unwrap();
                        held += usize::from((lo..=hi).contains(&d[3].abs()));
                    }
                    None => println!(
                        "{view:?} {seed}: missed {d:?} swing {:?} hz {} darts {:?} found {:?}",
                        lure.swing,
                        lure.hz,
                        lure.darts,
                        s.hunts.events.len()
                    ),
                }
            }
            let extra = taken.iter().filter(|t| !**t).count();
            if extra > 0 {
                println!(
                    "{view:?} {seed}: invented {:?} swing {:?} darts {:?}",
                    s.hunts.events, lure.swing, lure.darts
                )
            }
            invented += extra;
            if s.blow_out.status != truerun::Status::None {
                println!("{view:?} {seed} blow-out {:?}", s.blow_out)
            }
        }
        println!(
            "{view:?} travels {travels}: darts {found}/{all}, size held {held}, wrong side {wrong}, invented {invented}"
        );
    }
}
