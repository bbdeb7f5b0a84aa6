//! A floating lure and the water's surface, in a photo or frame by frame.
//!
//! | file | step |
//! |---|---|
//! | `samples` | the whole picture at a workable size, read between its samples |
//! | `surface` | the line in which water and air meet |
//! | `look` | what the line looks like, matched strip by strip |
//! | `find` | where the lure is: what differs from the air and the water beside it |
//! | `cut` | its silhouette, by the colours of lure and surround above and under water apart |
//! | `edges` | where its edge runs, to a part of a pixel |
//! | `side`, `end` | axis and ends from the side; the upright from an end |
//! | `tidy` | misread edges bridged, lost tips carried on |
//! | `robust` | least squares that outliers do not bend |
//! | `follow` | from frame to frame |

mod sighting;

#[cfg(feature = "video")]
mod cut;
#[cfg(feature = "video")]
mod edges;
#[cfg(feature = "video")]
mod end;
#[cfg(feature = "video")]
mod find;
#[cfg(feature = "video")]
mod follow;
#[cfg(feature = "video")]
mod look;
#[cfg(feature = "video")]
mod robust;
#[cfg(feature = "video")]
mod samples;
#[cfg(feature = "video")]
mod side;
#[cfg(feature = "video")]
mod surface;
#[cfg(feature = "video")]
mod tidy;

#[cfg(feature = "video")]
pub use follow::{Floating, clip, photo};
pub use sighting::{FloatFrame, FloatTrack, Missing, Outline, Slice, WaterLine};
