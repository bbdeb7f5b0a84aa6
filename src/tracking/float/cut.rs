//! The lure's silhouette: samples whose colour speaks for the lure rather than for the air, or the water,
//! round it. Above and under water are learned apart, for the same paint looks different in each.

use opencv::core::{Mat, MatTraitConst, MatTraitConstManual, Point, Vector};
use opencv::imgproc;

use super::find::{Seed, morph};
use super::sighting::WaterLine;
use crate::Result;
use crate::media::Frame;
use crate::tracking::colours::Colours;
use crate::tracking::window::Window;

/// Samples along the lure.
const SAMPLES: f64 = 170.0;
/// Half the window's side over the lure's longer side.
const ROOM: f64 = 0.72;
/// A side of the water with less of the lure than this learns its colours from the other side.
const FEW: f32 = 0.05;
/// Lip and hooks are thinner than this share of the body and are taken off.
const THIN: f64 = 0.34;
/// The water's edge may hide the lure over so much of the window to each side of the line.
const BRIDGE: f64 = 0.045;
const ROUNDS: usize = 3;
/// So often a wider window is tried.
const WIDER: usize = 3;
/// Neither lure nor surround.
const NEITHER: f32 = -1.0;

/// The colours of lure and surround, over and under water.
pub struct Paints([Colours; 2]);

/// A silhouette on the samples of a window.
pub struct Silhouette {
    /// The window.
    pub window: Window,
    /// Every sample that is lure.
    pub all: Vec<bool>,
    /// The body alone: lip, hooks and wire taken off.
    pub body: Vec<bool>,
}

impl Silhouette {
    /// Whether a picture point lies in the body.
    pub fn in_body(&self, point: [f64; 2]) -> bool {
        self.window.nearest(point).is_some_and(|k| self.body[k])
    }

    /// Whether a picture point lies in the lure, thin parts too.
    pub fn in_lure(&self, point: [f64; 2]) -> bool {
        self.window.nearest(point).is_some_and(|k| self.all[k])
    }

    /// Share of its convex hull that the body fills, 0–1.
    pub fn plumpness(&self) -> Result<f64> {
        let columns = self.window.columns;
        let points: Vector<Point> = (0..self.body.len())
            .filter(|k| self.body[*k])
            .map(|k| Point::new((k % columns) as i32, (k / columns) as i32))
            .collect();
        let mut hull = Vector::<Point>::new();
        imgproc::convex_hull_def(&points, &mut hull)?;
        // the hull runs through the middles of its samples: half of its border is missing
        let area = imgproc::contour_area_def(&hull)? + 0.5 * imgproc::arc_length(&hull, true)?;
        Ok(points.len() as f64 / area.max(1.0))
    }

    /// Left, top, right, bottom of the body, px.
    fn bounds(&self) -> [f64; 4] {
        self.points().fold(
            [
                f64::INFINITY,
                f64::INFINITY,
                f64::NEG_INFINITY,
                f64::NEG_INFINITY,
            ],
            |[l, t, r, b], [x, y]| [l.min(x), t.min(y), r.max(x), b.max(y)],
        )
    }

    /// Whether the body reaches a border of the window that is not the picture's own.
    fn is_cut_by_window(&self, frame: &Frame) -> bool {
        let w = &self.window;
        let [left, top, right, bottom] = self.bounds();
        let far = [
            w.corner_px[0] + w.columns as f64 * w.step_px[0],
            w.corner_px[1] + w.rows as f64 * w.step_px[1],
        ];
        let (width, height) = (f64::from(frame.luma.cols()), f64::from(frame.luma.rows()));
        let near = 1.5 * w.step_px[0];
        (w.corner_px[0] > 1.0 && left < w.corner_px[0] + near)
            || (w.corner_px[1] > 1.0 && top < w.corner_px[1] + near)
            || (far[0] < width - 2.0 && right > far[0] - near)
            || (far[1] < height - 2.0 && bottom > far[1] - near)
    }

    /// Picture points of the body's samples.
    pub fn points(&self) -> impl Iterator<Item = [f64; 2]> + '_ {
        let columns = self.window.columns;
        (0..self.body.len())
            .filter(|k| self.body[*k])
            .map(move |k| self.window.point(k % columns, k / columns))
    }
}

/// The window round bounds (left, top, right, bottom), px.
fn window_round(frame: &Frame, [left, top, right, bottom]: [f64; 4]) -> Result<Option<Window>> {
    let long = (right - left).max(bottom - top).max(12.0);
    let centre = [(left + right) / 2.0, (top + bottom) / 2.0];
    Window::cut(frame, centre, ROOM * long, (long / SAMPLES).max(0.5))
}

