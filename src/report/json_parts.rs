//! What the JSON writers share: figures, rates second by second, the text itself.

use serde::Serialize;

use super::numbers::{stored, stored_pair};
use crate::Measured;
use crate::motion::SecondRate;

/// An object as pretty JSON text ending in a line feed.
pub fn pretty(object: &impl Serialize) -> String {
    // Plain structs of numbers and text cannot fail to serialise; an empty object would show it.
    let mut text = serde_json::to_string_pretty(object).unwrap_or_else(|_| "{}".into());
    text.push('\n');
    text
}

/// The value of a figure that was measured; a candidate of an aliased one is no value.
pub fn value(m: &Measured) -> Option<f64> {
    stored(m.value.filter(|_| m.is_measured()))
}

/// Its 95 % interval.
pub fn interval(m: &Measured) -> Option<[f64; 2]> {
    stored_pair(m.ci95.filter(|_| m.is_measured()))
}

/// Several numbers.
pub fn all_stored(numbers: &[f64]) -> Vec<Option<f64>> {
    numbers.iter().map(|x| stored(Some(*x))).collect()
}

/// The rate about a moment.
#[derive(Serialize)]
pub struct SecondObject {
    t_s: Option<f64>,
    hz: Option<f64>,
}

impl SecondObject {
    /// Of a whole clip or recording.
    pub fn all(rates: &[SecondRate]) -> Vec<SecondObject> {
        let one = |rate: &SecondRate| SecondObject {
            t_s: stored(Some(rate.t_s)),
            hz: stored(Some(rate.hz)),
        };
        rates.iter().map(one).collect()
    }
}
