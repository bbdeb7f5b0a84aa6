//! Reading clips, held against what the `ffmpeg` and `ffprobe` programs say of clips made on the
//! spot, and against the exact stamps of the shared clips.
#![cfg(feature = "video")]

mod fixtures;

mod backwards;
mod damage;
mod formats;
mod memory;
mod refusals;
mod slow_motion;
mod stamps;
mod upright;
