//! The track against the truth, frame by frame.

use serde_json::Value;
use truerun::tracking::{Track, TrackFrame};
use truerun::units::wrap_deg;

use super::truth::{Truth, point};

/// How well the lure was followed.
pub struct Frames {
    /// Fraction of the frames with the lure in sight in which it was followed.
    pub seen: f64,
    /// Frames in which something was followed though the lure was out of sight or absent.
    pub wrongly: usize,
    /// Root of the mean square error of the axis, degrees.
    pub axis_rms_deg: f64,
    /// The same of the body's middle, in parts of the apparent length.
    pub centre_rms: f64,
}

/// Compares every frame.
pub fn frames(truth: &Truth, track: &Track) -> Frames {
    let pairs = || truth.frames().iter().zip(&track.frames);
    let in_sight = |t: &Value| t["visible"] == true && t["occluded"] == false;
    let visible = pairs().filter(|(t, _)| in_sight(t)).count();
    let errors: Vec<[f64; 2]> = pairs()
        .filter(|(t, f)| in_sight(t) && f.is_seen())
        .filter_map(|(t, f)| error(t, f))
        .collect();
    let rms = |k: usize| {
        let squares: f64 = errors.iter().map(|e| e[k] * e[k]).sum();
        // Adding zero turns the -0.0 of an empty sum into 0.0.
        (squares / errors.len().max(1) as f64).sqrt() + 0.0
    };
    Frames {
        seen: errors.len() as f64 / visible.max(1) as f64,
        wrongly: pairs().filter(|(t, f)| f.is_seen() && !in_sight(t)).count(),
        axis_rms_deg: rms(0),
        centre_rms: rms(1),
    }
}

/// Error of the axis, degrees, and of the middle, in parts of the apparent length.
fn error(truth: &Value, frame: &TrackFrame) -> Option<[f64; 2]> {
    let (nose, tail) = (point(&truth["nose"])?, point(&truth["tail"])?);
    let length = (nose[0] - tail[0]).hypot(nose[1] - tail[1]);
    let (x, y) = (truth["cx"].as_f64()?, truth["cy"].as_f64()?);
    let axis = wrap_deg(frame.axis_deg - truth["axis_img_deg"].as_f64()?);
    Some([axis, (frame.x_px - x).hypot(frame.y_px - y) / length])
}
