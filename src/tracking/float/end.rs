//! The outline from an end: an ellipse through its edge, its longer axis the upright one.

use nalgebra::{DMatrix, DVector};

use super::cut::Silhouette;
use super::edges::{body_edge, moments};
use super::samples::median;
use super::side::ENLARGED;
use super::sighting::{Outline, Slice, WaterLine};
use crate::tracking::window::Window;

/// Rays from the middle to the edge.
const RAYS: usize = 120;
/// Edges of neighbouring rays share their errors over about so many rays.
const ALIKE: f64 = 3.0;
const TUKEY: f64 = 4.685;
/// Middle x and y, logarithms of the half-axes (upright, level), lean (radians clockwise from image-up), and
/// how much more things under water are enlarged.
type Ellipse = [f64; 6];

/// Outline and upright from an end. `None` where the silhouette holds no body.
pub fn outline(window: &Window, silhouette: &Silhouette, line: &WaterLine) -> Option<Outline> {
    let (middle, spread, turn) = moments(silhouette.points())?;
    let edge = edge_points(window, silhouette, line, middle, spread);
    if edge.len() < RAYS / 3 {
        return None;
    }
    // of the two axes the one nearer to plumb
    let lean = (turn + std::f64::consts::FRAC_PI_2 - line.turn_deg.to_radians())
        .rem_euclid(std::f64::consts::PI);
    let lean = if lean > std::f64::consts::FRAC_PI_2 {
        lean - std::f64::consts::PI
    } else {
        lean
    };
    let along_is_long = lean.abs() < std::f64::consts::FRAC_PI_4;
    let (upright, level, lean) = match along_is_long {
        true => (spread[0], spread[1], lean),
        false => (
            spread[1],
            spread[0],
            lean - lean.signum() * std::f64::consts::FRAC_PI_2,
        ),
    };
    let start: Ellipse = [
        middle[0],
        middle[1],
        (2.0 * upright).ln(),
        (2.0 * level).ln(),
        lean + line.turn_deg.to_radians(),
        ENLARGED[0],
    ];
    let (fit, sd) = fit_ellipse(&edge, line, start, centre_of(window))?;
    let (up, side) = (fit[2].exp(), fit[3].exp());
    let slices = (1..40)
        .map(|i| {
            let u = up * (i as f64 / 20.0 - 1.0);
            let v = side * (1.0 - (u / up).powi(2)).max(0.0).sqrt();
            Slice {
                u_px: u,
                edges_px: [-v, v],
            }
        })
        .collect();
    Some(Outline {
        middle_px: [fit[0], fit[1]],
        axis_deg: fit[4].to_degrees(),
        axis_sd_deg: sd.to_degrees(),
        length_px: [2.0 * up, 1.5],
        slices,
        longer: (up / side).max(side / up),
        fuller_right: 0.0,
    })
}

fn centre_of(window: &Window) -> [f64; 2] {
    [
        0.5 * window.columns as f64 * window.step_px[0],
        0.5 * window.rows as f64 * window.step_px[1],
    ]
}

fn edge_points(
    window: &Window,
    silhouette: &Silhouette,
    line: &WaterLine,
    middle: [f64; 2],
    spread: [f64; 2],
) -> Vec<[f64; 2]> {
    let reach = (0.4 * spread[1]).clamp(2.5 * window.step_px[0], 8.0 * window.step_px[0]);
    let band = 0.5 * line.band_px + 2.0 * window.step_px[0] + 2.0 * line.waves_px;
    (0..RAYS)
        .filter_map(|i| {
            let (sin, cos) = (std::f64::consts::TAU * i as f64 / RAYS as f64).sin_cos();
            let way = [cos, sin];
            let [d, good] = body_edge(window, silhouette, middle, way, reach, 6.0 * spread[0])?;
            let point = [middle[0] + d * cos, middle[1] + d * sin];
            (good > 0.0 && line.under_px(point).abs() > band).then_some(point)
        })
        .collect()
}

/// How far a point lies outside the ellipse along the ray from its middle, px.
fn outside(e: &Ellipse, [x, y]: [f64; 2], wet: bool, centre: [f64; 2]) -> f64 {
    let shrink = if wet { 1.0 / (1.0 + e[5]) } else { 1.0 };
    let x = centre[0] + (x - centre[0]) * shrink - e[0];
    let y = centre[1] + (y - centre[1]) * shrink - e[1];
    let (sin, cos) = e[4].sin_cos();
    let (up, side) = (x * sin - y * cos, x * cos + y * sin);
    let r = (up / e[2].exp()).hypot(side / e[3].exp());
    up.hypot(side) * (1.0 - 1.0 / r.max(1e-6))
}

/// Robust least squares by Gauss–Newton steps; also the lean's standard deviation, radians.
fn fit_ellipse(
    points: &[[f64; 2]],
    line: &WaterLine,
    start: Ellipse,
    centre: [f64; 2],
) -> Option<(Ellipse, f64)> {
    const STEPS: [f64; 6] = [1e-3, 1e-3, 1e-5, 1e-5, 1e-5, 1e-6];
    let wet: Vec<bool> = points.iter().map(|p| line.under_px(*p) > 0.0).collect();
    let residuals = |e: &Ellipse| -> Vec<f64> {
        points
            .iter()
            .zip(&wet)
            .map(|(p, w)| outside(e, *p, *w, centre))
            .collect()
    };
    let mut e = start;
    let mut sd = f64::NAN;
    for round in 0..40 {
        let r = residuals(&e);
        let mut sizes: Vec<f64> = r.iter().map(|v| v.abs()).collect();
        let scale = (1.4826 * median(&mut sizes)).max(0.1);
        let weight = |v: f64| {
            let t = v / (TUKEY * scale);
            // the first steps hear every point
            if round < 4 {
                1.0 / (1.0 + (v / scale).powi(2))
            } else if t.abs() < 1.0 {
                (1.0 - t * t).powi(2)
            } else {
                0.0
            }
        };
        let columns: Vec<Vec<f64>> = (0..6)
            .map(|k| {
                let mut moved = e;
                moved[k] += STEPS[k];
                let other = residuals(&moved);
                other
                    .iter()
                    .zip(&r)
                    .map(|(a, b)| (a - b) / STEPS[k])
                    .collect()
            })
            .collect();
        let mut normal = DMatrix::<f64>::zeros(6, 6);
        let mut right = DVector::<f64>::zeros(6);
        for (i, v) in r.iter().enumerate() {
            let w = weight(*v);
            for a in 0..6 {
                right[a] -= w * columns[a][i] * v;
                for b in 0..6 {
                    normal[(a, b)] += w * columns[a][i] * columns[b][i];
                }
            }
        }
        let prior = ALIKE * (scale / ENLARGED[1]).powi(2);
        normal[(5, 5)] += prior;
        right[5] -= prior * (e[5] - ENLARGED[0]);
        // a round outline leaves its lean open: hold it to within a radian
        normal[(4, 4)] += scale * scale;
        let inverse = normal.try_inverse()?;
        let step = &inverse * right;
        for k in 0..6 {
            let most = [5.0, 5.0, 0.2, 0.2, 0.2, 0.05][k];
            e[k] += step[k].clamp(-most, most);
        }
        sd = (ALIKE * scale * scale * inverse[(4, 4)]).sqrt();
        if round > 8 && step[4].abs() < 1e-6 && step[0].abs() < 1e-4 {
            break;
        }
    }
    e.iter().all(|v| v.is_finite()).then_some((e, sd))
}
