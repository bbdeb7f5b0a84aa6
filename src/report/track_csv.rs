//! The track as CSV: one row per frame, cells empty where the lure was not seen.

use serde::Serialize;

use crate::tracking::{State, Track, TrackFrame};

#[derive(Serialize)]
struct Row {
    frame: usize,
    t_s: String,
    x_px: String,
    y_px: String,
    axis_deg: String,
    length_px: String,
    width_px: String,
    confidence: String,
    state: State,
}

/// The track as CSV text with the columns
/// `frame,t_s,x_px,y_px,axis_deg,length_px,width_px,confidence,state`.
/// Pixels and degrees are in the displayed picture, `state` is seen, hidden or lost.
pub fn track_csv(track: &Track) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let written = match track.frames.is_empty() {
        true => writer.write_record([
            "frame",
            "t_s",
            "x_px",
            "y_px",
            "axis_deg",
            "length_px",
            "width_px",
            "confidence",
            "state",
        ]),
        false => track
            .frames
            .iter()
            .try_for_each(|frame| writer.serialize(Row::of(frame))),
    };
    // Writing plain rows to memory cannot fail.
    written
        .ok()
        .and_then(|()| writer.into_inner().ok())
        .and_then(|bytes| String::from_utf8(bytes).ok())
        .unwrap_or_default()
}

impl Row {
    fn of(frame: &TrackFrame) -> Row {
        let seen = |x: f64, decimals: usize| match frame.is_seen() && x.is_finite() {
            true => format!("{x:.decimals$}"),
            false => String::new(),
        };
        Row {
            frame: frame.frame,
            t_s: format!("{:.6}", frame.t_s),
            x_px: seen(frame.x_px, 3),
            y_px: seen(frame.y_px, 3),
            axis_deg: seen(frame.axis_deg, 3),
            length_px: seen(frame.length_px, 3),
            width_px: seen(frame.width_px, 3),
            confidence: if frame.confidence.is_finite() {
                format!("{:.3}", frame.confidence)
            } else {
                String::new()
            },
            state: frame.state,
        }
    }
}
