//! From the track to the figures a maker reads: rate, width, drift, darts, blow-out, pivot, speed.

pub mod rate;
mod series;
mod swim;
mod width;
pub mod wobble;

pub use series::Series;
pub use swim::{BlowOut, Drift, Hunt, Hunts, Roll, SecondRate, Swim, Wobble};
