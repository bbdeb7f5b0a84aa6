//! The lure's silhouette in its own frame, learned as it swims: how much of each spot is lure.

mod learn;

use self::learn::Zone;
use super::lay::Lay;
use super::pose::Pose;
use super::window::Window;

/// Half-extent of the grid along and across, in reference lengths.
const REACH_U: f64 = 53.0 / CELLS;
const REACH_V: f64 = 31.0 / CELLS;
/// Cells per reference length.
const CELLS: f64 = 56.0;

/// A soft silhouette on a grid in body coordinates, 0 (water) to 1 (lure).
#[derive(Clone)]
pub struct Shape {
    columns: usize,
    rows: usize,
    /// what each cell may be
    zones: Vec<Zone>,
    share: Vec<f32>,
    /// running mean of how likely each cell is lure, before it is stretched to 0–1
    likely: Vec<f32>,
    /// how likely water is, and the core of the body
    water_and_core: [f32; 2],
    /// running mean of brightness and colour in each cell, and their variances
    mean: Vec<[f32; 3]>,
    variance: Vec<[f32; 3]>,
    /// what goes before the exponent, and the inverse variances, ready for use
    look: Vec<Look>,
    frames: f32,
    /// whether left and right of the body look alike on average
    symmetric: bool,
    /// the part along u that counts as body: lip and hooks swing apart from it
    body: [f64; 2],
    /// the least stretch of u and of v that holds all of the lure, limbs as well
    reach: [[f64; 2]; 2],
}

/// Share given to a sample on the lip or the hooks: neither body nor water.
const NEITHER: f32 = -1.0;

/// A share smaller than this is none.
const LEAST_SHARE: f32 = 1e-4;

/// How a cell looks: a normal distribution of brightness and colour, and a fourth that is nought, for processors reckon
/// with four at a time.
#[derive(Debug, Clone, Copy, Default)]
struct Look {
    mean: [f32; 4],
    per_variance: [f32; 4],
    log_norm: f32,
}

/// Least standard deviation of brightness and of the colour differences: coding noise, and the flank
/// brightening as it turns.
const LEAST_SPREAD: [f32; 3] = [9.0, 3.5, 3.5];
/// Frames after which the look of each cell begins to count, and after which it counts in full.
const LOOK_AFTER: f32 = 3.0;
const LOOK_LEARNED: f32 = 25.0;

/// The silhouette and look at a place in the body frame.
#[derive(Debug, Clone, Copy)]
pub struct Spot {
    /// Share of lure, 0–1, and its slopes along u and v.
    pub share: [f32; 3],
    /// Log density of the sample's colour here, with its slopes along u and v.
    pub log_look: Option<[f32; 3]>,
}

impl Shape {
    /// A spindle, `width` times as wide as long, that fills u from −0.5 to 0.5.
    pub fn spindle(width: f64, symmetric: bool) -> Shape {
        let columns = 2 * ((REACH_U * CELLS) as usize) + 1;
        let rows = 2 * ((REACH_V * CELLS) as usize) + 1;
        let mut shape = Shape {
            columns,
            rows,
            zones: vec![Zone::Fringe; columns * rows],
            share: vec![0.0; columns * rows],
            likely: vec![0.0; columns * rows],
            water_and_core: [0.2, 0.8],
            mean: vec![[0.0; 3]; columns * rows],
            variance: vec![LEAST_SPREAD.map(|s| 1.5 * s * s); columns * rows],
            look: vec![Look::default(); columns * rows],
            frames: 0.0,
            symmetric,
            body: [-REACH_U, REACH_U],
            reach: [[-REACH_U, REACH_U], [-REACH_V, REACH_V]],
        };
        for row in 0..rows {
            for column in 0..columns {
                let [u, v] = shape.spot(column, row);
                shape.zones[row * columns + column] = Zone::of([u, v], width);
                let r = ((u / 0.5).powi(2) + (v / (0.5 * width)).powi(2)).sqrt();
                // an edge about a tenth of a length soft: the first guess must be able to slide in place
                let share = 1.0 / (1.0 + ((r - 1.0) * 9.0).exp());
                shape.share[row * columns + column] = share as f32;
                shape.likely[row * columns + column] = 0.2 + 0.6 * share as f32;
            }
        }
        shape
    }

    /// Body coordinates of the middle of a cell.
    pub fn spot(&self, column: usize, row: usize) -> [f64; 2] {
        [
            column as f64 / CELLS - REACH_U,
            row as f64 / CELLS - REACH_V,
        ]
    }

    /// Columns (along) and rows (across) of the grid.
    pub fn size(&self) -> (usize, usize) {
        (self.columns, self.rows)
    }

    /// How much of the cell is lure, 0–1.
    pub fn cell(&self, column: usize, row: usize) -> f32 {
        self.share[row * self.columns + column]
    }

