//! Our own small renderer: clips of a lure in water with exact truth, for the demo and the tests.
//!
//! It stands apart: it shares no code with `tracking`, `motion` or `camera`, so that a wrong sign or
//! projection there cannot be cancelled by the same one here.
//!
//! ```no_run
//! use truerun::scene::{SceneDescription, Stage};
//! let scene = SceneDescription::from_toml("seed = 3\n[swim]\ndrift_deg = 3.0")?;
//! let stage = Stage::new(&scene)?;
//! for frame in stage.frames() {
//!     println!("{} s: {} bytes", frame.truth.t, frame.rgb.len());
//! }
//! # Ok::<(), truerun::Error>(())
//! ```
//!
//! # How a picture is made
//! The lure is a spindle of triangles with a lip and two treble hooks, moved as a rigid body about its
//! pivot. Triangles are drawn several samples to the pixel and several moments to the exposure. A camera
//! over the water sees each point through the rippled surface by Snell's law; water takes light by the
//! Beer–Lambert law; the net of light on the bottom is counted from rays bent by waves.
//!
//! World axes: x along the pull, y to the lure's own right, z down from the surface, mm.

mod backdrop;
mod bottom;
mod cameraman;
mod chance;
mod check;
mod colour;
mod defaults;
mod description;
mod encode;
mod extras;
mod eye;
pub mod float;
mod lightnet;
mod matroska;
mod mesh;
mod moves;
mod paint;
mod players;
mod raster;
mod rotate;
mod stage;
mod stamps;
mod surface;
mod tally;
mod tile;
mod truth;
mod vector;
mod witness;

pub use description::{
    BlowOut, CameraPlan, ClipPlan, Codec, Dart, ExposureStep, ExtrasPlan, FilePlan, Fish, Follow,
    Leaf, LurePlan, Pattern, Quality, SceneDescription, SwimPlan, Viewpoint, WaterPlan,
};
pub use encode::{write_clip, write_truth};
pub use eye::Eye;
pub use moves::{Moves, Pose};
pub use stage::{Frame, Stage};
pub use truth::{
    BlowOutTruth, CameraTruth, ClipTruth, FrameTruth, HuntTruth, LureTruth, SwimTruth,
};
pub use vector::{Turn, Vec3};
