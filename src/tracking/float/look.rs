//! The look of the water's line: mean colours across it, matched strip by strip, and the line laid through.

use super::samples::{Colour, dot, minus};

/// Rows to each side of the line's look.
const LOOK: usize = 12;
/// Both edges of the water's edge at the glass lie within so many rows.
const WIDEST: f64 = 11.0;
/// An edge of the line counts from this share of its strongest, and from so many levels a row.
const WEAK_EDGE: f64 = 0.12;
const LEAST_EDGE: f64 = 1.2;

/// The line's own look: mean colours over its strips, row by row from −[`LOOK`] to +[`LOOK`].
#[derive(Default)]
pub struct Look(Vec<Colour>);

impl Look {
    /// Of the strips `used` (their mean colours row by row) about the rows `at`.
    pub fn of(strips: &[Vec<Colour>], used: &[usize], at: impl Fn(usize) -> f64) -> Look {
        let mut sums = vec![[0.0f32; 3]; 2 * LOOK + 1];
        for i in used {
            for (k, sum) in sums.iter_mut().enumerate() {
                let c = between(&strips[*i], at(*i) + k as f64 - LOOK as f64);
                *sum = std::array::from_fn(|n| sum[n] + c[n]);
            }
        }
        Look(
            sums.iter()
                .map(|s| s.map(|v| v / used.len() as f32))
                .collect(),
        )
    }

    fn slope(&self, k: usize) -> Colour {
        minus(self.0[k + 1], self.0[k - 1]).map(|v| 0.5 * v)
    }

    /// How far below `at` the strip shows this look, rows (one Gauss–Newton step, brightness made even).
    pub fn shift(&self, strip: &[Colour], at: f64) -> Option<f64> {
        let (mut num, mut den) = (0.0f64, 0.0f64);
        let off: Vec<Colour> = (0..self.0.len())
            .map(|k| minus(between(strip, at + k as f64 - LOOK as f64), self.0[k]))
            .collect();
        let mean: Colour =
            std::array::from_fn(|n| off.iter().map(|o| o[n]).sum::<f32>() / off.len() as f32);
        for (k, off) in off.iter().enumerate().take(self.0.len() - 1).skip(1) {
            let slope = self.slope(k);
            num -= f64::from(dot(slope, minus(*off, mean)));
            den += f64::from(dot(slope, slope));
        }
        (den > 4.0).then(|| (num / den).clamp(-2.0, 2.0))
    }

    /// Middle of the line in its look, and how thick it is to each side, rows: midway between its upper
    /// and its lower edge, which may differ much in strength.
    pub fn centre(&self) -> [f64; 2] {
        let sizes: Vec<f64> = (1..self.0.len() - 1)
            .map(|k| f64::from(dot(self.slope(k), self.slope(k))).sqrt())
            .collect();
        let most = sizes.iter().copied().fold(0.0, f64::max);
        let least = (WEAK_EDGE * most).max(LEAST_EDGE);
        let at = |i: usize| i as f64 + 1.0 - LOOK as f64;
        let peaks: Vec<(f64, f64)> = (1..sizes.len() - 1)
            .filter(|i| {
                let (a, b, c) = (sizes[i - 1], sizes[*i], sizes[i + 1]);
                b >= least && b > a && b >= c
            })
            .map(|i| {
                let (a, b, c) = (sizes[i - 1], sizes[i], sizes[i + 1]);
                (at(i) + 0.5 * (a - c) / (a - 2.0 * b + c).min(-1e-9), b)
            })
            .collect();
        let Some(strong) = peaks.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)) else {
            return [0.0, 1.0];
        };
        let other = peaks
            .iter()
            .copied()
            .filter(|p| p.0 != strong.0 && (p.0 - strong.0).abs() <= WIDEST)
            .max_by(|a, b| a.1.total_cmp(&b.1));
        match other {
            Some(other) => [
                0.5 * (strong.0 + other.0),
                0.5 + 0.5 * (strong.0 - other.0).abs(),
            ],
            None => [strong.0, 0.5],
        }
    }
}

fn between(strip: &[Colour], at: f64) -> Colour {
    let at = at.clamp(0.0, (strip.len() - 1) as f64);
    let i = (at as usize).min(strip.len() - 2);
    let f = (at - i as f64) as f32;
    std::array::from_fn(|n| strip[i][n] + f * (strip[i + 1][n] - strip[i][n]))
}
