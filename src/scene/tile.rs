//! Square pictures that repeat, kept at several sizes for near and far looks.

use super::colour::Light;

/// A square picture that repeats in both directions, with smaller copies for far looks.
#[derive(Debug, Clone)]
pub struct Tile<T> {
    levels: Vec<(usize, Vec<T>)>,
    side_mm: f64,
}

/// What a tile can hold.
pub trait Texel: Copy + Send + Sync {
    /// Sum of values with weights.
    fn mix(of: [(Self, f32); 4]) -> Self;
}

impl Texel for f32 {
    fn mix(of: [(f32, f32); 4]) -> f32 {
        of.iter().map(|(v, w)| v * w).sum()
    }
}

impl Texel for Light {
    fn mix(of: [(Light, f32); 4]) -> Light {
        std::array::from_fn(|i| of.iter().map(|(v, w)| v[i] * w).sum())
    }
}

impl<T: Texel> Tile<T> {
    /// From a square of `side` × `side` values, `side` a power of two, that covers `side_mm`.
    pub fn new(side: usize, values: Vec<T>, side_mm: f64) -> Tile<T> {
        let mut levels = vec![(side, values)];
        while let Some((n, last)) = levels.last().filter(|(n, _)| *n > 4) {
            let half = n / 2;
            let at = |x: usize, y: usize| (last[y * n + x], 0.25);
            let next = (0..half * half)
                .map(|i| {
                    let (x, y) = (2 * (i % half), 2 * (i / half));
                    T::mix([at(x, y), at(x + 1, y), at(x, y + 1), at(x + 1, y + 1)])
                })
                .collect();
            levels.push((half, next));
        }
        Tile { levels, side_mm }
    }

    /// The value at a place, mm, seen with pixels of `pixel_mm` on it.
    pub fn at(&self, x: f64, y: f64, pixel_mm: f64) -> T {
        let texel_mm = self.side_mm / self.levels[0].0 as f64;
        let level = nearest_power(pixel_mm / texel_mm);
        let (n, values) = &self.levels[level.min(self.levels.len() - 1)];
        let scale = *n as f64 / self.side_mm;
        let (u, v) = (x * scale - 0.5, y * scale - 0.5);
        let (fu, fv) = (floor(u), floor(v));
        let (pu, pv) = ((u - fu as f64) as f32, (v - fv as f64) as f32);
        let mask = *n - 1;
        let (i, j) = (fu as usize & mask, fv as usize & mask);
        let (i1, j1) = ((i + 1) & mask, (j + 1) & mask);
        T::mix([
            (values[j * n + i], (1.0 - pu) * (1.0 - pv)),
            (values[j * n + i1], pu * (1.0 - pv)),
            (values[j1 * n + i], (1.0 - pu) * pv),
            (values[j1 * n + i1], pu * pv),
        ])
    }
}

/// The whole number below. `f64::floor` is a call into the C library on plain x86-64, and this is the
/// innermost loop.
fn floor(v: f64) -> i64 {
    let i = v as i64;
    if i as f64 > v { i - 1 } else { i }
}

/// The power of two nearest to `ratio` (0 for all below 1), read off the number's exponent.
fn nearest_power(ratio: f64) -> usize {
    let exponent = ((ratio * std::f64::consts::SQRT_2) as f32)
        .max(1.0)
        .to_bits()
        >> 23;
    exponent as usize - 127
}
