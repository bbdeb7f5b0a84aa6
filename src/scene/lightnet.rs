//! The dancing net of light that ripples throw on the bottom: rays through a wavy surface, counted
//! where they land, on a square that repeats.

use std::f64::consts::TAU;

use super::chance::Chance;
use super::surface::wave_rate;
use super::tile::Tile;

/// Side of the square after which the net repeats, mm.
pub const NET_TILE_MM: f64 = 1300.0;

/// The waves that throw the net.
#[derive(Debug, Clone)]
pub struct LightNet {
    side: usize,
    waves: Vec<NetWave>,
}

#[derive(Debug, Clone)]
struct NetWave {
    /// Whole waves across the square in x and y, so that it repeats.
    across: [i32; 2],
    omega: f64,
    phase: f64,
    /// Sideways throw of the rays, zero-to-peak, as a fraction of the square.
    throw: f64,
}

impl LightNet {
    /// A net drawn on `side` × `side` places, `side` a power of two.
    pub fn new(seed: u64, side: usize) -> LightNet {
        let mut chance = Chance::new(seed, "light net");
        let mut waves: Vec<NetWave> = Vec::new();
        while waves.len() < 14 {
            let across = [
                chance.between(-7.5, 7.5).round() as i32,
                chance.between(-7.5, 7.5).round() as i32,
            ];
            let count = f64::from(across[0]).hypot(f64::from(across[1]));
            if !(2.0..=7.5).contains(&count) {
                continue;
            }
            let omega = wave_rate(TAU * count / NET_TILE_MM);
            // Each wave bends the light alike: its throw times its wave number is constant. With
            // fourteen such waves the net is sharp, as on a bottom near the focus.
            let throw = 0.23 / (TAU * count);
            waves.push(NetWave {
                across,
                omega,
                phase: chance.between(0.0, TAU),
                throw,
            });
        }
        LightNet { side, waves }
    }

    /// Light on the bottom at time `t`, s: 1 on average.
    pub fn at(&self, t: f64) -> Tile<f32> {
        let n = self.side;
        let mut light = vec![0.0f32; n * n];
        let rays = 2 * n;
        let throws = self.throws(t, rays);
        let share = 0.25f32;
        for (i, throw) in throws.iter().enumerate() {
            let x = ((i % rays) as f32 + 0.5) / 2.0 + throw[0] * n as f32;
            let y = ((i / rays) as f32 + 0.5) / 2.0 + throw[1] * n as f32;
            splat(&mut light, n, x - 0.5, y - 0.5, share);
        }
        Tile::new(n, soften(&light, n), NET_TILE_MM)
    }

    /// Sideways throw of each ray of a `rays` × `rays` grid, as a fraction of the square.
    fn throws(&self, t: f64, rays: usize) -> Vec<[f32; 2]> {
        let mut out = vec![[0.0f32; 2]; rays * rays];
        for w in &self.waves {
            // sin(a + b) from the sines of a (by column) and b (by row): no sine per ray.
            let turn =
                |count: i32, i: usize| TAU * f64::from(count) * (i as f64 + 0.5) / rays as f64;
            let column: Vec<(f32, f32)> = (0..rays)
                .map(|i| (turn(w.across[0], i) - w.omega * t + w.phase).sin_cos())
                .map(|(s, c)| (s as f32, c as f32))
                .collect();
            let count = f64::from(w.across[0]).hypot(f64::from(w.across[1]));
            let toward = w.across.map(|a| (f64::from(a) / count * w.throw) as f32);
            for j in 0..rays {
                let (s, c) = turn(w.across[1], j).sin_cos();
                let (s, c) = (s as f32, c as f32);
                for (o, (cs, cc)) in out[j * rays..(j + 1) * rays].iter_mut().zip(&column) {
                    let wave = cs * c + cc * s;
                    o[0] += toward[0] * wave;
                    o[1] += toward[1] * wave;
                }
            }
        }
        out
    }
}

/// Shares `amount` among the four places around `(x, y)`.
fn splat(light: &mut [f32], n: usize, x: f32, y: f32, amount: f32) {
    let (fx, fy) = (x.floor(), y.floor());
    let (px, py) = (x - fx, y - fy);
    let mask = n as i64 - 1;
    let (i, j) = ((fx as i64 & mask) as usize, (fy as i64 & mask) as usize);
    let (i1, j1) = ((i + 1) & mask as usize, (j + 1) & mask as usize);
    light[j * n + i] += amount * (1.0 - px) * (1.0 - py);
    light[j * n + i1] += amount * px * (1.0 - py);
    light[j1 * n + i] += amount * (1.0 - px) * py;
    light[j1 * n + i1] += amount * px * py;
}

/// The sun is no point: a soft edge of one place.
fn soften(light: &[f32], n: usize) -> Vec<f32> {
    let mask = n - 1;
    let pass = |from: &[f32], dx: usize, dy: usize| -> Vec<f32> {
        (0..n * n)
            .map(|k| {
                let (i, j) = (k % n, k / n);
                let before = from[((j + n - dy) & mask) * n + ((i + n - dx) & mask)];
                let after = from[((j + dy) & mask) * n + ((i + dx) & mask)];
                0.25 * before + 0.5 * from[k] + 0.25 * after
            })
            .collect()
    };
    pass(&pass(light, 1, 0), 0, 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_light_is_lost_and_the_net_is_sharp() {
        let n = 64;
        let net = LightNet::new(2, n).at(0.4);
        let mm = NET_TILE_MM / n as f64;
        let values: Vec<f32> = (0..n * n)
            .map(|k| {
                net.at(
                    (k % n) as f64 * mm + mm / 2.0,
                    (k / n) as f64 * mm + mm / 2.0,
                    mm,
                )
            })
            .collect();
        let mean = values.iter().sum::<f32>() / values.len() as f32;
        assert!((mean - 1.0).abs() < 1e-3, "{mean}");
        let brightest = values.iter().copied().fold(0.0, f32::max);
        assert!(brightest > 2.0, "{brightest}");
    }
}
