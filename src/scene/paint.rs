//! Colours of the lure and the fish, and how light falls on them.

use super::backdrop::Medium;
use super::chance::lattice;
use super::colour::{Light, blend, from_screen, step, times};
use super::description::{LurePlan, Pattern};
use super::mesh::{Stuff, body_profile};
use super::vector::Vec3;

/// Paints one shape as seen from one direction.
pub struct Painter<'a> {
    /// The lure.
    pub lure: &'a LurePlan,
    /// The water.
    pub medium: &'a Medium,
    /// Daylight where the shape is.
    pub daylight: Light,
    /// Direction from the shape to the camera.
    pub to_eye: Vec3,
    /// Direction to the sun, under water.
    pub to_sun: Vec3,
    /// Length of a fish, mm.
    pub fish_mm: f64,
}

impl Painter<'_> {
    /// Colour and opacity of a point: own place (3), normal in the world (3), light from above,
    /// way through water (mm).
    pub fn paint(&self, stuff: Stuff, c: &[f32; 8]) -> (Light, f32) {
        let own = [c[0], c[1], c[2]];
        let mut normal = Vec3::new(f64::from(c[3]), f64::from(c[4]), f64::from(c[5])).unit();
        if stuff == Stuff::Lip && normal.dot(self.to_eye) < 0.0 {
            normal = -normal;
        }
        let (skin, shine, gloss, opacity) = match stuff {
            Stuff::Body => (self.body(own), self.lure.shine, 45.0, 1.0),
            Stuff::Lip => ([0.72, 0.75, 0.74], 0.5, 60.0, self.lure.lip_opacity),
            Stuff::Metal => ([0.16, 0.16, 0.15], 0.9, 18.0, 1.0),
            Stuff::Scales => (self.fish(own), 0.12, 12.0, 1.0),
        };
        let sun = normal.dot(self.to_sun).max(0.0) as f32 * c[6];
        let sky = (0.5 - 0.5 * normal.z) as f32;
        let middle = (self.to_sun + self.to_eye).unit();
        let glint = normal.dot(middle).max(0.0).powf(gloss) as f32 * shine as f32 * c[6];
        let lit = skin.map(|s| s * (0.16 + 0.34 * sky + 0.75 * sun) + 0.7 * glint);
        let seen = self.medium.through(times(lit, self.daylight), c[7]);
        (seen, opacity as f32)
    }

    fn body(&self, own: [f32; 3]) -> Light {
        let l = self.lure.length_mm;
        let s = (self.lure.pivot - f64::from(own[0]) / l).clamp(0.0, 1.0);
        let thick = 0.5 * self.lure.height * l * body_profile(s).max(0.05);
        let v = (f64::from(own[2]) / thick) as f32;
        let [back, flank, belly] =
            [self.lure.back, self.lure.flank, self.lure.belly].map(from_screen);
        let upper = blend(back, flank, step(-0.55, 0.0, v));
        let mut skin = blend(upper, belly, step(0.3, 0.75, v));
        let mark = match self.lure.pattern {
            Pattern::Plain => 0.0,
            Pattern::Bars => {
                let bar = (s * std::f64::consts::TAU * 5.5).sin() as f32;
                step(0.25, 0.5, bar) * step(0.55, 0.25, v) * step(0.16, 0.22, s as f32)
            }
            Pattern::Spots => self.spots(own) * step(0.4, 0.1, v) * step(0.16, 0.22, s as f32),
        };
        skin = blend(skin, back.map(|c| c * 0.3), 0.85 * mark);
        self.eye_over(skin, own, s)
    }

    fn spots(&self, own: [f32; 3]) -> f32 {
        let cell = 0.085 * self.lure.length_mm as f32;
        let (u, v) = (own[0] / cell, (own[2] + own[1].abs()) / cell);
        let (i, j) = (u.floor(), v.floor());
        let chance = |k: u64| lattice(i as i64, j as i64, k) as f32;
        let (du, dv) = (
            u - i - 0.35 - 0.3 * chance(1),
            v - j - 0.35 - 0.3 * chance(2),
        );
        step(0.32, 0.22, du.hypot(dv) + 0.12 * chance(3))
    }

    fn eye_over(&self, skin: Light, own: [f32; 3], s: f64) -> Light {
        if s > 0.25 {
            return skin;
        }
        let l = self.lure.length_mm;
        let (x, z) = ((self.lure.pivot - 0.115) * l, -0.025 * l);
        let r = ((f64::from(own[0]) - x).hypot(f64::from(own[2]) - z) / (0.036 * l)) as f32;
        let ring = blend([0.75, 0.6, 0.12], [0.01, 0.01, 0.01], step(0.62, 0.5, r));
        blend(skin, ring, step(1.05, 0.9, r))
    }

    fn fish(&self, own: [f32; 3]) -> Light {
        let size = self.fish_mm as f32;
        let v = own[2] / (0.1 * size);
        let fleck = lattice(
            (own[0] * 60.0 / size) as i64,
            (own[2] * 60.0 / size) as i64,
            5,
        ) as f32;
        let back = [0.06, 0.075, 0.04].map(|c| c * (0.6 + 0.8 * fleck));
        blend(back, [0.3, 0.3, 0.22], step(-0.1, 0.9, v))
    }
}
