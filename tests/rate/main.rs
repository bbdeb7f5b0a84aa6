//! Rate and width of the wobble: against outside values, and made-up series of known truth.

mod accuracy;
mod clips;
mod coverage;
mod speed;
#[path = "../support/mod.rs"]
mod support;
mod wobble;
