//! Where the lure is: what differs from the air, or the water, at the same height beside it.

use opencv::core::{CV_8UC1, Mat, MatTraitConst, MatTraitConstManual, Point, Scalar, Size};
use opencv::imgproc;

use super::samples::Colour;
use super::sighting::{Missing, WaterLine};
use crate::Result;
use crate::robust::upper_median;
use crate::tracking::StartBox;
use crate::tracking::window::Window;

/// Share of the picture at each side from which the surround is learned.
const MARGIN: f64 = 0.10;
/// Least spread of the surround's brightness and colour differences.
const LEAST_SPREAD: Colour = [5.0, 2.5, 2.5];
/// So many spreads off the surround is something else.
const ELSE: f32 = 4.0;
/// The same where the surround is blotched.
const STRICTLY_ELSE: f32 = 8.0;
/// Rows to each side of the water's line in which nothing is judged.
const BAND: f64 = 3.0;
/// The water's edge may hide the lure over so much of the picture's width to each side of the line.
const BRIDGE: f64 = 0.009;
/// Odd samples are no odder than this.
const ODDEST: f32 = 12.0;
/// Hooks and specks are thinner than this share of the picture's long side.
const WIRE: f64 = 0.014;
/// What lies in the surface is so much likelier the lure.
const CROSSES: f64 = 3.0;
/// A lure is at least this share of the picture's long side.
const LEAST_LONG: f64 = 0.06;

/// Where the lure probably is.
pub struct Seed {
    /// Left, top, right, bottom, px.
    pub bounds_px: [f64; 4],
    marked: Mat,
    label: i32,
}

impl Seed {
    /// Whether a picture point was taken for lure. `window` is the one in which it was found.
    pub fn holds(&self, window: &Window, point: [f64; 2]) -> Result<bool> {
        let Some(k) = window.nearest(point) else {
            return Ok(false);
        };
        let (row, column) = ((k / window.columns) as i32, (k % window.columns) as i32);
        Ok(*self.marked.at_2d::<i32>(row, column)? == self.label)
    }
}

/// Finds the lure, in the user's box if there is one.
pub fn lure(
    window: &Window,
    line: &WaterLine,
    start: Option<&StartBox>,
    strict: bool,
) -> Result<std::result::Result<Seed, Missing>> {
    let odd = oddness(window, line);
    let least = if strict { STRICTLY_ELSE } else { ELSE };
    let mut marks: Vec<bool> = odd.iter().map(|o| *o > least).collect();
    if let Some(start) = start {
        for (k, mark) in marks.iter_mut().enumerate() {
            let [x, y] = window.point(k % window.columns, k / window.columns);
            *mark &= start.holds(x, y);
        }
    }
    bridge(window, line, &mut marks);
    let marked = tidied(window, &marks)?;
    let (mut labels, mut stats, mut centres) = (Mat::default(), Mat::default(), Mat::default());
    let count = imgproc::connected_components_with_stats_def(
        &marked,
        &mut labels,
        &mut stats,
        &mut centres,
    )?;
    let strength = strengths(&labels, &odd, count)?;
    let long = window.columns.max(window.rows) as f64;
    let mut best: Option<(f64, bool, i32, [f64; 4])> = None;
    for label in 1..count {
        let stat = |k: i32| stats.at_2d::<i32>(label, k).map(|v| f64::from(*v));
        let (x, y, w, h) = (stat(0)?, stat(1)?, stat(2)?, stat(3)?);
        let area = stat(4)?;
        if w.max(h) < LEAST_LONG * long || area < 0.2 * w * h.min(w) {
            continue;
        }
        let at_side = x < 2.0 || x + w > window.columns as f64 - 2.0;
        let at_end = y < 2.0 || y + h > window.rows as f64 - 2.0;
        // posts, the tank's floor and rim run out of the picture up or down
        if at_end && start.is_none() {
            continue;
        }
        let point = |c: f64, r: f64| window.point(c as usize, r as usize);
        let under =
            [point(x + w / 2.0, y), point(x + w / 2.0, y + h - 1.0)].map(|p| line.under_px(p));
        let off = if under[0] > 0.0 {
            under[0]
        } else {
            (-under[1]).max(0.0)
        };
        let crosses = if off > 0.0 { 1.0 } else { CROSSES };
        let worth =
            crosses * strength[label as usize] / (1.0 + 4.0 * off / (h * window.step_px[1]));
        if best.as_ref().is_none_or(|b| worth > b.0) {
            let [left, top] = point(x, y);
            let [right, bottom] = point(x + w - 1.0, y + h - 1.0);
            best = Some((worth, at_side || at_end, label, [left, top, right, bottom]));
        }
    }
    Ok(match best {
        None => Err(Missing::Lure),
        Some((_, true, ..)) => Err(Missing::CutByFrame),
        Some((_, false, label, bounds_px)) => Ok(Seed {
            bounds_px,
            marked: labels,
            label,
        }),
    })
}

/// Height over or under the line, in rows.
fn rows_under(window: &Window, line: &WaterLine, k: usize) -> f64 {
    line.under_px(window.point(k % window.columns, k / window.columns)) / window.step_px[1]
}

/// How odd each piece is in all.
fn strengths(labels: &Mat, odd: &[f32], count: i32) -> Result<Vec<f64>> {
    let mut sums = vec![0.0; count.max(1) as usize];
    for (label, odd) in labels.data_typed::<i32>()?.iter().zip(odd) {
        sums[*label as usize] += f64::from(*odd);
    }
    Ok(sums)
}

