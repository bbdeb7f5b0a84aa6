//! Viscosity of water at ordinary pressures.

/// Dynamic viscosity of pure water, Pa·s, at `temperature_k` K and `density_kg_m3`.
///
/// Source: IAPWS R12-08, "Release on the IAPWS Formulation 2008 for the Viscosity of Ordinary Water
/// Substance" (Huber et al. 2009, J. Phys. Chem. Ref. Data 38:101), without the critical enhancement,
/// which is none in water as we know it. Good to 1 % at ordinary pressure.
pub fn pure(temperature_k: f64, density_kg_m3: f64) -> f64 {
    let t = temperature_k / 647.096;
    let d = density_kg_m3 / 322.0;
    let dilute = 100.0 * t.sqrt()
        / DILUTE
            .iter()
            .zip(0..)
            .map(|(h, power)| h / t.powi(power))
            .sum::<f64>();
    let dense: f64 = DENSE
        .iter()
        .map(|&(i, j, h)| h * (1.0 / t - 1.0).powi(i) * (d - 1.0).powi(j))
        .sum();
    1e-6 * dilute * (d * dense).exp()
}

/// Coefficients of the dilute gas, by the power of 1/T.
const DILUTE: [f64; 4] = [1.677_52, 2.204_62, 0.636_656_4, -0.241_605];

/// Coefficients of the density's share, with the powers of 1/T − 1 and of density − 1.
const DENSE: [(i32, i32, f64); 21] = [
    (0, 0, 5.200_94e-1),
    (1, 0, 8.508_95e-2),
    (2, 0, -1.083_74),
    (3, 0, -2.895_55e-1),
    (0, 1, 2.225_31e-1),
    (1, 1, 9.991_15e-1),
    (2, 1, 1.887_97),
    (3, 1, 1.266_13),
    (5, 1, 1.205_73e-1),
    (0, 2, -2.813_78e-1),
    (1, 2, -9.068_51e-1),
    (2, 2, -7.724_79e-1),
    (3, 2, -4.898_37e-1),
    (4, 2, -2.570_40e-1),
    (0, 3, 1.619_13e-1),
    (1, 3, 2.573_99e-1),
    (0, 4, -3.253_72e-2),
    (3, 4, 6.984_52e-2),
    (4, 5, 8.721_02e-3),
    (3, 6, -4.356_73e-3),
    (5, 6, -5.932_64e-4),
];

/// By which factor salt of practical salinity `salinity` thickens water of `temperature_c` °C.
///
/// Source: Sharqawy, Lienhard & Zubair 2010, Desalination and Water Treatment 16:354, eq. 22, good to
/// 1.5 %; its salinity in kg/kg is taken as the practical one over 1000 (half a per cent less).
pub fn salt_factor(temperature_c: f64, salinity: f64) -> f64 {
    let (t, s) = (temperature_c, salinity / 1000.0);
    let first = 1.541 + 1.998e-2 * t - 9.52e-5 * t * t;
    let second = 7.974 - 7.561e-2 * t + 4.724e-4 * t * t;
    1.0 + first * s + second * s * s
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// IAPWS R12-08, table 4 (printed), µPa·s.
    #[test]
    fn table_of_the_release() {
        for (t, density, micro) in [
            (298.15, 998.0, 889.735_100),
            (298.15, 1200.0, 1_437.649_467),
            (373.15, 1000.0, 307.883_622),
        ] {
            assert_abs_diff_eq!(1e6 * pure(t, density), micro, epsilon = 1e-6);
        }
    }
}
