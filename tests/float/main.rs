//! The float test against rendered tanks with exact truth. The pictures are drawn on the spot, which needs the
//! `ffmpeg` program.
#![cfg(feature = "video")]

mod clips;
mod command;
mod drawn;
mod photos;
