//! From the track to the figures a maker reads: rate, width, drift, darts, blow-out, pivot, speed; and from a rod-tip recording to its thump.

mod analyse;
mod blow_out;
mod bottom;
mod cautions;
mod depth;
mod doubt;
mod drift;
pub mod float;
mod ground;
mod hand;
pub mod hunts;
mod own_way;
mod picture_darts;
mod pivot;
mod pull;
pub mod rate;
mod scaled;
mod series;
mod sightings;
mod smooth;
mod speed;
mod stance;
mod swim;
mod thickness;
pub mod thump;
mod trend;
mod view_doubt;
mod width;
mod widths;
pub mod wobble;

use crate::robust;

pub use analyse::{Swum, analyse};
pub use depth::Depth;
pub use pull::{Pull, PullSource};
pub use scaled::{scale, without_surface};
pub use series::Series;
pub use swim::{BlowOut, Drift, Hunt, Hunts, Roll, SecondRate, Swim, Wobble};