    /// How lure-like the column is at its likeliest within `reach` of the axis, from 0 for water to about 1 for
    /// the core of the body, however faint; the mean of three by three cells.
    pub fn likeness_near_axis(&self, column: usize, reach: f64) -> f64 {
        let mean_about = |row: usize| -> f32 {
            let columns = column.saturating_sub(1)..=(column + 1).min(self.columns - 1);
            let cells = columns.flat_map(|c| (row - 1..=row + 1).map(move |r| (c, r)));
            let (sum, count) = cells.fold((0.0, 0.0), |(sum, count), (c, r)| {
                (sum + self.likely[r * self.columns + c], count + 1.0)
            });
            sum / count
        };
        let likeliest = (1..self.rows - 1)
            .filter(|&row| self.spot(column, row)[1].abs() < reach)
            .map(mean_about)
            .fold(0.0, f32::max);
        let [water, core] = self.water_and_core;
        f64::from((likeliest - water) / (core - water))
    }

    /// Mean brightness and colour of a cell, 0–255.
    pub fn cell_colour(&self, column: usize, row: usize) -> [f32; 3] {
        self.mean[row * self.columns + column]
    }

    /// Share at body coordinates with its slopes along u and v: `[share, d/du, d/dv]`; 0 outside the grid.
    #[inline]
    pub fn at(&self, u: f32, v: f32) -> [f32; 3] {
        if f64::from(u) < self.body[0] || f64::from(u) > self.body[1] {
            return [0.0; 3];
        }
        let gx = (u + REACH_U as f32) * CELLS as f32;
        let gy = (v + REACH_V as f32) * CELLS as f32;
        if gx < 0.0 || gy < 0.0 {
            return [0.0; 3];
        }
        let (i, j) = (whole(gx), whole(gy));
        if i + 1 >= self.columns || j + 1 >= self.rows {
            return [0.0; 3];
        }
        let (fx, fy) = (gx - i as f32, gy - j as f32);
        let k = j * self.columns + i;
        let (a, b) = (self.share[k], self.share[k + 1]);
        let (c, d) = (
            self.share[k + self.columns],
            self.share[k + self.columns + 1],
        );
        let top = a + fx * (b - a);
        let low = c + fx * (d - c);
        let cells = CELLS as f32;
        [
            top + fy * (low - top),
            cells * ((b - a) + fy * ((d - c) - (b - a))),
            cells * (low - top),
        ]
    }

    /// Share and look at body coordinates, for a sample of this colour.
    #[inline(always)]
    pub fn meets(&self, u: f32, v: f32, colour: &[f32; 3]) -> Spot {
        let share = self.at(u, v);
        if self.frames < LOOK_AFTER || (share[0] == 0.0 && share[1] == 0.0 && share[2] == 0.0) {
            return Spot {
                share,
                log_look: None,
            };
        }
        Spot {
            share,
            log_look: Some(self.log_look(u, v, colour)),
        }
    }

    #[inline]
    fn log_look(&self, u: f32, v: f32, colour: &[f32; 3]) -> [f32; 3] {
        let gx = (u + REACH_U as f32) * CELLS as f32;
        let gy = (v + REACH_V as f32) * CELLS as f32;
        let (i, j) = (
            whole(gx).min(self.columns - 2),
            whole(gy).min(self.rows - 2),
        );
        let (fx, fy) = (gx - i as f32, gy - j as f32);
        let k = j * self.columns + i;
        let near = k + usize::from(fx > 0.5) + if fy > 0.5 { self.columns } else { 0 };
        let look = &self.look[near];
        let (a, b) = (&self.look[k].mean, &self.look[k + 1].mean);
        let (c, d) = (
            &self.look[k + self.columns].mean,
            &self.look[k + self.columns + 1].mean,
        );
        let cells = CELLS as f32;
        let colour = [colour[0], colour[1], colour[2], 0.0];
        let (mut off, mut along, mut across) = ([0.0; 4], [0.0; 4], [0.0; 4]);
        for n in 0..4 {
            let (top, low) = (a[n] + fx * (b[n] - a[n]), c[n] + fx * (d[n] - c[n]));
            let away = colour[n] - (top + fy * (low - top));
            let pull = away * look.per_variance[n];
            off[n] = away * pull;
            along[n] = pull * cells * ((b[n] - a[n]) + fy * ((d[n] - c[n]) - (b[n] - a[n])));
            across[n] = pull * cells * (low - top);
        }
        let [off, along, across] = [off, along, across].map(|of| of[0] + of[1] + of[2]);
        let eased = 4.0 / (4.0 + off);
        [
            look.log_norm + long_tail(off),
            along * eased,
            across * eased,
        ]
    }

    /// How far the look of each spot is learned, 0–1.
    pub fn look_weight(&self) -> f32 {
        (self.frames / LOOK_LEARNED).min(1.0)
    }

    /// The stretch of u and that of v outside of which there is no body.
    pub fn extent(&self) -> [[f64; 2]; 2] {
        let [[low, high], across] = self.reach;
        [[low.max(self.body[0]), high.min(self.body[1])], across]
    }