/// Learns the colours from the seed and cuts the silhouette out. A silhouette that reaches the window's border
/// grew beyond its seed: it is then cut out of a wider window.
pub fn first(
    frame: &Frame,
    whole: &Window,
    line: &WaterLine,
    seed: &Seed,
) -> Result<Option<(Paints, Silhouette)>> {
    let mut bounds = seed.bounds_px;
    let mut last: Option<Silhouette> = None;
    for _ in 0..WIDER {
        let Some(window) = window_round(frame, bounds)? else {
            return Ok(None);
        };
        let mut share = Vec::with_capacity(window.len());
        for k in 0..window.len() {
            let point = window.point(k % window.columns, k / window.columns);
            let lure = match &last {
                None => seed.holds(whole, point)?,
                Some(last) => last.in_lure(point),
            };
            share.push(f32::from(u8::from(lure)));
        }
        let mut paints = Paints::learn(&window, line, &share);
        for _ in 1..ROUNDS {
            share = paints.shares(&window, line)?;
            paints = Paints::learn(&window, line, &share);
        }
        let Some(found) = silhouette(window, line, &paints)? else {
            return Ok(None);
        };
        if !found.is_cut_by_window(frame) {
            return Ok(Some((paints, found)));
        }
        bounds = found.bounds();
        last = Some(found);
    }
    Ok(None)
}

/// Cuts the silhouette out of another frame, by the colours learned.
pub fn again(
    frame: &Frame,
    line: &WaterLine,
    paints: &Paints,
    bounds_px: [f64; 4],
) -> Result<Option<Silhouette>> {
    match window_round(frame, bounds_px)? {
        Some(window) => {
            let found = silhouette(window, line, paints)?;
            Ok(found.filter(|s| !s.is_cut_by_window(frame)))
        }
        None => Ok(None),
    }
}

impl Paints {
    fn learn(window: &Window, line: &WaterLine, share: &[f32]) -> Paints {
        Paints([false, true].map(|wet| {
            let side = |k: usize| side_of(window, line, k);
            let lure: f32 = share.iter().filter(|s| **s > 0.5).count() as f32;
            let here = (0..share.len())
                .filter(|k| share[*k] > 0.5 && side(*k) == Some(wet))
                .count() as f32;
            let borrow = here < FEW * lure;
            let told: Vec<f32> = (0..share.len())
                .map(|k| match side(k) {
                    Some(s) if s == wet => share[k],
                    Some(_) if borrow && share[k] > 0.5 => share[k],
                    _ => NEITHER,
                })
                .collect();
            Colours::learn(window, &told, 1.0)
        }))
    }

    /// 1 where a sample and those around it speak for the lure, else 0; pieces apart from the largest count
    /// as neither.
    fn shares(&self, window: &Window, line: &WaterLine) -> Result<Vec<f32>> {
        let voices = [self.0[0].speak(window, 1.0), self.0[1].speak(window, 1.0)];
        let ratios: Vec<f32> = (0..window.len())
            .map(|k| match side_of(window, line, k) {
                Some(wet) => voices[usize::from(wet)][k].log_ratio,
                None => 0.0,
            })
            .collect();
        let smooth = smoothed(&ratios, window);
        let mut marks: Vec<bool> = smooth.iter().map(|r| *r > 0.0).collect();
        bridge(window, line, &mut marks);
        let kept = largest(window, &marks)?;
        Ok(kept.iter().map(|k| f32::from(u8::from(*k))).collect())
    }
}

/// `Some(true)` under water, `Some(false)` over it, `None` in the band of the line.
fn side_of(window: &Window, line: &WaterLine, k: usize) -> Option<bool> {
    let under = line.under_px(window.point(k % window.columns, k / window.columns));
    let band = 0.5 * line.band_px + 0.7 * window.step_px[1].max(1.0);
    (under.abs() > band).then_some(under > 0.0)
}

/// Fills the band of the line where lure is seen over and under it: the water's edge at the glass hides it.
fn bridge(window: &Window, line: &WaterLine, marks: &mut [bool]) {
    let seen = marks.to_vec();
    let widest = BRIDGE * window.columns.max(window.rows) as f64 * window.step_px[1];
    let band = widest.max(0.5 * line.band_px + 2.0);
    let reach = (2.0 * band / window.step_px[1]).ceil() as usize;
    let under = |k: usize| line.under_px(window.point(k % window.columns, k / window.columns));
    for k in (0..window.len()).filter(|k| under(*k).abs() <= band) {
        let (row, column) = (k / window.columns, k % window.columns);
        let found = |wet: bool, rows: std::ops::Range<usize>| {
            rows.into_iter()
                .map(|r| r * window.columns + column)
                .any(|n| seen[n] && (under(n) > 0.0) == wet)
        };
        marks[k] |= found(false, row.saturating_sub(reach)..row)
            && found(true, row + 1..(row + reach + 1).min(window.rows));
    }
}

