//! One picture: every pixel looked through a few times, then noise.

use super::body::{self, Part};
use super::camera::{Camera, Look};
use super::plan::FloatPlan;
use crate::scene::chance::{Chance, Wander, lattice};
use crate::scene::colour::{Light, blend};

/// Looks per pixel, along and across.
const LOOKS: usize = 3;

/// Everything that stays the same from frame to frame.
pub struct Painter<'a> {
    plan: &'a FloatPlan,
    shake: [Wander; 3],
    ripples: Vec<[f64; 4]>,
}

/// Where the lure is in one frame.
struct Lure {
    middle: [f64; 2],
    sin: f64,
    cos: f64,
    /// +1 where forward (or the picture's right, from an end) is to the right of the picture.
    hand: f64,
}

impl<'a> Painter<'a> {
    /// Draws the chance of a plan.
    pub fn new(plan: &'a FloatPlan) -> Painter<'a> {
        let mut chance = Chance::new(plan.seed, "float shake");
        let shake = [0; 3].map(|_| Wander::new(&mut chance, 0.3, 3.0));
        let mut chance = Chance::new(plan.seed, "float ripples");
        let ripples = (0..4)
            .map(|_| {
                let wave_mm = chance.between(12.0, 60.0);
                // gravity waves of deep water: ω² = g k
                let k = std::f64::consts::TAU / wave_mm;
                let sense = if chance.between(0.0, 1.0) < 0.5 {
                    -1.0
                } else {
                    1.0
                };
                [
                    k,
                    sense * (9810.0 * k).sqrt(),
                    chance.between(0.0, std::f64::consts::TAU),
                    0.25,
                ]
            })
            .collect();
        Painter {
            plan,
            shake,
            ripples,
        }
    }

    /// The picture at time `t`, s: red, green, blue.
    pub fn picture(&self, t: f64) -> Vec<u8> {
        let plan = self.plan;
        let shift = plan.shake_px;
        let camera = Camera::new(
            plan,
            [
                shift * self.shake[0].at(t),
                shift * self.shake[1].at(t),
                0.08 * shift * self.shake[2].at(t),
            ],
        );
        let lure = self.lure(t);
        let mut noise = Chance::new(plan.seed ^ t.to_bits(), "float noise");
        let mut out = Vec::with_capacity(plan.width * plan.height * 3);
        for row in 0..plan.height {
            for column in 0..plan.width {
                let mut sum = [0.0f32; 3];
                for k in 0..LOOKS * LOOKS {
                    let x = column as f64 + ((k % LOOKS) as f64 + 0.5) / LOOKS as f64;
                    let y = row as f64 + ((k / LOOKS) as f64 + 0.5) / LOOKS as f64;
                    let look = camera.look(x, y, |right| self.ripple(right, t));
                    let light = self.light(look, &lure);
                    sum = std::array::from_fn(|i| sum[i] + light[i]);
                }
                for light in sum {
                    let level = 255.0 * f64::from(light) / (LOOKS * LOOKS) as f64;
                    out.push((level + plan.noise * noise.normal()).clamp(0.0, 255.0) as u8);
                }
            }
        }
        out
    }

    fn ripple(&self, right: f64, t: f64) -> f64 {
        let sum: f64 = self
            .ripples
            .iter()
            .map(|[k, w, phase, share]| share * (k * right - w * t + phase).sin())
            .sum();
        self.plan.ripples_mm * sum
    }

    fn lure(&self, t: f64) -> Lure {
        let plan = self.plan;
        let [pitch, list] = plan.angles_deg(t);
        let (turn, right_hand) = match plan.end_view {
            true => (list, !plan.from_nose),
            false => (pitch, plan.nose_right),
        };
        let (sin, cos) = turn.to_radians().sin_cos();
        Lure {
            middle: [
                (plan.place - 0.5) * plan.width as f64 / plan.px_per_mm,
                plan.above_mm_at(t),
            ],
            sin,
            cos,
            hand: if right_hand { 1.0 } else { -1.0 },
        }
    }

    fn light(&self, look: Look, lure: &Lure) -> Light {
        match look {
            Look::Air(spot) => self.in_air(spot, lure),
            Look::Water(spot) => self.in_water(spot, lure),
            Look::Edge => [0.86, 0.90, 0.92].map(|c: f32| c * (0.4 + 0.6 * self.plan.air[1])),
            Look::Surface(spot) => {
                let mirrored = match spot[1] > 0.0 {
                    true => self.in_air(spot, lure),
                    false => self.in_water(spot, lure),
                };
                blend(self.plan.water_colour, mirrored, self.plan.mirror as f32)
            }
        }
    }

    fn in_air(&self, spot: [f64; 2], lure: &Lure) -> Light {
        self.part(spot, lure).map_or_else(
            || self.textured(self.plan.air, spot, 14.0, 0.35),
            |part| self.painted(part, spot, self.plan.air),
        )
    }

    fn in_water(&self, spot: [f64; 2], lure: &Lure) -> Light {
        let behind = self.textured(self.plan.water_colour, spot, 22.0, 0.25);
        match self.part(spot, lure) {
            None => behind,
            Some(part) => {
                // water before the lure takes light and lays its own over it
                let wet = self.painted(part, spot, self.plan.water_colour);
                blend(wet.map(|c| 0.82 * c), self.plan.water_colour, 0.14)
            }
        }
    }

    fn part(&self, spot: [f64; 2], lure: &Lure) -> Option<Part> {
        let plan = self.plan;
        let [right, up] = [spot[0] - lure.middle[0], spot[1] - lure.middle[1]];
        let right = lure.hand * right;
        let along = right * lure.cos - up * lure.sin;
        let down = -right * lure.sin - up * lure.cos;
        let part = match plan.end_view {
            true => body::end(plan, along, down),
            false => body::side(plan, along, down),
        };
        if part.is_some() || !plan.hooks {
            return part;
        }
        let hangers = match plan.end_view {
            true => [[0.0, 0.5 * plan.height_mm]; 2],
            false => body::hangers(plan),
        };
        let hooked = hangers.iter().any(|[forward, belly]| {
            let hang_right = forward * lure.cos - belly * lure.sin;
            let hang_up = -forward * lure.sin - belly * lure.cos;
            body::hook(right - hang_right, hang_up - up)
        });
        hooked.then_some(Part::Wire)
    }

    fn painted(&self, part: Part, spot: [f64; 2], behind: Light) -> Light {
        match part {
            Part::Body { v } => {
                let [back, flank, belly] = self.plan.body;
                let v = v as f32;
                let paint = match v < 0.0 {
                    true => blend(flank, back, (-v * 1.2).min(1.0)),
                    false => blend(flank, belly, (v * 1.2).min(1.0)),
                };
                let round = (1.0 - v * v).max(0.0).sqrt();
                // light from above, a little from the front
                let lit = 0.62 + 0.25 * round - 0.18 * v;
                self.textured(paint.map(|c| c * lit), spot, 3.0, 0.10)
            }
            Part::Lip => blend(behind, [0.92, 0.94, 0.95], 0.45),
            Part::Wire => [0.30, 0.30, 0.32],
        }
    }

    /// A colour with smooth, chance blotches of about `size_mm`.
    fn textured(&self, colour: Light, [x, y]: [f64; 2], size_mm: f64, depth: f64) -> Light {
        let (gx, gy) = (x / size_mm, y / size_mm);
        let (i, j) = (gx.floor() as i64, gy.floor() as i64);
        let smooth = |f: f64| f * f * (3.0 - 2.0 * f);
        let (fx, fy) = (smooth(gx - gx.floor()), smooth(gy - gy.floor()));
        let at = |di, dj| lattice(i + di, j + dj, self.plan.seed ^ (size_mm as u64));
        let low = at(0, 0) + fx * (at(1, 0) - at(0, 0));
        let high = at(0, 1) + fx * (at(1, 1) - at(0, 1));
        let blotch = low + fy * (high - low) - 0.5;
        let gain = (1.0 + 2.0 * depth * self.plan.texture * blotch) as f32;
        colour.map(|c| (c * gain).clamp(0.0, 1.0))
    }
}
