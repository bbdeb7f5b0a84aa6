//! Light across the surface and through a flat port.
//!
//! All angles are in degrees from the normal of the boundary: 0 is straight through. For a camera in
//! air that looks down into calm water at an angle from the vertical, an **apparent depth** keeps the
//! horizontal offset: the point seems to lie on the prolonged line of sight, straight above where it
//! is. (Others follow the rays of both eyes to where they cross; that image lies higher and nearer.)

/// Angle of the ray beyond the boundary, degrees, by Snell's law n₁ sin θ₁ = n₂ sin θ₂; `None` past the
/// critical angle, where nothing passes, and for an incidence outside −90 to 90.
pub fn refracted_deg(incidence_deg: f64, n_from: f64, n_to: f64) -> Option<f64> {
    let sine = n_from * incidence_deg.to_radians().sin() / n_to;
    let passes = incidence_deg.abs() <= 90.0 && sine.abs() <= 1.0;
    passes.then(|| sine.asin().to_degrees())
}

/// Incidence in the denser of two media beyond which light no longer leaves it, degrees; `n` is the
/// ratio of their indices, over 1.
pub fn critical_angle_deg(n: f64) -> f64 {
    (1.0 / n).asin().to_degrees()
}

/// Depth at which a point `true_depth` below the surface seems to lie when seen from the air at
/// `view_deg` from the vertical (0–90 exclusive), through water of index `n`; same unit. The horizontal
/// offset is kept: d·tan θ_water/tan θ_air, which is d/n straight down.
pub fn apparent_depth(true_depth: f64, view_deg: f64, n: f64) -> f64 {
    true_depth / flat_port_magnification(view_deg, n)
}

/// The inverse of [`apparent_depth`].
pub fn true_depth(apparent_depth: f64, view_deg: f64, n: f64) -> f64 {
    apparent_depth * flat_port_magnification(view_deg, n)
}

/// By how much further from the picture's middle a point in water of index `n` shows behind a flat
/// port, against the same camera without refraction: tan θ_camera/tan θ_water for a point that shows
/// `angle_deg` off the axis on the camera's side (0–90 exclusive); `n` in the middle.
pub fn flat_port_magnification(angle_deg: f64, n: f64) -> f64 {
    // tan a/tan w with sin a = n·sin w, written so that it holds at 0 too.
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    (n * n - sin * sin).sqrt() / cos
}

/// Field of view in water of index `n` behind a flat port, degrees, of a camera that has `fov_deg` in
/// air (across the picture, 0–180): twice the refracted half.
pub fn field_of_view_in_water_deg(fov_deg: f64, n: f64) -> f64 {
    2.0 * ((fov_deg / 2.0).to_radians().sin() / n).asin().to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    const N: f64 = 1.333;

    /// Closed forms of Snell's law at n = 1.333 (computed by hand from the law itself).
    #[test]
    fn closed_forms() {
        assert_abs_diff_eq!(apparent_depth(1.0, 0.0, N), 0.7502, epsilon = 5e-5);
        assert_abs_diff_eq!(apparent_depth(1.0, 45.0, N), 0.6258, epsilon = 5e-5);
        for (angle, factor) in [(0.0, 1.333), (30.0, 1.427), (45.0, 1.598)] {
            assert_abs_diff_eq!(flat_port_magnification(angle, N), factor, epsilon = 5e-4);
        }
        assert_abs_diff_eq!(critical_angle_deg(N), 48.607, epsilon = 5e-4);
    }

    /// The magnification against the tangents of the two rays, one by one.
    #[test]
    fn magnification_is_the_ratio_of_tangents() {
        for angle in [1e-3, 5.0, 20.0, 60.0, 85.0] {
            let wet = refracted_deg(angle, 1.0, N).unwrap();
            let ratio = angle.to_radians().tan() / wet.to_radians().tan();
            assert_abs_diff_eq!(
                flat_port_magnification(angle, N),
                ratio,
                epsilon = 1e-9 * ratio
            );
        }
    }

    #[test]
    fn a_ray_goes_back_the_way_it_came() {
        for angle in [0.0, 10.0, -33.0, 89.0, 90.0] {
            let wet = refracted_deg(angle, 1.0, N).unwrap();
            assert!(wet.abs() <= angle.abs());
            assert_abs_diff_eq!(refracted_deg(wet, N, 1.0).unwrap(), angle, epsilon = 1e-5);
        }
        assert_abs_diff_eq!(
            true_depth(apparent_depth(1.7, 52.0, N), 52.0, N),
            1.7,
            epsilon = 1e-12
        );
    }

    #[test]
    fn nothing_passes_beyond_the_critical_angle() {
        assert!(refracted_deg(critical_angle_deg(N) - 1e-6, N, 1.0).is_some());
        assert_eq!(refracted_deg(critical_angle_deg(N) + 1e-6, N, 1.0), None);
        assert_eq!(refracted_deg(91.0, 1.0, N), None);
        assert_eq!(refracted_deg(f64::NAN, 1.0, N), None);
    }

    /// The edge of the narrowed field refracts to the edge of the field in air.
    #[test]
    fn a_flat_port_narrows_the_field() {
        let wet = field_of_view_in_water_deg(70.0, N);
        assert_abs_diff_eq!(
            refracted_deg(wet / 2.0, N, 1.0).unwrap(),
            35.0,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(wet, 50.98, epsilon = 0.01);
    }
}
