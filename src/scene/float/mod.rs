//! Rendered float tests with exact truth: a lure in a tank, seen through the glass from the side or from
//! an end, half above and half under the water.
//!
//! Shares no code with `tracking`, `motion` and `camera`.
//!
//! # How a picture is made
//! The picture's plane is the lure's: mm, to the right along the level and up from the water. A camera
//! stands before the glass at a height over the water; by plain similar triangles and Snell's law for small
//! angles, what lies under water is seen enlarged about the camera's axis, and between the edge of the
//! water at the glass and the water at the lure lies a strip in which the surface shows and mirrors.

mod body;
mod camera;
mod paint;
mod plan;
mod truth;
mod write;

pub use plan::{FloatPlan, Push};
pub use truth::{FloatFrameTruth, FloatTruth, frame_times};
pub use write::{write_float_clip, write_float_photo};