fn silhouette(window: Window, line: &WaterLine, paints: &Paints) -> Result<Option<Silhouette>> {
    let all: Vec<bool> = paints
        .shares(&window, line)?
        .iter()
        .map(|s| *s > 0.5)
        .collect();
    let thick = thickness(&window, &all);
    if thick < 3.0 {
        return Ok(None);
    }
    let side = ((THIN * thick) as i32 | 1).max(3);
    let mut opened = Mat::default();
    morph(
        &as_mat(&window, &all)?,
        &mut opened,
        imgproc::MORPH_OPEN,
        side,
    )?;
    let marks: Vec<bool> = opened.data_typed::<u8>()?.iter().map(|v| *v > 0).collect();
    let body = largest(&window, &marks)?;
    let count = body.iter().filter(|b| **b).count();
    Ok((count > 30).then_some(Silhouette { window, all, body }))
}

/// About how thick the marked samples are across their long axis, samples.
fn thickness(window: &Window, marks: &[bool]) -> f64 {
    let (mut n, mut m) = (0.0, [0.0; 5]);
    for k in (0..marks.len()).filter(|k| marks[*k]) {
        let (x, y) = ((k % window.columns) as f64, (k / window.columns) as f64);
        n += 1.0;
        for (sum, v) in m.iter_mut().zip([x, y, x * x, x * y, y * y]) {
            *sum += v;
        }
    }
    if n < 1.0 {
        return 0.0;
    }
    let (x, y) = (m[0] / n, m[1] / n);
    let (xx, xy, yy) = (m[2] / n - x * x, m[3] / n - x * y, m[4] / n - y * y);
    let small = (xx + yy) / 2.0 - ((xx - yy) / 2.0).hypot(xy);
    4.0 * small.max(0.0).sqrt()
}

fn as_mat(window: &Window, marks: &[bool]) -> Result<Mat> {
    let bytes: Vec<u8> = marks.iter().map(|m| 255 * u8::from(*m)).collect();
    Ok(Mat::from_slice(&bytes)?
        .reshape(1, window.rows as i32)?
        .try_clone()?)
}

/// The largest connected piece, its holes filled.
fn largest(window: &Window, marks: &[bool]) -> Result<Vec<bool>> {
    let (mut labels, mut stats, mut centres) = (Mat::default(), Mat::default(), Mat::default());
    let piece =
        |of: &[bool], labels: &mut Mat, stats: &mut Mat, centres: &mut Mat| -> Result<i32> {
            let count = imgproc::connected_components_with_stats_def(
                &as_mat(window, of)?,
                labels,
                stats,
                centres,
            )?;
            let mut best = (0, 0);
            for label in 1..count {
                let area = *stats.at_2d::<i32>(label, 4)?;
                if area > best.1 {
                    best = (label, area);
                }
            }
            Ok(best.0)
        };
    let label = piece(marks, &mut labels, &mut stats, &mut centres)?;
    if label == 0 {
        return Ok(vec![false; marks.len()]);
    }
    let kept: Vec<bool> = labels
        .data_typed::<i32>()?
        .iter()
        .map(|l| *l == label)
        .collect();
    // what is not reached from outside is a hole
    let outside: Vec<bool> = kept.iter().map(|k| !k).collect();
    let around = piece(&outside, &mut labels, &mut stats, &mut centres)?;
    Ok(labels
        .data_typed::<i32>()?
        .iter()
        .map(|l| *l != around)
        .collect())
}

/// Mean over 5 × 5 samples.
fn smoothed(values: &[f32], window: &Window) -> Vec<f32> {
    const REACH: usize = 2;
    let pass = |from: &[f32], along: usize, lines: usize, step: usize, stride: usize| {
        let mut out = vec![0.0; from.len()];
        for line in 0..lines {
            for i in 0..along {
                let (lo, hi) = (i.saturating_sub(REACH), (i + REACH + 1).min(along));
                let sum: f32 = (lo..hi).map(|n| from[line * stride + n * step]).sum();
                out[line * stride + i * step] = sum / (hi - lo) as f32;
            }
        }
        out
    };
    let across = pass(values, window.columns, window.rows, 1, window.columns);
    pass(&across, window.rows, window.columns, window.columns, 1)
}
