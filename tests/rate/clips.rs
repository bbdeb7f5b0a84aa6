//! The rate and width from the true tracks of the shared clips with noise added as a tracker has it.

use crate::support::{Dice, shared};
use truerun::Status;
use truerun::camera::{Setup, View};
use truerun::motion::Series;
use truerun::motion::wobble::{Picture, WobbleFit, wobble};

struct Truth {
    hz: f64,
    width_deg: f64,
    sweep_mm: f64,
}

fn clip(name: &str, view: View, tilt: Option<f64>, number: u64) -> Option<(WobbleFit, Truth)> {
    let text = std::fs::read_to_string(shared(&format!("clips/{name}.json"))?).unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    let mut dice = Dice::new(number);
    let frames: Vec<&serde_json::Value> = json["frames"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|f| f["visible"] == true && f["occluded"] != true)
        .collect();
    let number = |f: &serde_json::Value, key: &str| f[key].as_f64().unwrap();
    let t: Vec<f64> = frames.iter().map(|f| number(f, "t")).collect();
    let axis_noise = (dice.slow(&t, 1.0, 0.15), dice.white(t.len(), 1.0));
    let place_noise = (dice.slow(&t, 0.5, 0.15), dice.white(t.len(), 0.4));
    let length_noise = dice.white(t.len(), 0.8);
    let mirror = if view == View::Ahead { -1.0 } else { 1.0 };
    let mut s = Series::default();
    for (i, f) in frames.iter().enumerate() {
        let pull = number(f, "retr_img_deg");
        let point = |key: &str| {
            let p = f[key].as_array().unwrap();
            [p[0].as_f64().unwrap(), p[1].as_f64().unwrap()]
        };
        let (nose, tail) = (point("nose"), point("tail"));
        let middle = [(nose[0] + tail[0]) / 2.0, (nose[1] + tail[1]) / 2.0];
        let (sin, cos) = pull.to_radians().sin_cos();
        let right =
            mirror * (middle[0] * cos + middle[1] * sin) + place_noise.0[i] + place_noise.1[i];
        let slip = if dice.between(0.0, 1.0) < 0.01 {
            dice.normal() * 40.0
        } else {
            0.0
        };
        let axis = mirror * truerun::units::wrap_deg(number(f, "axis_img_deg") - pull);
        s.t_s.push(t[i]);
        s.axis_deg
            .push(axis + axis_noise.0[i] + axis_noise.1[i] + slip);
        s.sideways_px.push(right);
        s.length_px
            .push((nose[0] - tail[0]).hypot(nose[1] - tail[1]) + length_noise[i]);
        s.width_px.push(12.0 + dice.normal() * 0.5);
        s.brightness.push(0.5 + dice.normal() * 0.02);
    }
    let setup = Setup {
        length_mm: json["lure_length_mm"].as_f64(),
        tilt_deg: tilt,
        ..Setup::new(view)
    };
    let picture = Picture {
        mm_per_px: json["scale_mm_per_px_median"].as_f64(),
        calm: vec![],
        ..Picture::default()
    };
    let of = |key: &str| json[key].as_f64().unwrap();
    let truth = Truth {
        hz: of("wobble_hz_visible"),
        width_deg: of("yaw_amp_deg_visible"),
        sweep_mm: of("tail_sweep_mm"),
    };
    Some((wobble(&s, &setup, &picture), truth))
}

/// What the clip should give: whether the rate is measured, and how far the width may be off.
struct Bar {
    width: Option<f64>,
}

fn check(name: &str, view: View, tilt: Option<f64>, bar: Bar) {
    for number in 0..3 {
        let Some((fit, truth)) = clip(name, view, tilt, number) else {
            return;
        };
        let w = &fit.wobble;
        println!(
            "{name} truth {:.3} Hz {:.1}° {:.1} mm",
            truth.hz, truth.width_deg, truth.sweep_mm
        );
        println!("   hz {:?} {:?}", w.hz.value, w.hz.ci95);
        println!("   width {:?} {:?}", w.width_deg.value, w.width_deg.ci95);
        println!(
            "   sweep {:?} {:?}",
            w.tail_sweep_mm.value, w.tail_sweep_mm.ci95
        );
        assert_eq!(w.hz.status, Status::Measured);
        let off = w.hz.value.unwrap() - truth.hz;
        assert!(
            off.abs() <= (0.005 * truth.hz).max(0.02),
            "{name}: rate off by {off} Hz"
        );
        match bar.width {
            None => assert_eq!(w.width_deg.status, Status::Unmeasurable),
            Some(most) => {
                let off = (w.width_deg.value.unwrap() - truth.width_deg) / truth.width_deg;
                assert!(
                    off.abs() <= most,
                    "{name}: width off by {:.1} %",
                    off * 100.0
                );
                let off = (w.tail_sweep_mm.value.unwrap() - truth.sweep_mm) / truth.sweep_mm;
                println!("   sweep off by {:.1} %", off * 100.0);
            }
        }
    }
}

#[test]
fn above() {
    for name in ["d01_over_follow", "d02_over_fixed", "d08_over_vfr_occl"] {
        check(name, View::Above, None, Bar { width: Some(0.055) });
    }
}

/// The tilts at the lure itself, from the true foreshortening of the body in the clips' truth.
#[test]
fn tilted() {
    check(
        "d03_chase60",
        View::Behind,
        Some(37.0),
        Bar { width: Some(0.1) },
    );
    check(
        "d04_dock_headon",
        View::Ahead,
        Some(35.0),
        Bar { width: Some(0.1) },
    );
}

#[test]
fn side() {
    check("d05_side60", View::Side, None, Bar { width: None });
}

#[test]
fn still() {
    for number in 0..3 {
        let Some((fit, _)) = clip("d06_dead_still", View::Above, None, number) else {
            return;
        };
        assert_eq!(fit.wobble.hz.status, Status::None, "{:?}", fit.wobble.hz);
    }
}

#[test]
fn folded() {
    for number in 0..3 {
        let Some((fit, truth)) = clip("d09_alias15", View::Above, None, number) else {
            return;
        };
        assert_eq!(fit.wobble.hz.status, Status::Aliased);
        let near = |c: &f64| (c - truth.hz).abs() < 0.005 * truth.hz;
        assert!(
            fit.wobble.alias_candidates_hz.iter().any(near),
            "{:?}",
            fit.wobble.alias_candidates_hz
        );
    }
}
