//! Width and tail sweep of the wobble, at the scale and from the view that the path settled.

use super::Series;
use super::Wobble;
use super::analyse::{Path, Swum};
use super::ground::{DIVES_DEG, USUAL_FOCAL, USUAL_FOCAL_SD};
use super::rate::Phase;
use super::thickness::behind_outline;
use super::width;
use super::wobble::{Body, Picture, WobbleFit};
use crate::Measured;
use crate::camera::{Setup, View, focal_px};
use crate::robust::median;
use crate::tracking::Doubts;

/// The yaw is told where the geometry leaves less than this of it open (one standard deviation);
/// beyond, the angle is given as it looks.
const TELLS_YAW: f64 = 0.15;

/// Where a wobbling lure's pivot usually lies, fraction from the nose, and its standard deviation: behind the
/// pull and ahead of the middle (common practice; no published source). It was set with rendered clips in view
/// whose pivots lie at 0.38 to 0.42, so another lure's may lie outside it.
const USUAL_PIVOT: [f64; 2] = [0.42, 0.08];

/// Half-width of a 95 % interval for how far a lure dives, degrees. With this, the body's thickness and its place in the
/// picture the width came out 0.85 to 1.07 of the true one on eleven rendered clips from behind whose lures dived by 2 to
/// 11 degrees (0.75 on one where hooks trailed far), and 0.97 to 1.09 on six from ahead, where without them it was 0.82 to
/// 0.86 on four.
const DIVE_DOUBT_DEG: f64 = 6.0;

impl Swum<'_> {
    /// Width and tail sweep with the darts left out, at the scale and from the view that the path
    /// settled. Where a tilted view leaves the angles too open, the width stays as it looks.
    pub(super) fn widths(&self, fit: &mut WobbleFit, path: &Path) {
        let phase = Phase {
            t_s: self.series.t_s.clone(),
            cycles: fit.cycles.clone(),
        };
        let (length, calm) = (self.setup.body_mm(), path.keep.clone());
        let as_seen = Picture {
            mm_per_px: length.map(|l| l / path.way.body_at_lure_px),
            calm: calm.clone(),
            camera_stands: self.camera_stands(path),
            body: self.body(),
        };
        let mut width = width::measure(&self.series, self.setup, &as_seen, &phase);
        let open = path.ground.yaw_deg().relative();
        let tilted = matches!(self.setup.view, View::Behind | View::Ahead)
            || (self.setup.view == View::Above && self.setup.tilt_deg.is_some());
        if tilted && !self.ground_is_lost {
            let (series, setup) = (
                self.on_plane(path),
                Setup {
                    view: View::Above,
                    tilt_deg: None,
                    ..self.setup.clone()
                },
            );
            let on_plane = Picture {
                mm_per_px: length.map(|l| l / path.way.body_px),
                calm,
                ..Picture::default()
            };
            let own = width::measure(&series, &setup, &on_plane, &phase);
            width.tail_sweep_mm = widened(own.tail_sweep_mm, path.ground.body_px().relative());
            width.apparent = open[0].max(open[1]) > TELLS_YAW;
            if !width.apparent {
                let deg = widened(own.deg, open);
                width.deg = match self.tilt_on_the_body(path) {
                    Some(tilt_deg) => behind_outline(deg, tilt_deg),
                    None => deg,
                };
            }
        } else {
            width.tail_sweep_mm = widened(
                width.tail_sweep_mm,
                path.ground.body_at_lure_px().relative(),
            );
        }
        let doubts = &self.track.doubts;
        fit.wobble.width_deg = of_the_body(width.deg, doubts);
        fit.wobble.apparent = width.apparent;
        // The ends enter twice with a scale of its own: by where the tail is, and by the scale.
        let scale = self.setup.scale.map_or(0.0, |scale| scale.doubt);
        let ends = doubts.ends.hypot(scale) / 1.96;
        fit.wobble.tail_sweep_mm = widened(of_the_body(width.tail_sweep_mm, doubts), [ends, ends]);
    }

    /// Whether a camera that looks along the water keeps its place: one that waits ahead does, one behind only where the
    /// bottom stands still in its picture.
    fn camera_stands(&self, path: &Path) -> bool {
        match self.setup.view {
            View::Ahead => !path.travels,
            View::Behind => !path.travels && !self.track.camera_moves,
            View::Above | View::Side => false,
        }
    }

    /// How a camera that looks along the water sees the body.
    pub(super) fn body(&self) -> Option<Body> {
        let dive = match self.setup.view {
            View::Behind => -DIVES_DEG,
            View::Ahead => DIVES_DEG,
            View::Above | View::Side => return None,
        };
        let share = self.setup.rise_share;
        Some(Body {
            below_middle_deg: self.below_middle_deg(),
            turned_deg: [dive * share, DIVE_DOUBT_DEG * share],
            of_outline: self.track.doubts.of_outline,
        })
    }

    /// How far below the middle of the picture the lure usually is, degrees, and the doubt in that (95 %), which is the
    /// lens's.
    fn below_middle_deg(&self) -> [f64; 2] {
        let size = [self.track.picture_width_px, self.track.picture_height_px];
        let (focal_px, doubt) = match self.setup.fov_deg {
            Some(fov_deg) => (focal_px(fov_deg, size), 0.0),
            None => (USUAL_FOCAL * size[0].max(size[1]), 1.96 * USUAL_FOCAL_SD),
        };
        let seen = self.track.frames.iter().filter(|f| f.is_seen());
        let below_px = median(seen.map(|f| f.y_px)).map_or(0.0, |y| y - 0.5 * size[1]);
        let below_deg = (below_px / focal_px).atan().to_degrees();
        [below_deg, doubt * below_deg.abs()]
    }

    /// How far a camera that looks along the water looks down on the body by the path, degrees.
    fn tilt_on_the_body(&self, path: &Path) -> Option<f64> {
        let body = self.body().filter(|body| body.of_outline)?;
        let looks_down = path.ground.best().tilt_deg + body.below_middle_deg[0];
        Some(body.turned(looks_down))
    }

    /// In a view along the water, the tail's sweep from the told length, the yaw and the pivot: twice the arm
    /// behind the pivot, swung by the yaw. The foreshortened body gives no scale there: its far end is easily
    /// lost, and a sweep scaled by it came out at half the true one.
    pub(super) fn sweep_about(&self, pivot: &Measured, wobble: &mut Wobble) {
        let Some(length_mm) = self.setup.body_mm() else {
            return;
        };
        let (Some(width), Some([low, high])) = (wobble.width_deg.value, wobble.width_deg.ci95)
        else {
            return;
        };
        let along = matches!(self.setup.view, View::Behind | View::Ahead);
        if !along || wobble.apparent || !wobble.width_deg.is_measured() {
            return;
        }
        let sin = |deg: f64| deg.to_radians().sin();
        let (arm, arm_sd) = match (pivot.value, pivot.ci95) {
            (Some(from_nose), Some([nose, tail])) => arm(from_nose, (tail - nose) / 2.0 / 1.96),
            // only where lures usually have it is known
            _ => arm(USUAL_PIVOT[0], f64::INFINITY),
        };
        let sweep = 2.0 * length_mm * arm * sin(width);
        let rest = (1.96 * arm_sd / arm).hypot(self.setup.scale_doubt(0.0));
        let below = ((sin(width) - sin(low)) / sin(width)).hypot(rest);
        let above = ((sin(high) - sin(width)) / sin(width)).hypot(rest);
        wobble.tail_sweep_mm = Measured::new(
            sweep,
            [(sweep * (1.0 - below)).max(0.0), sweep * (1.0 + above)],
        );
    }

    /// The series as seen straight from above: yaw and sway on the plane of the pull.
    fn on_plane(&self, path: &Path) -> Series {
        let body_px = path.way.body_px;
        Series {
            axis_deg: path.wobbling.yaw_deg.clone(),
            sideways_px: path.wobbling.sideways.iter().map(|s| s * body_px).collect(),
            forward_px: path.wobbling.forward.iter().map(|f| f * body_px).collect(),
            length_px: vec![body_px; self.series.len()],
            ..self.series.clone()
        }
    }
}

