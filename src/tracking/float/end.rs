//! The outline from an end: its upright is the line about which it mirrors itself, lip and all.

use super::cut::Silhouette;
use super::edges::{body_edge, moments, walk_out};
use super::robust::weighted_fit;
use super::side::ENLARGED;
use super::sighting::{Outline, Slice, WaterLine};
use crate::tracking::window::Window;

/// Cuts from the keel to the back.
const CUTS: usize = 60;
/// Parts of the height at both ends that are left out: there the cuts run along the edge.
const ENDS: f64 = 0.07;
/// Leans looked at, degrees to each side of plumb, and the step.
const MOST_LEAN_DEG: f64 = 32.0;
const LEAN_STEP_DEG: f64 = 4.0;
/// Leans about the crossing over which it is settled, degrees.
const SETTLE_DEG: [f64; 3] = [3.0, 1.5, 1.5];
/// Neighbouring cuts share their errors over about so many.
const ALIKE: f64 = 3.0;
/// The middles must shift by this much per unit of lean, or the outline is as good as round.
const LEAST_GAIN: f64 = 0.08;

/// How the middles of the cuts at right angles to an upright run.
struct Middles {
    /// To the right per px toward the back: 0 about the outline's own upright.
    slope: f64,
    sd: f64,
    /// Where their line passes the point about which was looked, px to the right.
    at: f64,
    scatter: f64,
    /// Height over and under that point, px.
    ends: [f64; 2],
    slices: Vec<Slice>,
}

/// Outline and upright from an end. `None` where the silhouette holds no body.
pub fn outline(window: &Window, silhouette: &Silhouette, line: &WaterLine) -> Option<Outline> {
    let (mut middle, spread, _) = moments(silhouette.points())?;
    let plumb = line.turn_deg;
    let rough = |lean: f64| middles(window, silhouette, line, middle, lean, spread, false);
    let mut lean = crossing(rough, plumb)?;
    let mut sd = f64::INFINITY;
    let mut gain = 0.0;
    let mut best = None;
    for reach in SETTLE_DEG {
        let seen: Vec<(f64, Middles)> = [-1.0, -0.5, 0.0, 0.5, 1.0]
            .iter()
            .filter_map(|part| {
                let at = lean + part * reach;
                Some((
                    at,
                    middles(window, silhouette, line, middle, at, spread, true)?,
                ))
            })
            .collect();
        if seen.len() < 4 {
            return None;
        }
        let n = seen.len() as f64;
        let mean = |of: &dyn Fn(&(f64, Middles)) -> f64| seen.iter().map(of).sum::<f64>() / n;
        let (x, y) = (mean(&|s| s.0), mean(&|s| s.1.slope));
        let xx = mean(&|s| (s.0 - x).powi(2));
        let xy = mean(&|s| (s.0 - x) * (s.1.slope - y));
        // slope per radian of lean
        gain = xy / xx * 180.0 / std::f64::consts::PI;
        let off: f64 = seen
            .iter()
            .map(|s| (s.1.slope - y - xy / xx * (s.0 - x)).powi(2))
            .sum::<f64>()
            / (n - 2.0);
        let own = mean(&|s| s.1.sd);
        sd = own.hypot((off / n).sqrt()) / gain.abs().max(1e-3);
        if gain.abs() < LEAST_GAIN {
            break;
        }
        lean += (-y / (xy / xx) + x - lean).clamp(-reach, reach);
        let settled = middles(window, silhouette, line, middle, lean, spread, true)?;
        let (sin, cos) = lean.to_radians().sin_cos();
        let up = 0.5 * (settled.ends[0] - settled.ends[1]);
        middle = [
            middle[0] + settled.at * cos + up * sin,
            middle[1] + settled.at * sin - up * cos,
        ];
        best = Some(settled);
    }
    let settled = match best {
        Some(settled) => settled,
        None => middles(window, silhouette, line, middle, lean, spread, true)?,
    };
    let height = settled.ends[0] + settled.ends[1];
    let widest = settled
        .slices
        .iter()
        .map(|s| s.edges_px[1] - s.edges_px[0])
        .fold(1.0, f64::max);
    // once more about the settled middle, so that cuts and axis belong together
    let last = middles(window, silhouette, line, middle, lean, spread, true)?;
    Some(Outline {
        middle_px: middle,
        axis_deg: lean,
        axis_sd_deg: sd.to_degrees(),
        length_px: [height, 1.5],
        slices: last.slices,
        longer: 1.0 + gain.abs() * (height / widest).max(widest / height).max(1.0),
        fuller_right: 0.0,
    })
}

