//! Shapes as triangles in own axes, mm: the lure's body with lip and hooks, and a fish.

use std::f64::consts::TAU;

use super::description::LurePlan;
use super::vector::Vec3;

/// What a triangle is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stuff {
    /// The painted body.
    Body,
    /// The lip's plate.
    Lip,
    /// Hooks and rings.
    Metal,
    /// A fish.
    Scales,
}

/// A shape. Normals point outward.
#[derive(Debug, Clone, Default)]
pub struct Mesh {
    /// Corners, own axes, mm.
    pub points: Vec<Vec3>,
    /// Normal at each corner.
    pub normals: Vec<Vec3>,
    /// Triangles as numbers of corners, and what they are made of.
    pub triangles: Vec<([u32; 3], Stuff)>,
}

/// Cross-section of a spindle: half width, half height, height of its middle, mm.
struct Section {
    half_width: f64,
    half_height: f64,
    middle: f64,
}

impl Mesh {
    /// The lure's body alone, its pivot at the origin.
    pub fn body(lure: &LurePlan) -> Mesh {
        let l = lure.length_mm;
        let section = |s: f64| {
            let r = body_profile(s);
            Section {
                half_width: 0.5 * lure.width * l * r,
                half_height: 0.5 * lure.height * l * r,
                // The belly is deeper than the back is high, but nose and tail lie on the axis.
                middle: 0.04 * l * r * (1.0 - r * 0.5),
            }
        };
        spindle(l, lure.pivot * l, 30, 22, Stuff::Body, section)
    }

    /// Lip, rings and hooks; the hooks swung sideways by `swing` (rad, + toward own right).
    pub fn fittings(lure: &LurePlan, swing: f64) -> Mesh {
        let mut mesh = Mesh::default();
        let l = lure.length_mm;
        let nose = lure.pivot * l;
        if lure.lip > 0.0 {
            mesh.add_lip(lure, nose);
        }
        mesh.add_tube(
            &[
                Vec3::new(nose - 0.02 * l, 0.0, 0.0),
                Vec3::new(nose + 0.035 * l, 0.0, 0.0),
            ],
            0.009 * l,
        );
        if lure.hooks {
            let size = 0.15 * l;
            let belly = Vec3::new(nose - 0.42 * l, 0.0, 0.5 * lure.height * l + 0.02 * l);
            let tail = Vec3::new(nose - 1.01 * l, 0.0, 0.0);
            // Both trail: water pushes them back against the swim.
            mesh.add_hook(belly, Vec3::new(-0.75, swing.sin(), 0.65).unit(), size);
            mesh.add_hook(tail, Vec3::new(-0.9, 1.4 * swing.sin(), 0.45).unit(), size);
        }
        mesh
    }

    /// A fish with its middle at the origin; its tail beats with `phase`, rad.
    pub fn fish(length: f64, phase: f64) -> Mesh {
        let section = |s: f64| {
            let body = (1.0 - (2.0 * s / 0.85 - 0.75).powi(2)).max(0.0).powf(0.8);
            let fin = if s > 0.8 { (s - 0.8) / 0.2 * 0.75 } else { 0.0 };
            Section {
                half_width: length * (0.065 * body + 0.006),
                half_height: length * (0.11 * body.max(0.22) + 0.10 * fin),
                middle: 0.0,
            }
        };
        let mut mesh = spindle(length, 0.5 * length, 24, 14, Stuff::Scales, section);
        for p in &mut mesh.points {
            let s = 0.5 - p.x / length;
            p.y += 0.09 * length * s * s * (phase - 4.0 * s).sin();
        }
        mesh
    }

    fn add_lip(&mut self, lure: &LurePlan, nose: f64) {
        let l = lure.length_mm;
        let (sa, ca) = lure.lip_angle_deg.to_radians().sin_cos();
        let ahead = Vec3::new(ca, 0.0, sa);
        let root = Vec3::new(nose - 0.07 * l, 0.0, 0.05 * l);
        let long = (lure.lip + 0.07) * l;
        const ROWS: usize = 6;
        let first = self.points.len() as u32;
        for row in 0..=ROWS {
            let u = row as f64 / ROWS as f64;
            // Widens from the root, rounded at its end.
            let wide = lure.lip * l * (0.34 + 0.26 * u) * (1.0 - 0.55 * u.powi(6));
            for y in [-wide, wide] {
                self.points
                    .push(root + ahead * (u * long) + Vec3::new(0.0, y, 0.0));
                self.normals.push(Vec3::new(sa, 0.0, -ca));
            }
        }
        for row in 0..ROWS as u32 {
            let a = first + 2 * row;
            self.triangles.push(([a, a + 1, a + 2], Stuff::Lip));
            self.triangles.push(([a + 1, a + 3, a + 2], Stuff::Lip));
        }
    }