    /// Area of the silhouette in squared reference lengths.
    pub fn area(&self) -> f64 {
        f64::from(self.share.iter().sum::<f32>()) / (CELLS * CELLS)
    }

    /// How lopsided the silhouette is along u (standardised third moment): below zero where it thins out toward
    /// the negative end.
    pub fn skew(&self) -> f64 {
        let cells: Vec<(f64, f64)> = (0..self.rows)
            .flat_map(|row| (0..self.columns).map(move |column| (column, row)))
            .map(|(column, row)| (f64::from(self.cell(column, row)), self.spot(column, row)[0]))
            .collect();
        let whole: f64 = cells.iter().map(|(share, _)| share).sum();
        let mean = cells.iter().map(|(share, u)| share * u).sum::<f64>() / whole;
        let moment = |n: i32| -> f64 {
            cells
                .iter()
                .map(|(share, u)| share * (u - mean).powi(n))
                .sum::<f64>()
                / whole
        };
        moment(3) / moment(2).powf(1.5)
    }

    /// Leaves out of the fit what lies beyond the body's ends, u from `tail` to `nose` in either order.
    pub fn keep_to_body(&mut self, tail: f64, nose: f64) {
        self.body = [tail.min(nose), tail.max(nose)];
    }

    /// Share for each sample of a window under a pose; negative on what is neither body nor water.
    pub fn cast(&self, window: &Window, pose: &Pose) -> Vec<f32> {
        let mut out = vec![0.0; window.len()];
        let lay = Lay::of(window, pose);
        for row in 0..window.rows {
            let Some((first, last)) = lay.columns_within(row, self.reach) else {
                continue;
            };
            for column in first..=last {
                let [u, v] = lay.at(column, row);
                let share = self.at(u as f32, v as f32)[0];
                out[row * window.columns + column] = if share == 0.0 && self.is_limb(u, v) {
                    NEITHER
                } else {
                    share
                };
            }
        }
        out
    }

    /// Whether a spot beyond the body's ends belongs to the lure all the same.
    fn is_limb(&self, u: f64, v: f64) -> bool {
        let beyond = u < self.body[0] || u > self.body[1];
        let (gx, gy) = ((u + REACH_U) * CELLS, (v + REACH_V) * CELLS);
        if !beyond || gx < 0.0 || gy < 0.0 {
            return false;
        }
        let (i, j) = (gx as usize, gy as usize);
        i < self.columns && j < self.rows && self.share[j * self.columns + i] > 0.1
    }

    /// A copy blurred by about `sigma` lengths: it pulls from farther away.
    pub fn blurred(&self, sigma: f64) -> Shape {
        let reach = ((sigma * CELLS * 1.7) as usize).max(1);
        let mut out = self.clone();
        for _ in 0..2 {
            box_blur(
                &mut out.share,
                self.columns,
                self.rows,
                1,
                self.columns,
                reach,
            );
            box_blur(
                &mut out.share,
                self.rows,
                self.columns,
                self.columns,
                1,
                reach,
            );
        }
        out.measure_reach();
        out
    }

    fn measure_reach(&mut self) {
        let mut reach = [[f64::INFINITY, f64::NEG_INFINITY]; 2];
        for row in 0..self.rows {
            for column in 0..self.columns {
                if self.cell(column, row) < LEAST_SHARE {
                    continue;
                }
                for (stretch, at) in reach.iter_mut().zip(self.spot(column, row)) {
                    // between the cells the share still falls
                    stretch[0] = stretch[0].min(at - 1.0 / CELLS);
                    stretch[1] = stretch[1].max(at + 1.0 / CELLS);
                }
            }
        }
        self.reach = reach;
    }
}

/// The whole part of a place on the grid: by way of 32 bits, for which processors have an instruction.
#[inline]
fn whole(place: f32) -> usize {
    (place as i32).max(0) as usize
}

/// Log of a bell with long tails (Student's t, three degrees of freedom) at squared distance `off` in
/// standard deviations: glints and slips of the pose must not shout.
#[inline]
fn long_tail(off: f32) -> f32 {
    -2.0 * (1.0 + 0.25 * off).ln()
}

/// Running mean over ± `reach` cells along one axis of the grid.
fn box_blur(
    cells: &mut [f32],
    length: usize,
    lines: usize,
    stride: usize,
    line_stride: usize,
    reach: usize,
) {
    let norm = 1.0 / (2 * reach + 1) as f32;
    let mut copy = vec![0.0; length];
    for line in 0..lines {
        for (k, value) in copy.iter_mut().enumerate() {
            *value = cells[line * line_stride + k * stride];
        }
        let mut sum: f32 = copy.iter().take(reach + 1).sum();
        for k in 0..length {
            cells[line * line_stride + k * stride] = sum * norm;
            if k + reach + 1 < length {
                sum += copy[k + reach + 1];
            }
            if k >= reach {
                sum -= copy[k - reach];
            }
        }
    }
}
