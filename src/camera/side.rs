//! Left and right, in the lure's own frame and in the angler's.

use serde::{Deserialize, Serialize};

/// A side in the lure's own frame (seen from behind it, toward its nose).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// Port.
    Left,
    /// Starboard.
    Right,
}

impl Side {
    /// The side of a signed figure in the own frame (+ to own right); `None` for zero and NaN.
    pub fn of(signed: f64) -> Option<Side> {
        if signed > 0.0 {
            Some(Side::Right)
        } else if signed < 0.0 {
            Some(Side::Left)
        } else {
            None
        }
    }

    /// The other side. The angler sees the lure come toward him, so this is also the angler's word for it.
    pub fn opposite(self) -> Side {
        match self {
            Side::Left => Side::Right,
            Side::Right => Side::Left,
        }
    }

    /// The same side as the angler sees it while the lure comes toward him.
    pub fn to_angler(self) -> Side {
        self.opposite()
    }

    /// "left" or "right".
    pub fn word(self) -> &'static str {
        match self {
            Side::Left => "left",
            Side::Right => "right",
        }
    }

    /// Both frames in one phrase: "its own right (your left as it comes to you)".
    pub fn both_frames(self) -> String {
        format!(
            "its own {} (your {} as it comes to you)",
            self.word(),
            self.to_angler().word()
        )
    }
}
