//! Square pictures that repeat, kept at several sizes for near and far looks.

use super::colour::Light;

/// A square picture that repeats in both directions, with smaller copies for far looks.
#[derive(Debug, Clone)]
pub struct Tile<T> {
    levels: Vec<Level<T>>,
}

/// The picture at one size.
#[derive(Debug, Clone)]
struct Level<T> {
    /// Values along a side, a power of two.
    side: usize,
    /// Values per mm.
    per_mm: f64,
    values: Vec<T>,
}

/// What a tile can hold.
pub trait Texel: Copy + Send + Sync {
    /// Sum of values with weights.
    fn mix(of: [(Self, f32); 4]) -> Self;
}

impl Texel for f32 {
    #[inline(always)]
    fn mix(of: [(f32, f32); 4]) -> f32 {
        of[0].0 * of[0].1 + of[1].0 * of[1].1 + of[2].0 * of[2].1 + of[3].0 * of[3].1
    }
}

impl Texel for Light {
    #[inline(always)]
    fn mix(of: [(Light, f32); 4]) -> Light {
        // Written out: iterators cost in builds that optimise little, and this is the innermost loop.
        let [(a, wa), (b, wb), (c, wc), (d, wd)] = of;
        [
            a[0] * wa + b[0] * wb + c[0] * wc + d[0] * wd,
            a[1] * wa + b[1] * wb + c[1] * wc + d[1] * wd,
            a[2] * wa + b[2] * wb + c[2] * wc + d[2] * wd,
        ]
    }
}

impl<T: Texel> Tile<T> {
    /// From a square of `side` × `side` values, `side` a power of two, that covers `side_mm`.
    pub fn new(side: usize, values: Vec<T>, side_mm: f64) -> Tile<T> {
        let level = |side: usize, values: Vec<T>| Level {
            side,
            per_mm: side as f64 / side_mm,
            values,
        };
        let mut levels = vec![level(side, values)];
        while let Some(last) = levels.last().filter(|l| l.side > 4) {
            let next = last.halved();
            levels.push(level(last.side / 2, next));
        }
        Tile { levels }
    }

    /// The value at a place, mm, seen with pixels of `pixel_mm` on it.
    pub fn at(&self, x: f64, y: f64, pixel_mm: f64) -> T {
        let smaller = nearest_power(pixel_mm * self.levels[0].per_mm);
        self.levels[smaller.min(self.levels.len() - 1)].at(x, y)
    }
}

impl<T: Texel> Level<T> {
    /// Each two by two values as one.
    fn halved(&self) -> Vec<T> {
        let half = self.side / 2;
        let at = |x: usize, y: usize| (self.values[y * self.side + x], 0.25);
        (0..half * half)
            .map(|i| {
                let (x, y) = (2 * (i % half), 2 * (i / half));
                T::mix([at(x, y), at(x + 1, y), at(x, y + 1), at(x + 1, y + 1)])
            })
            .collect()
    }

    /// The value at a place, mm, between the four nearest.
    #[inline(always)]
    fn at(&self, x: f64, y: f64) -> T {
        let (u, v) = (x * self.per_mm - 0.5, y * self.per_mm - 0.5);
        let (fu, fv) = (floor(u), floor(v));
        let (pu, pv) = ((u - fu as f64) as f32, (v - fv as f64) as f32);
        let mask = self.side - 1;
        let (i, j) = (fu as usize & mask, fv as usize & mask);
        let (i1, j1) = ((i + 1) & mask, (j + 1) & mask);
        let (row, next) = (j * self.side, j1 * self.side);
        T::mix([
            (self.values[row + i], (1.0 - pu) * (1.0 - pv)),
            (self.values[row + i1], pu * (1.0 - pv)),
            (self.values[next + i], (1.0 - pu) * pv),
            (self.values[next + i1], pu * pv),
        ])
    }
}

/// The whole number below; `f64::floor` is a call into the C library on plain x86-64.
#[inline(always)]
fn floor(v: f64) -> i64 {
    let i = v as i64;
    if i as f64 > v { i - 1 } else { i }
}

/// The power of two nearest to `ratio` (0 for all below 1), read off the number's exponent.
#[inline(always)]
fn nearest_power(ratio: f64) -> usize {
    let exponent = ((ratio * std::f64::consts::SQRT_2) as f32)
        .max(1.0)
        .to_bits()
        >> 23;
    exponent as usize - 127
}