/// The lean at which the middles run plumb to the cuts: of several, where they scatter least.
fn crossing(of: impl Fn(f64) -> Option<Middles>, plumb: f64) -> Option<f64> {
    let steps = (MOST_LEAN_DEG / LEAN_STEP_DEG) as i32;
    let seen: Vec<(f64, Middles)> = (-steps..=steps)
        .filter_map(|i| {
            let lean = plumb + f64::from(i) * LEAN_STEP_DEG;
            Some((lean, of(lean)?))
        })
        .collect();
    let crossings = seen.windows(2).filter_map(|w| {
        let (a, b) = (&w[0], &w[1]);
        let crosses = (a.1.slope > 0.0) != (b.1.slope > 0.0);
        let part = a.1.slope / (a.1.slope - b.1.slope);
        crosses.then(|| (a.0 + part * (b.0 - a.0), a.1.scatter.min(b.1.scatter)))
    });
    crossings
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|c| c.0)
        .or_else(|| {
            let least = |a: &&(f64, Middles), b: &&(f64, Middles)| {
                a.1.slope.abs().total_cmp(&b.1.slope.abs())
            };
            seen.iter().min_by(least).map(|s| s.0)
        })
}

/// Reads the cuts at right angles to the upright that leans `lean_deg` clockwise from image-up.
fn middles(
    window: &Window,
    silhouette: &Silhouette,
    line: &WaterLine,
    middle: [f64; 2],
    lean_deg: f64,
    spread: [f64; 2],
    finely: bool,
) -> Option<Middles> {
    let (sin, cos) = lean_deg.to_radians().sin_cos();
    let (up, right) = ([sin, -cos], [cos, sin]);
    let step = silhouette.window.step_px[0];
    let far = 8.0 * spread[0];
    let reach = (0.4 * spread[1]).clamp(2.5 * window.step_px[0], 8.0 * window.step_px[0]);
    let band = 0.5 * line.band_px + 2.0 * window.step_px[0] + 2.0 * line.waves_px;
    let inside = |p: [f64; 2]| silhouette.in_body(p);
    let over = walk_out(inside, middle, up, step, far)?;
    let under = walk_out(inside, middle, [-up[0], -up[1]], step, far)?;
    let picture = [
        0.5 * window.columns as f64 * window.step_px[0],
        0.5 * window.rows as f64 * window.step_px[1],
    ];
    let mut rows = Vec::new();
    let mut slices = Vec::new();
    for i in 0..CUTS {
        let part = (i as f64 + 0.5) / CUTS as f64;
        let u = -under + part * (over + under);
        let from = [middle[0] + u * up[0], middle[1] + u * up[1]];
        let edge = |sense: f64| -> Option<[f64; 2]> {
            let way = [sense * right[0], sense * right[1]];
            match finely {
                true => body_edge(window, silhouette, from, way, reach, far),
                false => walk_out(inside, from, way, step, far).map(|d| [d, 1.0]),
            }
        };
        let (Some(left), Some(to_right)) = (edge(-1.0), edge(1.0)) else {
            continue;
        };
        let edges = [-left[0], to_right[0]];
        if edges[1] <= edges[0] {
            continue;
        }
        slices.push(Slice {
            u_px: u,
            edges_px: edges,
        });
        let point = |v: f64| [from[0] + v * right[0], from[1] + v * right[1]];
        let clear = edges.iter().all(|v| line.under_px(point(*v)).abs() > band);
        let sure = left[1] > 0.0 && to_right[1] > 0.0;
        if !clear || !sure || !(ENDS..=1.0 - ENDS).contains(&part) {
            continue;
        }
        let moved: f64 = edges
            .iter()
            .map(|v| {
                let p = point(*v);
                match line.under_px(p) > 0.0 {
                    true => (p[0] - picture[0]) * right[0] + (p[1] - picture[1]) * right[1],
                    false => 0.0,
                }
            })
            .sum();
        rows.push((vec![1.0, u, 0.5 * moved], 0.5 * (edges[0] + edges[1])));
    }
    if rows.len() < CUTS / 4 {
        return None;
    }
    let fit = weighted_fit(&rows, &[None, None, Some(ENLARGED)], ALIKE)?;
    Some(Middles {
        slope: fit.x[1],
        sd: fit.sd[1],
        at: fit.x[0],
        scatter: fit.scatter,
        ends: [over, under],
        slices,
    })
}
