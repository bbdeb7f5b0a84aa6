//! What the scene tests share: a plain scene, and moments of what was drawn.

use truerun::scene::{Follow, Frame, LureTruth, Quality, SceneDescription, Viewpoint};

/// A small, quick scene with nothing random in the way.
pub fn plain(view: Viewpoint) -> SceneDescription {
    let mut d = SceneDescription {
        seed: 11,
        ..Default::default()
    };
    d.clip.width = 320;
    d.clip.height = 180;
    d.clip.seconds = 1.0;
    d.clip.exposure_s = 0.001;
    d.clip.noise = 0.0;
    d.clip.quality = Quality::Quick;
    d.swim.rate_wander = 0.0;
    d.swim.width_wander = 0.0;
    d.swim.weave_mm = 0.0;
    d.swim.nod_deg = 0.0;
    d.swim.roll_deg = 0.0;
    d.swim.pitch_deg = 0.0;
    d.water.ripples = 0.0;
    d.water.specks = 0;
    d.camera.view = view;
    if view == Viewpoint::Ahead {
        d.camera.follow = Follow::Still;
        d.camera.fov_deg = Some(8.0);
        d.swim.speed_m_s = 0.05;
    }
    d
}

pub fn lure(frame: &Frame) -> &LureTruth {
    frame.truth.lure.as_ref().expect("a lure in the scene")
}

/// Centroid and long axis (0–180°, clockwise from image-up) of a cover, by moments.
pub fn moments(cover: &[f32], width: usize) -> ([f64; 2], f64) {
    let (mut m, mut x1, mut y1) = (0.0, 0.0, 0.0);
    let each = |f: &mut dyn FnMut(f64, f64, f64)| {
        for (i, a) in cover.iter().enumerate().filter(|(_, a)| **a > 0.0) {
            f(
                (i % width) as f64 + 0.5,
                (i / width) as f64 + 0.5,
                f64::from(*a),
            );
        }
    };
    each(&mut |x, y, a| {
        m += a;
        x1 += a * x;
        y1 += a * y;
    });
    let (cx, cy) = (x1 / m, y1 / m);
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    each(&mut |x, y, a| {
        xx += a * (x - cx) * (x - cx);
        yy += a * (y - cy) * (y - cy);
        xy += a * (x - cx) * (y - cy);
    });
    let from_right = 0.5 * (2.0 * xy).atan2(xx - yy).to_degrees();
    ([cx, cy], (from_right + 90.0).rem_euclid(180.0))
}

/// Difference of two directions of a line without ends, degrees.
pub fn line_difference(a: f64, b: f64) -> f64 {
    (a - b + 90.0).rem_euclid(180.0) - 90.0
}

/// Clockwise turn of the drawn body from the pull direction, degrees.
pub fn drawn_turn(frame: &Frame) -> f64 {
    let (_, axis) = moments(&frame.body_cover, frame.width);
    line_difference(axis, lure(frame).retr_img_deg)
}
