//! From a floating lure's outline to the figures of a float test: angle and list at rest, waterline, part
//! above water, rocking after a push, rise or sink.

mod afloat;
mod analyse;
mod cautions;
mod decay;
mod height;
mod product;
mod rest;
mod rise;
mod way;

pub use analyse::analyse;
pub use decay::{Decay, decay};
pub use product::{Float, FloatSetup, FloatTrace, LevelFrom, Marks, Rocking, Station};
pub use rise::{Rise, rise};
