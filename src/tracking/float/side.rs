//! The outline from the side: its axis runs from end to end through the middles of its cuts.

use super::cut::Silhouette;
use super::edges::{body_edge, moments, refine, walk_out};
use super::robust::weighted_fit;
use super::sighting::{Outline, Slice, WaterLine};
use super::tidy::{Read, beyond, whole};
use crate::tracking::window::Window;

/// Rounds in which axis and cuts settle.
const ROUNDS: usize = 8;
/// Cuts along the body.
const CUTS: usize = 120;
/// Parts of the length at each end that are left out of the axis: there the cuts run along the edge.
const ENDS: f64 = 0.05;
/// By how much more things under water look enlarged behind glass: 0 to 5 % (lure up to a quarter of the
/// camera's distance behind the glass, Snell's law for small angles).
pub const ENLARGED: [f64; 2] = [0.025, 0.02];
/// An end that stands out is carried on by so many heights at most.
const SEEN_END: f64 = 0.04;
/// One that does not may lie farther by this share of the height, standard deviation.
const UNSEEN_END: f64 = 0.25;
/// Share of the length that stays open, standard deviation (rendered photos of known truth).
const LENGTH_DOUBT: f64 = 0.012;
/// Edges of neighbouring cuts share their errors over about so many cuts.
const ALIKE: f64 = 3.0;

/// A cut with what was read of it.
struct Cut {
    u: f64,
    edges: [f64; 2],
    /// Which of them were read finely and away from the water's line.
    good: [bool; 2],
    /// How far enlargement under water would move the middle, px per unit of it.
    moved: f64,
}

/// Outline and axis from the side. `None` where the silhouette holds no body.
pub fn outline(window: &Window, silhouette: &Silhouette, line: &WaterLine) -> Option<Outline> {
    let (mut middle, spread, mut turn) = moments(silhouette.points())?;
    if turn.cos() < 0.0 {
        turn += std::f64::consts::PI;
    }
    let thick = 4.0 * spread[1];
    let mut turns = Vec::new();
    let mut sd = f64::NAN;
    for _ in 0..ROUNDS {
        let (ends, _) = body_ends(window, silhouette, middle, turn, thick)?;
        let cuts = read_cuts(window, silhouette, line, middle, turn, ends, thick);
        let axis = fit_axis(&cuts, ends)?;
        let (sin, cos) = turn.sin_cos();
        // the axis' own point midway between the ends, and its direction
        let u = 0.5 * (ends[1] - ends[0]);
        let v = axis.at + axis.slope * u;
        middle = [middle[0] + u * cos - v * sin, middle[1] + u * sin + v * cos];
        turn += axis.slope.atan();
        turns.push(turn);
        sd = axis.sd;
        if axis.slope.abs() < 1e-4 && v.abs() < 0.02 {
            break;
        }
    }
    // where the rounds do not settle, what they wander by is open
    let last = &turns[turns.len().saturating_sub(3)..];
    let wander = last.iter().fold(0.0f64, |m, t| m.max((t - turn).abs()));
    let (ends, seen) = body_ends(window, silhouette, middle, turn, thick)?;
    let cuts = read_cuts(window, silhouette, line, middle, turn, ends, thick);
    if cuts.is_empty() {
        return None;
    }
    let read: Vec<Read> = cuts
        .iter()
        .map(|c| Read {
            u: c.u,
            edges: c.edges,
            sure: c.good,
        })
        .collect();
    let length = ends[0] + ends[1];
    let more = [0, 1].map(|k| {
        let tip = beyond(&read, [-1.0, 1.0][k], ends[k], length);
        // an end that stands out is where it is seen
        if seen[k] {
            tip.min(SEEN_END * thick)
        } else {
            tip
        }
    });
    let ends = [ends[0] + more[0], ends[1] + more[1]];
    let unseen = seen.iter().filter(|s| !**s).count() as f64 * UNSEEN_END * thick;
    let doubt = 1.0 + LENGTH_DOUBT * length + 0.3 * (more[0] + more[1]) + unseen;
    let (slices, sure) = whole(&read, ends)?;
    // the middle lies midway between the tips
    let shift = 0.5 * (ends[1] - ends[0]);
    let (sin, cos) = turn.sin_cos();
    middle = [middle[0] + shift * cos, middle[1] + shift * sin];
    let slices: Vec<Slice> = slices
        .into_iter()
        .map(|s| Slice {
            u_px: s.u_px - shift,
            ..s
        })
        .collect();
    let fuller = |right: bool| -> f64 {
        slices
            .iter()
            .filter(|s| (s.u_px > 0.0) == right)
            .map(|s| s.edges_px[1] - s.edges_px[0])
            .sum()
    };
    let (left, right) = (fuller(false), fuller(true));
    let length = ends[0] + ends[1];
    Some(Outline {
        middle_px: middle,
        axis_deg: turn.to_degrees() + 90.0,
        axis_sd_deg: (sd.hypot(wander) / sure).to_degrees(),
        length_px: [length, doubt],
        slices,
        longer: length / thick,
        fuller_right: (right - left) / (right + left),
    })
}

