//! Density of fresh and sea water: the International Equation of State of Seawater, EOS-80.
//!
//! Source: Fofonoff & Millard 1983, UNESCO technical papers in marine science 44 (Millero & Poisson
//! 1981, Deep-Sea Research 28A:625, at the surface; Millero et al. 1980, 27A:255, under pressure).
//! Its successor is TEOS-10, which needs the place on the globe for its absolute salinity and moves the
//! density at the surface by less than 0.01 kg/m³: nothing to a lure.

/// A temperature on the scale of 1990 on that of 1968, for which EOS-80 is written (Saunders 1990,
/// WOCE Newsletter 10).
pub fn its90_to_ipts68(t90_c: f64) -> f64 {
    1.00024 * t90_c
}

/// Density, kg/m³, at practical salinity `s` (0–42), temperature `t68` °C (IPTS-68, −2 to 40) and
/// `p_bar` bar above the atmosphere (0–1000; 10 dbar each).
pub fn eos80(s: f64, t68: f64, p_bar: f64) -> f64 {
    at_surface(s, t68) / (1.0 - p_bar / secant_bulk_modulus_bar(s, t68, p_bar))
}

/// A polynomial in `x`, lowest power first.
fn polynomial(x: f64, coefficients: &[f64]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

fn at_surface(s: f64, t: f64) -> f64 {
    let pure = polynomial(
        t,
        &[
            999.842594,
            6.793952e-2,
            -9.095290e-3,
            1.001685e-4,
            -1.120083e-6,
            6.536332e-9,
        ],
    );
    let first = polynomial(
        t,
        &[8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9],
    );
    let root = polynomial(t, &[-5.72466e-3, 1.0227e-4, -1.6546e-6]);
    pure + first * s + root * s.powf(1.5) + 4.8314e-4 * s * s
}

fn secant_bulk_modulus_bar(s: f64, t: f64, p: f64) -> f64 {
    let root = s.powf(1.5);
    let at_zero = polynomial(
        t,
        &[19652.21, 148.4206, -2.327105, 1.360477e-2, -5.155288e-5],
    ) + s * polynomial(t, &[54.6746, -0.603459, 1.09987e-2, -6.1670e-5])
        + root * polynomial(t, &[7.944e-2, 1.6483e-2, -5.3009e-4]);
    let per_bar = polynomial(t, &[3.239908, 1.43713e-3, 1.16092e-4, -5.77905e-7])
        + s * polynomial(t, &[2.2838e-3, -1.0981e-5, -1.6078e-6])
        + root * 1.91075e-4;
    let per_bar2 = polynomial(t, &[8.50935e-5, -6.12293e-6, 5.2787e-8])
        + s * polynomial(t, &[-9.9348e-7, 2.0816e-8, 9.1697e-10]);
    at_zero + p * (per_bar + p * per_bar2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// UNESCO 1983's own check values (printed; temperatures on IPTS-68).
    #[test]
    fn check_values_of_the_standard() {
        assert_abs_diff_eq!(eos80(0.0, 5.0, 0.0), 999.96675, epsilon = 5e-6);
        assert_abs_diff_eq!(eos80(35.0, 5.0, 0.0), 1027.67547, epsilon = 5e-6);
        assert_abs_diff_eq!(eos80(35.0, 25.0, 1000.0), 1062.53817, epsilon = 5e-6);
    }
}
