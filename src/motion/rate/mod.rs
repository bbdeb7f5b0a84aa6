//! Finds the rate of a wobble in any set of quantities over time: axis, sway, length and flash from a
//! clip, or the acceleration of a rod tip.
//!
//! [`find`] runs through these stages, one file each:
//! `channel` and `trend` take out the slow way and wild values → `spectrum` (over `periodogram` and
//! `nufft`) looks for lines above the noise around them → `harmonics` tells the rate from twice the
//! rate → `sine` refines the rate, `ridge` and `wander` follow the phase → `noise` takes the noise from what is left, `trust` the stretches where it
//! is far louder than usual.

pub mod alias;
mod channel;
pub mod false_alarm;
mod fit;
mod gaps;
mod harmonics;
mod noise;
mod nufft;
pub mod periodogram;
mod persistence;
mod phase;
mod ridge;
pub mod sine;
mod spectrum;
mod swing;
mod tone;
mod trend;
mod trust;
mod wander;

pub use channel::{Channel, Parity};
pub use fit::{Amplitude, RateFit, RateOptions, find, nyquist_hz};
pub use phase::Phase;
pub use swing::{Swing, wave_at};
