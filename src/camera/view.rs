//! From where the lure is filmed, and what that does to left and right.

use serde::{Deserialize, Serialize};

/// From where the lure is filmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum View {
    /// Looking down on it.
    Above,
    /// Following it.
    Behind,
    /// It comes toward the camera, e.g. from the dock.
    Ahead,
    /// From the side.
    Side,
}

impl View {
    /// "above", "behind", "ahead" or "side".
    pub fn word(self) -> &'static str {
        match self {
            View::Above => "above",
            View::Behind => "behind",
            View::Ahead => "ahead",
            View::Side => "side",
        }
    }
}
