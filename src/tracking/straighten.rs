//! A lens taken out of a track: its points, not the pixels, are put where they would lie without it.

use super::{Affine, Track, TrackFrame};
use crate::camera::Straightener;

/// `track` as a camera without distortion would have seen it, looking at the picture's middle with the focal
/// length of `lens`. Nose and tail are mapped, and middle, length and axis follow from them; the width goes
/// by the lens's slope there. Frames in which the lens file tells nothing of the place become lost.
pub fn straighten(track: &Track, lens: &Straightener) -> Track {
    let middle = [0.5 * track.picture_width_px, 0.5 * track.picture_height_px];
    let mut chain = Chain::new(middle);
    let frames = track
        .frames
        .iter()
        .map(|frame| {
            let to_scene = chain.next(frame, lens);
            let straight = frame.is_seen().then(|| body(frame, lens)).flatten();
            match straight {
                Some(body) => TrackFrame { to_scene, ..body },
                None => unseen(frame, to_scene),
            }
        })
        .collect();
    Track {
        frames,
        ..track.clone()
    }
}

/// The lure of one frame without the lens.
fn body(frame: &TrackFrame, lens: &Straightener) -> Option<TrackFrame> {
    let along = unit(frame.axis_deg);
    let end = |part: f64| {
        let reach = part * frame.length_px;
        lens.point([frame.x_px + reach * along[0], frame.y_px + reach * along[1]])
    };
    let (nose, tail) = (end(0.5)?, end(-0.5)?);
    let slope = lens.jacobian([frame.x_px, frame.y_px])?;
    // The lens may shear: of the mapped width only the part across the axis counts.
    let axis = [nose[0] - tail[0], nose[1] - tail[1]];
    let length_px = axis[0].hypot(axis[1]);
    let across = turned(slope, [-along[1], along[0]]);
    let width = (across[0] * axis[1] - across[1] * axis[0]).abs() / length_px.max(1e-9);
    Some(TrackFrame {
        x_px: 0.5 * (nose[0] + tail[0]),
        y_px: 0.5 * (nose[1] + tail[1]),
        axis_deg: image_deg(axis),
        length_px,
        width_px: frame.width_px * width,
        line_deg: image_deg(turned(slope, unit(frame.line_deg))),
        ..frame.clone()
    })
}

fn unseen(frame: &TrackFrame, to_scene: Affine) -> TrackFrame {
    let state = if frame.is_seen() {
        super::State::Lost
    } else {
        frame.state
    };
    TrackFrame {
        state,
        x_px: f64::NAN,
        y_px: f64::NAN,
        axis_deg: f64::NAN,
        length_px: f64::NAN,
        width_px: f64::NAN,
        line_deg: f64::NAN,
        to_scene,
        ..frame.clone()
    }
}

/// The background's motion without the lens, step by step: each step from frame to frame lies inside the
/// picture, where the lens is known; the whole way since the first frame may not.
struct Chain {
    /// Where the lure was last seen, px.
    near: [f64; 2],
    before: Affine,
    straight: Affine,
}

impl Chain {
    fn new(middle: [f64; 2]) -> Chain {
        Chain {
            near: middle,
            before: Affine::IDENTITY,
            straight: Affine::IDENTITY,
        }
    }

    fn next(&mut self, frame: &TrackFrame, lens: &Straightener) -> Affine {
        if frame.is_seen() {
            self.near = [frame.x_px, frame.y_px];
        }
        if frame.to_scene != self.before {
            let step = self
                .before
                .inverse()
                .map(|back| frame.to_scene.then(&back))
                .and_then(|step| straight_step(&step, self.near, lens));
            if let Some(step) = step {
                self.straight = step.then(&self.straight);
            }
            self.before = frame.to_scene;
        }
        self.straight
    }
}