/// The tail's arm about the pivot, in body lengths, and its standard deviation: the pivot as measured, weighed
/// with where lures usually have it.
fn arm(from_nose: f64, sd: f64) -> (f64, f64) {
    let [own, usual] = [sd, USUAL_PIVOT[1]].map(|sd| sd.max(1e-3).powi(-2));
    let pivot = (own * from_nose + usual * USUAL_PIVOT[0]) / (own + usual);
    (1.0 - pivot, (own + usual).powf(-0.5))
}

/// The body's own swing behind that of its outline, with what is open between the two.
fn of_the_body(swing: Measured, doubts: &Doubts) -> Measured {
    let open = doubts.swing / doubts.swing_ratio / 1.96;
    widened(swing.scaled(1.0 / doubts.swing_ratio), [open, open])
}

/// A figure with its interval widened by what the geometry leaves open, ln below and above (one
/// standard deviation each).
fn widened(m: Measured, open: [f64; 2]) -> Measured {
    let (Some(value), Some([low, high])) = (m.value, m.ci95) else {
        return m;
    };
    let [below, above] = open.map(|o| 1.96 * o * value.abs());
    let ends = [
        value - (value - low).hypot(below),
        value + (high - value).hypot(above),
    ];
    Measured {
        ci95: Some(ends),
        ..m
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn the_arm_follows_a_pivot_that_is_known_and_the_usual_one_where_it_is_not() {
        let (known, _) = arm(0.35, 0.005);
        assert_abs_diff_eq!(known, 0.65, epsilon = 0.001);
        let (vague, sd) = arm(0.9, 1.0);
        assert_abs_diff_eq!(vague, 0.577, epsilon = 0.001);
        assert!(sd < 0.08);
    }
}
