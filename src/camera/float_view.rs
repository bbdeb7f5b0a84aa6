//! From where a floating lure is looked at, and what a turn in the picture then means.

use serde::{Deserialize, Serialize};

use super::Side;

/// An end of the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum BodyEnd {
    /// Where the line is tied.
    Nose,
    /// The other one.
    Tail,
}

impl BodyEnd {
    /// "nose" or "tail".
    pub fn word(self) -> &'static str {
        match self {
            BodyEnd::Nose => "nose",
            BodyEnd::Tail => "tail",
        }
    }
}

/// From where a floating lure is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FloatView {
    /// From the side; `nose` is the side of the *picture* on which the nose lies, where that is known.
    Side {
        /// Side of the picture.
        nose: Option<Side>,
    },
    /// From an end: the one nearer to the camera.
    End {
        /// The end that the camera looks at.
        from: BodyEnd,
    },
}

impl FloatView {
    /// "side" or "end".
    pub fn word(self) -> &'static str {
        match self {
            FloatView::Side { .. } => "side",
            FloatView::End { .. } => "end",
        }
    }
}

/// Pitch (+ nose down) of a lure seen from the side that is turned `clockwise_deg` in the picture, its nose on
/// the picture's side `nose`: with the nose on the right, clockwise puts it down.
pub fn nose_down_deg(clockwise_deg: f64, nose: Side) -> f64 {
    match nose {
        Side::Right => clockwise_deg,
        Side::Left => -clockwise_deg,
    }
}

/// List (+ own right side down) of a lure seen from an end whose back leans `clockwise_deg` in the picture.
/// Seen from the tail its own right is on the picture's right, so clockwise puts that down; seen from the
/// nose it is on the left.
pub fn right_down_deg(clockwise_deg: f64, from: BodyEnd) -> f64 {
    match from {
        BodyEnd::Tail => clockwise_deg,
        BodyEnd::Nose => -clockwise_deg,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A bare pin-hole camera: the lure's own axes as vectors (x to the nose, y own right, z down), turned, and
    /// looked at along an axis of its own.
    #[test]
    fn signs_hold_against_turned_vectors() {
        let lean = 10f64.to_radians();
        // own right side down: the back (0, 0, −1) goes toward own right (+y)
        let back = [lean.sin(), -lean.cos()]; // y, z
        // from the tail the picture's right is own right, from the nose own left
        let from_tail = back[0].atan2(-back[1]).to_degrees();
        let from_nose = (-back[0]).atan2(-back[1]).to_degrees();
        assert!((right_down_deg(from_tail, BodyEnd::Tail) - 10.0).abs() < 1e-9);
        assert!((right_down_deg(from_nose, BodyEnd::Nose) - 10.0).abs() < 1e-9);
        // nose down: the nose (1, 0) goes toward (cos, +sin) in x forward, z down
        let nose = [lean.cos(), lean.sin()];
        // camera on own left: the nose is on the left of the picture, y of the picture is down
        let on_right = nose[1].atan2(nose[0]).to_degrees();
        let right_end_of_left_nosed = (-nose[1]).atan2(nose[0]).to_degrees();
        assert!((nose_down_deg(on_right, Side::Right) - 10.0).abs() < 1e-9);
        assert!((nose_down_deg(right_end_of_left_nosed, Side::Left) - 10.0).abs() < 1e-9);
    }
}