/// Distances from `middle` to the left and the right end along the axis, px: the middle one of a few
/// rays side by side, so that hooks, lip and tie do not count; and whether each stands out from what is
/// behind it.
fn body_ends(
    window: &Window,
    silhouette: &Silhouette,
    middle: [f64; 2],
    turn: f64,
    thick: f64,
) -> Option<([f64; 2], [bool; 2])> {
    let (sin, cos) = turn.sin_cos();
    let step = silhouette.window.step_px[0];
    let reach = (0.15 * thick).clamp(3.0 * window.step_px[0], 9.0 * window.step_px[0]);
    let end = |sense: f64| -> Option<(f64, bool)> {
        let way = [sense * cos, sense * sin];
        let mut sure = 0;
        let mut found: Vec<f64> = [-0.12, -0.06, 0.0, 0.06, 0.12]
            .iter()
            .filter_map(|part| {
                let v = part * thick;
                let from = [middle[0] - v * sin, middle[1] + v * cos];
                let far = 4.0 * silhouette.window.columns as f64 * step;
                let body = walk_out(|p| silhouette.in_body(p), from, way, step, far)?;
                let lure = walk_out(|p| silhouette.in_lure(p), from, way, step, far)?;
                // opening rounds a pointed end off by less than this; what goes farther is wire
                let rough = if lure - body < 0.35 * thick {
                    lure
                } else {
                    body
                };
                let fine = refine(window, from, way, rough, reach);
                sure += usize::from(fine.is_some());
                Some(fine.unwrap_or(rough))
            })
            .collect();
        (found.len() >= 3).then(|| {
            found.sort_by(f64::total_cmp);
            // ends are round: the longer rays are nearer to the tip
            (found[(found.len() * 2) / 3], sure >= 3)
        })
    };
    let (left, right) = (end(-1.0)?, end(1.0)?);
    Some(([left.0, right.0], [left.1, right.1]))
}

#[allow(clippy::too_many_arguments)]
fn read_cuts(
    window: &Window,
    silhouette: &Silhouette,
    line: &WaterLine,
    middle: [f64; 2],
    turn: f64,
    [left, right]: [f64; 2],
    thick: f64,
) -> Vec<Cut> {
    let (sin, cos) = turn.sin_cos();
    let reach = (0.2 * thick).clamp(2.5 * window.step_px[0], 8.0 * window.step_px[0]);
    let band = 0.5 * line.band_px + 2.0 * window.step_px[0] + 2.0 * line.waves_px;
    let picture = [
        0.5 * window.columns as f64 * window.step_px[0],
        0.5 * window.rows as f64 * window.step_px[1],
    ];
    let normal = [-sin, cos];
    (0..CUTS)
        .filter_map(|i| {
            let u = -left + (left + right) * (i as f64 + 0.5) / CUTS as f64;
            let from = [middle[0] + u * cos, middle[1] + u * sin];
            let edge = |sense: f64| {
                let way = [sense * normal[0], sense * normal[1]];
                body_edge(window, silhouette, from, way, reach, 2.0 * thick)
            };
            let (up, down) = (edge(-1.0)?, edge(1.0)?);
            let point = |v: f64| [from[0] + v * normal[0], from[1] + v * normal[1]];
            let edges = [-up[0], down[0]];
            if edges[1] <= edges[0] {
                return None;
            }
            let clear = |v: f64| line.under_px(point(v)).abs() > band;
            let moved = edges.map(|v| {
                let [x, y] = point(v);
                match line.under_px([x, y]) > 0.0 {
                    true => (x - picture[0]) * normal[0] + (y - picture[1]) * normal[1],
                    false => 0.0,
                }
            });
            Some(Cut {
                u,
                edges,
                good: [
                    up[1] > 0.0 && clear(edges[0]),
                    down[1] > 0.0 && clear(edges[1]),
                ],
                moved: 0.5 * (moved[0] + moved[1]),
            })
        })
        .collect()
}

struct Axis {
    at: f64,
    slope: f64,
    sd: f64,
}

/// Middles of the cuts as `at + slope·u + bulge·half-height + enlargement·moved`, robustly. The term with
/// the half-height takes up a belly deeper than the back is high, so that the axis runs from end to end.
fn fit_axis(cuts: &[Cut], [left, right]: [f64; 2]) -> Option<Axis> {
    let length = left + right;
    let used: Vec<&Cut> = cuts
        .iter()
        .filter(|c| {
            let s = (c.u + left) / length;
            c.good[0] && c.good[1] && (ENDS..=1.0 - ENDS).contains(&s)
        })
        .collect();
    if used.len() < CUTS / 5 {
        return None;
    }
    let rows: Vec<(Vec<f64>, f64)> = used
        .iter()
        .map(|c| {
            let half = 0.5 * (c.edges[1] - c.edges[0]);
            (
                vec![1.0, c.u, half, c.moved],
                0.5 * (c.edges[0] + c.edges[1]),
            )
        })
        .collect();
    // a bulge beyond half of the half-height is no body
    let known = [None, None, Some([0.0, 0.5]), Some(ENLARGED)];
    let fit = weighted_fit(&rows, &known, ALIKE)?;
    Some(Axis {
        at: fit.x[0],
        slope: fit.x[1],
        sd: fit.sd[1],
    })
}
