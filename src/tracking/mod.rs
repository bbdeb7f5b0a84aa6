//! The lure's outline in every frame: steadied background, position, axis, apparent size.

mod track;

pub use track::{Affine, State, Track, TrackFrame};
