//! What a maker gets to see: text, JSON, chart sheet, overlay, verdict.

mod chart;
#[cfg(feature = "video")]
mod overlay;
mod sample;
mod swim;
#[path = "../path/truth.rs"]
#[allow(dead_code)]
mod truth;
mod verdict;
