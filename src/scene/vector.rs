//! Vectors in space and rotations. Lengths in mm.
//!
//! World axes: x along the pull, y to the lure's own right when it runs straight, z down; the water's
//! surface is z = 0. The lure's own axes: x to the nose, y own right, z belly.

use std::ops::{Add, Mul, Neg, Sub};

/// A vector or a point in space.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vec3 {
    /// Along the pull, or toward the nose.
    pub x: f64,
    /// To the own right.
    pub y: f64,
    /// Down, or toward the belly.
    pub z: f64,
}

impl Vec3 {
    /// From its components.
    pub const fn new(x: f64, y: f64, z: f64) -> Vec3 {
        Vec3 { x, y, z }
    }

    /// Scalar product.
    pub fn dot(self, o: Vec3) -> f64 {
        self.x * o.x + self.y * o.y + self.z * o.z
    }

    /// Vector product.
    pub fn cross(self, o: Vec3) -> Vec3 {
        Vec3::new(
            self.y * o.z - self.z * o.y,
            self.z * o.x - self.x * o.z,
            self.x * o.y - self.y * o.x,
        )
    }

    /// Length.
    pub fn norm(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// The same direction with length 1.
    pub fn unit(self) -> Vec3 {
        self * (1.0 / self.norm())
    }
}

impl Add for Vec3 {
    type Output = Vec3;
    fn add(self, o: Vec3) -> Vec3 {
        Vec3::new(self.x + o.x, self.y + o.y, self.z + o.z)
    }
}

impl Sub for Vec3 {
    type Output = Vec3;
    fn sub(self, o: Vec3) -> Vec3 {
        Vec3::new(self.x - o.x, self.y - o.y, self.z - o.z)
    }
}

impl Mul<f64> for Vec3 {
    type Output = Vec3;
    fn mul(self, k: f64) -> Vec3 {
        Vec3::new(self.x * k, self.y * k, self.z * k)
    }
}

impl Neg for Vec3 {
    type Output = Vec3;
    fn neg(self) -> Vec3 {
        self * -1.0
    }
}

/// A rotation, held as the images of the three own axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Where the own x axis points.
    pub x: Vec3,
    /// Where the own y axis points.
    pub y: Vec3,
    /// Where the own z axis points.
    pub z: Vec3,
}

impl Turn {
    /// The attitude of a body: first rolled, then pitched, then yawed; degrees.
    ///
    /// +`yaw` nose to the right, +`pitch` nose down, +`roll` right side down.
    pub fn attitude(yaw_deg: f64, pitch_deg: f64, roll_deg: f64) -> Turn {
        let (sy, cy) = yaw_deg.to_radians().sin_cos();
        let (sp, cp) = pitch_deg.to_radians().sin_cos();
        let (sr, cr) = roll_deg.to_radians().sin_cos();
        let nose = Vec3::new(cp * cy, cp * sy, sp);
        let level_right = Vec3::new(-sy, cy, 0.0);
        let level_belly = nose.cross(level_right);
        Turn {
            x: nose,
            y: level_right * cr + level_belly * sr,
            z: level_belly * cr - level_right * sr,
        }
    }

    /// A vector given in own axes, in world axes.
    pub fn apply(&self, v: Vec3) -> Vec3 {
        self.x * v.x + self.y * v.y + self.z * v.z
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_of_the_attitude() {
        assert!(
            Turn::attitude(10.0, 0.0, 0.0).x.y > 0.1,
            "yaw +: nose to own right"
        );
        assert!(
            Turn::attitude(0.0, 10.0, 0.0).x.z > 0.1,
            "pitch +: nose down"
        );
        assert!(
            Turn::attitude(0.0, 0.0, 10.0).y.z > 0.1,
            "roll +: right side down"
        );
    }

    #[test]
    fn axes_stay_square() {
        let t = Turn::attitude(31.0, -12.0, 47.0);
        assert!(t.x.dot(t.y).abs() < 1e-12 && t.y.dot(t.z).abs() < 1e-12);
        assert!((t.x.cross(t.y) - t.z).norm() < 1e-12);
    }
}
