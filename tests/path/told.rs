//! What is told wrongly or lost from sight: made-up lures seen by the pinhole camera of `swum`, whose stance, course
//! and side are known.

use std::f64::consts::TAU;

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;
use truerun::camera::{Setup, View};
use truerun::motion::{Swim, analyse};
use truerun::tracking::{State, Track};
use truerun::{Measured, Status};

use super::swum::{Lure, PICTURE, Shoot, mirrored, swim};
use super::{measured, setup};

fn told(lure: &Lure, shoot: &Shoot, view: View, seed: u64) -> Swim {
    let (track, cycles) = match shoot.view {
        View::Side => from_the_side(lure, seed),
        _ => swim(lure, shoot, &mut ChaCha8Rng::seed_from_u64(seed)),
    };
    measured(&track, &cycles, lure.hz, &setup(view, lure))
}

/// The lure from its own right side, pulled to the picture's right: the yaw shows as foreshortening only, and the
/// body nods by 2 degrees.
fn from_the_side(lure: &Lure, seed: u64) -> (Track, Vec<f64>) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let (mut track, cycles) = swim(lure, &above(90.0), &mut rng);
    for (f, cycle) in track.frames.iter_mut().zip(&cycles) {
        let mut noise = |sd: f64| sd * rng.sample::<f64, _>(StandardNormal);
        let wobble = (TAU * cycle).sin();
        let yaw = (lure.yaw_deg * wobble).to_radians();
        f.axis_deg = 98.0 + 2.0 * wobble + noise(1.0);
        f.length_px = 80.0 * yaw.cos() * (1.0 + noise(0.02));
        f.width_px = 20.0;
    }
    (track, cycles)
}

fn doubts_view(swim: &Swim) -> bool {
    swim.warnings.iter().any(|w| w.code() == "view_doubtful")
}

/// From above with the pull this way in the picture, degrees.
fn above(pull_deg: f64) -> Shoot {
    Shoot {
        azimuth_deg: -pull_deg,
        ..Shoot::of(View::Above, true)
    }
}

#[test]
fn a_wrong_view_is_doubted_and_gives_no_angle_or_side() {
    let lure = Lure::default();
    let cases = [
        (above(90.0), View::Behind),
        (above(-90.0), View::Ahead),
        (above(0.0), View::Side),
        (Shoot::of(View::Behind, true), View::Above),
        (Shoot::of(View::Ahead, false), View::Above),
        (Shoot::of(View::Side, true), View::Above),
        (Shoot::of(View::Side, true), View::Behind),
    ];
    for (shoot, view) in &cases {
        for seed in 0..5 {
            let s = told(&lure, shoot, *view, seed);
            let what = format!("{:?} told as {view:?}, seed {seed}", shoot.view);
            assert!(doubts_view(&s), "{what}");
            assert!(!s.wobble.width_deg.is_measured(), "{what}");
            assert!(!s.drift.deg.is_measured(), "{what}");
            assert!(s.wobble.hz.is_measured(), "{what}");
        }
    }
}

#[test]
fn the_right_view_is_not_doubted() {
    let narrow = Lure {
        yaw_deg: 4.0,
        ..Lure::default()
    };
    let shoots = [
        above(0.0),
        above(40.0),
        above(90.0),
        above(200.0),
        Shoot::of(View::Above, false),
        Shoot::of(View::Behind, true),
        Shoot::of(View::Ahead, false),
        Shoot::of(View::Side, true),
    ];
    for lure in [Lure::default(), narrow] {
        for shoot in &shoots {
            for seed in 0..10 {
                let s = told(&lure, shoot, shoot.view, seed);
                let (view, yaw) = (shoot.view, lure.yaw_deg);
                assert!(
                    !doubts_view(&s),
                    "{view:?}, yaw {yaw}, seed {seed}: {:?}",
                    s.warnings
                );
            }
        }
    }
}

/// The lure out of sight wherever `gone` says so of its time and place.
fn without(track: &mut Track, gone: impl Fn(f64, [f64; 2]) -> bool) {
    for f in &mut track.frames {
        if gone(f.t_s, [f.x_px, f.y_px]) {
            f.state = State::Lost;
        }
    }
}

