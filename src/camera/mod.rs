//! Where the camera stands: views with their signs, and what the user told about the set-up.

mod lens;
mod lens_file;
mod plane;
mod pull_frame;
mod scale;
mod setup;
mod side;
mod undistort;
mod view;
mod yardstick;

pub use lens::{FittedLens, Lens, LensFigures, Showing};
pub use lens_file::{lens_text, read_lens};
pub use plane::{WaterPlane, focal_px};
pub use pull_frame::PullFrame;
pub use scale::{Contradiction, DISTANCE_DOUBT, GIVEN_DISTANCE_DOUBT, Scale, ScaleSource};
pub use setup::Setup;
pub use side::Side;
pub use undistort::Straightener;
pub use view::View;
pub use yardstick::{Board, BoardSeen, CLICK_PX, PxScale, Ruler, Yardstick, check_point};
