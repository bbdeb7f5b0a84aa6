//! The water's surface: ripples as a sum of waves, and light bent by them.

use std::f64::consts::TAU;

use super::chance::Chance;
use super::vector::Vec3;

/// Refractive index of water for yellow light at 20 °C: IAPWS R9-97 gives 1.33335.
pub const WATER_INDEX: f64 = 1.3333;

/// Ripples: the surface's slope as a function of place and time. Their height is neglected.
#[derive(Debug, Clone)]
pub struct Ripples {
    waves: Vec<Wave>,
    hand: f64,
}

#[derive(Debug, Clone)]
struct Wave {
    /// Wave vector, rad/mm.
    k: [f64; 2],
    /// Angular rate, rad/s.
    omega: f64,
    phase: f64,
    /// Slope, zero-to-peak.
    slope: f64,
}

impl Ripples {
    /// Ripples with the slope's standard deviation `spread`, rad; `hand` −1 mirrors them in y.
    pub fn new(seed: u64, spread: f64, hand: f64) -> Ripples {
        const WAVES: usize = 12;
        let mut chance = Chance::new(seed, "ripples");
        let wind = chance.between(0.0, TAU);
        let mut waves: Vec<Wave> = (0..WAVES)
            .map(|i| {
                let place = (i as f64 + chance.between(0.0, 1.0)) / WAVES as f64;
                let length_mm = 130.0 * 11f64.powf(place);
                let k = TAU / length_mm;
                let course = wind + chance.between(-1.2, 1.2);
                Wave {
                    k: [k * course.cos(), k * course.sin()],
                    omega: wave_rate(k),
                    phase: chance.between(0.0, TAU),
                    // Short waves are flatter, so that the picture sways near 1 to 2 Hz.
                    slope: length_mm.powf(0.7),
                }
            })
            .collect();
        // A wave has the slope variance slope²/2, shared between the two directions.
        let power: f64 = waves.iter().map(|w| w.slope * w.slope / 4.0).sum();
        waves
            .iter_mut()
            .for_each(|w| w.slope *= spread / power.sqrt());
        Ripples { waves, hand }
    }

    /// Slope of the surface toward +x and +y, rad (positive where the water stands higher ahead).
    pub fn slope(&self, x: f64, y: f64, t: f64) -> [f64; 2] {
        let y = self.hand * y;
        let (mut sx, mut sy) = (0.0, 0.0);
        for w in &self.waves {
            let s = w.slope * (w.k[0] * x + w.k[1] * y - w.omega * t + w.phase).cos();
            let k = w.k[0].hypot(w.k[1]);
            sx += s * w.k[0] / k;
            sy += s * w.k[1] / k;
        }
        [sx, sy * self.hand]
    }
}

/// Angular rate of a wave on deep water, rad/s: ω² = g k + (σ/ρ) k³, with k in rad/mm,
/// g = 9.81 m/s², surface tension over density 7.3e-5 m³/s² (textbook values, from memory).
pub fn wave_rate(k_per_mm: f64) -> f64 {
    let k = k_per_mm * 1e3;
    (9.81 * k + 7.3e-5 * k.powi(3)).sqrt()
}

/// A ray going down from air into water through a surface of the given slope (Snell's law in
/// vector form). `dir` and the result have length 1.
pub fn refract(dir: Vec3, [sx, sy]: [f64; 2]) -> Vec3 {
    // The normal that points up into the air: z is down, so a surface rising toward +x leans it to −x.
    let normal = Vec3::new(-sx, -sy, -1.0).unit();
    let ratio = 1.0 / WATER_INDEX;
    let cos_in = -dir.dot(normal);
    let cos_out = (1.0 - ratio * ratio * (1.0 - cos_in * cos_in)).sqrt();
    dir * ratio + normal * (ratio * cos_in - cos_out)
}

/// Share of light that a smooth water surface reflects at this cosine of the angle of incidence
/// (Schlick's approximation, with 0.02 straight down from the refractive index).
pub fn mirror_share(cos_in: f64) -> f64 {
    0.02 + 0.98 * (1.0 - cos_in.clamp(0.0, 1.0)).powi(5)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn snell_at_45_degrees() {
        // Snell's law in closed form: asin(sin 45° / 1.3333) = 32.03°.
        let down = refract(Vec3::new(1.0, 0.0, 1.0).unit(), [0.0, 0.0]);
        assert!((down.x.asin().to_degrees() - 32.03).abs() < 0.01);
        assert!((down.norm() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn rising_water_bends_a_steep_ray_toward_the_rise() {
        // For small slopes a straight-down ray turns by (1 − 1/n)·slope into the rise.
        let bent = refract(Vec3::new(0.0, 0.0, 1.0), [0.01, 0.0]);
        assert!(
            (bent.x - 0.01 * (1.0 - 1.0 / WATER_INDEX)).abs() < 1e-5,
            "{}",
            bent.x
        );
    }

    #[test]
    fn slope_spread_is_as_asked() {
        let r = Ripples::new(9, 0.02, 1.0);
        let n = 20_000;
        let sum: f64 = (0..n)
            .map(|i| {
                let [a, b] = r.slope(i as f64 * 13.7, i as f64 * 7.1, i as f64 * 0.037);
                (a * a + b * b) / 2.0
            })
            .sum();
        assert!(((sum / n as f64).sqrt() - 0.02).abs() < 0.002);
    }
}
