//! The path measures against truth.

mod truth;

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use truerun::Measured;
use truerun::motion::Swum;
use truerun::motion::wobble::WobbleFit;
use truerun::motion::{Roll, Swim, Wobble};
use truth::Truth;

/// A wobble fit that knows the phase and nothing else.
pub fn with_cycles(cycles: Vec<f64>, hz: f64) -> WobbleFit {
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

fn measure(truth: &Truth, setup: &truerun::camera::Setup, ratio: f64, seed: u64) -> Swim {
    let track = truth.track(ratio, &mut ChaCha8Rng::seed_from_u64(seed));
    if std::env::var_os("WHOLE").is_some() {
        return truerun::motion::analyse(&track, setup);
    }
    let swum = Swum::new(&track, setup);
    let cycles = truth.cycles(&swum.series.t_s);
    swum.measure(with_cycles(cycles, truth.number("wobble_hz")))
}

const WITH_LURE: [&str; 8] = [
    "d01_over_follow",
    "d02_over_fixed",
    "d03_chase60",
    "d04_dock_headon",
    "d05_side60",
    "d06_dead_still",
    "d08_over_vfr_occl",
    "d09_alias15",
];

#[test]
fn table() {
    for name in WITH_LURE {
        let Some(truth) = Truth::load(name) else {
            return;
        };
        for given in [false, true] {
            let mut setup = truth.setup();
            if given {
                setup.fov_deg = Some(truth.fov_deg());
                if name == "d03_chase60" {
                    setup.tilt_deg = Some(32.0)
                }
            }
            let started = std::time::Instant::now();
            let s = measure(&truth, &setup, 1.55, 1);
            let took = started.elapsed().as_millis();
            println!(
                "{name} given {given} {took} ms: drift {:?} {:?} (truth {}), {:?}\n   speed {:?} {:?} truth {} pull {:?} mm/px {:?} truth {}\n   pivot {:?} {:?} truth {}",
                s.drift.deg.value,
                s.drift.deg.ci95,
                truth.number("drift_deg"),
                s.drift.deg.why,
                s.speed.value,
                s.speed.ci95,
                truth.number("tow_speed_m_s"),
                s.pull_deg,
                s.mm_per_px,
                truth.number("scale_mm_per_px_median"),
                s.pivot.value,
                s.pivot.ci95,
                truth.number("pivot_fraction_from_nose"),
            );
            println!(
                "   hz {:?} {:?} width {:?} {:?} app {} sweep {:?} {:?} truth {} {} {}",
                s.wobble.hz.value,
                s.wobble.hz.ci95,
                s.wobble.width_deg.value,
                s.wobble.width_deg.ci95,
                s.wobble.apparent,
                s.wobble.tail_sweep_mm.value,
                s.wobble.tail_sweep_mm.ci95,
                truth.number("wobble_hz"),
                truth.number("yaw_amp_deg"),
                truth.number("tail_sweep_mm")
            );
            println!("   blow {:?}", s.blow_out);
            for h in &s.hunts.events {
                println!("   {h:?}");
            }
            println!("   truth {:?}", truth.hunts());
            for w in &s.warnings {
                println!("   warning {}", w.code());
            }
        }
    }
}
