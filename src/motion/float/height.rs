//! How high a lure floats: water along the axis, and the parts above it, from one outline.

use crate::camera::Side;
use crate::tracking::float::{Outline, WaterLine};

/// Behind glass things under water look enlarged by 0 to 5 % (lure up to a quarter of the camera's distance
/// behind the glass, Snell's law for small angles): mean and standard deviation.
pub const ENLARGED: [f64; 2] = [0.025, 0.02];

/// Heights read from one picture, px.
#[derive(Debug, Clone, PartialEq)]
pub struct Heights {
    /// Water over the axis at [`STATIONS`], at right angles to it.
    pub water_over: Vec<f64>,
    /// Part of the outline's area above water, 0–1.
    pub part_above: f64,
    /// Part of the volume above water if all sections are ellipses of one shape, 0–1.
    pub volume_above: f64,
    /// Volume if those sections are circles, px³.
    pub round_volume: f64,
    /// Height of the back's highest spot over the water.
    pub freeboard: f64,
}

/// Places along the body, from the nose.
pub const STATIONS: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// Reads the heights. `nose` is the picture's side on which the nose lies.
pub fn heights(outline: &Outline, water: &WaterLine, nose: Side) -> Heights {
    let length = outline.length_px[0];
    let toward_nose = match nose {
        Side::Right => 1.0,
        Side::Left => -1.0,
    };
    let tilt = (outline.axis_deg - 90.0 - water.turn_deg).to_radians();
    let cos = tilt.cos();
    let under = |u: f64| water.under_px(outline.point(u, 0.0));
    let water_over = STATIONS
        .iter()
        .map(|s| under(toward_nose * (0.5 - s) * length) / cos)
        .collect();
    let (mut above, mut below, mut dry, mut all) = (0.0, 0.0, 0.0, 0.0);
    let mut freeboard = f64::NEG_INFINITY;
    let count = outline.slices.len().max(2);
    let step = length / count as f64;
    for slice in &outline.slices {
        let [top, bottom] = slice.edges_px;
        if bottom <= top {
            continue;
        }
        // the water's place in this slice, down positive like the edges
        let water_at = -under(slice.u_px) / cos;
        let high = (water_at - top).clamp(0.0, bottom - top);
        above += high;
        below += bottom - top - high;
        let half = 0.5 * (bottom - top);
        let z = (water_at - (top + bottom) / 2.0) / half;
        dry += half * half * segment_over(z.clamp(-1.0, 1.0));
        all += half * half;
        freeboard = f64::max(freeboard, -(under(slice.u_px) + top * cos));
    }
    // what is under water looks larger than it is
    let shrink = 1.0 / (1.0 + ENLARGED[0]).powi(2);
    let share = |over: f64, under: f64| over / (over + shrink * under).max(1e-12);
    Heights {
        water_over,
        part_above: share(above, below),
        volume_above: share(dry, all - dry),
        round_volume: std::f64::consts::PI * all * step,
        freeboard,
    }
}

/// Part of an ellipse that is above water; `z` is the
/// height of its middle over the water in half-heights: 1 wholly out, −1 wholly under.
fn segment_over(z: f64) -> f64 {
    let w = -z;
    (w.acos() - w * (1.0 - w * w).sqrt()) / std::f64::consts::PI
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_an_ellipse_is_half() {
        assert!((segment_over(0.0) - 0.5).abs() < 1e-12);
        assert!((segment_over(1.0) - 1.0).abs() < 1e-12);
        assert!(segment_over(-1.0).abs() < 1e-12);
        assert!(segment_over(0.5) > 0.5);
    }
}
