//! From a spot of the picture to where the look through it ends.

use super::plan::FloatPlan;

/// Refractive index of the water that is drawn (fresh, about 20 °C).
const WATER_INDEX: f64 = 1.333;

/// Where a look ends, in the lure's plane: mm to the right along the level, mm up from the water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Look {
    /// In the air.
    Air([f64; 2]),
    /// Under water.
    Water([f64; 2]),
    /// On the surface between glass and lure: the spot that it mirrors, and how far the look falls from
    /// the water's edge at the glass, mm.
    Surface([f64; 2]),
    /// On the edge of the water at the glass.
    Edge,
}

/// The camera at one moment.
pub struct Camera<'a> {
    plan: &'a FloatPlan,
    shake: [f64; 2],
    sin: f64,
    cos: f64,
    /// How much larger things under water look.
    enlarged: f64,
    /// Height at which the water's edge at the glass is seen in the lure's plane, mm.
    edge_mm: f64,
}

impl<'a> Camera<'a> {
    /// With the hand's shake: right, down px and a turn in degrees.
    pub fn new(plan: &'a FloatPlan, shake: [f64; 3]) -> Camera<'a> {
        let (sin, cos) = (plan.turn_deg + shake[2]).to_radians().sin_cos();
        let [glass, behind] = plan.distance_mm;
        Camera {
            plan,
            shake: [shake[0], shake[1]],
            sin,
            cos,
            enlarged: (glass + behind) / (glass + behind / WATER_INDEX),
            edge_mm: -plan.camera_above_mm * behind / glass,
        }
    }

    /// Mm to the right of the camera's axis along the level and up from the water, as if in air.
    fn in_plane(&self, x: f64, y: f64) -> [f64; 2] {
        let plan = self.plan;
        let dx = (x - plan.width as f64 / 2.0 - self.shake[0]) / plan.px_per_mm;
        let dy = (y - plan.height as f64 / 2.0 - self.shake[1]) / plan.px_per_mm;
        let right = dx * self.cos + dy * self.sin;
        let down = -dx * self.sin + dy * self.cos;
        [right, plan.camera_above_mm - down]
    }

    /// Where the look through picture point `(x, y)` px ends; `ripple` gives the water's height at a place.
    pub fn look(&self, x: f64, y: f64, ripple: impl Fn(f64) -> f64) -> Look {
        const EDGE_MM: f64 = 0.35;
        let [right, up] = self.in_plane(x, y);
        if !self.plan.water {
            return Look::Air([right, up]);
        }
        let lift = ripple(right);
        let (edge, water) = (self.edge_mm + lift, lift);
        if (up - edge).abs() < EDGE_MM {
            return Look::Edge;
        }
        let strip = [edge.min(water), edge.max(water)];
        if up > strip[0] && up < strip[1] {
            return Look::Surface([right, 2.0 * water - up]);
        }
        if up > strip[1] {
            return Look::Air([right, up]);
        }
        let axis = self.plan.camera_above_mm;
        Look::Water([right / self.enlarged, axis + (up - axis) / self.enlarged])
    }
}
