//! Refractive index of water.

/// Refractive index of pure water against a vacuum at `temperature_c` °C (−12 to 500), density
/// `density_kg_m3` and `wavelength_um` µm (0.2–1.1).
///
/// Source: IAPWS R9-97, "Release on the Refractive Index of Ordinary Water Substance as a Function of
/// Wavelength, Temperature and Pressure" (Harvey, Gallagher & Levelt Sengers 1998, J. Phys. Chem. Ref.
/// Data 27:761).
pub fn pure(temperature_c: f64, density_kg_m3: f64, wavelength_um: f64) -> f64 {
    const ULTRAVIOLET: f64 = 0.229_202;
    const INFRARED: f64 = 5.432_937;
    let t = (temperature_c + 273.15) / 273.15;
    let d = density_kg_m3 / 1000.0;
    let l2 = (wavelength_um / 0.589).powi(2);
    let refraction = 0.244_257_733 + 9.746_344_76e-3 * d - 3.732_349_96e-3 * t
        + 2.686_784_72e-4 * l2 * t
        + 1.589_205_70e-3 / l2
        + 2.459_342_59e-3 / (l2 - ULTRAVIOLET * ULTRAVIOLET)
        + 0.900_704_920 / (l2 - INFRARED * INFRARED)
        - 1.666_262_19e-2 * d * d;
    let a = d * refraction;
    ((2.0 * a + 1.0) / (1.0 - a)).sqrt()
}

/// By how much salt of practical salinity `salinity` raises the index at `temperature_c` °C and
/// `wavelength_um` µm (0.4–0.7).
///
/// Source: the terms in S of Quan & Fry 1995, Applied Optics 34:3477, a fit (1.5e-5) to 0–30 °C and
/// salinity 0–35.
pub fn salt_share(temperature_c: f64, salinity: f64, wavelength_um: f64) -> f64 {
    let t = temperature_c;
    salinity * (1.779e-4 - 1.05e-6 * t + 1.6e-8 * t * t + 0.011_55 / (1000.0 * wavelength_um))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// IAPWS R9-97 at 0 °C (computed with `iapws` 1.5.5); densities of IAPWS-95 at 0.1 and 100 MPa
    /// from the same package, see tests/reference/water.py.
    #[test]
    fn table_of_the_release() {
        for (density, expected) in [
            (999.842_4, [1.394_527, 1.334_344, 1.326_135]),
            (1_045.278_0, [1.412_733, 1.349_101, 1.340_435]),
        ] {
            for (wavelength_um, n) in [0.2265, 0.589, 1.013_98].into_iter().zip(expected) {
                assert_abs_diff_eq!(pure(0.0, density, wavelength_um), n, epsilon = 1e-6);
            }
        }
    }
}
