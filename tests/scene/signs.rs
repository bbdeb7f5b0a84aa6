//! Left and right, clockwise and down, in each view, read off the drawn picture: the frames of the design.

use crate::support::{drawn_turn, lure, moments, plain};
use truerun::scene::{Dart, Fish, Frame, SceneDescription, Stage, Viewpoint};

/// The frames with the largest yaw to the right and to the left.
fn extremes(stage: &Stage) -> (Frame, Frame) {
    let truth = stage.truth();
    let yaw = |i: &usize| truth.frames[*i].lure.as_ref().unwrap().yaw_deg;
    let right = (0..truth.frames.len())
        .max_by(|a, b| yaw(a).total_cmp(&yaw(b)))
        .unwrap();
    let left = (0..truth.frames.len())
        .min_by(|a, b| yaw(a).total_cmp(&yaw(b)))
        .unwrap();
    (stage.frame(right), stage.frame(left))
}

#[test]
fn nose_to_own_right_is_clockwise_but_from_ahead() {
    for (view, sign) in [
        (Viewpoint::Above, 1.0),
        (Viewpoint::Behind, 1.0),
        (Viewpoint::Ahead, -1.0),
    ] {
        let (right, left) = extremes(&Stage::new(&plain(view)).unwrap());
        assert!(lure(&right).yaw_deg > 14.0 && lure(&left).yaw_deg < -14.0);
        // The lure runs up the picture, and from ahead down it; clockwise of "down" is to the left.
        let side = |f: &Frame| (lure(f).nose[0] - lure(f).tail[0]).signum();
        assert_eq!(side(&right), sign, "{view:?}");
        assert_eq!(side(&left), -sign, "{view:?}");
        let turns = (drawn_turn(&right), drawn_turn(&left));
        assert!(turns.0 > 10.0 && turns.1 < -10.0, "{view:?}: {turns:?}");
    }
}

#[test]
fn own_right_is_the_pictures_left_from_ahead() {
    for (view, sign) in [
        (Viewpoint::Above, 1.0),
        (Viewpoint::Behind, 1.0),
        (Viewpoint::Ahead, -1.0),
    ] {
        let mut d = plain(view);
        d.swim.yaw_deg = 0.0;
        d.swim.drift_deg = 5.0;
        let stage = Stage::new(&d).unwrap();
        let x = |i: usize| moments(&stage.frame(i).body_cover, 320).0[0];
        assert!(
            (x(29) - x(0)) * sign > 1.0,
            "{view:?}: {} to {}",
            x(0),
            x(29)
        );
    }
}

#[test]
fn roll_and_pitch_show_as_they_should() {
    // From its own right side: nose down is lower in the picture, and it runs to the right.
    let mut d = plain(Viewpoint::Side);
    d.swim.yaw_deg = 0.0;
    d.swim.pitch_deg = 15.0;
    let frame = Stage::new(&d).unwrap().frame(3);
    let (_, axis) = moments(&frame.body_cover, frame.width);
    assert!(axis > 100.0 && axis < 110.0, "{axis}");
    // From above, right side down: hooks and belly swing to own left, the picture's left.
    let hooks_x = |roll: f64| {
        let mut d = plain(Viewpoint::Above);
        d.swim.yaw_deg = 0.0;
        d.swim.wobble_hz = 0.0;
        d.swim.list_deg = roll;
        let frame = Stage::new(&d).unwrap().frame(0);
        let all = moments(&frame.cover, frame.width).0[0];
        all - lure(&frame).pivot[0]
    };
    assert!(hooks_x(30.0) < hooks_x(0.0) - 0.1 && hooks_x(-30.0) > hooks_x(0.0) + 0.1);
}

/// Swing in the picture over yaw (ratio of tangents) of a small lure straight ahead.
fn swing_ratio(d: &SceneDescription) -> f64 {
    let (right, _) = extremes(&Stage::new(d).unwrap());
    let l = lure(&right);
    let image = (l.axis_img_deg - l.retr_img_deg).to_radians().tan();
    image / (l.yaw_deg + l.heading_deg).to_radians().tan()
}

