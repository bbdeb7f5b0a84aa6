//! The wobble with its phase at every sample.

use super::{Roll, Wobble};

/// The wobble, the roll, and the phase that path measures need.
#[derive(Debug, Clone, PartialEq)]
pub struct WobbleFit {
    /// The wobble.
    pub wobble: Wobble,
    /// The roll.
    pub roll: Roll,
    /// Phase in cycles at each sample of the series; empty when there is no wobble.
    pub cycles: Vec<f64>,
    /// Rate there, Hz.
    pub hz: Vec<f64>,
}
