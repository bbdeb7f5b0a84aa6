//! From the track to the figures a maker reads: rate, width, drift, darts, blow-out, pivot, speed.

mod swim;

pub use swim::{BlowOut, Drift, Hunt, Hunts, Roll, SecondRate, Swim, Wobble};
