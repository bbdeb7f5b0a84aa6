//! Where the camera stands: views with their signs, and what the user told about the set-up.

mod float_view;
mod plane;
mod pull_frame;
mod setup;
mod side;
mod view;

pub use float_view::{BodyEnd, FloatView, nose_down_deg, right_down_deg};
pub use plane::{WaterPlane, focal_px};
pub use pull_frame::PullFrame;
pub use setup::Setup;
pub use side::Side;
pub use view::View;