/// The map `step` near the point `at` without the lens: S·step·S⁻¹ with S the lens's slope.
fn straight_step(step: &Affine, at: [f64; 2], lens: &Straightener) -> Option<Affine> {
    let to = step.apply(at);
    let (here, there) = (lens.point(at)?, lens.point(to)?);
    let (slope_here, slope_there) = (lens.jacobian(at)?, lens.jacobian(to)?);
    let [[a, b], [c, d]] = slope_here;
    let determinant = a * d - b * c;
    let column = |e: [f64; 2]| {
        let back = [
            (d * e[0] - b * e[1]) / determinant,
            (a * e[1] - c * e[0]) / determinant,
        ];
        turned(slope_there, step.turn(back))
    };
    let (x, y) = (column([1.0, 0.0]), column([0.0, 1.0]));
    Some(Affine([
        x[0],
        y[0],
        there[0] - x[0] * here[0] - y[0] * here[1],
        x[1],
        y[1],
        there[1] - x[1] * here[0] - y[1] * here[1],
    ]))
}

/// How far out of the picture's middle the lure swam: the 95 % point of [`crate::camera::Lens::reach`] over
/// the frames in which it was seen; 0 where it never was.
pub fn reach(track: &Track, lens: &Straightener) -> f64 {
    let mut far: Vec<f64> = track
        .frames
        .iter()
        .filter(|f| f.is_seen())
        .map(|f| lens.fitted().lens.reach([f.x_px, f.y_px]))
        .collect();
    far.sort_by(f64::total_cmp);
    far.get(far.len() * 19 / 20).copied().unwrap_or(0.0)
}

fn unit(image_deg: f64) -> [f64; 2] {
    let (sin, cos) = image_deg.to_radians().sin_cos();
    [sin, -cos]
}

fn image_deg([dx, dy]: [f64; 2]) -> f64 {
    dx.atan2(-dy).to_degrees()
}

