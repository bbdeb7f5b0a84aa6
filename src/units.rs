//! Units: how they are shown, and the user's choice between millimetres and inches.

use serde::{Deserialize, Serialize};

/// Millimetres in an inch (exact).
pub const MM_PER_INCH: f64 = 25.4;

/// In which unit lengths are shown. Files always hold millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum LengthUnit {
    /// Millimetres and metres.
    #[default]
    Millimetres,
    /// Inches and feet.
    Inches,
}

/// An angle wrapped into (−180, 180] degrees.
pub fn wrap_deg(angle: f64) -> f64 {
    let a = angle.rem_euclid(360.0);
    if a > 180.0 { a - 360.0 } else { a }
}
