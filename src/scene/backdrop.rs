//! What is behind the lure: water, bottom, dancing light, and the surface seen from over it.

use rayon::prelude::*;

use super::chance::{Chance, Wander};
use super::colour::{Light, blend, from_screen, step};
use super::description::WaterPlan;
use super::eye::{Eye, Through};
use super::surface::mirror_share;
use super::tile::Tile;
use super::vector::Vec3;

/// Contrast left at the end of the visible path (the usual 5 % of meteorology's visibility).
const CONTRAST_LEFT: f32 = 0.05;
/// Spacing at which the surface is looked through, px; between, the picture is smooth.
const NODE_PX: usize = 6;

/// Water as a medium: what it takes from light and what it gives instead (Beer–Lambert law).
#[derive(Debug, Clone)]
pub struct Medium {
    /// Loss per mm in red, green, blue.
    loss: Light,
    /// Colour of endless water.
    pub deep: Light,
}

impl Medium {
    /// The medium of a description. The channel with the least colour is lost soonest.
    pub fn new(plan: &WaterPlan) -> Medium {
        let deep = from_screen(plan.colour);
        let most = deep.iter().copied().fold(1e-4, f32::max);
        let whole = -CONTRAST_LEFT.ln() / (plan.visibility_m as f32 * 1e3);
        Medium {
            loss: deep.map(|c| whole * (0.75 + 0.7 * (most - c) / most)),
            deep,
        }
    }

    /// Share that is left after a path, mm.
    pub fn left(&self, mm: f32) -> Light {
        self.loss.map(|a| (-a * mm).exp())
    }

    /// `light` seen through `mm` of water.
    pub fn through(&self, light: Light, mm: f32) -> Light {
        let left = self.left(mm);
        std::array::from_fn(|i| self.deep[i] + (light[i] - self.deep[i]) * left[i])
    }

    /// Tint of daylight at a depth, mm; the sky's light fades more slowly than a picture does.
    pub fn daylight(&self, depth_mm: f32) -> Light {
        self.left(0.35 * depth_mm)
    }
}

/// Everything that the backdrop is made of at one moment.
pub struct Backdrop<'a> {
    /// The water.
    pub medium: &'a Medium,
    /// The bottom.
    pub bottom: &'a Tile<Light>,
    /// Dancing light now.
    pub net: &'a Tile<f32>,
    /// Strength of the dancing light, 0–1.
    pub net_strength: f32,
    /// Depth of the bottom, mm.
    pub bottom_mm: f64,
    /// Tint of daylight on the bottom.
    pub daylight: Light,
    /// −1 where the world is mirrored.
    pub hand: f64,
    /// Strength of the sky's reflections, 0–1, and where they lie.
    pub glare: (f32, &'a Patches),
}

/// What the surface does to the light of one pixel: a share is lost, some sky is added.
#[derive(Debug, Clone, Copy, Default)]
pub struct Sheen {
    /// Share of the light from below that passes.
    pub keep: f32,
    /// Reflected sky.
    pub sky: f32,
}

/// Where a ray meets the bottom, and the sheen of the surface it came through.
#[derive(Debug, Clone, Copy, Default)]
struct Hit {
    x: f64,
    y: f64,
    left: Light,
    pixel_mm: f64,
    sheen: Sheen,
}

