//! Chance that repeats: numbers and smooth curves that follow from the scene's seed alone.

/// A number generator (SplitMix64: Steele, Lea & Flood 2014, "Fast splittable pseudorandom number
/// generators"; constants from memory). Good enough for pictures.
#[derive(Debug, Clone)]
pub struct Chance(u64);

impl Chance {
    /// A generator for one purpose; different purposes never share their numbers.
    pub fn new(seed: u64, purpose: &str) -> Chance {
        let start = purpose
            .bytes()
            .fold(seed ^ 0x5ce0_e5ce_0e5c_e0e5, |h, b| mix(h ^ u64::from(b)));
        Chance(start)
    }

    /// The next 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        mix(self.0)
    }

    /// Even between `lo` and `hi`.
    pub fn between(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Normal with mean 0 and standard deviation 1 (Box–Muller).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.between(1e-12, 1.0).ln()).sqrt();
        radius * self.between(0.0, std::f64::consts::TAU).cos()
    }
}

fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// A value in 0–1 that belongs to the lattice point `(x, y)`.
pub fn lattice(x: i64, y: i64, seed: u64) -> f64 {
    let h = mix(mix(seed ^ (x as u64).wrapping_mul(0x8cb9_2ba7_2f3d_8dd7)) ^ y as u64);
    (h >> 11) as f64 / (1u64 << 53) as f64
}

/// A smooth curve over time that wanders about zero with standard deviation 1: a sum of slow sines,
/// so that its integral over time is known exactly.
#[derive(Debug, Clone)]
pub struct Wander {
    /// Angular rate (rad/s), phase (rad), size of each sine.
    sines: Vec<[f64; 3]>,
}

impl Wander {
    /// With rates spread over `lo_hz` to `hi_hz`.
    pub fn new(chance: &mut Chance, lo_hz: f64, hi_hz: f64) -> Wander {
        const SINES: usize = 6;
        let size = (2.0 / SINES as f64).sqrt();
        let sines = (0..SINES)
            .map(|i| {
                let place = (i as f64 + chance.between(0.0, 1.0)) / SINES as f64;
                let hz = lo_hz * (hi_hz / lo_hz).powf(place);
                [
                    std::f64::consts::TAU * hz,
                    chance.between(0.0, std::f64::consts::TAU),
                    size,
                ]
            })
            .collect();
        Wander { sines }
    }

    /// The value at time `t`, s.
    pub fn at(&self, t: f64) -> f64 {
        self.sines
            .iter()
            .map(|[w, p, a]| a * (w * t + p).sin())
            .sum()
    }

    /// The integral from 0 to `t`.
    pub fn integral(&self, t: f64) -> f64 {
        self.sines
            .iter()
            .map(|[w, p, a]| a / w * (p.cos() - (w * t + p).cos()))
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wander_has_its_integral_and_unit_spread() {
        let w = Wander::new(&mut Chance::new(3, "test"), 0.1, 0.9);
        let step = 1e-3;
        let sum: f64 = (0..5000)
            .map(|i| w.at((i as f64 + 0.5) * step) * step)
            .sum();
        assert!((sum - w.integral(5.0)).abs() < 1e-5);
        let n = 200_000;
        let power: f64 = (0..n).map(|i| w.at(i as f64 * 0.05).powi(2)).sum::<f64>() / n as f64;
        assert!((power - 1.0).abs() < 0.05, "{power}");
    }

    #[test]
    fn normal_is_normal() {
        let mut c = Chance::new(1, "normal");
        let draws: Vec<f64> = (0..40_000).map(|_| c.normal()).collect();
        let mean = draws.iter().sum::<f64>() / draws.len() as f64;
        let var = draws.iter().map(|d| d * d).sum::<f64>() / draws.len() as f64;
        assert!(
            mean.abs() < 0.02 && (var - 1.0).abs() < 0.03,
            "{mean} {var}"
        );
    }
}