    fn add_hook(&mut self, eye: Vec3, along: Vec3, size: f64) {
        let wire = 0.045 * size;
        let bend = eye + along * size;
        self.add_tube(&[eye, bend], wire);
        let side = along.cross(Vec3::new(0.0, 1.0, 0.0)).unit();
        let other = along.cross(side);
        for point in 0..3 {
            let turn = TAU * (point as f64 / 3.0 + 0.25);
            let out = side * turn.cos() + other * turn.sin();
            let arc = |u: f64| {
                let a = std::f64::consts::PI * u;
                bend + out * (0.26 * size * (1.0 - a.cos())) + along * (0.24 * size * a.sin())
            };
            let tip = arc(1.0) - along * (0.28 * size);
            self.add_tube(&[bend, arc(0.25), arc(0.5), arc(0.75), arc(1.0), tip], wire);
        }
    }

    fn add_tube(&mut self, path: &[Vec3], radius: f64) {
        const AROUND: u32 = 4;
        for leg in path.windows(2) {
            let along = (leg[1] - leg[0]).unit();
            let hint = if along.y.abs() < 0.9 {
                Vec3::new(0.0, 1.0, 0.0)
            } else {
                Vec3::new(1.0, 0.0, 0.0)
            };
            let side = along.cross(hint).unit();
            let other = along.cross(side);
            let first = self.points.len() as u32;
            for end in leg {
                for i in 0..AROUND {
                    let a = TAU * f64::from(i) / f64::from(AROUND);
                    let out = side * a.cos() + other * a.sin();
                    self.points.push(*end + out * radius);
                    self.normals.push(out);
                }
            }
            for i in 0..AROUND {
                let j = (i + 1) % AROUND;
                self.triangles
                    .push(([first + i, first + j, first + AROUND + i], Stuff::Metal));
                self.triangles.push((
                    [first + j, first + AROUND + j, first + AROUND + i],
                    Stuff::Metal,
                ));
            }
        }
    }
}

/// Half thickness of the body along it, 1 at its thickest; `s` from the nose (0) to the tail (1).
pub fn body_profile(s: f64) -> f64 {
    // s^0.55 (1−s)^0.85 has its greatest value at s = 0.55 / 1.4.
    let peak: f64 = 0.55 / 1.4;
    let top = peak.powf(0.55) * (1.0 - peak).powf(0.85);
    s.powf(0.55) * (1.0 - s).powf(0.85) / top
}

/// Rings of corners around the own x axis, from the nose at `x = nose` back over `length`.
fn spindle(
    length: f64,
    nose: f64,
    rings: usize,
    around: usize,
    stuff: Stuff,
    section: impl Fn(f64) -> Section,
) -> Mesh {
    let mut mesh = Mesh::default();
    let corner = |s: f64, a: f64| {
        let c = section(s);
        Vec3::new(
            nose - s * length,
            c.half_width * a.sin(),
            c.middle + c.half_height * a.cos(),
        )
    };
    // Rings stand closer at the ends, where the shape turns quickest.
    let place = |i: usize| 0.5 - 0.5 * (std::f64::consts::PI * i as f64 / rings as f64).cos();
    for i in 0..=rings {
        let s = place(i);
        for j in 0..around {
            let a = TAU * j as f64 / around as f64;
            let inner = s.clamp(0.004, 0.996);
            let lengthwise = corner(inner + 0.003, a) - corner(inner - 0.003, a);
            let crosswise = corner(inner, a + 0.01) - corner(inner, a - 0.01);
            mesh.points.push(corner(s, a));
            mesh.normals.push(crosswise.cross(lengthwise).unit());
        }
    }
    let n = around as u32;
    for i in 0..rings as u32 {
        for j in 0..n {
            let k = (j + 1) % n;
            let [a, b, c, d] = [i * n + j, i * n + k, (i + 1) * n + j, (i + 1) * n + k];
            mesh.triangles.push(([a, b, c], stuff));
            mesh.triangles.push(([b, d, c], stuff));
        }
    }
    mesh
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn body_has_its_length_width_and_pivot() {
        let lure = LurePlan::default();
        let mesh = Mesh::body(&lure);
        let span = |f: fn(&Vec3) -> f64| {
            let v: Vec<f64> = mesh.points.iter().map(f).collect();
            (
                v.iter().copied().fold(f64::MAX, f64::min),
                v.iter().copied().fold(f64::MIN, f64::max),
            )
        };
        let (tail, nose) = span(|p| p.x);
        assert!((nose - 0.4 * 58.0).abs() < 1e-9 && (tail + 0.6 * 58.0).abs() < 1e-9);
        let (left, right) = span(|p| p.y);
        assert!((right + left).abs() < 1e-9 && (right - left - 0.21 * 58.0).abs() < 0.3);
    }

    #[test]
    fn normals_point_outward() {
        let mesh = Mesh::body(&LurePlan::default());
        let inward = mesh
            .points
            .iter()
            .zip(&mesh.normals)
            .filter(|(p, n)| p.y * n.y < -1e-9)
            .count();
        assert_eq!(inward, 0);
    }
}