#[test]
fn apparent_swing_from_behind_follows_the_tilt() {
    // DESIGN §3: tan(image) = tan(yaw) / sin(tilt).
    let mut d = plain(Viewpoint::Behind);
    d.lure.length_mm = 12.0;
    let truth = Stage::new(&d).unwrap().truth().camera;
    let expected = 1.0 / truth.tilt_deg.to_radians().sin();
    assert!(
        (swing_ratio(&d) / expected - 1.0).abs() < 0.03,
        "{}",
        swing_ratio(&d)
    );
    assert!((truth.apparent_tilt_deg.unwrap() - truth.tilt_deg).abs() < 1.0);
}

#[test]
fn apparent_swing_through_the_surface_follows_snell() {
    // Closed form: with height h, depth d and angles below the horizontal a (air) and w (water),
    // cos a = n cos w and r = h cot a + d cot w; the swing grows by (cos a / r)·|dr/da|.
    let mut d = plain(Viewpoint::Ahead);
    d.lure.length_mm = 12.0;
    let stage = Stage::new(&d).unwrap();
    let truth = stage.truth().camera;
    let a = truth.tilt_deg.to_radians();
    let w = (a.cos() / 1.3333).acos();
    assert!((w.to_degrees() - truth.sight_down_deg.unwrap()).abs() < 0.5);
    let (height, depth) = (-stage.eye(0.0).place.z, d.swim.depth_mm);
    let r = height / a.tan() + depth / w.tan();
    let bend = a.sin() / (1.3333 * w.sin());
    let slope = height / a.sin().powi(2) + depth / w.sin().powi(2) * bend;
    let expected = a.cos() / r * slope;
    assert!(
        (swing_ratio(&d) / expected - 1.0).abs() < 0.02,
        "{} {expected}",
        swing_ratio(&d)
    );
    let apparent = 1.0 / truth.apparent_tilt_deg.unwrap().to_radians().sin();
    assert!((apparent / expected - 1.0).abs() < 0.01);
}

#[test]
fn the_mirrored_scene_gives_the_mirrored_picture() {
    for view in [
        Viewpoint::Above,
        Viewpoint::Behind,
        Viewpoint::Ahead,
        Viewpoint::Side,
    ] {
        let mut d = plain(view);
        d.swim.drift_deg = 3.0;
        d.swim.roll_deg = 10.0;
        d.swim.darts = vec![Dart {
            start_s: 0.1,
            peak_s: 0.4,
            end_s: 0.8,
            mm: 40.0,
        }];
        d.water.ripples = 0.01;
        d.water.specks = 20;
        d.water.glare = 0.3;
        d.camera.shake_deg = 0.2;
        d.camera.aim_lateral_mm = 15.0;
        if view == Viewpoint::Above {
            d.camera.pull_deg = Some(70.0);
        }
        d.extras.fish = Some(Fish {
            at_s: 0.5,
            length_mm: 90.0,
            speed_m_s: 0.4,
            course_deg: 30.0,
            depth_mm: 600.0,
            miss_mm: 60.0,
        });
        let (one, two) = (Stage::new(&d).unwrap(), Stage::new(&d.mirror()).unwrap());
        let (a, b) = (one.frame(9), two.frame(9));
        let (la, lb) = (lure(&a), lure(&b));
        assert!(
            (la.nose[0] + lb.nose[0] - 320.0).abs() < 0.01
                && (la.nose[1] - lb.nose[1]).abs() < 0.01
        );
        assert_eq!(
            (la.yaw_deg, la.lat_mm, la.roll_deg),
            (-lb.yaw_deg, -lb.lat_mm, -lb.roll_deg)
        );
        let mut differing = 0;
        for y in 0..180 {
            for x in 0..320 {
                let (i, j) = (3 * (y * 320 + x), 3 * (y * 320 + 319 - x));
                let worst = (0..3)
                    .map(|c| a.rgb[i + c].abs_diff(b.rgb[j + c]))
                    .max()
                    .unwrap();
                differing += usize::from(worst > 6);
            }
        }
        // Edges of triangles may fall differently on the samples.
        assert!(differing < 60, "{view:?}: {differing} pixels differ");
        let hunts = |s: &Stage| s.truth().swim.unwrap().hunts[0].side;
        assert_eq!((hunts(&one), hunts(&two)), ("right", "left"));
    }
}
