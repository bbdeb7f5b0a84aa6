//! Scenes by chance: clips of the same kinds as the shared ones, with lures, waters and moves nobody chose.
//!
//! What the rules of tracking and motion were set on is known too well to judge them. A seed not drawn before
//! gives clips nobody has looked at; the same seed gives the same clips again.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use truerun::scene::{
    ClipPlan, Dart, Fish, Follow, Leaf, LurePlan, Pattern, SceneDescription, SwimPlan, Viewpoint,
    WaterPlan,
};

/// Kinds of scenes, in the order in which they come.
const KINDS: [Kind; 9] = [
    Kind::AboveTowed,
    Kind::Behind,
    Kind::Side,
    Kind::Ahead,
    Kind::AboveStill,
    Kind::Hidden,
    Kind::NoWobble,
    Kind::NoLure,
    Kind::TooFewFrames,
];

#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    AboveTowed,
    AboveStill,
    Behind,
    Ahead,
    Side,
    Hidden,
    NoWobble,
    NoLure,
    TooFewFrames,
}

/// The first `count` scenes of a seed, of each kind in turn.
pub fn scenes(seed: u64, count: usize) -> Vec<SceneDescription> {
    let kinds = KINDS.into_iter().cycle().take(count).enumerate();
    kinds.map(|(n, kind)| scene(seed, n, kind)).collect()
}

fn scene(seed: u64, number: usize, kind: Kind) -> SceneDescription {
    let mut chance = ChaCha8Rng::seed_from_u64(seed.wrapping_mul(1000) + number as u64);
    let view = match kind {
        Kind::Behind => Viewpoint::Behind,
        Kind::Ahead => Viewpoint::Ahead,
        Kind::Side => Viewpoint::Side,
        _ => Viewpoint::Above,
    };
    let mut scene = SceneDescription {
        name: format!("c{seed}_{number:02}_{kind:?}").to_lowercase(),
        seed: chance.random(),
        clip: clip(&mut chance, kind),
        lure: lure(&mut chance),
        water: water(&mut chance, view),
        ..Default::default()
    };
    scene.swim = swim(&mut chance, kind, &scene);
    place_camera(&mut chance, kind, view, &mut scene);
    match kind {
        Kind::Hidden => {
            scene.extras.leaf = Some(Leaf {
                at_s: chance.random_range(2.0..4.0),
                size_mm: scene.lure.length_mm * chance.random_range(1.3..1.8),
                past_m_s: chance.random_range(0.2..0.3),
            });
            scene.clip.gap_jitter = 0.15;
            scene.clip.dropped = 0.04;
        }
        Kind::NoLure => {
            scene.lure.present = false;
            scene.extras.line_mm = 0.0;
        }
        _ => {}
    }
    if kind == Kind::NoLure || chance.random_bool(0.15) {
        scene.extras.fish = Some(fish(&mut chance, &scene));
    }
    scene
}

fn clip(chance: &mut ChaCha8Rng, kind: Kind) -> ClipPlan {
    let (width, height) = [(640, 360), (854, 480), (960, 540)][chance.random_range(0..3)];
    let fps = match kind {
        Kind::TooFewFrames => 15.0,
        Kind::Behind | Kind::Side => 60.0,
        _ => 30.0,
    };
    ClipPlan {
        width,
        height,
        fps,
        seconds: chance.random_range(5.0..7.5),
        exposure_s: chance.random_range(0.004..0.012),
        noise: chance.random_range(1.0..4.0),
        ..Default::default()
    }
}

/// A body of one of four usual colourings, somewhat changed.
fn lure(chance: &mut ChaCha8Rng) -> LurePlan {
    let colours: [[[u8; 3]; 3]; 4] = [
        [[40, 60, 40], [150, 160, 120], [220, 220, 200]],
        [[200, 60, 40], [230, 120, 70], [240, 200, 160]],
        [[210, 205, 190], [230, 226, 215], [240, 236, 230]],
        [[60, 50, 100], [140, 140, 170], [200, 200, 210]],
    ];
    let [back, flank, belly] = colours[chance.random_range(0..4)]
        .map(|colour| colour.map(|c| c.saturating_add_signed(chance.random_range(-25..25))));
    LurePlan {
        length_mm: chance.random_range(42.0..75.0),
        width: chance.random_range(0.15..0.24),
        height: chance.random_range(0.2..0.3),
        pivot: chance.random_range(0.34..0.48),
        lip: chance.random_range(0.18..0.32),
        lip_angle_deg: chance.random_range(20.0..55.0),
        lip_opacity: chance.random_range(0.15..0.95),
        back,
        flank,
        belly,
        pattern: [Pattern::Plain, Pattern::Bars, Pattern::Spots][chance.random_range(0..3)],
        ..Default::default()
    }
}