fn turned([[a, b], [c, d]]: [[f64; 2]; 2], [x, y]: [f64; 2]) -> [f64; 2] {
    [a * x + b * y, c * x + d * y]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::{FittedLens, Lens, LensFigures};
    use crate::tracking::{Doubts, State};
    use approx::assert_abs_diff_eq;

    fn lens(k1: f64, p1: f64) -> Straightener {
        let lens = Lens {
            width: 1280,
            height: 720,
            turned_deg: 0,
            under_water: false,
            rms_px: 0.2,
            views: 12,
            views_left_out: 0,
            seen_to: 0.95,
            lens: LensFigures {
                fx: 900.0,
                fy: 900.0,
                cx: 640.0,
                cy: 360.0,
                k1,
                p1,
                ..LensFigures::default()
            },
            sd: LensFigures::default(),
        };
        Straightener::new(
            FittedLens {
                lens,
                scaled_by: 1.0,
                behind_port: false,
            },
            None,
        )
    }

    fn frame(x_px: f64, y_px: f64, axis_deg: f64, length_px: f64) -> TrackFrame {
        TrackFrame {
            frame: 0,
            t_s: 0.0,
            state: State::Seen,
            confidence: 1.0,
            x_px,
            y_px,
            axis_deg,
            length_px,
            width_px: length_px / 4.0,
            brightness: 0.5,
            line_deg: axis_deg,
            to_scene: Affine::IDENTITY,
        }
    }

    fn track(frames: Vec<TrackFrame>) -> Track {
        Track {
            frames,
            picture_width_px: 1280.0,
            picture_height_px: 720.0,
            camera_moves: false,
            doubts: Doubts::default(),
        }
    }

    #[test]
    fn a_lens_without_distortion_changes_nothing() {
        let given = track(vec![
            frame(200.0, 100.0, 37.0, 80.0),
            frame(900.0, 650.0, -140.0, 60.0),
        ]);
        let straight = straighten(&given, &lens(0.0, 0.0));
        for (a, b) in given.frames.iter().zip(&straight.frames) {
            assert_abs_diff_eq!(a.x_px, b.x_px, epsilon = 1e-9);
            assert_abs_diff_eq!(a.y_px, b.y_px, epsilon = 1e-9);
            assert_abs_diff_eq!(a.axis_deg, b.axis_deg, epsilon = 1e-9);
            assert_abs_diff_eq!(a.length_px, b.length_px, epsilon = 1e-9);
            assert_abs_diff_eq!(a.width_px, b.width_px, epsilon = 1e-6);
            assert_abs_diff_eq!(a.line_deg, b.line_deg, epsilon = 1e-6);
            assert_eq!(a.to_scene, b.to_scene);
        }
    }

    /// A body drawn through a lens by the model's forward form, which the code under test inverts.
    #[test]
    fn nose_and_tail_come_back() {
        let lens = lens(-0.25, 0.002);
        let figures = lens.fitted().lens.lens;
        let (nose, tail) = ([210.0, 95.0], [150.0, 140.0]);
        let seen = |p: [f64; 2]| figures.seen([(p[0] - 640.0) / 900.0, (p[1] - 360.0) / 900.0]);
        let (n, t) = (seen(nose), seen(tail));
        let axis = [n[0] - t[0], n[1] - t[1]];
        let drawn = frame(
            0.5 * (n[0] + t[0]),
            0.5 * (n[1] + t[1]),
            image_deg(axis),
            axis[0].hypot(axis[1]),
        );
        let straight = &straighten(&track(vec![drawn]), &lens).frames[0];
        assert_abs_diff_eq!(straight.x_px, 180.0, epsilon = 1e-6);
        assert_abs_diff_eq!(straight.y_px, 117.5, epsilon = 1e-6);
        assert_abs_diff_eq!(straight.length_px, 75.0, epsilon = 1e-6);
        assert_abs_diff_eq!(straight.axis_deg, image_deg([60.0, -45.0]), epsilon = 1e-6);
    }

    /// A still bottom under a camera that pans: through the lens each spot shifts by another amount; without
    /// it a spot near the lure stays where it was in the first frame.
    #[test]
    fn the_background_stands_still_without_the_lens() {
        let lens = lens(-0.2, 0.0);
        let figures = lens.fitted().lens.lens;
        let seen = |p: [f64; 2]| figures.seen([(p[0] - 640.0) / 900.0, (p[1] - 360.0) / 900.0]);
        let mut frames = Vec::new();
        let mut to_scene = Affine::IDENTITY;
        for i in 0..40 {
            // The lure keeps to the left; the camera pans by 4 px a frame (without the lens).
            let lure = [300.0 + 3.0 * f64::from(i), 200.0];
            let at = seen(lure);
            if i > 0 {
                let was = |d: [f64; 2]| seen([lure[0] + 4.0 + d[0], lure[1] + d[1]]);
                let is = |d: [f64; 2]| seen([lure[0] + d[0], lure[1] + d[1]]);
                to_scene = local(&was, &is).then(&to_scene);
            }
            frames.push(TrackFrame {
                to_scene,
                ..frame(at[0], at[1], 90.0, 2.0)
            });
        }
        let straight = straighten(&track(frames), &lens);
        let last = straight.frames.last().unwrap();
        let place = last.to_scene.apply([last.x_px, last.y_px]);
        assert_abs_diff_eq!(place[0], 300.0 + 3.0 * 39.0 + 4.0 * 39.0, epsilon = 0.01);
        assert_abs_diff_eq!(place[1], 200.0, epsilon = 0.01);
    }

    /// The affine map from `is` to `was` about the origin.
    fn local(was: &dyn Fn([f64; 2]) -> [f64; 2], is: &dyn Fn([f64; 2]) -> [f64; 2]) -> Affine {
        let slope = |f: &dyn Fn([f64; 2]) -> [f64; 2]| {
            let (x, y) = (
                [f([1.0, 0.0]), f([-1.0, 0.0])],
                [f([0.0, 1.0]), f([0.0, -1.0])],
            );
            let d = |p: [[f64; 2]; 2], k: usize| 0.5 * (p[0][k] - p[1][k]);
            let at = f([0.0, 0.0]);
            Affine([d(x, 0), d(y, 0), at[0], d(x, 1), d(y, 1), at[1]])
        };
        slope(is).inverse().unwrap().then(&slope(was))
    }

    #[test]
    fn places_that_the_lens_cannot_tell_are_lost() {
        let fold = lens(-0.9, 0.0);
        let straight = straighten(&track(vec![frame(10.0, 10.0, 0.0, 60.0)]), &fold);
        assert_eq!(straight.frames[0].state, State::Lost);
        assert!(straight.frames[0].x_px.is_nan());
    }
}
