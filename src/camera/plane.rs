//! The plane in which the lure is pulled, seen by a camera that looks down on it.

/// Maps picture points onto the horizontal plane at the lure's depth.
///
/// Plane coordinates are `[right, ahead]` as a person behind the camera would say, clockwise from
/// above, in px of the picture at the point where the camera looks (multiply by mm per px there).
/// With a known focal length the map is the pinhole camera's (a homography); without one the picture
/// counts as seen from far away, and only the foreshortening 1/sin(tilt) remains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterPlane {
    /// Sine and cosine of the tilt of the camera below the horizontal.
    sin: f64,
    cos: f64,
    /// 1 / focal length, 1/px; 0 for a camera far away.
    per_focal: f64,
    centre_px: [f64; 2],
}

impl WaterPlane {
    /// The plane under a camera that looks down by `tilt_deg` (90 straight down, negative from
    /// below), with focal length `focal_px` where known, in a picture of `size_px` (width, height).
    pub fn new(tilt_deg: f64, focal_px: Option<f64>, size_px: [f64; 2]) -> Self {
        let (sin, cos) = tilt_deg.to_radians().sin_cos();
        WaterPlane {
            sin,
            cos,
            per_focal: focal_px.map_or(0.0, |f| 1.0 / f),
            centre_px: [size_px[0] / 2.0, size_px[1] / 2.0],
        }
    }

    /// Where the picture point lies on the plane; `None` above the horizon.
    pub fn place(&self, [x, y]: [f64; 2]) -> Option<[f64; 2]> {
        let (u, v) = (x - self.centre_px[0], y - self.centre_px[1]);
        let depth = self.depth(v)?;
        Some([u / depth, -v / (depth * self.sin)])
    }

    /// The small picture displacement `[dx, dy]` at the picture point `at`, on the plane.
    pub fn displacement(&self, at: [f64; 2], [dx, dy]: [f64; 2]) -> Option<[f64; 2]> {
        let (u, v) = (at[0] - self.centre_px[0], at[1] - self.centre_px[1]);
        let depth = self.depth(v)?;
        let slope = self.cos * self.per_focal / self.sin;
        Some([
            dx / depth - u * slope * dy / (depth * depth),
            -dy / (self.sin * depth * depth),
        ])
    }

    /// Depression of the line of sight to the picture point, degrees below the horizontal.
    pub fn depression_deg(&self, [x, y]: [f64; 2]) -> f64 {
        let (u, v) = (x - self.centre_px[0], y - self.centre_px[1]);
        let down = self.sin + v * self.per_focal * self.cos;
        let length = (1.0 + (u * u + v * v) * self.per_focal * self.per_focal).sqrt();
        (down / length).clamp(-1.0, 1.0).asin().to_degrees()
    }

    /// How much nearer the plane is in picture row `v` than at the picture's centre, as a factor of
    /// the scale there.
    fn depth(&self, v: f64) -> Option<f64> {
        let depth = 1.0 + v * self.per_focal * self.cos / self.sin;
        (depth > 1e-3 && self.sin.abs() > 1e-6).then_some(depth)
    }
}

/// Focal length in px for a field of view of `fov_deg` along the picture's long side.
pub fn focal_px(fov_deg: f64, size_px: [f64; 2]) -> f64 {
    size_px[0].max(size_px[1]) / (2.0 * (fov_deg.to_radians() / 2.0).tan())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// A bare pinhole camera, written apart from the code under test: at height `h` over the plane,
    /// looking north and down by `tilt`; the plane point is `east`, `north` of the camera.
    fn seen(east: f64, north: f64, h: f64, tilt_deg: f64, focal: f64) -> [f64; 2] {
        let (s, c) = tilt_deg.to_radians().sin_cos();
        let along = north * c + h * s;
        let down = -north * s + h * c;
        [320.0 + focal * east / along, 180.0 + focal * down / along]
    }

    #[test]
    fn undoes_a_pinhole_camera() {
        let (h, focal) = (1200.0, 600.0);
        for tilt in [20.0_f64, 45.0, 80.0] {
            let plane = WaterPlane::new(tilt, Some(focal), [640.0, 360.0]);
            let range = h / tilt.to_radians().sin();
            let middle = range * tilt.to_radians().cos();
            for (east, ahead) in [(0.0, 0.0), (150.0, 80.0), (-220.0, 160.0)] {
                let p = seen(east, middle + ahead, h, tilt, focal);
                let [x, z] = plane.place(p).unwrap();
                assert_abs_diff_eq!(x * range / focal, east, epsilon = 1e-6);
                assert_abs_diff_eq!(z * range / focal, ahead, epsilon = 1e-6);
                let q = seen(east + 0.01, middle + ahead + 0.02, h, tilt, focal);
                let d = plane.displacement(p, [q[0] - p[0], q[1] - p[1]]).unwrap();
                assert_abs_diff_eq!(d[0] * range / focal, 0.01, epsilon = 1e-5);
                assert_abs_diff_eq!(d[1] * range / focal, 0.02, epsilon = 1e-5);
            }
        }
    }

    #[test]
    fn far_away_only_the_foreshortening_remains() {
        let plane = WaterPlane::new(30.0, None, [640.0, 360.0]);
        assert_eq!(
            plane.place([330.0, 170.0]).map(|p| p.map(f64::round)),
            Some([10.0, 20.0])
        );
        assert_abs_diff_eq!(plane.depression_deg([50.0, 300.0]), 30.0, epsilon = 1e-9);
    }

    #[test]
    fn sky_has_no_place_on_the_water() {
        let plane = WaterPlane::new(10.0, Some(600.0), [640.0, 360.0]);
        assert_eq!(plane.place([320.0, 0.0]), None);
    }
}
