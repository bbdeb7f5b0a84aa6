use std::path::Path;
#[allow(dead_code)]
#[path = "score/truth.rs"]
mod truth;
type Outcome<T> = Result<T, Box<dyn std::error::Error>>;
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let t = truth::Truth::read(Path::new(&a[2])).unwrap();
    let r = truerun::swim_test::run(
        Path::new(&a[1]),
        truerun::swim_test::SwimOptions {
            setup: t.setup(),
            start: if a.len() > 3 { None } else { t.start_box() },
            real_fps: t.real_fps(),
            optics: Default::default(),
            progress: &mut |_, _| {},
        },
    )
    .unwrap();
    let pull = r.swim.pull_deg.unwrap_or(0.0).to_radians();
    for f in &r.track.frames {
        let m = f.to_scene.apply([
            r.track.picture_width_px / 2.0,
            r.track.picture_height_px / 2.0,
        ]);
        let (x, y) = (
            m[0] - r.track.picture_width_px / 2.0,
            m[1] - r.track.picture_height_px / 2.0,
        );
        println!(
            "{:.3} fwd {:.2} side {:.2} zoom {:.4} rot {:.3}",
            f.t_s,
            x * pull.sin() - y * pull.cos(),
            x * pull.cos() + y * pull.sin(),
            f.to_scene.0[0].hypot(f.to_scene.0[3]),
            f.to_scene.turn_deg()
        );
    }
    eprintln!("moves {} pull {:?}", r.track.camera_moves, r.swim.pull_deg);
}
