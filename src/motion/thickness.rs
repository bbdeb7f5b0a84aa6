//! How far the outline of a thick body turns when the body does, to a camera that looks along the water.
//!
//! Foreshortened, a body shows its height as well as its length, and the outline turns less than the axis: that of an
//! ellipsoid with half-axes a, b, c (length, width, height) has the second moments of its axes as the camera sees them,
//! and lies along their greater axis (derived; orthographic, the body level across the line of sight).

use crate::Measured;

/// Half the width and half the height of a diving lure's body, in lengths, and the least and greatest half height, for
/// which hooks that hang below count as well (common practice; no published source).
const HALF_WIDTH: f64 = 0.095;
const HALF_HEIGHT: f64 = 0.125;
const HALF_HEIGHTS: [f64; 2] = [0.1, 0.15];
/// No swing is read that is wider than this, degrees, and nothing turns farther than that.
const MOST_SEEN_DEG: f64 = 85.0;
const MOST_YAW_DEG: f64 = 75.0;

/// The body's own swing behind that of its outline, `width`, which was read as if the outline were its axis, seen by a
/// camera that looks down on the level body by `tilt_deg`; with what the height leaves open.
pub(super) fn behind_outline(width: Measured, tilt_deg: f64) -> Measured {
    let (Some(value), Some([low, high])) = (width.value, width.ci95) else {
        return width;
    };
    let own = |deg: f64, half_height: f64| own_swing_deg(deg, tilt_deg, half_height);
    let middle = own(value, HALF_HEIGHT);
    let [below, above] = HALF_HEIGHTS.map(|half| own(value, half) - middle);
    let [low, high] = [low, high].map(|deg| own(deg, HALF_HEIGHT) - middle);
    Measured {
        value: Some(middle),
        ci95: Some([middle - low.hypot(below), middle + high.hypot(above)]),
        ..width
    }
}

/// Swing of the body whose outline swings so far that its axis would seem to swing by `seen_deg`.
fn own_swing_deg(seen_deg: f64, tilt_deg: f64, half_height: f64) -> f64 {
    let sin = tilt_deg.to_radians().sin().abs();
    let seen_deg = seen_deg.clamp(0.0, MOST_SEEN_DEG);
    let outline = (seen_deg.to_radians().tan() / sin).atan();
    let (mut low, mut high) = (0.0, MOST_YAW_DEG.to_radians());
    // the outline turns ever farther as the body does
    while high - low > 1e-6 {
        let middle = 0.5 * (low + high);
        match outline_turn(middle, sin, half_height) < outline {
            true => low = middle,
            false => high = middle,
        }
    }
    low.to_degrees()
}

/// How far the outline of the body turned by `yaw` is turned in the picture, radians; `sin` of the camera's tilt.
fn outline_turn(yaw: f64, sin: f64, half_height: f64) -> f64 {
    const HALF_LENGTH: f64 = 0.5;
    let [a, b, c] = [HALF_LENGTH, HALF_WIDTH, half_height].map(|half| half * half);
    let (sin_yaw, cos_yaw) = yaw.sin_cos();
    let across = a * sin_yaw.powi(2) + b * cos_yaw.powi(2);
    let along = sin * sin * (a * cos_yaw.powi(2) + b * sin_yaw.powi(2)) + c * (1.0 - sin * sin);
    let both = (a - b) * sin_yaw * cos_yaw * sin;
    0.5 * (2.0 * both).atan2(along - across)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use std::f64::consts::TAU;

    /// The outline of an ellipsoid, point by point: silhouette points are those whose normal is across the line of sight.
    fn turn_of_drawn_outline(yaw: f64, tilt: f64, halves: [f64; 3]) -> f64 {
        let [a, b, c] = halves;
        // line of sight, away from the camera, in the body's own frame: forward, right, up
        let (sin, cos) = tilt.sin_cos();
        let sight = [cos * yaw.cos(), -cos * yaw.sin(), -sin];
        let seen = |p: [f64; 3]| {
            let forward = p[0] * yaw.cos() - p[1] * yaw.sin();
            let right = p[0] * yaw.sin() + p[1] * yaw.cos();
            [right, forward * sin + p[2] * cos]
        };
        // the farthest point of the outline from its middle
        let m = [sight[0] / a, sight[1] / b, sight[2] / c];
        let norm = m.iter().map(|x| x * x).sum::<f64>().sqrt();
        let m = m.map(|x| x / norm);
        let one = [-m[1], m[0], 0.0];
        let length = one[0].hypot(one[1]);
        let one = one.map(|x| x / length);
        let two = [
            m[1] * one[2] - m[2] * one[1],
            m[2] * one[0] - m[0] * one[2],
            m[0] * one[1] - m[1] * one[0],
        ];
        let farthest = (0..20_000)
            .map(|k| TAU * f64::from(k) / 20_000.0)
            .map(|turn| [0, 1, 2].map(|n| turn.cos() * one[n] + turn.sin() * two[n]))
            .map(|q| seen([a * q[0], b * q[1], c * q[2]]))
            .filter(|[_, up]| *up > 0.0)
            .max_by(|p, q| p[0].hypot(p[1]).total_cmp(&q[0].hypot(q[1])))
            .unwrap();
        farthest[0].atan2(farthest[1])
    }

    #[test]
    fn the_outline_turns_as_one_drawn_point_by_point() {
        for (yaw_deg, tilt_deg) in [(5.0f64, 20.0f64), (15.0, 25.0), (12.0, 40.0), (18.0, 70.0)] {
            let (yaw, tilt) = (yaw_deg.to_radians(), tilt_deg.to_radians());
            let drawn = turn_of_drawn_outline(yaw, tilt, [0.5, HALF_WIDTH, HALF_HEIGHT]);
            let told = outline_turn(yaw, tilt.sin(), HALF_HEIGHT);
            assert_abs_diff_eq!(told, drawn, epsilon = 0.002);
        }
    }

    #[test]
    fn a_thick_body_swings_farther_than_its_outline_and_the_more_so_the_flatter_it_is_seen() {
        let own = |tilt_deg| behind_outline(Measured::within(12.0, 1.0), tilt_deg);
        let part = |tilt_deg| own(tilt_deg).value.unwrap() / 12.0;
        assert!(part(20.0) > 1.12 && part(20.0) < 1.3, "{}", part(20.0));
        assert!(part(40.0) > 1.02 && part(40.0) < 1.06, "{}", part(40.0));
        assert_abs_diff_eq!(part(90.0), 1.0, epsilon = 1e-3);
        let [low, high] = own(20.0).ci95.unwrap();
        assert!(high - low > 3.0, "{low} {high}");
    }
}