fn water(chance: &mut ChaCha8Rng, view: Viewpoint) -> WaterPlan {
    let colours = [[50, 110, 104], [84, 92, 50], [92, 112, 70], [60, 84, 96]];
    let over = matches!(view, Viewpoint::Above | Viewpoint::Ahead);
    WaterPlan {
        colour: colours[chance.random_range(0..4)],
        visibility_m: chance.random_range(2.5..7.0),
        bottom_mm: chance.random_range(700.0..1400.0),
        bottom: [[120, 110, 70], [150, 140, 100], [96, 100, 84]][chance.random_range(0..3)],
        stones: chance.random_range(0.1..0.6),
        ripples: chance.random_range(0.004..0.02),
        light_net: chance.random_range(0.1..0.8),
        specks: chance.random_range(0..160),
        glare: if over {
            chance.random_range(0.0..0.4)
        } else {
            0.0
        },
    }
}

fn swim(chance: &mut ChaCha8Rng, kind: Kind, scene: &SceneDescription) -> SwimPlan {
    let wobbles = kind != Kind::NoWobble;
    let hz = match kind {
        Kind::TooFewFrames => chance.random_range(8.3..11.0),
        Kind::Behind | Kind::Side => chance.random_range(3.5..8.0),
        _ => chance.random_range(3.0..6.5),
    };
    let yaw_deg = chance.random_range(9.0..20.0);
    let darts = wobbles && kind != Kind::Side && chance.random_bool(0.5);
    SwimPlan {
        wobble_hz: if wobbles { hz } else { 0.0 },
        rate_wander: chance.random_range(0.01..0.03),
        yaw_deg: if wobbles { yaw_deg } else { 0.0 },
        roll_deg: if wobbles {
            chance.random_range(5.0..14.0)
        } else {
            0.0
        },
        pitch_deg: chance.random_range(2.0..12.0),
        roll_lag_deg: chance.random_range(0.0..40.0),
        drift_deg: chance.random_range(-5.0..5.0),
        speed_m_s: chance.random_range(0.35..0.65),
        depth_mm: chance.random_range(200.0..450.0),
        darts: if darts {
            vec![dart(chance, scene.clip.seconds)]
        } else {
            vec![]
        },
        ..Default::default()
    }
}

fn dart(chance: &mut ChaCha8Rng, seconds: f64) -> Dart {
    let start_s = chance.random_range(1.5..seconds - 2.0);
    let side = if chance.random_bool(0.5) { 1.0 } else { -1.0 };
    Dart {
        start_s,
        peak_s: start_s + chance.random_range(0.3..0.4),
        end_s: start_s + chance.random_range(0.8..1.0),
        mm: side * chance.random_range(50.0..95.0),
    }
}

fn place_camera(
    chance: &mut ChaCha8Rng,
    kind: Kind,
    view: Viewpoint,
    scene: &mut SceneDescription,
) {
    let camera = &mut scene.camera;
    camera.view = view;
    camera.shake_deg = chance.random_range(0.05..0.3);
    match kind {
        Kind::AboveStill => {
            camera.follow = Follow::Still;
            camera.distance_mm = Some(chance.random_range(1100.0..1500.0));
            camera.fov_deg = Some(chance.random_range(55.0..64.0));
            camera.pull_deg = Some(chance.random_range(60.0..120.0));
        }
        Kind::Ahead => {
            camera.follow = Follow::Turn;
            camera.tilt_deg = Some(chance.random_range(32.0..50.0));
            camera.distance_mm = Some(chance.random_range(2000.0..2900.0));
            camera.fov_deg = Some(chance.random_range(17.0..24.0));
            scene.swim.speed_m_s = chance.random_range(0.3..0.45);
        }
        Kind::Behind => {
            camera.tilt_deg = Some(chance.random_range(24.0..40.0));
            camera.distance_mm = Some(chance.random_range(360.0..520.0));
        }
        Kind::Side => {}
        _ => camera.pull_deg = Some(chance.random_range(0.0..360.0)),
    }
}

fn fish(chance: &mut ChaCha8Rng, scene: &SceneDescription) -> Fish {
    Fish {
        at_s: chance.random_range(1.5..scene.clip.seconds - 1.0),
        length_mm: chance.random_range(80.0..140.0),
        speed_m_s: chance.random_range(0.3..0.6),
        course_deg: chance.random_range(-180.0..180.0),
        depth_mm: chance.random_range(450.0..650.0),
        miss_mm: chance.random_range(-120.0..120.0),
    }
}
