//! Looking through the surface: a camera in the air sees a lure higher, nearer and flatter than it is.

use crate::water::refraction::{flat_port_magnification, refracted_deg};

/// A camera above calm water that looks at a lure below the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LookThrough {
    /// Height of the camera above the water, mm.
    pub camera_height_mm: f64,
    /// Depth of the lure, mm.
    pub depth_mm: f64,
    /// Refractive index of the water.
    pub index: f64,
}

impl LookThrough {
    /// Distance at which the lure seems to be along a line of sight `depression_deg` below the horizontal,
    /// mm, by its size across the line of sight: h/sin α with h = H + d·tan α/tan β, where α is the
    /// depression in the air and β that in the water (the apparent depth that keeps the horizontal offset).
    pub fn distance_mm(&self, depression_deg: f64) -> f64 {
        self.across_mm(depression_deg) / depression_deg.to_radians().sin()
    }

    /// Height above the lure that the camera seems to have, by sizes across the line of sight.
    fn across_mm(&self, depression_deg: f64) -> f64 {
        let from_vertical = 90.0 - depression_deg;
        self.camera_height_mm + self.depth_mm / flat_port_magnification(from_vertical, self.index)
    }

    /// The same by sizes along it. The lure's place on its plane is x = H cot α + d cot β with
    /// cos β = cos α/n, so −dx/dα = (H + d·sin³α/(n sin³β))/sin²α.
    fn along_mm(&self, depression_deg: f64) -> f64 {
        let from_vertical = 90.0 - depression_deg;
        let wet = refracted_deg(from_vertical, 1.0, self.index).unwrap_or(0.0);
        let ratio = depression_deg.to_radians().sin() / wet.to_radians().cos();
        self.camera_height_mm + self.depth_mm * ratio.powi(3) / self.index
    }

    /// Tilt of a camera without water between that would see lengths along and across the line of sight in
    /// the same proportion, degrees; `tilt_deg` is that of the real one. From far above the water it is
    /// the same, close to it the lure looks less flattened.
    pub fn tilt_deg(&self, tilt_deg: f64) -> f64 {
        let (across, along) = (self.across_mm(tilt_deg), self.along_mm(tilt_deg));
        let sine = tilt_deg.to_radians().sin() * across / along;
        sine.clamp(-1.0, 1.0).asin().to_degrees()
    }

    /// How far a difference of depth shifts a point along the line of sight, against what it would for a camera
    /// of [`LookThrough::tilt_deg`] without water between: cot β tan(tilt), for the ray goes on steeper in the
    /// water.
    pub fn rise_share(&self, tilt_deg: f64) -> f64 {
        let wet = refracted_deg(90.0 - tilt_deg, 1.0, self.index).unwrap_or(0.0);
        wet.to_radians().tan() * self.tilt_deg(tilt_deg).to_radians().tan()
    }

    /// How many times as far as a thing on the surface the lure seems to be.
    pub fn farther_than_surface(&self, depression_deg: f64) -> f64 {
        self.across_mm(depression_deg) / self.camera_height_mm
    }

    /// The depth at which the lure seems to be `distance_mm` away (see [`LookThrough::distance_mm`]), mm;
    /// negative where it seems to be above the water.
    pub fn depth_at(
        camera_height_mm: f64,
        distance_mm: f64,
        depression_deg: f64,
        index: f64,
    ) -> f64 {
        let apparent = distance_mm * depression_deg.to_radians().sin() - camera_height_mm;
        apparent * flat_port_magnification(90.0 - depression_deg, index)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Depression at which a point `x` mm away and `d` mm deep is seen, degrees: Snell's law at the place on
    /// the surface found by halving, written apart from the code under test.
    fn seen_deg(x: f64, h: f64, d: f64, n: f64) -> f64 {
        let (mut near, mut far) = (0.0, x);
        for _ in 0..200 {
            let s = 0.5 * (near + far);
            let air = s / s.hypot(h);
            let wet = (x - s) / (x - s).hypot(d);
            if air > n * wet { far = s } else { near = s }
        }
        (h / near).atan().to_degrees()
    }

    #[test]
    fn size_and_slant_agree_with_rays_traced_one_by_one() {
        let (h, d, n) = (1500.0, 600.0, 1.3335);
        let through = LookThrough {
            camera_height_mm: h,
            depth_mm: d,
            index: n,
        };
        for x in [400.0, 1500.0, 4000.0] {
            let alpha = seen_deg(x, h, d, n);
            // A mm across the line of sight at the lure turns the azimuth by 1/x: seen from distance D,
            // it spans cos α/x rad.
            let distance = x / alpha.to_radians().cos();
            assert_abs_diff_eq!(through.distance_mm(alpha), distance, epsilon = 1e-3);
            // A mm along it:
            let along = (seen_deg(x - 0.5, h, d, n) - seen_deg(x + 0.5, h, d, n)).to_radians();
            let flattened = along * distance;
            let tilt = through.tilt_deg(alpha).to_radians();
            assert_abs_diff_eq!(tilt.sin(), flattened, epsilon = 1e-3);
            let depth = LookThrough::depth_at(h, distance, alpha, n);
            assert_abs_diff_eq!(depth, d, epsilon = 1e-2);
        }
    }

    /// Straight down, a lure d deep seems d/n deep (closed form).
    #[test]
    fn straight_down_all_is_nearer_by_the_index() {
        let through = LookThrough {
            camera_height_mm: 2000.0,
            depth_mm: 666.5,
            index: 1.333,
        };
        assert_abs_diff_eq!(through.distance_mm(90.0), 2500.0, epsilon = 1e-9);
        assert_abs_diff_eq!(through.tilt_deg(90.0), 90.0, epsilon = 1e-6);
        assert_abs_diff_eq!(through.farther_than_surface(90.0), 1.25, epsilon = 1e-12);
    }
}
