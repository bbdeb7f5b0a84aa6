//! The lure's outline in every frame: steadied background, position, axis, apparent size.

mod track;

#[cfg(feature = "video")]
pub mod colours;
#[cfg(feature = "video")]
pub mod fit;
#[cfg(feature = "video")]
pub mod follow;
#[cfg(feature = "video")]
pub mod line;
#[cfg(feature = "video")]
pub mod pose;
#[cfg(feature = "video")]
pub mod shape;
#[cfg(feature = "video")]
pub mod start;
#[cfg(feature = "video")]
pub mod steady;
#[cfg(feature = "video")]
pub mod window;

pub use track::{Affine, State, Track, TrackFrame};
