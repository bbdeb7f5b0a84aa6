//! The plan: what it promises, against outside values, simulated shoots and measured clips.

#[cfg(feature = "video")]
mod clips;
mod shoots;
#[path = "../support/mod.rs"]
mod support;
