//! Bodies that float, hang and sink, by Archimedes: what is under water is pushed up by the weight of
//! the water in its place. Masses in g, volumes in cm³; a push in g is the weight of so many grams.

use super::Water;

/// Of what ballast, hooks and stand-in weights are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Material {
    /// Tungsten as element, 19.25 g/cm³. Tungsten putty and powder in resin are far lighter: weigh them
    /// and give their density.
    Tungsten,
    /// Lead, 11.34 g/cm³.
    Lead,
    /// Carbon steel, of hooks, shot and wire, 7.85 g/cm³.
    Steel,
    /// Any other, in thousandths of a g/cm³.
    Other(u32),
}

impl Material {
    /// The three that have names.
    pub const NAMED: [Material; 3] = [Material::Tungsten, Material::Lead, Material::Steel];

    /// Density, g/cm³ at room temperature (handbook values, from memory; steel as is usual in trade).
    pub fn density_g_cm3(self) -> f64 {
        match self {
            Material::Tungsten => 19.25,
            Material::Lead => 11.34,
            Material::Steel => 7.85,
            Material::Other(thousandths) => f64::from(thousandths) / 1000.0,
        }
    }

    /// "tungsten", "lead", "steel" or "other".
    pub fn word(self) -> &'static str {
        match self {
            Material::Tungsten => "tungsten",
            Material::Lead => "lead",
            Material::Steel => "steel",
            Material::Other(_) => "other",
        }
    }

    /// What `mass_g` of it weighs under `water`, g (negative where it floats).
    pub fn weight_under_water_g(self, mass_g: f64, water: &Water) -> f64 {
        mass_g * (1.0 - g_cm3(water) / self.density_g_cm3())
    }
}

/// Density of the water in g/cm³.
fn g_cm3(water: &Water) -> f64 {
    water.density_kg_m3() / 1000.0
}

/// What hangs on a body under water: hooks, or the weights that stand in for them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hung {
    /// Mass, g.
    pub mass_g: f64,
    /// Of what it is.
    pub material: Material,
}

/// A lure as a floating body.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Mass with everything in it, without what hangs on it, g.
    pub mass_g: f64,
    /// Volume within its outer skin, cm³.
    pub volume_cm3: f64,
    /// What hangs on it, wholly under water.
    pub hung: Vec<Hung>,
}

impl Body {
    /// Push upwards left over when it is held under `water`, g: positive floats, negative sinks.
    pub fn spare_buoyancy_g(&self, water: &Water) -> f64 {
        g_cm3(water) * self.volume_cm3 - self.load_g(water)
    }

    /// Volume of the body itself under `water` at rest, cm³: all of it where it sinks.
    pub fn volume_under_cm3(&self, water: &Water) -> f64 {
        (self.load_g(water) / g_cm3(water)).clamp(0.0, self.volume_cm3)
    }

    /// Part of the body's volume above `water` at rest, 0–1.
    pub fn above_water(&self, water: &Water) -> f64 {
        1.0 - self.volume_under_cm3(water) / self.volume_cm3
    }

    /// Ballast in g to add (negative: to take away) so that it floats as high in `to` as it did in
    /// `from`, or, if it sinks or hangs, is as light under water. `place` says where it goes.
    pub fn ballast_change_g(
        &self,
        from: &Water,
        to: &Water,
        material: Material,
        place: Place,
    ) -> f64 {
        let hung: f64 = self
            .hung
            .iter()
            .map(|hung| hung.mass_g / hung.material.density_g_cm3())
            .sum();
        let displaced = self.volume_under_cm3(from) + hung;
        match place {
            Place::Outside => ballast_change_g(from, to, displaced, material),
            Place::Within => ballast_change_within_g(from, to, displaced),
        }
    }

    /// Its own mass and the weight of what hangs on it under water, g.
    fn load_g(&self, water: &Water) -> f64 {
        let pull = |hung: &Hung| hung.material.weight_under_water_g(hung.mass_g, water);
        self.mass_g + self.hung.iter().map(pull).sum::<f64>()
    }
}

/// Where ballast goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// On the outside, under water: it takes up room of its own there.
    Outside,
    /// Into a hollow within the body, whose outer skin stays as it is.
    Within,
}

/// Ballast of `material` in g to hang or stick on the outside (negative: to take off) so that a body
/// that displaces `displaced_cm3` cm³ of `from`, all that hangs on it counted, lies as deep in `to`.
///
/// The ballast takes up room itself: Δ·(1 − ρ₂/ρ_ballast) = V·(ρ₂ − ρ₁).
pub fn ballast_change_g(from: &Water, to: &Water, displaced_cm3: f64, material: Material) -> f64 {
    ballast_change_within_g(from, to, displaced_cm3) / material.weight_under_water_g(1.0, to)
}

/// The same for ballast let into the body, where it takes up no more room: Δ = V·(ρ₂ − ρ₁), whatever
/// it is made of.
pub fn ballast_change_within_g(from: &Water, to: &Water, displaced_cm3: f64) -> f64 {
    displaced_cm3 * (g_cm3(to) - g_cm3(from))
}

