//! Water: how heavy, how bright a bend it gives to light; what floats in it and how things in it look.
//!
//! | file | what | source |
//! |---|---|---|
//! | `density` | density of fresh and sea water | EOS-80 (UNESCO 1983) |
//! | `index` | refractive index | IAPWS R9-97; salt's share Quan & Fry 1995 |
//! | [`refraction`] | Snell's law, apparent depth, flat port | closed forms |
//! | [`buoyancy`] | floating bodies and their ballast | Archimedes |

pub mod buoyancy;
pub mod density;
pub mod index;
pub mod refraction;

use crate::{Error, Result};

/// Coldest water that is taken, °C: sea water at its freezing point.
pub const COLDEST_C: f64 = -2.0;
/// Warmest water that is taken, °C: the end of EOS-80's range.
pub const WARMEST_C: f64 = 40.0;
/// Saltiest water that is taken, practical salinity: the end of EOS-80's range.
pub const SALTIEST: f64 = 42.0;
/// Practical salinity of the open sea.
pub const SEA_SALINITY: f64 = 35.0;
/// Wavelength in the middle of what a phone sees, µm: the yellow line of sodium, for which indices
/// are usually tabulated.
pub const YELLOW_UM: f64 = 0.5893;

/// Water at the surface, at ordinary pressure (101 325 Pa).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Temperature, °C (ITS-90).
    pub temperature_c: f64,
    /// Practical salinity (PSS-78, about g of salt per kg): 0 fresh, 35 the open sea.
    pub salinity: f64,
}

impl Water {
    /// Water of `temperature_c` °C, −2 to 40, and practical salinity `salinity`, 0 to 42: the range
    /// of EOS-80.
    ///
    /// # Errors
    /// [`Error::Setting`] outside that range, or where a figure is no number.
    pub fn new(temperature_c: f64, salinity: f64) -> Result<Water> {
        if !(COLDEST_C..=WARMEST_C).contains(&temperature_c) {
            return Err(Error::setting(
                "water temperature",
                format!("{temperature_c} °C is no water to fish in"),
                format!("give {COLDEST_C} to {WARMEST_C} °C"),
            ));
        }
        if !(0.0..=SALTIEST).contains(&salinity) {
            return Err(Error::setting(
                "salinity",
                format!("{salinity} lies outside what is known"),
                format!("give 0 (fresh) to {SALTIEST}; the open sea has {SEA_SALINITY}"),
            ));
        }
        Ok(Water {
            temperature_c,
            salinity,
        })
    }

    /// Fresh water of `temperature_c` °C (not checked; −2 to 40 is sound).
    pub fn fresh(temperature_c: f64) -> Water {
        Water {
            temperature_c,
            salinity: 0.0,
        }
    }

    /// Water of the open sea (salinity 35) at `temperature_c` °C (not checked; −2 to 40 is sound).
    pub fn sea(temperature_c: f64) -> Water {
        Water {
            temperature_c,
            salinity: SEA_SALINITY,
        }
    }

    /// Density, kg/m³, by EOS-80: within 0.01 kg/m³ of TEOS-10 over the whole range (tested).
    pub fn density_kg_m3(&self) -> f64 {
        density::eos80(
            self.salinity,
            density::its90_to_ipts68(self.temperature_c),
            0.0,
        )
    }

    /// Refractive index against a vacuum at `wavelength_um` µm, 0.4–0.7 (fresh water 0.2–1.1); against
    /// air it is 0.00036 smaller, a fortieth of a per cent, which is left out wherever a camera in air
    /// looks into water.
    ///
    /// Pure water by IAPWS R9-97, good to 1.5e-5; the share of the salt by Quan & Fry 1995, fitted to
    /// 0–30 °C and salinity 0–35, beyond which it is an extrapolation good to about 1e-4.
    pub fn refractive_index(&self, wavelength_um: f64) -> f64 {
        let fresh = Water::fresh(self.temperature_c).density_kg_m3();
        index::pure(self.temperature_c, fresh, wavelength_um)
            + index::salt_share(self.temperature_c, self.salinity, wavelength_um)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_water_is_refused() {
        assert_eq!(Water::new(20.0, 35.0).unwrap(), Water::sea(20.0));
        assert_eq!(Water::new(-2.0, 0.0).unwrap(), Water::fresh(-2.0));
        for (t, s) in [
            (-2.1, 0.0),
            (40.1, 0.0),
            (f64::NAN, 0.0),
            (20.0, -0.1),
            (20.0, 42.1),
            (20.0, f64::NAN),
        ] {
            let fault = Water::new(t, s).unwrap_err();
            assert_eq!(fault.exit_status(), 2);
            assert_eq!(fault.to_string().lines().count(), 1);
        }
    }
}
