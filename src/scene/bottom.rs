//! The bottom: sand or mud with stones, as a picture that repeats, kept at several sizes.

use std::f64::consts::TAU;

use super::chance::{Chance, lattice};
use super::colour::{Light, blend, from_screen, step};
use super::description::WaterPlan;
use super::tile::Tile;

/// Draws a bottom of `side` × `side` texels, `side` a power of two, that repeats after `tile_mm`.
pub fn bottom(plan: &WaterPlan, seed: u64, side: usize, tile_mm: f64) -> Tile<Light> {
    let cells = |every_mm: f64| (tile_mm / every_mm).round() as i64;
    let mut chance = Chance::new(seed, "bottom");
    let seeds = [chance.bits(), chance.bits(), chance.bits()];
    let ground = from_screen(plan.bottom);
    let mut values: Vec<Light> = (0..side * side)
        .map(|i| {
            let (u, v) = (
                (i % side) as f64 / side as f64,
                (i / side) as f64 / side as f64,
            );
            let broad = cloud(u, v, cells(630.0), 3, seeds[0]);
            let detail = cloud(u, v, cells(105.0), 6, seeds[1]);
            let grain = lattice((i % side) as i64, (i / side) as i64, seeds[2]);
            let shade = 0.3 + 0.35 * broad + 1.15 * detail + 0.3 * (grain - 0.5);
            // Growth darkens and greens the patches where the broad cloud is low.
            let growth = step(0.52, 0.36, broad as f32) * 0.6;
            let green = [ground[0] * 0.45, ground[1] * 0.62, ground[2] * 0.4];
            blend(ground, green, growth).map(|c| c * shade as f32)
        })
        .collect();
    lay_stones(&mut values, side, tile_mm, plan.stones, &mut chance);
    Tile::new(side, values, tile_mm)
}

fn lay_stones(values: &mut [Light], side: usize, tile_mm: f64, cover: f64, chance: &mut Chance) {
    let mut covered = 0.0;
    // Overlap means that the covered area is less than the sum: −ln(1 − cover) gives that on average.
    let wanted = -(1.0 - cover.min(0.93)).ln();
    while covered < wanted {
        // Many pebbles, few boulders.
        let radius_mm = 10.0 * (1.0 / chance.between(0.007, 1.0)).powf(0.6);
        covered += std::f64::consts::PI * radius_mm * radius_mm / (tile_mm * tile_mm);
        lay_stone(values, side, tile_mm, radius_mm, chance);
    }
}

fn lay_stone(values: &mut [Light], side: usize, tile_mm: f64, radius_mm: f64, chance: &mut Chance) {
    let mm = tile_mm / side as f64;
    let (cx, cy) = (chance.between(0.0, tile_mm), chance.between(0.0, tile_mm));
    let (lean, flat) = (chance.between(0.0, TAU), chance.between(0.62, 1.0));
    let dents: [f64; 4] = std::array::from_fn(|_| chance.between(-0.1, 0.1));
    let turns: [f64; 4] = std::array::from_fn(|_| chance.between(0.0, TAU));
    let tone = (0.08 * 4.5f64.powf(chance.between(0.0, 1.0))) as f32;
    let warm = chance.between(0.95, 1.25) as f32;
    let colour = [tone * warm, tone, tone * (1.75 - warm)];
    let skin = chance.bits();
    let reach = (radius_mm * 1.7 / mm).ceil() as i64;
    let (ic, jc) = ((cx / mm) as i64, (cy / mm) as i64);
    for dj in -reach..=reach {
        for di in -reach..=reach {
            let (x, y) = (di as f64 * mm, dj as f64 * mm);
            let (a, b) = (
                x * lean.cos() + y * lean.sin(),
                (y * lean.cos() - x * lean.sin()) / flat,
            );
            let angle = b.atan2(a);
            let edge: f64 = 1.0
                + (0..4)
                    .map(|k| dents[k] * ((k + 2) as f64 * angle + turns[k]).sin())
                    .sum::<f64>();
            let r = a.hypot(b) / (radius_mm * edge);
            let at = ((jc + dj).rem_euclid(side as i64) * side as i64
                + (ic + di).rem_euclid(side as i64)) as usize;
            // Shade on the ground around it, deepest at its foot.
            let shade = 1.0 - 0.55 * step(1.5, 0.9, r as f32);
            let under = values[at].map(|c| c * shade);
            let inside = step(1.03, 0.95, r as f32);
            // A dome: its slope grows toward the rim; light comes from above, a little from −x.
            let steep = (r.min(1.0)).powi(2);
            let facing = (1.1 - 0.55 * steep - 0.4 * steep * angle_cos(x, y)) as f32;
            let rough = 0.45 + 1.1 * cloud_at(x / 24.0 + cx, y / 24.0 + cy, 4, skin) as f32;
            values[at] = blend(under, colour.map(|c| c * facing.max(0.15) * rough), inside);
        }
    }
}

fn angle_cos(x: f64, y: f64) -> f64 {
    x / x.hypot(y).max(1e-9)
}

/// Fractal noise in 0–1 that repeats over the unit square; `cells` at its coarsest.
fn cloud(u: f64, v: f64, cells: i64, octaves: u32, seed: u64) -> f64 {
    let (mut sum, mut size, mut total) = (0.0, 1.0, 0.0);
    for o in 0..octaves {
        let n = cells << o;
        sum += size * smooth_lattice(u * n as f64, v * n as f64, Some(n), seed ^ u64::from(o));
        total += size;
        size *= 0.65;
    }
    sum / total
}

/// Fractal noise in 0–1 that does not repeat.
fn cloud_at(x: f64, y: f64, octaves: u32, seed: u64) -> f64 {
    let (mut sum, mut size, mut total) = (0.0, 1.0, 0.0);
    for o in 0..octaves {
        let f = f64::from(1u32 << o);
        sum += size * smooth_lattice(x * f, y * f, None, seed ^ u64::from(o));
        total += size;
        size *= 0.55;
    }
    sum / total
}

fn smooth_lattice(x: f64, y: f64, repeat: Option<i64>, seed: u64) -> f64 {
    let (fx, fy) = (x.floor(), y.floor());
    let ease = |u: f64| u * u * (3.0 - 2.0 * u);
    let (px, py) = (ease(x - fx), ease(y - fy));
    let value = |i: i64, j: i64| match repeat {
        Some(n) => lattice(i.rem_euclid(n), j.rem_euclid(n), seed),
        None => lattice(i, j, seed),
    };
    let (i, j) = (fx as i64, fy as i64);
    let top = value(i, j) * (1.0 - px) + value(i + 1, j) * px;
    let low = value(i, j + 1) * (1.0 - px) + value(i + 1, j + 1) * px;
    top * (1.0 - py) + low * py
}
