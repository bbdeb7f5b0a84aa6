//! The camera as a pinhole: from the world to the picture and back, through the surface if need be.

use super::surface::{Ripples, WATER_INDEX, refract};
use super::vector::Vec3;

/// A pinhole camera at one moment. Picture: x right, y down, px, the centre of the top-left pixel at
/// (0.5, 0.5).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eye {
    /// Where it is, mm; z < 0 is over the water.
    pub place: Vec3,
    /// Direction of the picture's x.
    pub right: Vec3,
    /// Direction of the picture's y.
    pub down: Vec3,
    /// Direction of view.
    pub forward: Vec3,
    /// Focal length, px.
    pub focal_px: f64,
    /// The point of the picture that looks along `forward`, px.
    pub centre: [f64; 2],
}

/// A point as it is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Where in the picture, px.
    pub px: [f64; 2],
    /// How far along the direction of view, mm; orders what hides what.
    pub depth: f64,
    /// Way of the light through water, mm.
    pub water_mm: f64,
}

/// A surface through which the picture is seen: ripples at a moment, or flat water.
#[derive(Debug, Clone, Copy)]
pub struct Through<'a> {
    /// Ripples and time, s; `None` for flat water.
    pub ripples: Option<(&'a Ripples, f64)>,
}

impl Through<'_> {
    /// Flat water.
    pub const FLAT: Through<'static> = Through { ripples: None };

    fn slope(&self, x: f64, y: f64) -> [f64; 2] {
        self.ripples.map_or([0.0, 0.0], |(r, t)| r.slope(x, y, t))
    }
}

impl Eye {
    /// A level camera looking `course_deg` (from the pull to own right) and `tilt_deg` below the horizontal.
    pub fn looking(
        place: Vec3,
        course_deg: f64,
        tilt_deg: f64,
        focal_px: f64,
        centre: [f64; 2],
    ) -> Eye {
        let (sc, cc) = course_deg.to_radians().sin_cos();
        let (st, ct) = tilt_deg.to_radians().sin_cos();
        let forward = Vec3::new(ct * cc, ct * sc, st);
        let right = Vec3::new(-sc, cc, 0.0);
        Eye {
            place,
            right,
            down: forward.cross(right),
            forward,
            focal_px,
            centre,
        }
    }

    /// The same camera turned in its own axes by small angles, degrees: to the right, down, clockwise.
    pub fn turned(self, right_deg: f64, down_deg: f64, clockwise_deg: f64) -> Eye {
        let mix = |a: Vec3, b: Vec3, deg: f64| {
            let (s, c) = deg.to_radians().sin_cos();
            (a * c + b * s, b * c - a * s)
        };
        let (forward, right) = mix(self.forward, self.right, right_deg);
        let (forward, down) = mix(forward, self.down, down_deg);
        let (right, down) = mix(right, down, clockwise_deg);
        Eye {
            right,
            down,
            forward,
            ..self
        }
    }

    /// Whether the camera is over the water.
    pub fn in_air(&self) -> bool {
        self.place.z < 0.0
    }

    /// Direction of the light that falls on a point of the picture, length 1.
    pub fn ray(&self, px: f64, py: f64) -> Vec3 {
        let a = (px - self.centre[0]) / self.focal_px;
        let b = (py - self.centre[1]) / self.focal_px;
        (self.forward + self.right * a + self.down * b).unit()
    }

    /// A point seen without any surface between; `None` when it is not before the camera.
    pub fn sees_straight(&self, point: Vec3) -> Option<Seen> {
        let way = point - self.place;
        let depth = way.dot(self.forward);
        if depth < 1.0 {
            return None;
        }
        let scale = self.focal_px / depth;
        let px = [
            self.centre[0] + way.dot(self.right) * scale,
            self.centre[1] + way.dot(self.down) * scale,
        ];
        Some(Seen {
            px,
            depth,
            water_mm: way.norm(),
        })
    }

    /// A point under water as it is seen, through the surface if the camera is over it.
    pub fn sees(&self, point: Vec3, through: &Through) -> Option<Seen> {
        if !self.in_air() {
            return self.sees_straight(point);
        }
        let entry = self.entry(point, through);
        let seen = self.sees_straight(entry)?;
        let below = point - entry;
        Some(Seen {
            depth: seen.depth + below.dot(self.forward),
            water_mm: below.norm(),
            ..seen
        })
    }

