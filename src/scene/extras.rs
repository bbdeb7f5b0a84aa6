//! What else is in the picture: fishing line, specks, leaf.

use super::chance::Chance;
use super::colour::{Light, blend, step};
use super::eye::{Eye, Seen};
use super::vector::Vec3;

/// A picture of linear light that things are laid onto.
pub struct Sheet<'a> {
    /// Pixels, row by row.
    pub pixels: &'a mut [Light],
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
}

impl Sheet<'_> {
    fn lay(&mut self, x: usize, y: usize, light: Light, cover: f32) {
        let p = &mut self.pixels[y * self.width + x];
        *p = blend(*p, light, cover);
    }

    fn rows_columns(&self, lo: [f64; 2], hi: [f64; 2]) -> [std::ops::Range<usize>; 2] {
        let clip = |v: f64, size: usize| v.clamp(0.0, size as f64) as usize;
        [
            clip(lo[1].floor(), self.height)..clip(hi[1].ceil(), self.height),
            clip(lo[0].floor(), self.width)..clip(hi[0].ceil(), self.width),
        ]
    }

    /// A thin line from `a` to `b`, `wide` px wide (may be less than one pixel).
    pub fn stroke(&mut self, a: [f64; 2], b: [f64; 2], wide: f64, light: Light) {
        let way = [b[0] - a[0], b[1] - a[1]];
        let length2 = way[0] * way[0] + way[1] * way[1];
        if length2 < 1e-9 {
            return;
        }
        let half = wide / 2.0 + 0.5;
        let lo = [a[0].min(b[0]) - half, a[1].min(b[1]) - half];
        let hi = [a[0].max(b[0]) + half, a[1].max(b[1]) + half];
        let [rows, columns] = self.rows_columns(lo, hi);
        for y in rows {
            for x in columns.clone() {
                let p = [x as f64 + 0.5 - a[0], y as f64 + 0.5 - a[1]];
                let u = (p[0] * way[0] + p[1] * way[1]) / length2;
                // Half open, so that the joint of two strokes is drawn once.
                if !(0.0..1.0).contains(&u) {
                    continue;
                }
                let off = (p[0] * way[1] - p[1] * way[0]).abs() / length2.sqrt();
                let cover = (half - off).clamp(0.0, wide.min(1.0));
                if cover > 0.0 {
                    self.lay(x, y, light, cover as f32);
                }
            }
        }
    }

    /// A soft round spot with standard deviation `size`, px.
    pub fn spot(&mut self, at: [f64; 2], size: f64, light: Light, cover: f32) {
        let reach = 2.5 * size;
        let [rows, columns] = self.rows_columns(
            [at[0] - reach, at[1] - reach],
            [at[0] + reach, at[1] + reach],
        );
        for y in rows {
            for x in columns.clone() {
                let (dx, dy) = (x as f64 + 0.5 - at[0], y as f64 + 0.5 - at[1]);
                let soft = (-(dx * dx + dy * dy) / (2.0 * size * size)).exp() as f32;
                self.lay(x, y, light, cover * soft);
            }
        }
    }
}

/// Specks that float in the water, in a box that repeats and goes with the camera's aim.
#[derive(Debug, Clone)]
pub struct Specks {
    places: Vec<[f64; 4]>,
    bottom_mm: f64,
    hand: f64,
}

/// Sides of the box, mm; its height is the water's depth.
const BOX_MM: f64 = 2400.0;

impl Specks {
    /// As many specks as asked.
    pub fn new(seed: u64, count: usize, bottom_mm: f64, hand: f64) -> Specks {
        let mut chance = Chance::new(seed, "specks");
        let places = (0..count)
            .map(|_| {
                let across = |c: &mut Chance| c.between(0.0, BOX_MM);
                let depth = chance.between(0.03, 0.97) * bottom_mm;
                [
                    across(&mut chance),
                    across(&mut chance),
                    depth,
                    chance.between(0.3, 1.0),
                ]
            })
            .collect();
        Specks {
            places,
            bottom_mm,
            hand,
        }
    }

    /// Draws those farther from the camera than `from_mm` and nearer than `to_mm`.
    pub fn draw(
        &self,
        sheet: &mut Sheet,
        eye: &Eye,
        t: f64,
        sees: &dyn Fn(Vec3) -> Option<Seen>,
        range: std::ops::Range<f64>,
        light: Light,
    ) {
        let middle = eye.place + eye.forward * (0.6 * self.bottom_mm);
        for [x, y, z, size] in &self.places {
            // They drift slowly, each in its own way.
            let around = |v: f64, c: f64| c + (v - c).rem_euclid(BOX_MM) - BOX_MM / 2.0;
            let place = Vec3::new(
                around(x + 14.0 * t, middle.x),
                self.hand * around(y + 9.0 * size * t, self.hand * middle.y),
                *z + 6.0 * (t * size + x).sin(),
            );
            let Some(seen) = sees(place) else { continue };
            if !range.contains(&seen.depth) || seen.depth < 60.0 {
                continue;
            }
            let px = 0.9 * size * eye.focal_px / seen.depth;
            let cover = (px * px / 0.36).min(1.0) as f32 * 0.55;
            sheet.spot(seen.px, px.max(0.6), light, cover);
        }
    }
}

/// A leaf as it lies in the picture: its middle, and the pixels of half its length and half its width.
#[derive(Debug, Clone, Copy)]
pub struct LeafSeen {
    /// Middle, px.
    pub middle: [f64; 2],
    /// From the middle to the tip, px.
    pub tip: [f64; 2],
    /// From the middle to the widest side, px.
    pub side: [f64; 2],
}

impl LeafSeen {
    /// Draws the leaf and gives its cover at each pixel it touches.
    pub fn draw(&self, sheet: &mut Sheet, light: f32, mut touched: impl FnMut(usize, f32)) {
        let [m, a, b] = [self.middle, self.tip, self.side];
        let det = a[0] * b[1] - a[1] * b[0];
        if det.abs() < 1.0 {
            return;
        }
        let reach = [a[0].abs() + b[0].abs() + 1.0, a[1].abs() + b[1].abs() + 1.0];
        let [rows, columns] = sheet.rows_columns(
            [m[0] - reach[0], m[1] - reach[1]],
            [m[0] + reach[0], m[1] + reach[1]],
        );
        let px = a[0].hypot(a[1]).max(b[0].hypot(b[1]));
        for y in rows {
            for x in columns.clone() {
                let (dx, dy) = (x as f64 + 0.5 - m[0], y as f64 + 0.5 - m[1]);
                let u = (dx * b[1] - dy * b[0]) / det;
                let v = (dy * a[0] - dx * a[1]) / det;
                // Pointed at one end, round at the other.
                let edge = (1.0 - u * u).max(0.0).sqrt() * (1.0 - 0.3 * u);
                let inside = if u.abs() >= 1.0 { -1.0 } else { edge - v.abs() };
                let cover = (inside * px * 0.5 + 0.5).clamp(0.0, 1.0) as f32;
                if cover > 0.0 {
                    let rib = step(0.05, 0.02, v.abs() as f32);
                    let veins = step(
                        0.12,
                        0.0,
                        ((u * 7.0 + v.abs() * 4.0).fract() as f32 - 0.5).abs(),
                    );
                    let tone = 0.8 + 0.35 * rib + 0.15 * veins - 0.25 * v.abs() as f32;
                    let skin = [0.17, 0.125, 0.045].map(|c| c * tone * light);
                    sheet.lay(x, y, skin, cover);
                    touched(y * sheet.width + x, cover);
                }
            }
        }
    }
}
