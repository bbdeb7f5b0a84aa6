//! Measures how a diving lure swims, from a phone clip or a rod-tip recording.
//!
//! # Map
//! Data flows one way; a module may use what stands before it in this list, never what follows.
//!
//! | module | product |
//! |---|---|
//! | [`units`], [`measured`], [`warning`], [`error`] | the small shared vocabulary |
//! | `robust` | medians and lines that a few bad frames cannot upset |
//! | [`water`] | density and index of water; what floats in it and how it looks |
//! | [`media`] | frames with their own time stamps, in the displayed orientation |
//! | [`camera`] | views and their signs, scale, tilt |
//! | [`tracking`] | the lure's outline per frame → [`tracking::Track`] |
//! | [`motion`] | rate, width, drift, darts … → [`motion::Swim`] |
//! | [`tuning`] | target, verdict, bend advice |
//! | [`plan`] | where to stand, frame rate, shutter, how long to film → [`plan::Plan`] |
//! | [`record`] | the maker's memory: lures, builds, tests, bends |
//! | [`report`] | terminal text, JSON, charts, overlay |
//!
//! `scene` renders clips with exact truth for the demo and the tests, and shares no code with the rest.
//!
//! # Conventions
//! * **The lure's own frame**: look from behind the lure toward its nose. Own right is to starboard.
//!   +yaw nose to own right, +roll own right side down, +pitch nose down, +drift to own right.
//! * **The angler's frame**: the lure comes toward the angler nose first, so its own right is on the
//!   angler's left. A message about a side gives both.
//! * **Image angles**: clockwise from image-up (0 up, 90 right) in the displayed orientation.
//!   x right, y down, the centre of the top-left pixel at (0.5, 0.5).
//! * **Intervals** are 95 %.
#![deny(missing_docs)]

pub mod camera;
pub mod error;
pub mod float_test;
pub mod measured;
pub mod media;
pub mod motion;
pub mod plan;
pub mod record;
pub mod report;
mod robust;
pub mod scene;
pub mod swim_test;
pub mod tracking;
pub mod tuning;
pub mod units;
pub mod warning;
pub mod water;

pub use error::{Error, Result};
pub use measured::{Measured, Status};
pub use warning::Warning;
