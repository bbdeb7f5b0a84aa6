//! Where the camera stands: views with their signs, and what the user told about the set-up.

mod setup;
mod side;
mod view;

pub use setup::Setup;
pub use side::Side;
pub use view::View;
