//! Depth from above the water: how far away the lure seems by its size, less the camera's height, through
//! the surface.

use super::super::analyse::{Path, Swum};
use crate::Measured;
use crate::camera::{View, WaterPlane, focal_px};
use crate::water::refraction::{flat_port_magnification, refracted_deg};

/// Half-width of the 95 % interval of a camera's height held by hand, as a part.
const HEIGHT_DOUBT: f64 = 0.03;
/// The same of a tilt given by eye, degrees.
const TILT_DOUBT_DEG: f64 = 4.0;
/// The same of a focal length from a field of view, and from a lens file at least.
const FOCAL_DOUBT: f64 = 0.04;
/// A depth known no better than this part of itself (half-width of a 95 % interval) is none.
const WIDEST: f64 = 0.4;

/// What the depth is computed from.
#[derive(Debug, Clone, Copy)]
struct Sight {
    /// Distance by size, mm.
    distance_mm: f64,
    /// Depression of the line of sight in the air, degrees.
    depression_deg: f64,
    camera_height_mm: f64,
    index: f64,
    /// Whether the body lies along the line of sight, so that its length shows how the plane is slanted.
    along: bool,
}

impl Sight {
    /// Depth, mm; negative above the water.
    ///
    /// A length across the line of sight gives H + d·tan α/tan β = D sin α; a body that points along it,
    /// measured by its foreshortened length, H + d·sin³α/(n sin³β) = D sin α (see
    /// [`crate::camera::LookThrough`]).
    fn depth_mm(&self) -> f64 {
        let from_vertical = 90.0 - self.depression_deg;
        let apparent =
            self.distance_mm * self.depression_deg.to_radians().sin() - self.camera_height_mm;
        if !self.along {
            return apparent * flat_port_magnification(from_vertical, self.index);
        }
        let wet = refracted_deg(from_vertical, 1.0, self.index).unwrap_or(0.0);
        let ratio = wet.to_radians().cos() / self.depression_deg.to_radians().sin();
        apparent * self.index * ratio.powi(3)
    }
}

/// The running depth under a camera of known height.
pub fn depth(swum: &Swum, path: &Path, mm_per_px: Option<f64>) -> Measured {
    let setup = swum.setup;
    let Some(camera_height_mm) = setup.marks.camera_height_mm else {
        return Measured::unmeasurable(
            "depth shows from the side with the surface marked, or from above with --camera-height",
        );
    };
    if setup.marks.under_water {
        return Measured::unmeasurable("a camera under water has no height above it");
    }
    let (Some(fov), Some(mm_per_px), Some(_)) = (setup.fov_deg, mm_per_px, setup.length_mm) else {
        return Measured::unmeasurable(
            "how far away the lure is shows by its size: give --length, and --fov or --lens",
        );
    };
    let told = setup.told_tilt_deg.or(setup.tilt_deg);
    let tilt = match (setup.view, told) {
        (View::Above, None) => 90.0,
        (View::Above, Some(_)) if setup.looks_along() => {
            return Measured::unmeasurable(
                "from above the depth shows only straight down; or film from behind or ahead",
            );
        }
        (_, Some(tilt)) => tilt,
        (_, None) => return Measured::unmeasurable("give --tilt: how far the camera looks down"),
    };
    let picture = [swum.track.picture_width_px, swum.track.picture_height_px];
    let focal = focal_px(fov, picture);
    let middle = |k: usize| super::super::robust::median(swum.series.place_px.iter().map(|p| p[k]));
    let (Some(x), Some(y)) = (middle(0), middle(1)) else {
        return Measured::unmeasurable("the lure was seen too briefly");
    };
    let off = (x - picture[0] / 2.0).hypot(y - picture[1] / 2.0);
    let sight = Sight {
        distance_mm: mm_per_px * focal.hypot(off),
        depression_deg: WaterPlane::new(tilt, Some(focal), picture).depression_deg([x, y]),
        camera_height_mm,
        index: setup.marks.water_index(),
        along: matches!(setup.view, View::Behind | View::Ahead),
    };
    let tilt_doubt = match setup.view {
        View::Above if setup.tilt_deg.is_none() => 2.0 * TILT_DOUBT_DEG,
        _ => TILT_DOUBT_DEG,
    };
    let outline = path.ground.body_at_lure_px().relative();
    let size = setup
        .scale_doubt(swum.track.doubts.ends)
        .hypot(1.96 * outline[0].max(outline[1]))
        .hypot(1.96 * setup.focal_sd.unwrap_or(FOCAL_DOUBT / 1.96));
    with_doubts(sight, size, tilt_doubt)
}

/// The depth with the doubts of size (as a part), tilt (degrees) and height.
fn with_doubts(sight: Sight, size: f64, tilt_deg: f64) -> Measured {
    let depth = sight.depth_mm();
    let apart = |other: Sight| (other.depth_mm() - depth).abs();
    let mut half = apart(Sight {
        distance_mm: sight.distance_mm * (1.0 + size),
        ..sight
    });
    half = half.hypot(apart(Sight {
        camera_height_mm: sight.camera_height_mm * (1.0 + HEIGHT_DOUBT),
        ..sight
    }));
    let tilted = [-tilt_deg, tilt_deg].map(|by| {
        let depression_deg = (sight.depression_deg + by).clamp(5.0, 90.0);
        apart(Sight {
            depression_deg,
            ..sight
        })
    });
    half = half.hypot(tilted[0].max(tilted[1]));
    if !half.is_finite() || half > WIDEST * depth.abs() || depth <= 0.0 {
        return Measured::unmeasurable(format!(
            "from here the lure could be anywhere down to {:.1} m; film from the side with the surface in view",
            (depth + half).max(0.1) / 1000.0
        ));
    }
    Measured::within(depth, half).because("by the lure's size, through the surface")
}