impl Backdrop<'_> {
    /// Light falling from above at a place and depth: the net, 1 on average.
    pub fn net_at(&self, x: f64, y: f64, pixel_mm: f64) -> f32 {
        let y = self.hand * y;
        let one = self.net.at(x, y, pixel_mm);
        // A second look, turned and smaller, hides the repeat.
        let two = self.net.at(
            0.86 * x - 0.74 * y + 311.0,
            0.74 * x + 0.86 * y + 97.0,
            pixel_mm,
        );
        1.0 + self.net_strength * ((0.65 * one + 0.35 * two).min(4.5) - 1.0)
    }

    /// Draws the backdrop; the second picture is the surface's sheen where the camera is over water.
    pub fn draw(
        &self,
        eye: &Eye,
        through: &Through,
        width: usize,
        height: usize,
    ) -> (Vec<Light>, Vec<Sheen>) {
        if eye.in_air() {
            self.seen_from_air(eye, through, width, height)
        } else {
            (self.seen_from_water(eye, width, height), Vec::new())
        }
    }

    fn seen_from_water(&self, eye: &Eye, width: usize, height: usize) -> Vec<Light> {
        let mut picture = vec![[0.0; 3]; width * height];
        picture
            .par_chunks_mut(width)
            .enumerate()
            .for_each(|(row, line)| {
                for (column, pixel) in line.iter_mut().enumerate() {
                    let dir = eye.ray(column as f64 + 0.5, row as f64 + 0.5);
                    *pixel = if dir.z > 1e-3 {
                        let way = (self.bottom_mm - eye.place.z) / dir.z;
                        let at = eye.place + dir * way;
                        let pixel_mm = way / (eye.focal_px * dir.z.sqrt());
                        {
                            let left = self.medium.left(way.min(1e6) as f32);
                            self.ground(at.x, at.y, left, pixel_mm, self.veil(dir))
                        }
                    } else {
                        self.upward(eye, dir)
                    };
                }
            });
        picture
    }

    fn seen_from_air(
        &self,
        eye: &Eye,
        through: &Through,
        width: usize,
        height: usize,
    ) -> (Vec<Light>, Vec<Sheen>) {
        let (columns, rows) = (width / NODE_PX + 2, height / NODE_PX + 2);
        let nodes: Vec<Hit> = (0..columns * rows)
            .into_par_iter()
            .map(|i| {
                let px = [
                    (i % columns * NODE_PX) as f64,
                    (i / columns * NODE_PX) as f64,
                ];
                self.look_in(
                    eye,
                    through,
                    px,
                    [px[0] / width as f64, px[1] / width as f64],
                )
            })
            .collect();
        let mut picture = vec![[0.0; 3]; width * height];
        let mut sheen = vec![Sheen::default(); width * height];
        let deep = self.veil(Vec3::new(0.0, 0.0, 1.0));
        picture
            .par_chunks_mut(width)
            .zip(sheen.par_chunks_mut(width))
            .enumerate()
            .for_each(|(row, (line, gloss))| {
                let v = (row as f64 + 0.5) / NODE_PX as f64;
                for column in 0..width {
                    let u = (column as f64 + 0.5) / NODE_PX as f64;
                    let h = between(&nodes, columns, u, v);
                    line[column] = self.ground(h.x, h.y, h.left, h.pixel_mm, deep);
                    gloss[column] = h.sheen;
                }
            });
        (picture, sheen)
    }

    /// One ray from the air through the surface to the bottom.
    fn look_in(&self, eye: &Eye, through: &Through, px: [f64; 2], place: [f64; 2]) -> Hit {
        let mut dir = eye.ray(px[0], px[1]);
        // Rays at or over the horizon are taken just below it: endless water.
        dir.z = dir.z.max(0.02);
        let dir = dir.unit();
        let entry = eye.place + dir * (-eye.place.z / dir.z);
        let at = eye.follow(entry, self.bottom_mm, through);
        let air_mm = (entry - eye.place).norm();
        let water_mm = (at - entry).norm();
        let slope = through
            .ripples
            .map_or([0.0; 2], |(r, t)| r.slope(entry.x, entry.y, t));
        let cos_in = dir.dot(Vec3::new(slope[0], slope[1], 1.0).unit());
        let share = mirror_share(cos_in) as f32;
        let time = through.ripples.map_or(0.0, |(_, t)| t);
        let patch = self.glare.1.at(place, slope, time, self.hand);
        Hit {
            x: at.x,
            y: at.y,
            left: self.medium.left(water_mm as f32),
            pixel_mm: (air_mm + water_mm) / (eye.focal_px * dir.z.sqrt()),
            sheen: Sheen {
                keep: 1.0 - share,
                sky: share * 0.6 + self.glare.0 * patch,
            },
        }
    }

    /// The bottom at a place, of whose light `left` comes through the water and the rest is `deep`.
    fn ground(&self, x: f64, y: f64, left: Light, pixel_mm: f64, deep: Light) -> Light {
        let skin = self.bottom.at(x, self.hand * y, pixel_mm);
        let light = 0.4 + 0.75 * self.net_at(x, y, pixel_mm);
        // Written out: this runs for every pixel of every moment.
        let lit = |i: usize| deep[i] + (skin[i] * self.daylight[i] * light - deep[i]) * left[i];
        [lit(0), lit(1), lit(2)]
    }

    /// The surface from below.
    fn upward(&self, eye: &Eye, dir: Vec3) -> Light {
        let way = (-eye.place.z / dir.z.min(-1e-3)).min(1e6);
        let at = eye.place + dir * way;
        let glow = 0.35 * self.net_at(at.x, at.y, way / (eye.focal_px * (-dir.z).max(1e-3).sqrt()));
        let bright = self.medium.deep.map(|c| (c * 1.3 + 0.12) * (0.7 + glow));
        blend(self.veil(dir), bright, self.medium.left(way as f32)[1])
    }

    /// Colour of endless water in a direction: lighter upward.
    fn veil(&self, dir: Vec3) -> Light {
        let up = (-dir.z) as f32;
        self.medium
            .deep
            .map(|c| c * (1.0 + 0.3 * up.clamp(-0.5, 1.0)))
    }
}

