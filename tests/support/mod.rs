//! Made-up series with known truth, for several test files.
#![allow(dead_code)]

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;
use std::f64::consts::TAU;
use std::path::PathBuf;
use truerun::motion::Series;

/// Where the shared clips and tables are, if they are.
pub fn shared(path: &str) -> Option<PathBuf> {
    let root = std::env::var_os("TRUERUN_SHARED").map(PathBuf::from);
    let root = root.unwrap_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared"));
    let file = root.join(path);
    if file.exists() {
        return Some(file);
    }
    println!("skipped: {} is not here", file.display());
    None
}

/// Seeded random numbers.
pub struct Dice(pub ChaCha8Rng);

impl Dice {
    pub fn new(number: u64) -> Self {
        Dice(ChaCha8Rng::seed_from_u64(number))
    }
    pub fn normal(&mut self) -> f64 {
        self.0.sample(StandardNormal)
    }
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0.random_range(low..high)
    }
    /// White noise.
    pub fn white(&mut self, n: usize, sd: f64) -> Vec<f64> {
        (0..n).map(|_| sd * self.normal()).collect()
    }
    /// Noise with a memory of `memory_s` at the stamps `t` (first-order), standard deviation `sd`.
    pub fn slow(&mut self, t: &[f64], sd: f64, memory_s: f64) -> Vec<f64> {
        let mut x = self.normal();
        let mut last = t[0];
        t.iter()
            .map(|&t| {
                let keep = (-(t - last) / memory_s).exp();
                last = t;
                x = keep * x + (1.0 - keep * keep).sqrt() * self.normal();
                sd * x
            })
            .collect()
    }
}

/// A true phase whose rate wanders about `hz` by `spread` (a fraction, one standard deviation) with a
/// memory of about `memory_s`; returned at the stamps `t`, cycles. The wander is a sum of slow waves.
pub fn wandering(dice: &mut Dice, t: &[f64], hz: f64, spread: f64, memory_s: f64) -> Vec<f64> {
    const WAVES: usize = 12;
    let waves: Vec<(f64, f64, f64)> = (0..WAVES)
        .map(|_| {
            (
                dice.between(0.05, 1.0) / memory_s,
                dice.between(0.0, TAU),
                dice.normal(),
            )
        })
        .collect();
    let norm = spread * hz * (2.0 / WAVES as f64).sqrt();
    t.iter()
        .map(|&t| {
            let drift: f64 = waves
                .iter()
                .map(|(f, p, a)| a * ((TAU * f * t + p).sin() - p.sin()) / (TAU * f))
                .sum();
            hz * t + norm * drift
        })
        .collect()
}

/// A series from above with a plain body of 60 px.
pub fn series(t: &[f64], axis_deg: Vec<f64>, sideways_px: Vec<f64>) -> Series {
    let n = t.len();
    Series {
        t_s: t.to_vec(),
        axis_deg,
        picture_sideways_px: sideways_px.clone(),
        sideways_px,
        forward_px: vec![0.0; n],
        place_px: vec![[0.0, 0.0]; n],
        length_px: vec![60.0; n],
        width_px: vec![12.0; n],
        brightness: vec![0.5; n],
        ..Series::default()
    }
}