#[test]
fn no_blow_out_is_said_only_of_a_lure_that_was_watched() {
    let lure = Lure::default();
    let at = |shoot: &Shoot, gone: &dyn Fn(f64, [f64; 2]) -> bool| {
        let (mut track, cycles) = swim(&lure, shoot, &mut ChaCha8Rng::seed_from_u64(2));
        without(&mut track, gone);
        let seen = track.frames.iter().zip(cycles);
        let cycles: Vec<f64> = seen.filter(|(f, _)| f.is_seen()).map(|(_, c)| c).collect();
        measured(&track, &cycles, lure.hz, &setup(View::Above, &lure)).blow_out
    };
    let lost = at(&above(90.0), &|t, _| t > 4.0);
    assert_eq!(lost.status, Status::Unmeasurable);
    assert!(
        lost.why
            .unwrap_or_default()
            .contains("lost from sight at 4.0 s")
    );
    let hidden = at(&above(90.0), &|t, _| (2.5..3.2).contains(&t));
    assert_eq!(hidden.status, Status::None);
    let outside = |_: f64, [x, y]: [f64; 2]| {
        !(20.0..PICTURE[0] - 20.0).contains(&x) || !(20.0..PICTURE[1] - 20.0).contains(&y)
    };
    let crossing = Shoot {
        azimuth_deg: -90.0,
        seconds: 8.0,
        ..Shoot::of(View::Above, false)
    };
    let swam_out = at(&crossing, &outside);
    assert_eq!(swam_out.status, Status::None, "{:?}", swam_out.why);
}

#[test]
fn the_side_to_which_it_leaves_is_told_in_both_frames() {
    let lure = Lure {
        darts: vec![[3.5, 6.5, 60.0, 500.0]],
        ..Lure::default()
    };
    let (track, cycles) = swim(&lure, &above(0.0), &mut ChaCha8Rng::seed_from_u64(1));
    for (track, words) in [
        (&track, "its own right (your left"),
        (&mirrored(&track), "its own left (your right"),
    ] {
        let s = measured(track, &cycles, lure.hz, &setup(View::Above, &lure));
        let why = s.blow_out.why.unwrap_or_default();
        assert!(why.contains(words), "{why}");
    }
}

/// A thing with no line and no wobble under a camera that moves along: a lure that is pulled, or a stone.
#[test]
fn what_lies_on_the_bottom_is_no_lure() {
    let still = Lure {
        yaw_deg: 0.0,
        ..Lure::default()
    };
    let (mut track, _) = swim(&still, &above(90.0), &mut ChaCha8Rng::seed_from_u64(3));
    for f in &mut track.frames {
        f.line_deg = f64::NAN;
    }
    let towed = analyse(&track, &setup(View::Above, &still));
    assert!(towed.found);
    let start = [300.0, 200.0];
    for f in &mut track.frames {
        // near stones slide by a little faster than the bottom about them
        let shift = f.to_scene.apply([0.0; 2]);
        (f.x_px, f.y_px) = (start[0] - 1.1 * shift[0], start[1] - 1.1 * shift[1]);
    }
    let stone = analyse(&track, &setup(View::Above, &still));
    assert!(!stone.found);
    let nothing = |m: &Measured| m.status == Status::Unmeasurable;
    assert!(nothing(&stone.wobble.hz) && nothing(&stone.drift.deg) && nothing(&stone.speed));
}

#[test]
fn what_is_seen_too_little_and_does_not_wobble_makes_no_way_and_no_dart() {
    let still = Lure {
        yaw_deg: 0.0,
        ..Lure::default()
    };
    let (mut track, _) = swim(&still, &above(90.0), &mut ChaCha8Rng::seed_from_u64(3));
    let whole = analyse(&track, &setup(View::Above, &still));
    assert!(whole.drift.deg.is_measured(), "{:?}", whole.drift);
    without(&mut track, |t_s, _| t_s > 2.0);
    let brief = analyse(&track, &setup(View::Above, &still));
    assert!(!brief.wobble.hz.is_measured() && !brief.drift.deg.is_measured());
    assert!(!brief.speed.is_measured() && brief.hunts.events.is_empty());
    assert_eq!(brief.hunts.status, Status::Unmeasurable);
}

#[test]
fn a_tilt_by_which_the_lure_would_fly_tells_only_the_rate() {
    let (lure, shoot) = (Lure::default(), Shoot::of(View::Ahead, false));
    let (mut track, cycles) = swim(&lure, &shoot, &mut ChaCha8Rng::seed_from_u64(1));
    for f in &mut track.frames[..5] {
        f.y_px = 0.02 * PICTURE[1];
    }
    let told = Setup {
        tilt_deg: Some(9.0),
        fov_deg: Some(70.0),
        ..setup(View::Ahead, &lure)
    };
    let s = measured(&track, &cycles, lure.hz, &told);
    assert!(s.wobble.hz.is_measured());
    for withheld in [
        &s.wobble.width_deg,
        &s.wobble.tail_sweep_mm,
        &s.drift.deg,
        &s.speed,
        &s.pivot,
    ] {
        let why = withheld.why.as_deref().unwrap_or_default();
        assert!(!withheld.is_measured() && why.contains("horizon"), "{why}");
    }
    assert!(s.hunts.events.is_empty());
}
