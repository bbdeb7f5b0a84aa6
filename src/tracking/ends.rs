//! Where the body begins and ends in the silhouette: the lip at the nose and the hooks at the tail are
//! not part of it.

use super::shape::Shape;
use crate::camera::View;

/// Nose and tail of the body in body coordinates (u along, v across), and its greatest width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ends {
    /// Nose, `[u, v]`.
    pub nose: [f64; 2],
    /// Tail, `[u, v]`.
    pub tail: [f64; 2],
    /// Greatest width of the body, in reference lengths.
    pub width: f64,
}

/// Widths below this (in reference lengths) are no longer body.
const LEAST_WIDTH: f64 = 0.03;
/// From behind and the side what is thinner at the nose end than this part of the greatest width is the lip seen edge-on,
/// and at the tail end a hook. On eight rendered clips from there with truth the length came out 0.88 to 1.11 of the true
/// one; a thicker lip that points far forward is taken for body.
const LIP_EDGE: f64 = 0.2;
const HOOK: f64 = 0.15;
/// A thin place farther from the end than this part of the whole is a pinch of glare or a bar, not an end.
const END_PART: f64 = 0.35;
/// Slices farther apart than so many times the usual step have a gap between them.
const GAP: f64 = 1.5;
/// The lip is looked for in this part of the silhouette at the nose end.
const LIP_PART: f64 = 0.42;
/// Least difference in brightness and colour between body and lip.
const LIP_CONTRAST: f64 = 18.0;
/// How far the body reaches under the lip: the lip is let into the chin, behind the nose.
const UNDER_LIP: f64 = 0.3;
/// Part of the silhouette that a lip takes where it cannot be told from the body.
const USUAL_LIP: f64 = 0.08;
/// Seen from above, a trace of the body so faint against its core is the blur of its tip. At 0.1, on 38 runs over 21
/// rendered clips with truth where the whole lure was followed, the tail came out within 0.11 of the body's length,
/// 0.05 RMS, even on average (by its taper up to 0.18 and on average 0.05 too far forward); a hook close behind the
/// tail was then taken for its tip, and at 0.13 is not.
const FAINTEST: f64 = 0.13;
/// It is looked for within this of the axis, and so far behind the silhouette (in reference lengths).
const NEAR_AXIS: f64 = 0.08;
const FARTHEST_TRACE: f64 = 0.2;

/// A slice of the silhouette across the body.
struct Slice {
    u: f64,
    middle: f64,
    width: f64,
    colour: [f64; 3],
}

/// What is seen of the lure near its axis, silhouette or not.
struct Trace {
    u: f64,
    likeness: f64,
}

/// How an end of the body is told.
#[derive(Debug, Clone, Copy, PartialEq)]
enum By {
    /// The nose: the lip sticks out before it.
    Lip,
    /// The nose: the body hides the lip, or it hangs below.
    Width,
    /// The tail: where the last trace of the body behind the silhouette is lost.
    Trace,
    /// The tail: how the silhouette tapers off.
    Taper,
}

/// Finds the ends of the body in its silhouette. `sense` is +1 where the nose lies at positive u, −1 where it lies at
/// negative u. `None` when the silhouette is empty.
pub fn find(shape: &Shape, sense: f64, view: View) -> Option<Ends> {
    match view {
        View::Above => ends(shape, sense, By::Lip, By::Trace),
        // along the water, hooks hang across what lies behind the tail
        View::Ahead => ends(shape, sense, By::Lip, By::Taper),
        View::Behind | View::Side => ends(shape, sense, By::Width, By::Taper),
    }
}

/// The same for what is followed, the tail by its taper in every view: its faint tip tells nothing of how it lies.
pub fn find_firm(shape: &Shape, sense: f64, view: View) -> Option<Ends> {
    let nose_by = match view {
        View::Above | View::Ahead => By::Lip,
        View::Behind | View::Side => By::Width,
    };
    ends(shape, sense, nose_by, By::Taper)
}

fn ends(shape: &Shape, sense: f64, nose_by: By, tail_by: By) -> Option<Ends> {
    let mut slices = slices(shape);
    if sense < 0.0 {
        slices.iter_mut().for_each(|s| s.u = -s.u);
        slices.reverse();
    }
    if nose_by == By::Width {
        slices = main_piece(slices);
    }
    if slices.len() < 8 {
        return None;
    }
    let nose = match nose_by {
        By::Width => slices[slices.len() - 1].u,
        _ => nose_under_lip(&slices),
    };
    let tail = match tail_by {
        By::Trace => traced_tail(slices[0].u, &traces(shape, sense)),
        _ => tapered_tail(&slices),
    };
    let (line_u, line_v, slope) = midline(&slices, tail, nose);
    let on_line = |u: f64| [sense * u, line_v + slope * (u - line_u)];
    Some(Ends {
        nose: on_line(nose),
        tail: on_line(tail),
        width: widest(&slices),
    })
}

