//! The lure's outline in every frame: steadied background, position, axis, apparent size.
//!
//! The pixels are worked on in these steps; only [`Track`] leaves the module.
//!
//! | file | step |
//! |---|---|
//! | `clear`, `light` | a dull or grainy picture made clear, and how much brighter it is than the first |
//! | `reduce`, `agree`, `steady` | how the background moves through the picture |
//! | `blobs`, `moving`, `staying` | spots that stand out, move over the background, or stay in the picture |
//! | `cut`, `start` | the outline cut out of a box |
//! | `averaged`, `trial`, `whole`, `find` | where the lure is at the beginning, from the user's box or unaided |
//! | `window`, `colours` | the picture round the lure, and how much each sample speaks for it |
//! | `pose`, `shape`, `lay`, `evidence`, `fit`, `search` | its silhouette slid over the picture |
//! | `follow`, `size` | frame to frame: predict, look, fit, learn, or say that it is out of sight |
//! | `backdrop`, `astray` | what lies behind the lure, foretold; the follower called back from the bottom |
//! | `regain` | where it may be after an absence, and how long that is doubted |
//! | `line`, `line_watch`, `tether` | the line off its nose, and the lure held by it |
//! | `following`, `pass` | a follower with its background, through the clip; looked for anew where it is lost for long, and followed back from each start |
//! | `brief`, `nose`, `ends`, `doubts`, `assemble` | sightings of a moment taken back; nose, tail and line put into the track |
//! | `straighten` | a calibrated lens taken out of the track's points |

pub mod float;
mod start_box;
mod straighten;
mod track;

#[cfg(feature = "video")]
mod agree;
#[cfg(feature = "video")]
mod assemble;
#[cfg(feature = "video")]
mod astray;
#[cfg(feature = "video")]
mod averaged;
#[cfg(feature = "video")]
mod backdrop;
#[cfg(feature = "video")]
mod blobs;
#[cfg(feature = "video")]
mod brief;
#[cfg(feature = "video")]
mod clear;
#[cfg(feature = "video")]
mod colours;
#[cfg(feature = "video")]
mod cut;
#[cfg(feature = "video")]
mod doubts;
#[cfg(feature = "video")]
mod ends;
#[cfg(feature = "video")]
mod evidence;
#[cfg(feature = "video")]
mod find;
#[cfg(feature = "video")]
mod fit;
#[cfg(feature = "video")]
mod follow;
#[cfg(feature = "video")]
mod following;
#[cfg(feature = "video")]
mod lay;
#[cfg(feature = "video")]
mod light;
#[cfg(feature = "video")]
mod line;
#[cfg(feature = "video")]
mod line_watch;
#[cfg(feature = "video")]
mod moving;
#[cfg(feature = "video")]
mod nose;
#[cfg(feature = "video")]
mod pass;
#[cfg(feature = "video")]
mod pose;
#[cfg(feature = "video")]
mod reduce;
#[cfg(feature = "video")]
mod regain;
#[cfg(feature = "video")]
mod search;
#[cfg(feature = "video")]
mod shape;
#[cfg(feature = "video")]
mod size;
#[cfg(feature = "video")]
mod small;
#[cfg(feature = "video")]
mod standing;
#[cfg(feature = "video")]
mod start;
#[cfg(feature = "video")]
mod staying;
#[cfg(feature = "video")]
mod steady;
#[cfg(feature = "video")]
mod tether;
#[cfg(feature = "video")]
mod trial;
#[cfg(feature = "video")]
mod whole;
#[cfg(feature = "video")]
mod window;

#[cfg(feature = "video")]
pub use find::{in_box, lure as find};
#[cfg(feature = "video")]
pub use pass::follow;
pub use start_box::StartBox;
pub use straighten::{reach, straighten};
pub use track::{Affine, Doubts, State, Track, TrackFrame};
