//! Draws float tests by chance and holds every figure against its truth, as a table.
//!
//! `cargo run --release --example float_score -- photos 80` (or `clear 60`, the clear photos of
//! the tests, or `clips 12`, or `ways 12`: those that rise or sink alone; a third number is the first seed)
#[allow(dead_code)]
#[path = "../tests/float/drawn.rs"]
mod drawn;

use std::collections::BTreeMap;

use truerun::Measured;
use truerun::camera::{BodyEnd, FloatView};
use truerun::float_test::{self, FloatOptions};
use truerun::motion::float::{Float, FloatSetup};
use truerun::scene::float::{FloatPlan, FloatTruth, Push, write_float_clip, write_float_photo};

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let number = |i: usize, usual: u64| args.get(i).and_then(|a| a.parse().ok()).unwrap_or(usual);
    let kind = args.first().map_or("photos", String::as_str);
    let clips = ["clips", "ways"].contains(&kind);
    let (count, first) = (number(1, 20), number(2, 0));
    let folder = std::env::temp_dir().join("float_score");
    std::fs::create_dir_all(&folder).expect("a folder for pictures");
    let mut tally: BTreeMap<&str, Vec<(f64, bool)>> = BTreeMap::new();
    for number in first..first + count {
        // every third clip rises or sinks
        let seed = if kind == "ways" {
            3 * number + 2
        } else {
            number
        };
        let mut plan = match kind {
            "clear" => drawn::clear(seed, seed % 4 == 3),
            _ => chance_plan(seed),
        };
        let path = folder.join(format!("{seed}.{}", if clips { "mp4" } else { "jpg" }));
        let truth = if clips {
            move_it(&mut plan, seed);
            write_float_clip(&plan, &path)
        } else {
            write_float_photo(&plan, &path)
        }
        .expect("a picture");
        let view = match plan.end_view {
            true => FloatView::End {
                from: if plan.from_nose {
                    BodyEnd::Nose
                } else {
                    BodyEnd::Tail
                },
            },
            false => FloatView::Side { nose: None },
        };
        let started = std::time::Instant::now();
        let report = float_test::run(
            &path,
            FloatOptions {
                setup: FloatSetup {
                    view,
                    length_mm: Some(plan.length_mm),
                    horizon_deg: None,
                },
                start: None,
                real_fps: None,
                progress: &mut |_, _| {},
            },
        )
        .expect("a report");
        let float = &report.float;
        print!("{seed:3} {} ", if plan.end_view { "end " } else { "side" });
        if !float.found {
            println!("missing {:?}", float.missing);
            tally.entry("missing").or_default().push((1.0, false));
            continue;
        }
        for (name, want, found) in figures(&plan, &truth, float) {
            let (Some(value), Some([lo, hi])) = (found.value, found.ci95) else {
                print!("{name} {:?} ({want:.2}) ", found.status);
                tally.entry("not measured").or_default().push((1.0, false));
                continue;
            };
            let holds = (lo..=hi).contains(&want);
            let error = value - want;
            print!(
                "{name} {want:.2} {error:+.2}±{:.2}{} ",
                (hi - lo) / 2.0,
                if holds { "" } else { "!" }
            );
            tally.entry(name).or_default().push((error.abs(), holds));
        }
        println!("{:.2} s", started.elapsed().as_secs_f64());
    }
    for (name, mut errors) in tally {
        errors.sort_by(|a, b| a.0.total_cmp(&b.0));
        let n = errors.len();
        let holds = errors.iter().filter(|e| e.1).count();
        println!(
            "{name:12} n {n:3}  median {:.3}  90 % {:.3}  worst {:.3}  within 0.3 {:3}  within 0.5 {:3}  held {holds}",
            errors[n / 2].0,
            errors[(n * 9 / 10).min(n - 1)].0,
            errors[n - 1].0,
            errors.iter().filter(|e| e.0 <= 0.3).count(),
            errors.iter().filter(|e| e.0 <= 0.5).count(),
        );
    }
}

