//! The way of a lure that rises or sinks: its heights over the clip, and from them its speed.

use super::rest::{Sight, usual};
use super::rise::{Rise, rise};
use crate::Measured;
use crate::tracking::float::{Outline, Slice};

/// Part by which ways through the water may be off besides the outline's length (one standard deviation): the
/// water enlarges way and length alike while the lure keeps its distance from the glass. Drawn clips came out up
/// to 3 % fast, for their outlines are that much short, which is in the length's own doubt.
const PATH_DOUBT: f64 = 0.01;

/// Frames with the lure wholly under water from which on its length there is taken.
const FEWEST_SUNK: usize = 5;

/// Height of the body's middle over the water in every frame, mm; NaN where it is not known. `scale` is mm per px
/// and its doubt; where the lure is seen wholly under water, mm are told by its length there.
///
/// The middle is that of the edges as they are seen. The outline's axis would not do: it has the water's
/// enlargement taken out of its place, while the length under water, by which mm are told, is enlarged.
pub fn heights_mm(sights: &[Sight], scale: Option<[f64; 2]>) -> Vec<f64> {
    let sunk = sights.iter().filter(|s| is_sunk(s));
    let sunk: Vec<f64> = sunk.map(|s| s.outline.length_px[0]).collect();
    let enlarged = match sunk.len() < FEWEST_SUNK {
        true => 1.0,
        false => usual(sunk) / usual(sights.iter().map(|s| s.outline.length_px[0])),
    };
    let mm_per_px = scale.map(|[mm, _]| mm / enlarged);
    let one = |s: &Sight| Some(-s.water?.under_px(seen_middle_px(s.outline)) * mm_per_px?);
    sights.iter().map(|s| one(s).unwrap_or(f64::NAN)).collect()
}

/// Whether all of it is under water.
fn is_sunk(sight: &Sight) -> bool {
    let outline = sight.outline;
    let back = |s: &Slice| outline.point(s.u_px, s.edges_px[0]);
    sight.water.is_some_and(|water| {
        let mut backs = outline.slices.iter().map(back);
        backs.all(|point| water.under_px(point) > 0.0)
    })
}

/// Midway between the edges of the back and the belly, where these lie about midway between the ends, px.
fn seen_middle_px(outline: &Outline) -> [f64; 2] {
    let off = outline
        .slices
        .iter()
        .map(|s| 0.5 * (s.edges_px[0] + s.edges_px[1]));
    outline.point(0.0, off.sum::<f64>() / outline.slices.len().max(1) as f64)
}

/// The steady rise or sinking. An error says why there is none.
pub fn rising(t_s: &[f64], heights_mm: &[f64], scale: Option<[f64; 2]>) -> Result<Rise, Measured> {
    let Some([_, doubt]) = scale else {
        return Err(Measured::unmeasurable(
            "no scale: give the body's length with --length, and film from the side",
        ));
    };
    if heights_mm.iter().any(|h| h.is_nan()) {
        return Err(Measured::unmeasurable(
            "without the water's surface no height is known",
        ));
    }
    rise(t_s, heights_mm, doubt.hypot(PATH_DOUBT))
}
