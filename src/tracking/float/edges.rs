//! Where an edge runs, to a part of a pixel: half-way between the colours on both sides of it.

use super::cut::Silhouette;
use super::samples::{Colour, dot, minus};
use crate::tracking::window::Window;

/// Step of the walk along a ray, samples.
const STEP: f64 = 0.5;
/// Colours closer than this (levels) show no edge.
const LEAST_CONTRAST: f32 = 7.0;

/// From `from` along `way` (unit vector) to where the body ends, px; `None` where it does not begin in it.
pub fn walk_out(
    inside: impl Fn([f64; 2]) -> bool,
    from: [f64; 2],
    way: [f64; 2],
    step_px: f64,
    most_px: f64,
) -> Option<f64> {
    // a gap as wide as two samples is not yet the end
    let gap_px = 2.0 * step_px;
    let at = |d: f64| [from[0] + d * way[0], from[1] + d * way[1]];
    let (mut last, mut d) = (None, 0.0);
    while d <= most_px {
        if inside(at(d)) {
            last = Some(d);
        } else if d - last.unwrap_or(0.0) > gap_px {
            break;
        }
        d += STEP * step_px;
    }
    last
}

/// The edge near `rough` px along the ray from `from`, refined within `reach` px to each side.
pub fn refine(
    window: &Window,
    from: [f64; 2],
    way: [f64; 2],
    rough: f64,
    reach: f64,
) -> Option<f64> {
    let step = 0.5 * window.step_px[0];
    let count = (reach / step).ceil() as i32;
    let beside = [-way[1], way[0]];
    let colour = |i: i32| -> Colour {
        let d = rough + f64::from(i) * step;
        let mut sum = [0.0f32; 3];
        for off in [-1.0, 0.0, 1.0] {
            let off = off * window.step_px[0];
            let c = window.read([
                from[0] + d * way[0] + off * beside[0],
                from[1] + d * way[1] + off * beside[1],
            ]);
            sum = std::array::from_fn(|n| sum[n] + c[n] / 3.0);
        }
        sum
    };
    let ray: Vec<Colour> = (-count..=count).map(colour).collect();
    let part = (ray.len() / 4).max(1);
    let inner = mean(&ray[..part]);
    let outer = mean(&ray[ray.len() - part..]);
    let contrast = minus(inner, outer);
    let size = dot(contrast, contrast);
    if size < LEAST_CONTRAST * LEAST_CONTRAST {
        return None;
    }
    let share: Vec<f64> = ray
        .iter()
        .map(|c| f64::from(dot(minus(*c, outer), contrast) / size))
        .collect();
    (1..share.len())
        .filter(|i| share[i - 1] >= 0.5 && share[*i] < 0.5)
        .map(|i| {
            let part = (share[i - 1] - 0.5) / (share[i - 1] - share[i]);
            (i as f64 - 1.0 + part - f64::from(count)) * step
        })
        .min_by(|a, b| a.abs().total_cmp(&b.abs()))
        .map(|off| rough + off)
}

/// Edge of the body along a ray: `[px, 1 if refined else 0]`.
pub fn body_edge(
    window: &Window,
    silhouette: &Silhouette,
    from: [f64; 2],
    way: [f64; 2],
    reach: f64,
    most_px: f64,
) -> Option<[f64; 2]> {
    let step = silhouette.window.step_px[0];
    let rough = walk_out(|p| silhouette.in_body(p), from, way, step, most_px)?;
    Some(match refine(window, from, way, rough, reach) {
        Some(edge) => [edge, 1.0],
        None => [rough, 0.0],
    })
}

fn mean(colours: &[Colour]) -> Colour {
    let mut sum = [0.0f32; 3];
    for c in colours {
        sum = std::array::from_fn(|n| sum[n] + c[n]);
    }
    sum.map(|s| s / colours.len() as f32)
}

/// Place, spread along and across, and turn of the long axis (radians clockwise from the picture's right)
/// of points, by their second moments.
pub fn moments(points: impl Iterator<Item = [f64; 2]>) -> Option<([f64; 2], [f64; 2], f64)> {
    let (mut n, mut m) = (0.0, [0.0; 5]);
    for [x, y] in points {
        n += 1.0;
        for (sum, v) in m.iter_mut().zip([x, y, x * x, x * y, y * y]) {
            *sum += v;
        }
    }
    if n < 20.0 {
        return None;
    }
    let (x, y) = (m[0] / n, m[1] / n);
    let (xx, xy, yy) = (m[2] / n - x * x, m[3] / n - x * y, m[4] / n - y * y);
    let (middle, half) = ((xx + yy) / 2.0, ((xx - yy) / 2.0).hypot(xy));
    Some((
        [x, y],
        [(middle + half).sqrt(), (middle - half).max(0.0).sqrt()],
        0.5 * (2.0 * xy).atan2(xx - yy),
    ))
}