fn widest(slices: &[Slice]) -> f64 {
    slices.iter().map(|s| s.width).fold(0.0, f64::max)
}

/// The slices from tail to nose without what is thin at either end and what lies beyond.
fn main_piece(mut slices: Vec<Slice>) -> Vec<Slice> {
    let widest = widest(&slices);
    let (Some(tail), Some(nose)) = (slices.first(), slices.last()) else {
        return slices;
    };
    let reach = END_PART * (nose.u - tail.u);
    let (near_tail, near_nose) = (tail.u + reach, nose.u - reach);
    // what is thinner still is left out of the slices: a gap is a thin place as well
    let gap = |k: usize| slices[k].u - slices[k - 1].u > GAP * (slices[1].u - slices[0].u);
    let thin_at_tail = |k: usize| slices[k].width < HOOK * widest || gap(k + 1);
    let thin_at_nose = |k: usize| slices[k].width < LIP_EDGE * widest || gap(k);
    let last = slices.len() - 1;
    let start = (0..last).rfind(|&k| slices[k].u < near_tail && thin_at_tail(k));
    let end = (1..=last).find(|&k| slices[k].u > near_nose && thin_at_nose(k));
    slices.truncate(end.unwrap_or(last + 1));
    slices.split_off(start.map_or(0, |k| k + 1))
}

/// The slices that belong to the silhouette, from tail to nose.
fn slices(shape: &Shape) -> Vec<Slice> {
    let (columns, rows) = shape.size();
    let cell = shape.spot(1, 0)[0] - shape.spot(0, 0)[0];
    let mut out = Vec::new();
    for column in 0..columns {
        let (mut sum, mut moment, mut colour) = (0.0, 0.0, [0.0; 3]);
        for row in 0..rows {
            let share = f64::from(shape.cell(column, row));
            sum += share;
            moment += share * shape.spot(column, row)[1];
            for (total, c) in colour.iter_mut().zip(shape.cell_colour(column, row)) {
                *total += share * f64::from(c);
            }
        }
        if sum * cell >= LEAST_WIDTH {
            out.push(Slice {
                u: shape.spot(column, 0)[0],
                middle: moment / sum,
                width: sum * cell,
                colour: colour.map(|c| c / sum),
            });
        }
    }
    out
}

/// The traces from tail to nose.
fn traces(shape: &Shape, sense: f64) -> Vec<Trace> {
    let mut traces: Vec<Trace> = (0..shape.size().0)
        .map(|column| Trace {
            u: sense * shape.spot(column, 0)[0],
            likeness: shape.likeness_near_axis(column, NEAR_AXIS),
        })
        .collect();
    if sense < 0.0 {
        traces.reverse();
    }
    traces
}

/// u of the nose: a little in front of where the colour turns from body to lip, else a usual lip's
/// length behind the silhouette's end.
fn nose_under_lip(slices: &[Slice]) -> f64 {
    let last = slices.len() - 1;
    let (start, end) = (slices[0].u, slices[last].u);
    let whole = end - start;
    // the very edge is mixed with water: the lip's colour is taken a little inside
    let lip = &slices[last.saturating_sub(slices.len() / 16 + 1)].colour;
    let from = slices.len() - (slices.len() as f64 * LIP_PART) as usize;
    let body = mean_colour(&slices[slices.len() / 3..from.max(slices.len() / 3 + 1)]);
    let toward_lip: Vec<f64> = (0..3).map(|n| lip[n] - body[n]).collect();
    let contrast = norm(&toward_lip);
    if contrast < LIP_CONTRAST {
        return end - USUAL_LIP * whole;
    }
    let turned = slices[from..].iter().find(|s| {
        let along: f64 = (0..3)
            .map(|n| (s.colour[n] - body[n]) * toward_lip[n])
            .sum();
        along / (contrast * contrast) > 0.5
    });
    match turned {
        Some(slice) => slice.u + UNDER_LIP * (end - slice.u),
        None => end - USUAL_LIP * whole,
    }
}

/// u of the tail: where the last trace of the body behind the silhouette is lost in the water, or where it
/// grows again, for then it is a hook. A thin tip, or one of the bottom's colour, is too faint for the silhouette.
fn traced_tail(start: f64, traces: &[Trace]) -> f64 {
    let within = |t: &&Trace| t.u < start + 1e-6 && t.u > start - FARTHEST_TRACE;
    let behind: Vec<&Trace> = traces.iter().rev().filter(within).collect();
    for (k, trace) in behind.iter().enumerate().skip(1) {
        let before = behind[k - 1];
        let grows =
            k + 1 < behind.len() && trace.likeness.min(behind[k + 1].likeness) > before.likeness;
        if grows {
            return before.u;
        }
        if trace.likeness < FAINTEST {
            let part = (before.likeness - FAINTEST) / (before.likeness - trace.likeness);
            return before.u + part.clamp(0.0, 1.0) * (trace.u - before.u);
        }
    }
    behind.last().map_or(start, |trace| trace.u)
}

