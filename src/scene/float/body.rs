//! The lure's outline in its own plane, and what colour each spot of it has.

use super::plan::FloatPlan;

/// What lies at a spot of the body's plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Part {
    /// The body, `v` from −1 (back) to 1 (belly).
    Body {
        /// From back to belly.
        v: f64,
    },
    /// The clear lip.
    Lip,
    /// Wire of hooks and tie.
    Wire,
}

/// Shape of the half-height along the body, 0 at nose and tail and 1 where it is highest; `s` from the
/// nose, 0 to 1.
pub fn girth(s: f64) -> f64 {
    const BLUNT: f64 = 0.55;
    const TAPER: f64 = 0.85;
    let top = BLUNT / (BLUNT + TAPER);
    let at = |s: f64| s.powf(BLUNT) * (1.0 - s).powf(TAPER);
    if (0.0..=1.0).contains(&s) {
        at(s) / at(top)
    } else {
        0.0
    }
}

/// Half-heights of back and belly along the body, mm.
pub fn half_heights(plan: &FloatPlan, s: f64) -> [f64; 2] {
    let half = 0.5 * plan.height_mm * girth(s);
    [half * (1.0 - plan.belly), half * (1.0 + plan.belly)]
}

/// The body seen from the side: `forward` mm toward the nose from the middle, `down` mm toward the belly.
pub fn side(plan: &FloatPlan, forward: f64, down: f64) -> Option<Part> {
    let s = 0.5 - forward / plan.length_mm;
    let [back, belly] = half_heights(plan, s);
    if (0.0..=1.0).contains(&s) && down >= -back && down <= belly {
        let v = if down < 0.0 {
            down / back.max(1e-9)
        } else {
            down / belly.max(1e-9)
        };
        return Some(Part::Body { v });
    }
    let h = plan.height_mm;
    if plan.lip {
        // a thin plate from under the nose, 50° down and forward
        let (x, y) = (forward - 0.42 * plan.length_mm, down - 0.22 * h);
        let (along, across) = (0.64 * x + 0.77 * y, -0.77 * x + 0.64 * y);
        if (0.0..0.17 * plan.length_mm).contains(&along) && across.abs() < 0.6 {
            return Some(Part::Lip);
        }
    }
    let ring = |cx: f64, cy: f64, r: f64| ((forward - cx).hypot(down - cy) - r).abs() < 0.35;
    if ring(0.5 * plan.length_mm + 1.2, 0.0, 1.3) {
        return Some(Part::Wire);
    }
    None
}

/// Hooks hang plumb: `right` mm in the picture from the hanger, `down` mm straight down.
pub fn hook(right: f64, down: f64) -> bool {
    let shank = (0.0..9.0).contains(&down) && right.abs() < 0.4;
    let bend = (down - 9.0).abs() < 3.0 && down > 9.0 - 0.5 && {
        let r = (right.abs() - 2.2).hypot(down - 9.0);
        (r - 2.2).abs() < 0.4
    };
    shank || bend
}

/// Where the hooks hang: mm toward the nose and toward the belly.
pub fn hangers(plan: &FloatPlan) -> [[f64; 2]; 2] {
    let belly = half_heights(plan, 0.42)[1];
    [[0.08 * plan.length_mm, belly], [-0.5 * plan.length_mm, 0.0]]
}

/// The body seen from an end: `across` mm to the right of the picture, `down` mm toward the belly.
pub fn end(plan: &FloatPlan, across: f64, down: f64) -> Option<Part> {
    let half = 0.5 * plan.height_mm;
    let (back, belly) = (half * (1.0 - plan.belly), half * (1.0 + plan.belly));
    let v = if down < 0.0 {
        down / back
    } else {
        down / belly
    };
    let u = across / (half * plan.flatness);
    if u * u + v * v <= 1.0 {
        return Some(Part::Body { v });
    }
    let lip = plan.lip
        && plan.from_nose
        && (0.3 * belly..0.3 * belly + 0.13 * plan.length_mm).contains(&down)
        && across.abs() < 1.1 * half * plan.flatness;
    lip.then_some(Part::Lip)
}
