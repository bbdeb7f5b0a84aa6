//! Where the camera stood: from the picture to millimetres in the plane of the pull.
//!
//! A phone clip rarely tells tilt, lens and bottom depth. Each stance here is one answer to all that
//! was not told; `ground` draws many and keeps what the clip agrees with.

use super::sightings::Sightings;
use crate::camera::WaterPlane;
use crate::units::wrap_deg;

/// One assumption about everything the geometry needs.
#[derive(Debug, Clone, Copy)]
pub struct Stance {
    /// Tilt of the camera below the horizontal, degrees.
    pub tilt_deg: f64,
    /// Focal length, px; `None` for a camera far away (only used straight from above).
    pub focal_px: Option<f64>,
    /// How much farther from the camera the bottom lies than the lure, as a ratio ≥ 1.
    pub depth_ratio: f64,
    /// The lure swims nose down by this much, degrees.
    pub pitch_deg: f64,
    /// The line rises toward the rod tip by this much, degrees.
    pub line_rise_deg: f64,
}

/// The lure's way in the plane of the pull under one [`Stance`]. In body lengths, so that it stands
/// without a known length.
#[derive(Debug, Clone, Default)]
pub struct Way {
    /// To the own right, across the pull, body lengths.
    pub sideways: Vec<f64>,
    /// Forward along the pull, body lengths.
    pub forward: Vec<f64>,
    /// Body length in px of the plane (px at the point where the camera looks).
    pub body_px: f64,
    /// Body length at the lure's usual place in the picture, px across the line of sight.
    pub body_at_lure_px: f64,
    /// Azimuth of the camera's travel, degrees clockwise from where it looks.
    pub course_deg: f64,
    /// Body length seen at each sighting over `body_px`: 1 where the stance is right.
    pub body_ratio: Vec<f64>,
    /// Heading of the body against the pull at each sighting, + nose to own right, degrees: the yaw.
    pub yaw_deg: Vec<f64>,
    /// Azimuth of the pull at each sighting, degrees: constant where the stance is right.
    pub pull_deg: Vec<f64>,
    /// Part of the forward way that is the camera's, body lengths from first to last sighting.
    pub camera_forward: f64,
}

impl Stance {
    /// The lure's way, or `None` where the stance cannot be (the lure above the horizon).
    pub fn way(&self, seen: &Sightings, picture_px: [f64; 2]) -> Option<Way> {
        let plane = WaterPlane::new(self.tilt_deg, self.focal_px, picture_px);
        let foot = self.focal_px.map(|f| f * self.tilt_deg.to_radians().cos());
        let n = seen.len();
        let (mut lure, mut camera) = (Vec::with_capacity(n), Vec::with_capacity(n));
        let (mut bodies, mut pulls) = (Vec::with_capacity(n), Vec::with_capacity(n));
        let mut headings = Vec::with_capacity(n);
        let mut travelled = [0.0; 2];
        let mut nearer = Vec::with_capacity(n);
        for i in 0..n {
            let at = seen.place_px[i];
            let here = plane.place(at)?;
            let ray = match foot {
                Some(foot) => unit([here[0], here[1] + foot]),
                None => [0.0, 1.0],
            };
            let cot = {
                let (s, c) = plane.depression_deg(at).to_radians().sin_cos();
                if s.abs() < 1e-3 {
                    return None;
                }
                c / s
            };
            if i > 0 {
                let step = [0, 1].map(|k| seen.travel_px[i][k] - seen.travel_px[i - 1][k]);
                let d = plane.displacement(at, step)?;
                travelled = [0, 1].map(|k| travelled[k] + d[k] * self.depth_ratio);
            }
            nearer.push(1.0 / plane.displacement(at, [1.0, 0.0])?[0]);
            lure.push(here);
            camera.push(travelled);
            let (body, heading) = self.body(plane.displacement(at, seen.body_px[i])?, ray, cot);
            bodies.push(body);
            headings.push(heading);
            pulls.push(self.pull(plane.displacement(at, seen.line[i])?, ray, cot));
        }
        let body_px = super::robust::median(bodies.iter().copied())?;
        let pull_deg = super::robust::median_direction_deg(&pulls)?;
        let (sin, cos) = pull_deg.to_radians().sin_cos();
        let forward = |p: &[f64; 2]| (p[0] * sin + p[1] * cos) / body_px;
        let sideways = |p: &[f64; 2]| (p[0] * cos - p[1] * sin) / body_px;
        let sum: Vec<[f64; 2]> = lure
            .iter()
            .zip(&camera)
            .map(|(l, c)| [l[0] + c[0], l[1] + c[1]])
            .collect();
        Some(Way {
            sideways: sum.iter().map(sideways).collect(),
            forward: sum.iter().map(forward).collect(),
            body_px,
            body_at_lure_px: body_px * super::robust::median(nearer)?,
            course_deg: travelled[0].atan2(travelled[1]).to_degrees(),
            yaw_deg: headings.iter().map(|h| wrap_deg(h - pull_deg)).collect(),
            body_ratio: bodies.iter().map(|b| b / body_px).collect(),
            camera_forward: forward(&travelled),
            pull_deg: pulls,
        })
    }

    /// Length of the whole body in px of the plane and its azimuth in degrees, from the tail-to-nose
    /// vector `v` on the plane. The nose lies deeper than the tail by the pitch, which shifts it toward
    /// the camera along the unit vector `ray` by `cot` times the depth. NaN where that cannot be.
    fn body(&self, v: [f64; 2], ray: [f64; 2], cot: f64) -> (f64, f64) {
        let (sin, cos) = self.pitch_deg.to_radians().sin_cos();
        let k = sin * cot;
        let (b, room) = (v[0] * ray[0] + v[1] * ray[1], cos * cos - k * k);
        if room <= 0.05 {
            return (f64::NAN, f64::NAN);
        }
        let length = (k * b + (k * k * b * b + room * (v[0] * v[0] + v[1] * v[1])).sqrt()) / room;
        let [x, z] = [0, 1].map(|i| v[i] + length * k * ray[i]);
        (length, x.atan2(z).to_degrees())
    }

    /// Azimuth of the pull from the line's direction `w` on the plane: a line that rises lies farther
    /// out along `ray` than it seems. Degrees clockwise from where the camera looks.
    fn pull(&self, w: [f64; 2], ray: [f64; 2], cot: f64) -> f64 {
        let from_ray = w[0].atan2(w[1]) - ray[0].atan2(ray[1]);
        let lift = self.line_rise_deg.to_radians().tan() * cot;
        let turned = (lift * from_ray.sin()).clamp(-1.0, 1.0).asin();
        (w[0].atan2(w[1]) + turned).to_degrees()
    }
}

fn unit([x, y]: [f64; 2]) -> [f64; 2] {
    let length = x.hypot(y);
    if length > 0.0 {
        [x / length, y / length]
    } else {
        [0.0, 1.0]
    }
}