/// u of the tail: halfway between where the silhouette ends and where its taper would come to a point,
/// for a thin tip is lost in blur and hooks make up for some of it.
fn tapered_tail(slices: &[Slice]) -> f64 {
    let start = slices[0].u;
    let widest = widest(slices);
    let taper: Vec<&Slice> = slices
        .iter()
        .take(slices.len() / 3)
        .filter(|s| s.width > 0.25 * widest && s.width < 0.75 * widest)
        .collect();
    let (Some(first), Some(last)) = (taper.first(), taper.last()) else {
        return start;
    };
    let rise = (last.width - first.width) / (last.u - first.u).max(1e-6);
    if rise < 0.15 {
        return start;
    }
    let point = first.u - first.width / rise;
    let reach = 0.15 * (slices[slices.len() - 1].u - start);
    0.5 * (start + point.clamp(start - reach, start + reach))
}

/// A straight line through the middles of the body's slices: `(u, v, slope)`.
fn midline(slices: &[Slice], tail: f64, nose: f64) -> (f64, f64, f64) {
    let body: Vec<&Slice> = slices.iter().filter(|s| s.u > tail && s.u < nose).collect();
    let weight: f64 = body.iter().map(|s| s.width).sum();
    if weight <= 0.0 {
        return (0.0, 0.0, 0.0);
    }
    let u0 = body.iter().map(|s| s.width * s.u).sum::<f64>() / weight;
    let v0 = body.iter().map(|s| s.width * s.middle).sum::<f64>() / weight;
    let spread: f64 = body.iter().map(|s| s.width * (s.u - u0).powi(2)).sum();
    let tilt: f64 = body
        .iter()
        .map(|s| s.width * (s.u - u0) * (s.middle - v0))
        .sum();
    (u0, v0, if spread > 0.0 { tilt / spread } else { 0.0 })
}

fn mean_colour(slices: &[Slice]) -> [f64; 3] {
    let n = slices.len().max(1) as f64;
    let mut mean = [0.0; 3];
    for slice in slices {
        for (m, c) in mean.iter_mut().zip(slice.colour) {
            *m += c / n;
        }
    }
    mean
}

fn norm(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Slices of these widths, 0.02 apart; as in a silhouette, there are none where it is thinner than it may be.
    fn of_widths(widths: &[f64]) -> Vec<Slice> {
        let slice = |(k, &width): (usize, &f64)| Slice {
            u: 0.02 * k as f64,
            middle: 0.0,
            width,
            colour: [0.0; 3],
        };
        let all = widths.iter().enumerate().map(slice);
        all.filter(|s| s.width >= LEAST_WIDTH).collect()
    }

    const BODY: [f64; 11] = [
        0.07, 0.1, 0.14, 0.18, 0.22, 0.25, 0.25, 0.24, 0.2, 0.15, 0.08,
    ];

    #[test]
    fn a_hook_behind_the_tail_and_a_lip_before_the_nose_are_no_body() {
        let (hook, lip) = ([0.06, 0.05, 0.02], [0.04, 0.03]);
        let piece = main_piece(of_widths(&[&hook[..], &BODY, &lip].concat()));
        assert_eq!(piece.len(), BODY.len());
        assert_eq!(piece[0].u, 0.02 * hook.len() as f64);
        assert_eq!(main_piece(of_widths(&BODY)).len(), BODY.len());
        assert!(main_piece(Vec::new()).is_empty());
    }

    #[test]
    fn a_bar_of_the_waters_colour_does_not_cut_the_body_in_two() {
        let mut barred = BODY;
        barred[5] = 0.02;
        assert_eq!(main_piece(of_widths(&barred)).len(), BODY.len() - 1);
    }

    #[test]
    fn nose_and_tail_change_places_with_the_sense() {
        let shape = Shape::spindle(0.25, true);
        for view in [View::Above, View::Behind, View::Ahead, View::Side] {
            let [fore, aft] = [1.0, -1.0].map(|sense| find(&shape, sense, view).unwrap());
            assert!(fore.nose[0] > 0.3 && fore.tail[0] < -0.3, "{view:?}");
            assert!((fore.nose[0] + aft.nose[0]).abs() < 1e-6, "{view:?}");
            assert!((fore.tail[0] + aft.tail[0]).abs() < 1e-6, "{view:?}");
        }
        let nose = |view| find(&shape, 1.0, view).unwrap().nose[0];
        // even in colour, a lip is taken off where one would stick out
        assert!(nose(View::Side) > nose(View::Above) + 0.03);
    }
}
