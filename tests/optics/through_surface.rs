//! A lure followed from the air, every point of it traced through the surface by Snell's law, written here alone: with the
//! camera's height and the lure's depth told the yaw comes out right, without them it does not.

use truerun::camera::{Marks, Setup, View};
use truerun::motion;
use truerun::tracking::{Affine, Doubts, State, Track, TrackFrame};

const N: f64 = 1.3335;
const FOCAL: f64 = 1100.0;
const PICTURE: [f64; 2] = [1280.0, 720.0];
const HEIGHT_MM: f64 = 900.0;
const DEPTH_MM: f64 = 600.0;
const TILT_DEG: f64 = 32.0;
const YAW_DEG: f64 = 16.0;
const BODY_MM: f64 = 65.0;
const PITCH_DEG: f64 = 8.0;

/// Picture point of the point `x` to the right and `z` ahead of the camera's foot, `deep` below the surface, mm.
fn seen(x: f64, z: f64, deep: f64) -> [f64; 2] {
    let away = x.hypot(z);
    let (mut near, mut far) = (0.0, away);
    for _ in 0..100 {
        let s = 0.5 * (near + far);
        let (air, wet) = (s / s.hypot(HEIGHT_MM), (away - s) / (away - s).hypot(deep));
        if air > N * wet { far = s } else { near = s }
    }
    // Where its ray meets the surface, as the camera sees that place.
    let (x, z) = (x / away * near, z / away * near);
    let (sin, cos) = TILT_DEG.to_radians().sin_cos();
    let along = z * cos + HEIGHT_MM * sin;
    let down = -z * sin + HEIGHT_MM * cos;
    [
        PICTURE[0] / 2.0 + FOCAL * x / along,
        PICTURE[1] / 2.0 + FOCAL * down / along,
    ]
}

/// The lure swims away from a standing camera.
fn track() -> Track {
    let frames = (0..240)
        .map(|i| {
            let t_s = f64::from(i) / 60.0;
            let ahead = 1500.0 + 350.0 * t_s;
            let yaw = (YAW_DEG * (std::f64::consts::TAU * 5.0 * t_s).sin()).to_radians();
            // It swims nose down, as lures that dive do.
            let (dip, level) = PITCH_DEG.to_radians().sin_cos();
            let half = BODY_MM / 2.0;
            let end = |way: f64| {
                seen(
                    way * level * yaw.sin(),
                    ahead + way * level * yaw.cos(),
                    DEPTH_MM + way * dip,
                )
            };
            let (nose, tail) = (end(half), end(-half));
            let axis = [nose[0] - tail[0], nose[1] - tail[1]];
            TrackFrame {
                frame: i as usize,
                t_s,
                state: State::Seen,
                confidence: 1.0,
                x_px: 0.5 * (nose[0] + tail[0]),
                y_px: 0.5 * (nose[1] + tail[1]),
                axis_deg: axis[0].atan2(-axis[1]).to_degrees(),
                length_px: axis[0].hypot(axis[1]),
                width_px: 12.0,
                brightness: 0.5,
                line_deg: f64::NAN,
                to_scene: Affine::IDENTITY,
            }
        })
        .collect();
    Track {
        frames,
        picture_width_px: PICTURE[0],
        picture_height_px: PICTURE[1],
        camera_moves: false,
        doubts: Doubts::default(),
    }
}

/// The yaw's width as measured, with and without what is known of the water.
fn width(marks: Marks) -> f64 {
    let told = Setup {
        length_mm: Some(BODY_MM),
        pull_deg: Some(0.0),
        tilt_deg: Some(TILT_DEG),
        fov_deg: Some(2.0 * (PICTURE[0] / 2.0 / FOCAL).atan().to_degrees()),
        marks,
        ..Setup::new(View::Behind)
    };
    let swim = motion::analyse(&track(), &motion::without_surface(&told));
    assert!(!swim.wobble.apparent);
    swim.wobble.width_deg.value.unwrap()
}

#[test]
fn the_yaw_is_right_once_the_surface_is_known() {
    let plain = width(Marks::default());
    let told = width(Marks {
        camera_height_mm: Some(HEIGHT_MM),
        depth_mm: Some(DEPTH_MM),
        ..Marks::default()
    });
    eprintln!("truth {YAW_DEG}, without {plain:.2}, with {told:.2}");
    assert!((told - YAW_DEG).abs() < 0.03 * YAW_DEG, "{told}");
    assert!(
        (plain - YAW_DEG).abs() > 2.0 * (told - YAW_DEG).abs(),
        "{plain} {told}"
    );
}

#[test]
fn it_is_left_alone_where_no_surface_lies_between() {
    let known = Marks {
        camera_height_mm: Some(HEIGHT_MM),
        depth_mm: Some(DEPTH_MM),
        ..Marks::default()
    };
    let tilt = |view, under_water| {
        motion::without_surface(&Setup {
            tilt_deg: Some(TILT_DEG),
            marks: Marks {
                under_water,
                ..known.clone()
            },
            ..Setup::new(view)
        })
        .tilt_deg
    };
    assert_eq!(tilt(View::Behind, true), Some(TILT_DEG));
    assert_eq!(tilt(View::Side, false), Some(TILT_DEG));
    assert!(tilt(View::Behind, false).unwrap() > TILT_DEG + 1.0);
}