    /// Where the light from `point` to this camera over the water leaves the surface.
    ///
    /// A fixed-point search: the ray through a guessed point is bent there and followed down to the
    /// depth of `point`; the guess moves by the miss, shortened by the usual lever.
    pub fn entry(&self, point: Vec3, through: &Through) -> Vec3 {
        let height = -self.place.z;
        let lever = height / (height + point.z / WATER_INDEX);
        let mut entry = self.place + (point - self.place) * lever;
        entry.z = 0.0;
        for _ in 0..40 {
            let hit = self.follow(entry, point.z, through);
            let miss = point - hit;
            entry = entry + Vec3::new(miss.x, miss.y, 0.0) * lever;
            if miss.x.abs().max(miss.y.abs()) < 1e-4 {
                break;
            }
        }
        entry
    }

    /// The ray from the camera through a surface point, bent there and followed to depth `z`.
    pub fn follow(&self, entry: Vec3, z: f64, through: &Through) -> Vec3 {
        let below = refract((entry - self.place).unit(), through.slope(entry.x, entry.y));
        entry + below * (z / below.z)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CENTRE: [f64; 2] = [320.0, 180.0];

    #[test]
    fn own_right_in_each_view() {
        let right = Vec3::new(0.0, 10.0, 400.0);
        let place = |x, y, z| Vec3::new(x, y, z);
        let above = Eye::looking(place(0.0, 0.0, 100.0), 0.0, 90.0, 500.0, CENTRE);
        let behind = Eye::looking(place(-500.0, 0.0, 300.0), 0.0, 10.0, 500.0, CENTRE);
        let ahead = Eye::looking(place(500.0, 0.0, 300.0), 180.0, 10.0, 500.0, CENTRE);
        for (eye, sign) in [(above, 1.0), (behind, 1.0), (ahead, -1.0)] {
            let x = eye.sees_straight(right).unwrap().px[0] - CENTRE[0];
            assert!(x * sign > 0.0);
        }
        // From its own right side the lure swims to the picture's right.
        let side = Eye::looking(place(0.0, 500.0, 400.0), -90.0, 0.0, 500.0, CENTRE);
        assert!(side.sees_straight(place(50.0, 0.0, 400.0)).unwrap().px[0] > CENTRE[0]);
        assert!(side.sees_straight(place(0.0, 0.0, 450.0)).unwrap().px[1] > CENTRE[1]);
    }

    #[test]
    fn apparent_depth_straight_down() {
        // REFERENCES, refraction n = 1.333: straight-down apparent over true depth 0.7502.
        let eye = Eye::looking(Vec3::new(0.0, 0.0, -1000.0), 0.0, 90.0, 500.0, CENTRE);
        let x = eye
            .sees(Vec3::new(0.0, 1.0, 400.0), &Through::FLAT)
            .unwrap()
            .px[0]
            - CENTRE[0];
        let apparent = 500.0 / x - 1000.0;
        assert!((apparent / 400.0 - 0.7501).abs() < 3e-4, "{apparent}");
    }

    #[test]
    fn ray_and_point_agree_through_ripples() {
        let ripples = Ripples::new(4, 0.03, 1.0);
        let through = Through {
            ripples: Some((&ripples, 1.3)),
        };
        let eye = Eye::looking(Vec3::new(-300.0, 40.0, -800.0), 20.0, 60.0, 700.0, CENTRE);
        let point = Vec3::new(150.0, 60.0, 420.0);
        let seen = eye.sees(point, &through).unwrap();
        let ray = eye.ray(seen.px[0], seen.px[1]);
        let entry = eye.place + ray * (-eye.place.z / ray.z);
        let back = eye.follow(entry, point.z, &through);
        assert!((back - point).norm() < 1e-2, "{:?}", back - point);
    }

    #[test]
    fn turning_right_moves_the_picture_left() {
        let eye = Eye::looking(Vec3::new(0.0, 0.0, 100.0), 0.0, 0.0, 500.0, CENTRE);
        let at = |e: Eye| e.sees_straight(Vec3::new(500.0, 0.0, 100.0)).unwrap().px;
        assert!(at(eye.turned(5.0, 0.0, 0.0))[0] < CENTRE[0]);
        assert!(at(eye.turned(0.0, 5.0, 0.0))[1] < CENTRE[1]);
        // Turned clockwise, what stood to the right is seen higher.
        let off = Vec3::new(500.0, 100.0, 100.0);
        assert!(eye.turned(0.0, 0.0, 5.0).sees_straight(off).unwrap().px[1] < CENTRE[1]);
    }
}
