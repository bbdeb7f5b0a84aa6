//! From the water of the test to another one: how much higher or lower it floats, and the ballast that
//! brings it back. By Archimedes, see [`crate::water::buoyancy`].

use super::raised::higher;
use crate::motion::float::Float;
use crate::water::Water;
use crate::water::buoyancy::{Body, Hung, Material, Place};
use crate::{Error, Measured, Result};

/// By how much sections of different shape may mislead the volume, standard deviation of the part above.
const SHAPE_DOUBT: f64 = 0.015;

/// What hung on the lure in the test, and what will hang on it when it is fished.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hanging {
    /// Mass of the hooks with their rings (steel), g.
    pub hooks_g: f64,
    /// Weights that hung in their place in the test.
    pub stand_in: Option<Hung>,
}

/// What the user told of lure and waters.
#[derive(Debug, Clone, PartialEq)]
pub struct NewWater {
    /// Water of the test.
    pub from: Water,
    /// The other one.
    pub to: Water,
    /// Mass of the lure as it lay in the test, all that hung on it counted, g.
    pub mass_g: Option<f64>,
    /// Volume of the body within its outer skin, cm³.
    pub volume_cm3: Option<f64>,
    /// Hooks and what hung in their place.
    pub hanging: Option<Hanging>,
}

/// Ballast of one material.
#[derive(Debug, Clone, PartialEq)]
pub struct BallastChange {
    /// Of what it is.
    pub material: Material,
    /// To add (negative: to take off) on the outside, g.
    pub outside_g: Measured,
}

/// The lure in the other water.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterChange {
    /// What was told.
    pub told: NewWater,
    /// Volume, cm³, and what it rests on.
    pub volume_cm3: Measured,
    /// Part of its volume above water in the test's water and in the other, with the hooks on.
    pub above_from: Measured,
    /// See `above_from`.
    pub above_to: Measured,
    /// How much higher it floats in the other water, mm (negative: lower).
    pub higher_mm: Measured,
    /// How much higher it floats with its hooks than with what hung in their place in the test, mm.
    pub hooks_higher_mm: Measured,
    /// Ballast let into the body, of any material, to add (negative: to take out), g.
    pub within_g: Measured,
    /// Ballast on the outside, under water.
    pub outside: Vec<BallastChange>,
    /// Mass of a stand-in of each material that pulls down under water as the hooks do, g.
    pub stand_ins: Vec<(Material, f64)>,
    /// The float test and the volume given do not agree.
    pub disagree: bool,
}

/// Reckons the change of water. `float` may be a test that found nothing where mass and volume are given.
///
/// # Errors
/// [`Error::Setting`] where mass or volume are missing or cannot be meant together.
pub fn water_change(told: &NewWater, float: &Float) -> Result<WaterChange> {
    let test_above = float
        .volume_above
        .ci95
        .filter(|_| float.volume_above.is_measured());
    let floats = test_above.is_some_and(|[lo, _]| lo > 0.0);
    let hung: Vec<Hung> = hung_in_test(told);
    let hung_g: f64 = hung.iter().map(|h| h.mass_g).sum();
    if told.mass_g.is_some_and(|m| m <= hung_g) {
        return Err(Error::setting(
            "--mass",
            "is not more than what hangs on the lure",
            "give the mass of the lure as it lay in the test, all that hung on it counted",
        ));
    }
    let density = told.from.density_kg_m3() / 1000.0;
    let pulls: f64 = hung
        .iter()
        .map(|h| h.material.weight_under_water_g(h.mass_g, &told.from))
        .sum();
    // volume under water in the test, at a part above water
    let volume = match (told.volume_cm3, told.mass_g, test_above) {
        (Some(v), ..) => Measured::new(v, [v, v]).because("as given"),
        (None, Some(mass), Some(above)) if floats => {
            let of = |part: f64| (mass - hung_g + pulls) / density / (1.0 - part.clamp(0.0, 0.98));
            let middle = float
                .volume_above
                .value
                .unwrap_or(0.5 * (above[0] + above[1]));
            let half = |end: f64| (end - middle).hypot(1.96 * SHAPE_DOUBT);
            Measured::new(
                of(middle),
                [of(middle - half(above[0])), of(middle + half(above[1]))],
            )
            .because("from the mass and the part above water, if all sections have the same shape")
        }
        (None, Some(_), _) => {
            Measured::unmeasurable("it does not float by what was seen; give --volume")
        }
        (None, None, _) => {
            return Err(Error::setting(
                "--to",
                "the change of water needs the lure's mass or volume",
                "give --mass G (as it lay in the test), or --volume CM3",
            ));
        }
    };
    let mass = match (told.mass_g, told.volume_cm3, float.volume_above.value) {
        (Some(mass), ..) => Measured::new(mass, [mass, mass]),
        (None, Some(v), Some(part)) if floats => {
            let of = |part: f64| density * v * (1.0 - part) + hung_g - pulls;
            let half = 1.96 * SHAPE_DOUBT;
            let ends = test_above.unwrap_or([part, part]);
            Measured::new(of(part), [of(ends[1] + half), of(ends[0] - half)])
        }
        _ => {
            return Err(Error::setting(
                "--volume",
                "without its mass the lure's weight is not known",
                "give --mass G too, or a float test from the side in which it floats",
            ));
        }
    };
    Ok(reckon(told, float, &hung, &mass, volume))
}

