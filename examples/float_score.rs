//! Draws float tests by chance and holds the measure against their truth, as a table.
use truerun::scene::float::*;
use truerun::tracking::float::{Floating, photo};

fn main() {
    let n: u64 = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(20);
    let mut errors = vec![];
    let folder = std::env::temp_dir().join("float_score");
    std::fs::create_dir_all(&folder).unwrap();
    for seed in 0..n {
        let plan = chance_plan(seed);
        let path = folder.join(format!("{seed}.jpg"));
        let truth = write_float_photo(&plan, &path).unwrap();
        let started = std::time::Instant::now();
        let track = photo(&path, &Floating { end: plan.end_view, ..Default::default() }).unwrap();
        let took = started.elapsed().as_secs_f64();
        let Some((water, outline)) = track.frames.first().and_then(|f| f.water.zip(f.outline.clone())) else {
            println!("{seed:3} {} missing {:?}", if plan.end_view {"end "} else {"side"}, track.missing);
            continue;
        };
        let (angle, want) = if plan.end_view {
            let lean = outline.axis_deg - water.turn_deg;
            (if plan.from_nose { -lean } else { lean }, plan.list_deg)
        } else {
            let clockwise = outline.axis_deg - 90.0 - water.turn_deg;
            (if plan.nose_right { clockwise } else { -clockwise }, plan.pitch_deg)
        };
        let sd = outline.axis_sd_deg.hypot(water.sd_turn_deg);
        let mm = plan.length_mm / outline.length_px[0];
        let over = |u: f64| -water.under_px(outline.point(u, 0.0)) * mm;
        let half = outline.length_px[0] / 2.0 * if plan.nose_right { 1.0 } else { -1.0 };
        let e = angle - want;
        errors.push((e.abs(), plan.end_view));
        println!(
            "{seed:3} {} angle {want:6.2} err {e:6.2} sd {:.2}/{:.2} turn err {:5.2} len err {:5.2} mm nose {:5.2} tail {:5.2} band {:.1} waves {:.2} fuller {:.2} longer {:.2} cam {:.1} {took:.2} s",
            if plan.end_view {"end "} else {"side"},
            outline.axis_sd_deg, water.sd_turn_deg, water.turn_deg - plan.turn_deg,
            outline.length_px[0] / plan.px_per_mm - plan.length_mm,
            -over(half) - truth.water_over_nose_mm, -over(-half) - truth.water_over_tail_mm,
            water.band_px, water.waves_px, outline.fuller_right, outline.longer, plan.camera_above_mm,
        );
        let _ = sd;
    }
    for end in [false, true] {
        let mut e: Vec<f64> = errors.iter().filter(|e| e.1 == end).map(|e| e.0).collect();
        e.sort_by(f64::total_cmp);
        if e.is_empty() { continue; }
        println!("end {end}: n {} median {:.3} p90 {:.3} max {:.3} within 0.3: {}", e.len(), e[e.len()/2], e[e.len()*9/10], e[e.len()-1], e.iter().filter(|e| **e <= 0.3).count());
    }
}

fn chance_plan(seed: u64) -> FloatPlan {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x1234_5678;
    let mut next = move || {
        state ^= state << 13; state ^= state >> 7; state ^= state << 17;
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    for _ in 0..10 { next(); }
    let mut between = |a: f64, b: f64| a + (b - a) * next();
    let end_view = seed % 4 == 3;
    let colour = |b: &mut dyn FnMut(f64, f64) -> f64| [b(0.1, 0.95) as f32, b(0.1, 0.95) as f32, b(0.1, 0.95) as f32];
    let length_mm = between(45.0, 70.0);
    let width = 640.0;
    FloatPlan {
        seed,
        px_per_mm: if end_view { between(5.0, 9.0) } else { between(0.35, 0.6) * width / length_mm },
        end_view,
        nose_right: between(0.0, 1.0) < 0.5,
        from_nose: between(0.0, 1.0) < 0.5,
        length_mm,
        height_mm: length_mm * between(0.2, 0.3),
        flatness: between(0.5, 0.8),
        belly: between(0.0, 0.2),
        pitch_deg: between(-20.0, 20.0),
        list_deg: if end_view { between(-15.0, 15.0) } else { between(-3.0, 3.0) },
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
        air: { let v = between(0.3, 0.8) as f32; [v, v, v * 1.05] },
        water_colour: [between(0.1, 0.3) as f32, between(0.3, 0.45) as f32, between(0.3, 0.45) as f32],
        ..FloatPlan::default()
    }
}
