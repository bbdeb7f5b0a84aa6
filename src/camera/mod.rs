//! Where the camera stands: views with their signs, and what the user told about the set-up.

#[cfg(feature = "video")]
pub mod calibrate;
mod float_view;
mod lens;
mod lens_file;
mod look_through;
mod plane;
mod pull_frame;
mod scale;
mod setup;
mod side;
mod undistort;
mod view;
mod yardstick;

#[cfg(feature = "video")]
pub use calibrate::board_in_clip;
pub use float_view::{BodyEnd, FloatView, nose_down_deg, right_down_deg};
pub use lens::{FittedLens, Lens, LensFigures, Showing};
pub use lens_file::{lens_text, read_lens};
pub use look_through::LookThrough;
pub use plane::{WaterPlane, focal_px};
pub use pull_frame::PullFrame;
pub use scale::{Contradiction, DISTANCE_DOUBT, GIVEN_DISTANCE_DOUBT, Scale, ScaleSource};
pub use setup::{Marks, Setup, SurfaceMark};
pub use side::Side;
pub use undistort::Straightener;
pub use view::View;
pub use yardstick::{Board, BoardSeen, CLICK_PX, PxScale, Ruler, Yardstick, check_point};