/// How far samples differ from the surround at their height, in its spreads; 0 at the water's line.
fn oddness(window: &Window, line: &WaterLine) -> Vec<f32> {
    let under: Vec<i32> = (0..window.len())
        .map(|k| rows_under(window, line, k).round() as i32)
        .collect();
    let (least, most) = (
        under.iter().copied().min().unwrap_or(0),
        under.iter().copied().max().unwrap_or(0),
    );
    let margin = (MARGIN * window.columns as f64) as usize;
    // colours at each height: left margin, right margin, all
    let bins = (most - least + 1) as usize;
    let mut groups = vec![[(); 3].map(|()| Vec::<Colour>::new()); bins];
    for (k, u) in under.iter().enumerate() {
        let column = k % window.columns;
        let bin = &mut groups[(u - least) as usize];
        let colour = window.colour(k, 1.0);
        if column < margin {
            bin[0].push(colour);
        } else if column >= window.columns - margin {
            bin[1].push(colour);
        }
        if column % 3 == 0 {
            bin[2].push(colour);
        }
    }
    let surrounds: Vec<Surround> = (0..bins)
        .map(|bin| {
            let height = bin as i32 + least;
            // heights close by, on the same side of the line
            let near = (bin.saturating_sub(2)..(bin + 3).min(bins))
                .filter(|b| ((*b as i32 + least) > 0) == (height > 0));
            Surround::of(near.map(|b| &groups[b]))
        })
        .collect();
    under
        .iter()
        .enumerate()
        .map(|(k, u)| match f64::from(u.abs()) > BAND {
            true => surrounds[(u - least) as usize]
                .off(window.colour(k, 1.0))
                .min(ODDEST),
            false => 0.0,
        })
        .collect()
}

/// The surround at one height: the two colours that agree best of left margin, right margin and middle.
struct Surround {
    colours: [Colour; 2],
    spread: Colour,
}

impl Surround {
    fn of<'a>(groups: impl Iterator<Item = &'a [Vec<Colour>; 3]>) -> Surround {
        let mut pools = [(); 3].map(|()| Vec::new());
        for group in groups {
            for (pool, part) in pools.iter_mut().zip(group) {
                pool.extend_from_slice(part);
            }
        }
        let middle = |pool: &Vec<Colour>, n: usize| {
            upper_median(pool.iter().map(|c| f64::from(c[n]))).unwrap_or(0.0) as f32
        };
        let medians: [Colour; 3] =
            std::array::from_fn(|p| std::array::from_fn(|n| middle(&pools[p], n)));
        let apart = |a: usize, b: usize| -> f32 {
            if pools[a].is_empty() || pools[b].is_empty() {
                return f32::INFINITY;
            }
            (0..3)
                .map(|n| ((medians[a][n] - medians[b][n]) / LEAST_SPREAD[n]).powi(2))
                .sum()
        };
        let pairs = [(0, 1), (0, 2), (1, 2)];
        let (a, b) = pairs
            .into_iter()
            .min_by(|p, q| apart(p.0, p.1).total_cmp(&apart(q.0, q.1)))
            .unwrap_or((0, 1));
        let spread = std::array::from_fn(|n| {
            let sizes = [a, b].into_iter().flat_map(|p| {
                let off = move |c: &Colour| f64::from((c[n] - medians[p][n]).abs());
                pools[p].iter().map(off)
            });
            (1.48 * upper_median(sizes).unwrap_or(0.0) as f32).max(LEAST_SPREAD[n])
        });
        Surround {
            colours: [medians[a], medians[b]],
            spread,
        }
    }

    fn off(&self, colour: Colour) -> f32 {
        let off = |c: &Colour| -> f32 {
            (0..3)
                .map(|n| ((colour[n] - c[n]) / self.spread[n]).powi(2))
                .sum()
        };
        off(&self.colours[0]).min(off(&self.colours[1])).sqrt()
    }
}

/// Marks the band at the water's line where the samples over and under it are marked.
fn bridge(window: &Window, line: &WaterLine, marks: &mut [bool]) {
    let seen = marks.to_vec();
    let band = (BRIDGE * window.columns as f64).max(BAND + 2.0);
    for (k, mark) in marks.iter_mut().enumerate() {
        if rows_under(window, line, k).abs() > band {
            continue;
        }
        let (row, column) = (k / window.columns, k % window.columns);
        let any = |rows: std::ops::Range<usize>| {
            rows.into_iter().any(|r| seen[r * window.columns + column])
        };
        let reach = 2 * band as usize;
        let over = any(row.saturating_sub(reach)..row);
        let under = any(row + 1..(row + reach + 1).min(window.rows));
        *mark |= over && under;
    }
}

/// Small holes closed, specks and wire taken away.
fn tidied(window: &Window, marks: &[bool]) -> Result<Mat> {
    let (rows, columns) = (window.rows as i32, window.columns as i32);
    let bytes: Vec<u8> = marks.iter().map(|m| 255 * u8::from(*m)).collect();
    let rough = Mat::from_slice(&bytes)?.reshape(1, rows)?.try_clone()?;
    let mut out = Mat::new_rows_cols_with_default(rows, columns, CV_8UC1, Scalar::all(0.0))?;
    let wire = ((WIRE * columns.max(rows) as f64) as i32) | 1;
    let mut closed = rough.try_clone()?;
    morph(&rough, &mut closed, imgproc::MORPH_CLOSE, 5)?;
    morph(&closed, &mut out, imgproc::MORPH_OPEN, wire.max(3))?;
    Ok(out)
}

/// Opening or closing with a disc `side` samples wide.
pub fn morph(from: &Mat, to: &mut Mat, way: i32, side: i32) -> Result<()> {
    let disc = imgproc::get_structuring_element(
        imgproc::MORPH_ELLIPSE,
        Size::new(side, side),
        Point::new(-1, -1),
    )?;
    imgproc::morphology_ex_def(from, to, way, &disc)?;
    debug_assert!(to.data_bytes().is_ok());
    Ok(())
}
