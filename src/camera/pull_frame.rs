//! The lure's own directions in the picture: forward along the pull, and its own right.

use super::View;
use crate::units::wrap_deg;

/// The pull direction in the picture together with the side on which the lure's own right lies.
///
/// Seen from above the water the lure shows its back whatever the view, so a clockwise turn in the
/// picture brings its nose to its own right. In `ahead` the lure swims down the picture and its own
/// right lies on the picture's left: the same turn, mirrored only against the viewer. Seen from
/// below (a diving camera looking up) it shows its belly and the turn is reversed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PullFrame {
    /// Pull direction, degrees clockwise from image-up.
    pub pull_deg: f64,
    /// +1 where a clockwise turn in the picture brings the nose to its own right, −1 where it does not.
    pub turn: f64,
}

impl PullFrame {
    /// The lure's directions in `view` for a pull along `pull_deg` (image degrees). `tilt_deg` is how
    /// far the camera looks down on the lure; unknown counts as from above.
    ///
    /// In `side` the turn is + for the nose going down (pitch), as no yaw shows there.
    pub fn new(view: View, pull_deg: f64, tilt_deg: Option<f64>) -> Self {
        let from_below = tilt_deg.is_some_and(|t| t < 0.0);
        let turn = match view {
            View::Above | View::Behind | View::Ahead if from_below => -1.0,
            View::Above | View::Behind | View::Ahead => 1.0,
            View::Side => {
                if pull_deg.to_radians().sin() >= 0.0 {
                    1.0
                } else {
                    -1.0
                }
            }
        };
        PullFrame { pull_deg, turn }
    }

    /// How far the picture displacement `[dx, dy]` goes forward along the pull, px.
    pub fn forward(&self, [dx, dy]: [f64; 2]) -> f64 {
        let (sin, cos) = self.pull_deg.to_radians().sin_cos();
        dx * sin - dy * cos
    }

    /// How far the picture displacement `[dx, dy]` goes to the lure's own right, px (`side`: downward).
    pub fn sideways(&self, [dx, dy]: [f64; 2]) -> f64 {
        let (sin, cos) = self.pull_deg.to_radians().sin_cos();
        self.turn * (dx * cos + dy * sin)
    }

    /// The image angle `image_deg` of a tail-to-nose axis against the pull, + nose to own right,
    /// degrees in (−90, 90]: nose and tail mistaken for each other are put right, since a pulled
    /// lure cannot swim tail first.
    pub fn axis(&self, image_deg: f64) -> f64 {
        let off = wrap_deg(image_deg - self.pull_deg);
        let folded = if off > 90.0 {
            off - 180.0
        } else if off <= -90.0 {
            off + 180.0
        } else {
            off
        };
        self.turn * folded
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// A bare pinhole camera written here alone: x east, y north, z up; the camera looks along
    /// `azimuth` (clockwise from north) and down by `tilt`; returns picture x right, y down.
    fn seen(point: [f64; 3], camera: [f64; 3], azimuth_deg: f64, tilt_deg: f64) -> [f64; 2] {
        let (sa, ca) = azimuth_deg.to_radians().sin_cos();
        let (st, ct) = tilt_deg.to_radians().sin_cos();
        let look = [sa * ct, ca * ct, -st];
        let right = [ca, -sa, 0.0];
        let up = [sa * st, ca * st, ct];
        let d: Vec<f64> = (0..3).map(|i| point[i] - camera[i]).collect();
        let dot = |v: [f64; 3]| v[0] * d[0] + v[1] * d[1] + v[2] * d[2];
        [dot(right) / dot(look), -dot(up) / dot(look)]
    }

    /// The lure at the origin swims north, its own right is east.
    fn check(view: View, camera: [f64; 3], azimuth_deg: f64, tilt_deg: f64) {
        let at = |p| seen(p, camera, azimuth_deg, tilt_deg);
        let (here, ahead, right) = (at([0.0; 3]), at([0.0, 0.1, 0.0]), at([0.1, 0.0, 0.0]));
        let to = |p: [f64; 2]| [p[0] - here[0], p[1] - here[1]];
        let image = |d: [f64; 2]| d[0].atan2(-d[1]).to_degrees();
        let frame = PullFrame::new(view, image(to(ahead)), Some(tilt_deg));
        assert!(frame.forward(to(ahead)) > 0.0, "{view:?} forward");
        assert!(frame.sideways(to(right)) > 0.0, "{view:?} sideways");
        let nose_right = at([0.02, 0.1, 0.0]);
        assert!(frame.axis(image(to(nose_right))) > 0.0, "{view:?} axis");
    }

    #[test]
    fn own_right_is_own_right_in_every_view() {
        check(View::Above, [0.0, 0.0, 2.0], 0.0, 90.0);
        check(View::Above, [0.0, 0.0, 2.0], 75.0, 90.0);
        check(View::Above, [0.3, -0.5, 2.0], 200.0, 80.0);
        check(View::Behind, [0.2, -2.0, 1.0], 0.0, 30.0);
        check(View::Ahead, [0.2, 3.0, 1.0], 180.0, 20.0);
        check(View::Behind, [0.0, -2.0, -1.0], 0.0, -30.0);
        check(View::Ahead, [0.0, 2.0, -1.0], 180.0, -30.0);
    }

    #[test]
    fn nose_down_is_positive_from_either_side() {
        for (pull, nose_down) in [(90.0, 100.0), (270.0, 260.0)] {
            let frame = PullFrame::new(View::Side, pull, None);
            assert_abs_diff_eq!(frame.axis(nose_down), 10.0, epsilon = 1e-9);
        }
    }

    #[test]
    fn a_flipped_axis_is_put_right() {
        let frame = PullFrame::new(View::Above, 350.0, None);
        assert_abs_diff_eq!(frame.axis(5.0), 15.0, epsilon = 1e-9);
        assert_abs_diff_eq!(frame.axis(185.0), 15.0, epsilon = 1e-9);
    }
}
