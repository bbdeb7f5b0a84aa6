//! An outline made whole: edges that were misread are bridged from their neighbours, tips that were lost
//! are carried on.

use super::sighting::Slice;
use crate::robust::upper_median;

/// Neighbours to each side against which an edge is held.
const NEAR: usize = 6;
/// An edge farther than this share of the body's height from its neighbours' is misread.
const MOST_OFF: f64 = 0.06;
/// From where to where, as parts of the length from the end, the taper is read.
const TAPER: [f64; 2] = [0.025, 0.11];
/// A tip reaches at most so many heights beyond what was seen.
const MOST_BEYOND: f64 = 0.2;

/// A cut as it was read, with whether each of its edges is sure.
#[derive(Debug, Clone, Copy)]
pub struct Read {
    /// Along the axis, px.
    pub u: f64,
    /// Edges across, px.
    pub edges: [f64; 2],
    /// Whether they are sure.
    pub sure: [bool; 2],
}

/// The cuts with misread edges bridged, and the part of the edges that were sure. `None` where hardly any
/// was. Beyond the first and last sure edge the outline closes in a straight line to its tips at `ends`.
pub fn whole(cuts: &[Read], [left, right]: [f64; 2]) -> Option<(Vec<Slice>, f64)> {
    let mut kept = 0.0;
    let sides: Vec<Vec<f64>> = [0, 1]
        .iter()
        .map(|side| {
            let sure = sure_edges(cuts, *side);
            kept += sure.len() as f64;
            let knots: Vec<[f64; 2]> = std::iter::once([-left, 0.0])
                .chain(sure)
                .chain(std::iter::once([right, 0.0]))
                .collect();
            cuts.iter().map(|c| between(&knots, c.u)).collect()
        })
        .collect();
    let slices = cuts
        .iter()
        .enumerate()
        .map(|(i, c)| Slice {
            u_px: c.u,
            edges_px: [sides[0][i], sides[1][i].max(sides[0][i])],
        })
        .collect();
    let share = kept / (2 * cuts.len()).max(1) as f64;
    (share > 0.25).then_some((slices, share))
}

/// `[u, edge]` of the edges on one side that are sure and agree with their neighbours.
fn sure_edges(cuts: &[Read], side: usize) -> Vec<[f64; 2]> {
    let height = cuts
        .iter()
        .map(|c| c.edges[1] - c.edges[0])
        .fold(1.0, f64::max);
    let sure: Vec<[f64; 2]> = cuts
        .iter()
        .filter(|c| c.sure[side])
        .map(|c| [c.u, c.edges[side]])
        .collect();
    (0..sure.len())
        .filter(|i| {
            let near = &sure[i.saturating_sub(NEAR)..(i + NEAR + 1).min(sure.len())];
            let usual = upper_median(near.iter().map(|e| e[1])).unwrap_or(0.0);
            (sure[*i][1] - usual).abs() < MOST_OFF * height + 1.5
        })
        .map(|i| sure[i])
        .collect()
}

fn between(knots: &[[f64; 2]], u: f64) -> f64 {
    let after = knots
        .partition_point(|k| k[0] < u)
        .clamp(1, knots.len() - 1);
    let ([u0, v0], [u1, v1]) = (knots[after - 1], knots[after]);
    if u1 <= u0 {
        v0
    } else {
        v0 + (v1 - v0) * ((u - u0) / (u1 - u0)).clamp(0.0, 1.0)
    }
}

/// How far beyond `end` px from the middle (on the side `sense`, −1 left, +1 right) the tip lies: the thickness
/// tapers as a power, between a round nose (½) and a point (1), of the distance from it.
pub fn beyond(cuts: &[Read], sense: f64, end: f64, length: f64) -> f64 {
    let height = cuts
        .iter()
        .map(|c| c.edges[1] - c.edges[0])
        .fold(1.0, f64::max);
    let taper: Vec<[f64; 2]> = cuts
        .iter()
        .filter(|c| c.sure[0] && c.sure[1])
        .map(|c| [sense * c.u, c.edges[1] - c.edges[0]])
        .filter(|[u, _]| (end - TAPER[1] * length..=end - TAPER[0] * length).contains(u))
        .collect();
    if taper.len() < 7 {
        return 0.0;
    }
    let fits = (0..=5).filter_map(|i| {
        let power = 0.5 + 0.08 * f64::from(i);
        let points: Vec<[f64; 2]> = taper
            .iter()
            .map(|[u, t]| [*u, t.max(0.0).powf(1.0 / power)])
            .collect();
        let n = points.len() as f64;
        let mean = |k: usize| points.iter().map(|p| p[k]).sum::<f64>() / n;
        let (x, y) = (mean(0), mean(1));
        let xx: f64 = points.iter().map(|p| (p[0] - x).powi(2)).sum();
        let xy: f64 = points.iter().map(|p| (p[0] - x) * (p[1] - y)).sum();
        let slope = xy / xx;
        let left: f64 = taper
            .iter()
            .map(|[u, t]| ((y + slope * (u - x)).max(0.0).powf(power) - t).powi(2))
            .sum();
        (slope < 0.0).then(|| (left, x - y / slope))
    });
    fits.min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(0.0, |(_, tip)| (tip - end).clamp(0.0, MOST_BEYOND * height))
}