/// Mass in g of a weight of `material` that pulls down under `water` as `hooks` do. Equal mass keeps
/// the lure's inertia; equal pull keeps its trim; of lead the two differ by 5 %.
pub fn stand_in_g(hooks: Hung, material: Material, water: &Water) -> f64 {
    hooks.material.weight_under_water_g(hooks.mass_g, water)
        / material.weight_under_water_g(1.0, water)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn body(mass_g: f64, volume_cm3: f64, hung: &[Hung]) -> Body {
        Body {
            mass_g,
            volume_cm3,
            hung: hung.to_vec(),
        }
    }

    /// Archimedes on a body of known volume: fresh 998.2, sea 1024.76 kg/m³ at 20 °C (computed), so
    /// that a lure of 15 cm³ gains 0.40 g.
    #[test]
    fn a_lure_of_15_cm3_gains_0_40_g_in_the_sea() {
        let (fresh, sea) = (Water::fresh(20.0), Water::sea(20.0));
        let lure = body(12.0, 15.0, &[]);
        let gain = lure.spare_buoyancy_g(&sea) - lure.spare_buoyancy_g(&fresh);
        assert_abs_diff_eq!(gain, 0.40, epsilon = 0.005);
        assert_abs_diff_eq!(
            sea.density_kg_m3() / fresh.density_kg_m3() - 1.0,
            0.0266,
            epsilon = 5e-5
        );
        assert_abs_diff_eq!(
            lure.spare_buoyancy_g(&fresh),
            0.9982 * 15.0 - 12.0,
            epsilon = 1e-3
        );
        assert_abs_diff_eq!(
            lure.above_water(&fresh),
            1.0 - 12.0 / 0.9982 / 15.0,
            epsilon = 1e-4
        );
    }

    /// A cube of oak, 10 cm long, 700 g: 70.13 % under water of 998.2 kg/m³ (by hand).
    #[test]
    fn a_block_of_wood() {
        let under = body(700.0, 1000.0, &[]).volume_under_cm3(&Water::fresh(20.0));
        assert_abs_diff_eq!(under, 701.26, epsilon = 0.01);
        assert_eq!(
            body(1200.0, 1000.0, &[]).above_water(&Water::fresh(20.0)),
            0.0
        );
    }

    /// Put to the proof: after the change the lure floats as high as before, in either direction, for
    /// each material and place, with hooks and with stand-ins.
    #[test]
    fn ballast_brings_it_back() {
        let hooks = Hung {
            mass_g: 1.6,
            material: Material::Steel,
        };
        let (fresh, sea) = (Water::fresh(12.0), Water::sea(18.0));
        for (from, to) in [(&fresh, &sea), (&sea, &fresh)] {
            for material in Material::NAMED {
                let before = body(9.0, 12.5, &[hooks]);
                let outside = before.ballast_change_g(from, to, material, Place::Outside);
                let after = body(
                    9.0,
                    12.5,
                    &[
                        hooks,
                        Hung {
                            mass_g: outside,
                            material,
                        },
                    ],
                );
                assert_abs_diff_eq!(
                    after.above_water(to),
                    before.above_water(from),
                    epsilon = 1e-12
                );
                let within = before.ballast_change_g(from, to, material, Place::Within);
                let after = body(9.0 + within, 12.5, &[hooks]);
                assert_abs_diff_eq!(
                    after.above_water(to),
                    before.above_water(from),
                    epsilon = 1e-12
                );
                assert!(outside.abs() > within.abs());
                assert_eq!(outside > 0.0, to.salinity > from.salinity);
            }
        }
    }

    /// A suspender keeps hanging: no spare push before, none after.
    #[test]
    fn a_suspender_keeps_suspending() {
        let (fresh, sea) = (Water::fresh(20.0), Water::sea(20.0));
        let mass_g = fresh.density_kg_m3() / 1000.0 * 14.0;
        let lure = body(mass_g, 14.0, &[]);
        let more = lure.ballast_change_g(&fresh, &sea, Material::Tungsten, Place::Within);
        let spare = body(mass_g + more, 14.0, &[]).spare_buoyancy_g(&sea);
        assert_abs_diff_eq!(spare, 0.0, epsilon = 1e-12);
    }

    /// 1.5 g of steel hooks weigh 1.309 g under fresh water; 1.435 g of lead pull as much (by hand).
    #[test]
    fn stand_ins_pull_as_the_hooks_do() {
        let water = Water::fresh(20.0);
        let hooks = Hung {
            mass_g: 1.5,
            material: Material::Steel,
        };
        assert_abs_diff_eq!(
            hooks.material.weight_under_water_g(1.5, &water),
            1.3093,
            epsilon = 1e-4
        );
        assert_abs_diff_eq!(
            stand_in_g(hooks, Material::Lead, &water),
            1.4356,
            epsilon = 1e-4
        );
        assert_eq!(stand_in_g(hooks, Material::Steel, &water), 1.5);
    }
}