fn between(nodes: &[Hit], columns: usize, u: f64, v: f64) -> Hit {
    let (i, j) = (u as usize, v as usize);
    let (pu, pv) = (u - i as f64, v - j as f64);
    let corners = [
        (nodes[j * columns + i], (1.0 - pu) * (1.0 - pv)),
        (nodes[j * columns + i + 1], pu * (1.0 - pv)),
        (nodes[(j + 1) * columns + i], (1.0 - pu) * pv),
        (nodes[(j + 1) * columns + i + 1], pu * pv),
    ];
    let mut out = Hit::default();
    for (h, w) in corners {
        out.x += h.x * w;
        out.y += h.y * w;
        out.pixel_mm += h.pixel_mm * w;
        out.left[0] += h.left[0] * w as f32;
        out.left[1] += h.left[1] * w as f32;
        out.left[2] += h.left[2] * w as f32;
        out.sheen.keep += h.sheen.keep * w as f32;
        out.sheen.sky += h.sheen.sky * w as f32;
    }
    out
}

/// Patches of the picture where the surface mirrors bright sky, broken up by the ripples.
#[derive(Debug, Clone)]
pub struct Patches {
    spots: Vec<Spot>,
    spread: f64,
}

#[derive(Debug, Clone)]
struct Spot {
    /// Place and size as fractions of the picture's width.
    place: [f64; 2],
    size: [f64; 2],
    lean: f64,
    stray: [Wander; 2],
}

impl Patches {
    /// Patches for a picture of this shape; `spread` is the standard deviation of the slope, rad.
    pub fn new(seed: u64, spread: f64, height_over_width: f64) -> Patches {
        let mut chance = Chance::new(seed, "glare");
        let spots = (0..4)
            .map(|_| Spot {
                place: [
                    chance.between(0.05, 0.95),
                    chance.between(0.0, height_over_width),
                ],
                size: [chance.between(0.08, 0.2), chance.between(0.03, 0.07)],
                lean: chance.between(-0.6, 0.6),
                stray: std::array::from_fn(|_| Wander::new(&mut chance, 0.1, 0.7)),
            })
            .collect();
        Patches {
            spots,
            spread: spread.max(1e-3),
        }
    }

    fn at(&self, [x, y]: [f64; 2], slope: [f64; 2], t: f64, hand: f64) -> f32 {
        let x = if hand < 0.0 { 1.0 - x } else { x };
        let (sx, sy) = (slope[0] / self.spread, hand * slope[1] / self.spread);
        let mut sum = 0.0f32;
        for s in &self.spots {
            let (dx, dy) = (
                x - s.place[0] - 0.03 * s.stray[0].at(t),
                y - s.place[1] - 0.03 * s.stray[1].at(t),
            );
            let a = (dx * s.lean.cos() + dy * s.lean.sin()) / s.size[0];
            let b = (dy * s.lean.cos() - dx * s.lean.sin()) / s.size[1];
            let core = (-(a * a + b * b)).exp() as f32;
            sum += core * (0.35 + step(-0.4, 1.6, (0.7 * sx + 0.7 * sy) as f32));
        }
        sum.min(1.5)
    }
}
