//! Clips: frames with their own time stamps, in the displayed orientation.
//!
//! A clip is read with one frame in memory, from its first on; back from one of them a few at a
//! time. Decoding goes straight to FFmpeg's own libraries: the decoder hands out brightness and colour as separate planes, so nothing is
//! converted that nobody looks at, and every frame comes with the stamp that the file gives it.
//!
//! | part | job |
//! |---|---|
//! | `clip` | opens a file, decodes it frame by frame |
//! | `backwards` | the same, the latest frame first |
//! | `decoder` | the thin layer over FFmpeg: packets in, pictures out |
//! | `printer` | turns pictures into frames: upright, square pixels, 8-bit planes |
//! | `transpose` | a quarter turn in one pass |
//! | `frame` | what the rest of the program sees |
//! | `photo` | a photo as a frame |
//! | `cut_short` | whether a photo's file ends before its picture does |
//! | `orientation` | the container's display matrix as one of eight ways to lay a picture |
//! | `clock` | stamps that rise: mends missing ones, tells a variable from a constant rate |
//! | `summary` | what is reported of the clip |
//! | `checksum` | ties a result to the file that it was measured from |
//! | `refusal` | bad input told in one line |
//!
//! Recordings of the rod tip come in by a way of their own, thinned as they are read:
//!
//! | part | job |
//! |---|---|
//! | `recording` | what the rest of the program sees of a log or a sound |
//! | `log` | a logger's text file: header by meaning, stamps of any kind, units |
//! | `sound`, `sound_track` | WAV files, and the sound of a phone clip |
//! | `edit_list` | when the sound of a clip begins on the clip's clock |
//! | `decimate` | low-pass and thinning in one step, sample by sample |
//!
//! `backwards`, `clip`, `cut_short`, `decoder`, `photo`, `printer`, `transpose`, `frame` and `refusal` are there with the feature `video` only.

mod checksum;
mod clock;
mod decimate;
mod edit_list;
mod log;
mod orientation;
mod recording;
mod sound;
mod sound_track;
mod summary;

#[cfg(feature = "video")]
mod backwards;
#[cfg(feature = "video")]
mod clip;
#[cfg(feature = "video")]
mod cut_short;
#[cfg(feature = "video")]
mod decoder;
#[cfg(feature = "video")]
mod frame;
#[cfg(feature = "video")]
mod photo;
#[cfg(feature = "video")]
mod printer;
#[cfg(feature = "video")]
mod refusal;
#[cfg(feature = "video")]
mod transpose;

pub use checksum::sha256_of;
pub use clock::{Clock, Rhythm};
pub use log::{AccelerationUnit, LogOptions, read_log};
pub use orientation::Orientation;
pub use recording::{Carrier, Recording, STANDARD_GRAVITY, Source, Strip, Unit, read_recording};
pub use sound::read_wav;
pub use sound_track::read_sound_track;
pub use summary::ClipSummary;

#[cfg(feature = "video")]
pub use backwards::Backwards;
#[cfg(feature = "video")]
pub use clip::{Clip, ClipInfo, ClipOptions};
#[cfg(feature = "video")]
pub use frame::{Frame, Plane};
#[cfg(feature = "video")]
pub use photo::{is_photo, photo_summary, read_photo, read_stored_grey};
