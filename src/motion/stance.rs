//! Where the camera stood: from the picture to millimetres in the plane of the pull.
//!
//! A phone clip rarely tells tilt, lens and bottom depth. Each stance here is one answer to all that
//! was not told; `ground` draws many and keeps what the clip agrees with.

use super::robust::{median, median_direction_deg};
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
        let n = seen.len();
        let mut looks = Looks::new(self, picture_px);
        let (mut lure, mut camera) = (Vec::with_capacity(n), Vec::with_capacity(n));
        let (mut bodies, mut pulls) = (Vec::with_capacity(n), Vec::with_capacity(n));
        let (mut headings, mut nearer) = (Vec::with_capacity(n), Vec::with_capacity(n));
        let mut travelled = [0.0; 2];
        for i in 0..n {
            let look = looks.next(seen.place_px[i], seen.turn_px[i])?;
            if i > 0 {
                let step = [0, 1].map(|k| seen.travel_px[i][k] - seen.travel_px[i - 1][k]);
                let d = look.displacement(step)?;
                travelled = [0, 1].map(|k| travelled[k] + d[k] * self.depth_ratio);
            }
            lure.push(look.place()?);
            camera.push(travelled);
            let (body, heading) = self.body(look.displacement(seen.body_px[i])?, &look);
            bodies.push(body);
            headings.push(heading);
            pulls.push(self.pull(look.displacement(seen.line[i])?, &look));
            nearer.push(1.0 / look.across()?);
        }
        let body_px = median(bodies.iter().copied())?;
        let pull_deg = median_direction_deg(&pulls)?;
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
            body_at_lure_px: body_px * median(nearer)?,
            course_deg: travelled[0].atan2(travelled[1]).to_degrees(),
            yaw_deg: headings.iter().map(|h| wrap_deg(h - pull_deg)).collect(),
            body_ratio: bodies.iter().map(|b| b / body_px).collect(),
            camera_forward: forward(&travelled),
            pull_deg: pulls,
        })
    }

    /// Length of the whole body in px of the plane and its azimuth in degrees, from the tail-to-nose
    /// vector `v` on the plane. The nose lies deeper than the tail by the pitch, which shifts it toward
    /// the camera by the cotangent of the depression times the depth. NaN where that cannot be.
    fn body(&self, v: [f64; 2], look: &Look) -> (f64, f64) {
        let (sin, cos) = self.pitch_deg.to_radians().sin_cos();
        let (ray, k) = (look.ray, sin * look.cot);
        let (b, room) = (v[0] * ray[0] + v[1] * ray[1], cos * cos - k * k);
        if room <= 0.05 {
            return (f64::NAN, f64::NAN);
        }
        let length = (k * b + (k * k * b * b + room * (v[0] * v[0] + v[1] * v[1])).sqrt()) / room;
        let [x, z] = [0, 1].map(|i| v[i] + length * k * ray[i]);
        (length, x.atan2(z).to_degrees())
    }

    /// Azimuth of the pull from the line's direction `w` on the plane: a line that rises lies farther
    /// out along the ray than it seems. Degrees clockwise from where the camera looks at first.
    fn pull(&self, w: [f64; 2], look: &Look) -> f64 {
        let from_ray = w[0].atan2(w[1]) - look.ray[0].atan2(look.ray[1]);
        let lift = self.line_rise_deg.to_radians().tan() * look.cot;
        let turned = (lift * from_ray.sin()).clamp(-1.0, 1.0).asin();
        (w[0].atan2(w[1]) + turned).to_degrees()
    }
}

/// Where a camera looks from frame to frame while it is turned after the lure.
struct Looks<'a> {
    stance: &'a Stance,
    picture_px: [f64; 2],
    /// Turned so far, px, and the azimuth that makes, radians.
    turned_px: [f64; 2],
    azimuth: f64,
}

/// One look at the lure: from a picture point to the plane, turned to the first frame's directions
/// and in px of the plane at the point where the camera looked at first.
struct Look {
    plane: WaterPlane,
    at: [f64; 2],
    /// Sine and cosine of the azimuth since the first frame.
    turned: [f64; 2],
    /// Size of a px here in px there.
    unit: f64,
    /// Distance from the camera's foot to the middle of its view, px; 0 for one far away.
    foot: f64,
    /// Horizontal unit vector from the camera to the lure.
    ray: [f64; 2],
    /// Cotangent of the depression of the lure.
    cot: f64,
}

impl<'a> Looks<'a> {
    fn new(stance: &'a Stance, picture_px: [f64; 2]) -> Self {
        Looks {
            stance,
            picture_px,
            turned_px: [0.0; 2],
            azimuth: 0.0,
        }
    }

    /// The look at the picture point `at` with the camera turned by `turn_px` since the first frame.
    /// Near the picture's middle a px is 1/focal rad, in azimuth more by the slant of the view.
    fn next(&mut self, at: [f64; 2], turn_px: [f64; 2]) -> Option<Look> {
        let first = self.stance.tilt_deg.to_radians();
        let Some(focal) = self.stance.focal_px else {
            let steadied = [at[0] + turn_px[0], at[1] + turn_px[1]];
            let plane = WaterPlane::new(self.stance.tilt_deg, None, self.picture_px);
            return Look::new(plane, steadied, 0.0, 1.0, 0.0);
        };
        let tilt = first + turn_px[1] / focal;
        let (sin, cos) = tilt.sin_cos();
        let swing = focal * cos - (at[1] - self.picture_px[1] / 2.0) * sin;
        if swing > 0.05 * focal {
            self.azimuth += (turn_px[0] - self.turned_px[0]) / swing;
        }
        self.turned_px = turn_px;
        if sin * first.sin() <= 0.0 {
            return None;
        }
        let plane = WaterPlane::new(tilt.to_degrees(), Some(focal), self.picture_px);
        Look::new(plane, at, self.azimuth, first.sin() / sin, focal * cos)
    }
}

impl Look {
    fn new(plane: WaterPlane, at: [f64; 2], azimuth: f64, unit: f64, foot: f64) -> Option<Look> {
        let (sin, cos) = plane.depression_deg(at).to_radians().sin_cos();
        if sin.abs() < 1e-3 {
            return None;
        }
        let turned = azimuth.sin_cos();
        let mut look = Look {
            plane,
            at,
            turned: [turned.0, turned.1],
            unit,
            foot,
            ray: [0.0, 1.0],
            cot: cos / sin,
        };
        let [x, z] = look.place()?;
        let away = x.hypot(z);
        if foot != 0.0 && away > 0.0 {
            look.ray = [x / away, z / away];
        }
        Some(look)
    }

    /// The lure on the plane, from the camera's foot (from the picture's middle for a far camera).
    fn place(&self) -> Option<[f64; 2]> {
        let [x, z] = self.plane.place(self.at)?;
        Some(self.turn([x, z + self.foot]))
    }

    /// A small picture displacement at the lure, on the plane.
    fn displacement(&self, d: [f64; 2]) -> Option<[f64; 2]> {
        Some(self.turn(self.plane.displacement(self.at, d)?))
    }

    /// Size of a picture px across the line of sight at the lure, px of the plane.
    fn across(&self) -> Option<f64> {
        Some(self.unit * self.plane.displacement(self.at, [1.0, 0.0])?[0])
    }

    fn turn(&self, [x, z]: [f64; 2]) -> [f64; 2] {
        let [sin, cos] = self.turned;
        [
            self.unit * (x * cos + z * sin),
            self.unit * (z * cos - x * sin),
        ]
    }
}
