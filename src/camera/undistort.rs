//! From points of the picture to those of a lens without distortion that looks at the picture's middle.

use super::FittedLens;
use crate::water::refraction::flat_port_magnification;

/// Takes a lens, and the flat port of a case under water, out of picture points.
///
/// What comes out is seen by a pinhole camera of focal length [`Straightener::focal_px`] that looks at the
/// middle of the picture.
///
/// *Flat port*: light goes from water through the case's flat window into air, sin θ_air = n sin θ_water
/// (Snell). On the axis all looks n times as large, more to the sides. The window's thickness and the
/// lens's own place behind it (a centimetre against half a metre and more) are left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Straightener {
    fitted: FittedLens,
    /// Refractive index of the water in front of the port; 1 for a lens without one.
    index: f64,
}

impl Straightener {
    /// For a clip's lens; `water_index` is the refractive index of the water in which the clip was filmed.
    pub fn new(fitted: FittedLens, water_index: Option<f64>) -> Straightener {
        let index = water_index.filter(|_| fitted.behind_port).unwrap_or(1.0);
        Straightener { fitted, index }
    }

    /// The lens.
    pub fn fitted(&self) -> &FittedLens {
        &self.fitted
    }

    /// Focal length of the pinhole camera that sees the straight points, px.
    pub fn focal_px(&self) -> f64 {
        let lens = &self.fitted.lens.lens;
        self.index * 0.5 * (lens.fx + lens.fy)
    }

    /// Standard deviation of its logarithm.
    pub fn focal_sd(&self) -> f64 {
        let lens = &self.fitted.lens;
        0.5 * (lens.sd.fx / lens.lens.fx + lens.sd.fy / lens.lens.fy)
    }

    /// Field of view along the picture's long side that goes with [`Straightener::focal_px`], degrees.
    pub fn fov_deg(&self) -> f64 {
        let lens = &self.fitted.lens;
        let long = f64::from(lens.width.max(lens.height));
        2.0 * (long / 2.0 / self.focal_px()).atan().to_degrees()
    }

    /// The picture point `at` without the lens, px; `None` outside what the lens file can tell.
    pub fn point(&self, at: [f64; 2]) -> Option<[f64; 2]> {
        let lens = &self.fitted.lens;
        let ray = in_water(lens.lens.ray(at)?, self.index)?;
        let focal = self.focal_px();
        Some([
            f64::from(lens.width) / 2.0 + focal * ray[0],
            f64::from(lens.height) / 2.0 + focal * ray[1],
        ])
    }

    /// Its derivative there: [[du/dx, du/dy], [dv/dx, dv/dy]].
    pub fn jacobian(&self, [x, y]: [f64; 2]) -> Option<[[f64; 2]; 2]> {
        const STEP: f64 = 0.5;
        let slope = |dx: f64, dy: f64| {
            let (a, b) = (self.point([x + dx, y + dy])?, self.point([x - dx, y - dy])?);
            Some([(a[0] - b[0]) / (2.0 * STEP), (a[1] - b[1]) / (2.0 * STEP)])
        };
        let (along, down) = (slope(STEP, 0.0)?, slope(0.0, STEP)?);
        Some([[along[0], down[0]], [along[1], down[1]]])
    }
}

/// The ray [X/Z, Y/Z] in the water behind a flat port square to the axis, from that in the air; `index` is
/// the water's refractive index. `None` where no light comes from.
fn in_water([x, y]: [f64; 2], index: f64) -> Option<[f64; 2]> {
    let off_axis_deg = x.hypot(y).atan().to_degrees();
    let magnified = flat_port_magnification(off_axis_deg, index);
    magnified
        .is_finite()
        .then(|| [x / magnified, y / magnified])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::{Lens, LensFigures};
    use approx::assert_abs_diff_eq;

    fn plain(index: Option<f64>) -> Straightener {
        let lens = Lens {
            width: 1280,
            height: 720,
            turned_deg: 0,
            under_water: false,
            rms_px: 0.2,
            views: 12,
            views_left_out: 0,
            seen_to: 0.9,
            lens: LensFigures {
                fx: 1000.0,
                fy: 1000.0,
                cx: 650.0,
                cy: 350.0,
                ..LensFigures::default()
            },
            sd: LensFigures::default(),
        };
        let fitted = FittedLens {
            lens,
            scaled_by: 1.0,
            behind_port: index.is_some(),
        };
        Straightener::new(fitted, index)
    }

    #[test]
    fn without_distortion_only_the_middle_moves() {
        let [x, y] = plain(None).point([650.0, 350.0]).unwrap();
        assert_abs_diff_eq!(x, 640.0, epsilon = 1e-9);
        assert_abs_diff_eq!(y, 360.0, epsilon = 1e-9);
    }

    /// Flat-port magnification tan θ_air / tan θ_water for n = 1.333 at 0°, 30° and 45° in the air: 1.333,
    /// 1.427, 1.598 (closed form, Snell; check values listed with the project).
    #[test]
    fn a_flat_port_magnifies_by_snell() {
        let water = plain(Some(1.333));
        assert_abs_diff_eq!(water.focal_px(), 1333.0, epsilon = 1e-9);
        for (air_deg, magnified) in [(1e-3f64, 1.333), (30.0, 1.427), (45.0, 1.598)] {
            let air = air_deg.to_radians().tan();
            let straight = water.point([650.0 + 1000.0 * air, 350.0]).unwrap();
            let in_water = (straight[0] - 640.0) / 1333.0;
            assert_abs_diff_eq!(air / in_water, magnified, epsilon = 5e-4);
        }
        let jacobian = water.jacobian([650.0, 350.0]).unwrap();
        assert_abs_diff_eq!(jacobian[0][0], 1.0, epsilon = 1e-5);
        assert_abs_diff_eq!(jacobian[1][0], 0.0, epsilon = 1e-9);
    }
}