fn figures<'a>(
    plan: &FloatPlan,
    truth: &FloatTruth,
    float: &'a Float,
) -> Vec<(&'static str, f64, &'a Measured)> {
    let mut out = Vec::new();
    match plan.end_view {
        true => out.push(("list", truth.list_deg, &float.list_deg)),
        false => {
            out.push(("angle", truth.pitch_deg, &float.nose_down_deg));
            if let (Some(mm), None) = (float.mm_per_px, truth.rise_mm_s) {
                let off = 100.0 * (mm / truth.mm_per_px - 1.0);
                print!("scale {off:+.1} % ");
            }
            if truth.rise_mm_s.is_none() {
                out.push(("nose", truth.water_over_nose_mm, &float.water_over_nose_mm));
                out.push(("tail", truth.water_over_tail_mm, &float.water_over_tail_mm));
                out.push(("above", truth.part_above, &float.part_above));
                out.push(("freeboard", truth.freeboard_mm, &float.freeboard_mm));
            }
        }
    }
    if let (Some(period), Some(damping)) = (truth.period_s, truth.damping) {
        out.push(("period", period, &float.rocking.period_s));
        out.push(("damping", damping, &float.rocking.damping));
    }
    if let (Some(rise), false) = (truth.rise_mm_s, plan.end_view) {
        out.push(("rise", rise, &float.rise_mm_s));
    }
    out
}

/// Rocking for two clips of three, rising or sinking for the third.
fn move_it(plan: &mut FloatPlan, seed: u64) {
    let part = |n: u64| (seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> n & 0xff) as f64 / 255.0;
    plan.pitch_deg *= 0.5;
    if seed % 3 < 2 {
        plan.seconds = 4.0;
        plan.push = Some(Push {
            t_s: 0.9,
            swing_deg: 5.0 + 10.0 * part(8),
            period_s: 0.35 + 0.6 * part(16),
            damping: 0.03 + 0.12 * part(24),
        });
    } else {
        plan.end_view = false;
        plan.seconds = 3.0;
        plan.px_per_mm = 0.3 * plan.width as f64 / plan.length_mm;
        plan.above_mm = 0.5;
        plan.climb = Some([0.8, -(8.0 + 10.0 * part(8))]);
    }
}

fn chance_plan(seed: u64) -> FloatPlan {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x1234_5678;
    let mut next = move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    for _ in 0..10 {
        next();
    }
    let mut between = |a: f64, b: f64| a + (b - a) * next();
    let end_view = seed % 4 == 3;
    let colour = |b: &mut dyn FnMut(f64, f64) -> f64| {
        [
            b(0.1, 0.95) as f32,
            b(0.1, 0.95) as f32,
            b(0.1, 0.95) as f32,
        ]
    };
    let length_mm = between(45.0, 70.0);
    let width = 640.0;
    FloatPlan {
        seed,
        px_per_mm: if end_view {
            between(5.0, 9.0)
        } else {
            between(0.35, 0.6) * width / length_mm
        },
        end_view,
        nose_right: between(0.0, 1.0) < 0.5,
        from_nose: between(0.0, 1.0) < 0.5,
        length_mm,
        height_mm: length_mm * between(0.2, 0.3),
        flatness: between(0.5, 0.8),
        belly: between(0.0, 0.2),
        pitch_deg: between(-20.0, 20.0),
        list_deg: if end_view {
            between(-15.0, 15.0)
        } else {
            between(-3.0, 3.0)
        },
        above_mm: between(-4.0, 3.0),
        place: between(0.45, 0.55),
        turn_deg: between(-5.0, 5.0),
        camera_above_mm: between(-4.0, 4.0),
        distance_mm: [between(300.0, 500.0), between(20.0, 60.0)],
        ripples_mm: between(0.0, 0.25),
        mirror: between(0.2, 0.6),
        texture: between(0.2, 0.6),
        noise: between(1.0, 3.0),
        body: [[0.15, 0.2, 0.1], colour(&mut between), [0.85, 0.85, 0.75]],
        air: {
            let v = between(0.3, 0.8) as f32;
            [v, v, v * 1.05]
        },
        water_colour: [
            between(0.1, 0.3) as f32,
            between(0.3, 0.45) as f32,
            between(0.3, 0.45) as f32,
        ],
        ..FloatPlan::default()
    }
}