/// What hung on the lure in the test.
fn hung_in_test(told: &NewWater) -> Vec<Hung> {
    told.hanging
        .map(|h| h.stand_in.unwrap_or(hooks(h.hooks_g)))
        .filter(|h| h.mass_g > 0.0)
        .into_iter()
        .collect()
}

fn hooks(mass_g: f64) -> Hung {
    Hung {
        mass_g,
        material: Material::Steel,
    }
}

fn reckon(
    told: &NewWater,
    float: &Float,
    hung: &[Hung],
    mass: &Measured,
    volume: Measured,
) -> WaterChange {
    let hung_g: f64 = hung.iter().map(|h| h.mass_g).sum();
    let body = |mass_g: f64, volume_cm3: f64, hung: &[Hung]| Body {
        mass_g: mass_g - hung_g,
        volume_cm3,
        hung: hung.to_vec(),
    };
    // as it is fished: with its hooks, whatever hung there in the test
    let fished: Vec<Hung> = told
        .hanging
        .map(|h| hooks(h.hooks_g))
        .filter(|h| h.mass_g > 0.0)
        .into_iter()
        .collect();
    let over = |of: &dyn Fn(f64, f64) -> f64| -> Measured {
        let (Some(m), Some(v)) = (mass.value, volume.value) else {
            return Measured::unmeasurable(
                volume
                    .why
                    .clone()
                    .unwrap_or_else(|| "the volume is not known".into()),
            );
        };
        let (ms, vs) = (mass.ci95.unwrap_or([m, m]), volume.ci95.unwrap_or([v, v]));
        let corners = [of(ms[0], v), of(ms[1], v), of(m, vs[0]), of(m, vs[1])];
        let lo = corners.iter().copied().fold(of(m, v), f64::min);
        let hi = corners.iter().copied().fold(of(m, v), f64::max);
        Measured::new(of(m, v), [lo, hi])
    };
    let above =
        |water: Water, hung: Vec<Hung>| over(&move |m, v| body(m, v, &hung).above_water(&water));
    let (from, to) = (told.from, told.to);
    let above_from = above(from, fished.clone());
    let above_to = above(to, fished.clone());
    let in_test = above(from, hung.to_vec());
    let change = |material: Material, place: Place| {
        let fished = fished.clone();
        over(&move |m, v| body(m, v, &fished).ballast_change_g(&from, &to, material, place))
    };
    let seen = float
        .volume_above
        .ci95
        .filter(|_| float.volume_above.is_measured());
    let disagree = match (in_test.ci95, seen) {
        (Some([lo, hi]), Some([a, b])) if told.volume_cm3.is_some() => {
            lo > b + 2.0 * SHAPE_DOUBT || hi < a - 2.0 * SHAPE_DOUBT
        }
        _ => false,
    };
    WaterChange {
        higher_mm: higher(float, &above_from, &above_to),
        hooks_higher_mm: match told.hanging.and_then(|h| h.stand_in) {
            Some(_) => higher(float, &in_test, &above_from),
            None => Measured::unmeasurable("no stand-ins hung in place of the hooks: --stand-in"),
        },
        within_g: change(Material::Lead, Place::Within),
        outside: Material::NAMED
            .into_iter()
            .map(|material| BallastChange {
                material,
                outside_g: change(material, Place::Outside),
            })
            .collect(),
        stand_ins: told.hanging.map_or(Vec::new(), |h| {
            Material::NAMED
                .into_iter()
                .map(|m| {
                    (
                        m,
                        crate::water::buoyancy::stand_in_g(hooks(h.hooks_g), m, &from),
                    )
                })
                .collect()
        }),
        volume_cm3: volume,
        above_from,
        above_to,
        disagree,
        told: told.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tracking::float::Missing;
    use approx::assert_abs_diff_eq;

    fn told(mass_g: Option<f64>, volume_cm3: Option<f64>) -> NewWater {
        NewWater {
            from: Water::fresh(20.0),
            to: Water::sea(20.0),
            mass_g,
            volume_cm3,
            hanging: None,
        }
    }

    /// A float test that saw `part` of the volume above water and nothing else.
    fn seen(part: f64) -> Float {
        Float {
            volume_above: Measured::within(part, 0.01),
            raised: vec![[-2.0, part - 0.1], [2.0, part + 0.1]],
            ..Float::not_found(Missing::Lure)
        }
    }

    /// Archimedes by hand: 12 g in fresh water of 0.99821 g/cm³ displace 12.0215 cm³; a body of 15 cm³ is then
    /// 19.86 % out, in the sea (1.02476 g/cm³) 11.7101 cm³ are under and 21.93 % out. The ballast that brings it
    /// back displaces as before: 12.0215 · 1.02476 − 12 = 0.3192 g.
    #[test]
    fn a_body_of_known_volume() {
        let change = water_change(&told(Some(12.0), Some(15.0)), &seen(0.2)).unwrap();
        assert_abs_diff_eq!(change.above_from.value.unwrap(), 0.1986, epsilon = 2e-4);
        assert_abs_diff_eq!(change.above_to.value.unwrap(), 0.2193, epsilon = 2e-4);
        assert_abs_diff_eq!(change.within_g.value.unwrap(), 0.3192, epsilon = 1e-3);
        // on the outside it takes up room itself: more of it, and most of the lightest metal
        let outside: Vec<f64> = change
            .outside
            .iter()
            .map(|b| b.outside_g.value.unwrap())
            .collect();
        assert!(0.3192 < outside[0] && outside[0] < outside[1] && outside[1] < outside[2]);
        assert_abs_diff_eq!(outside[2], 0.3192 / (1.0 - 1.02476 / 7.85), epsilon = 1e-3);
        // 2.07 % of the volume at 5 % a mm
        assert_abs_diff_eq!(change.higher_mm.value.unwrap(), 0.414, epsilon = 0.01);
        assert!(!change.disagree);
    }

    #[test]
    fn and_back_again() {
        let there = water_change(&told(Some(12.0), Some(15.0)), &seen(0.2)).unwrap();
        let mut home = told(Some(12.0), Some(15.0));
        std::mem::swap(&mut home.from, &mut home.to);
        let back = water_change(&home, &seen(0.22)).unwrap();
        assert_abs_diff_eq!(
            back.higher_mm.value.unwrap(),
            -there.higher_mm.value.unwrap(),
            epsilon = 1e-6
        );
        assert!(back.within_g.value.unwrap() < 0.0);
    }

    #[test]
    fn the_float_test_gives_the_volume_with_an_interval() {
        let change = water_change(&told(Some(12.0), None), &seen(0.2)).unwrap();
        // 12.0215 cm³ under water are 80 %
        assert_abs_diff_eq!(change.volume_cm3.value.unwrap(), 15.027, epsilon = 0.01);
        let [lo, hi] = change.volume_cm3.ci95.unwrap();
        assert!(lo < 14.5 && hi > 15.5, "{lo} {hi}");
        // what is added to a floating body does not hang on its volume
        let [lo, hi] = change.within_g.ci95.unwrap();
        assert!(hi - lo < 1e-9);
    }

    #[test]
    fn a_volume_that_cannot_be_is_told() {
        assert!(
            water_change(&told(Some(12.0), Some(20.0)), &seen(0.2))
                .unwrap()
                .disagree
        );
    }

    /// 1.2 g of lead in place of 1.2 g of steel hooks pull by 1.2·0.99821·(1/7.85 − 1/11.34) = 0.0470 g more.
    #[test]
    fn stand_ins_of_the_same_mass_pull_more() {
        let mut with = told(Some(12.0), Some(15.0));
        with.hanging = Some(Hanging {
            hooks_g: 1.2,
            stand_in: Some(Hung {
                mass_g: 1.2,
                material: Material::Lead,
            }),
        });
        let change = water_change(&with, &seen(0.25)).unwrap();
        let without = {
            let mut hooks = with.clone();
            hooks.hanging = Some(Hanging {
                hooks_g: 1.2,
                stand_in: None,
            });
            water_change(&hooks, &seen(0.25)).unwrap()
        };
        assert_eq!(change.above_from, without.above_from);
        // 0.0470 g at 0.99821 g/cm³ are 0.0471 cm³ of 15, at 5 % a mm
        assert_abs_diff_eq!(
            change.hooks_higher_mm.value.unwrap(),
            0.0471 / 15.0 / 0.05,
            epsilon = 2e-3
        );
        // lead that pulls as 1.2 g of steel do: 1.2·(1 − ρ/7.85)/(1 − ρ/11.34) = 1.148 g
        let lead = change
            .stand_ins
            .iter()
            .find(|s| s.0 == Material::Lead)
            .unwrap();
        assert_abs_diff_eq!(lead.1, 1.1484, epsilon = 1e-3);
    }

    #[test]
    fn too_little_told_is_refused() {
        let sunk = Float::not_found(Missing::Lure);
        for (mass, volume) in [(None, None), (None, Some(15.0))] {
            let fault = water_change(&told(mass, volume), &sunk).unwrap_err();
            assert_eq!(fault.exit_status(), 2);
        }
        let change = water_change(&told(Some(16.0), Some(15.0)), &sunk).unwrap();
        assert_abs_diff_eq!(
            change.within_g.value.unwrap(),
            15.0 * 0.02655,
            epsilon = 1e-3
        );
    }
}
