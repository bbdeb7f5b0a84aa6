//! Pictures for the tests: clear ones, by chance.

use std::path::{Path, PathBuf};

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use truerun::camera::{BodyEnd, FloatView};
use truerun::float_test::{self, FloatOptions, FloatReport};
use truerun::motion::float::FloatSetup;
use truerun::scene::float::FloatPlan;

/// A clear picture: the phone at the height of the water, the lure some 60 % of the width, a plain backdrop, paint
/// that is not the water's.
pub fn clear(seed: u64, end_view: bool) -> FloatPlan {
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    let mut between = |a: f64, b: f64| dice.random_range(a..b);
    const PAINTS: [[f32; 3]; 5] = [
        [0.85, 0.45, 0.10],
        [0.80, 0.15, 0.15],
        [0.90, 0.80, 0.20],
        [0.75, 0.30, 0.60],
        [0.92, 0.90, 0.85],
    ];
    let length_mm = [58.0, 45.0, 65.0][seed as usize % 3];
    let (width, height) = (480, 288);
    let grey = between(0.32, 0.5) as f32;
    FloatPlan {
        seed,
        width,
        height,
        px_per_mm: if end_view {
            7.0
        } else {
            0.58 * width as f64 / length_mm
        },
        end_view,
        nose_right: between(0.0, 1.0) < 0.5,
        from_nose: between(0.0, 1.0) < 0.5,
        length_mm,
        height_mm: length_mm * between(0.2, 0.27),
        flatness: between(0.5, 0.8),
        belly: between(0.0, 0.15),
        pitch_deg: between(-12.0, 12.0),
        list_deg: if end_view { between(-12.0, 12.0) } else { 0.0 },
        above_mm: between(-2.0, 2.0),
        turn_deg: between(-3.0, 3.0),
        camera_above_mm: between(-1.5, 1.5),
        distance_mm: [between(350.0, 500.0), between(20.0, 45.0)],
        ripples_mm: between(0.02, 0.12),
        texture: 0.25,
        noise: between(1.0, 2.0),
        shake_px: 0.3,
        body: [
            [0.36, 0.20, 0.08],
            PAINTS[between(0.0, 4.99) as usize],
            [0.95, 0.92, 0.85],
        ],
        air: [grey, grey, grey * 1.05],
        water_colour: [0.10, 0.26, 0.28],
        ..FloatPlan::default()
    }
}

pub fn view(plan: &FloatPlan) -> FloatView {
    match (plan.end_view, plan.from_nose) {
        (false, _) => FloatView::Side { nose: None },
        (true, true) => FloatView::End {
            from: BodyEnd::Nose,
        },
        (true, false) => FloatView::End {
            from: BodyEnd::Tail,
        },
    }
}

pub fn measured(plan: &FloatPlan, path: &Path) -> FloatReport {
    measured_with(
        path,
        FloatSetup {
            view: view(plan),
            length_mm: Some(plan.length_mm),
            horizon_deg: None,
        },
    )
}

pub fn measured_with(path: &Path, setup: FloatSetup) -> FloatReport {
    float_test::run(
        path,
        FloatOptions {
            setup,
            start: None,
            real_fps: None,
            progress: &mut |_, _| {},
        },
    )
    .unwrap()
}

/// A folder of one's own, gone at the end.
pub struct Folder(pub tempfile::TempDir);

impl Folder {
    pub fn new() -> Folder {
        Folder(tempfile::tempdir().unwrap())
    }

    pub fn file(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }
}
