//! The unit of a log's acceleration: as given, from its header, or from the size of gravity in it.

use super::AccelerationUnit;
use crate::media::recording::{STANDARD_GRAVITY, Unit};

/// The unit, the factor to it, and what it rests on, of values under a header `label` that are of `size` in
/// the mean.
pub fn settle(
    given: Option<AccelerationUnit>,
    label: &str,
    size: f64,
) -> (Unit, f64, &'static str) {
    let factor = |unit| match unit {
        AccelerationUnit::MetresPerSecond2 => 1.0,
        AccelerationUnit::G => STANDARD_GRAVITY,
        AccelerationUnit::MilliG => 1e-3 * STANDARD_GRAVITY,
    };
    let told = |unit, from| (Unit::MetresPerSecond2, factor(unit), from);
    match (given, by_header(label), by_gravity(size)) {
        (Some(unit), ..) => told(unit, "as given"),
        (None, Some(unit), _) => told(unit, "from the header"),
        (None, None, Some(unit)) => told(unit, "from the size of gravity in it"),
        (None, None, None) => (
            Unit::Unknown,
            1.0,
            "nothing tells the unit; give --unit g or --unit m/s2",
        ),
    }
}

/// The unit that a header names.
fn by_header(label: &str) -> Option<AccelerationUnit> {
    let metric = [
        "m/s", "m s-2", "ms^-2", "ms-2", "mps2", "m_s2", "m·s", "m/sec",
    ];
    let words: Vec<&str> = label.split(|c: char| !c.is_alphanumeric()).collect();
    if metric.iter().any(|m| label.contains(m)) || words.contains(&"ms2") {
        Some(AccelerationUnit::MetresPerSecond2)
    } else if words.contains(&"mg") {
        Some(AccelerationUnit::MilliG)
    } else if words.contains(&"g") || words.contains(&"gs") {
        Some(AccelerationUnit::G)
    } else {
        None
    }
}

/// The unit in which a mean acceleration of `size` is gravity.
fn by_gravity(size: f64) -> Option<AccelerationUnit> {
    match size {
        s if (0.7..1.6).contains(&s) => Some(AccelerationUnit::G),
        s if (7.0..15.0).contains(&s) => Some(AccelerationUnit::MetresPerSecond2),
        s if (700.0..1600.0).contains(&s) => Some(AccelerationUnit::MilliG),
        _ => None,
    }
}
