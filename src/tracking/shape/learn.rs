//! Learns the silhouette and the look of each spot as the lure swims.

use super::super::colours::Voice;
use super::super::pose::Pose;
use super::super::window::Window;
use super::{LEAST_SPREAD, LOOK_AFTER, Shape, long_tail};

/// How many frames the first outline counts for against what is learned.
const FIRST_OUTLINE_WEIGHT: f32 = 12.0;

/// What a cell of the grid may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Zone {
    /// The core of the body.
    Core,
    /// Body, limb or water.
    Fringe,
    /// Nothing but water.
    Beyond,
}

impl Zone {
    /// Where body coordinates lie to a first outline `width` times as wide as long. Body, lip and the roots of the hooks
    /// lie within half as much again as that, with corners.
    pub(super) fn of([u, v]: [f64; 2], width: f64) -> Zone {
        let across = (1.5 * 0.5 * width).max(0.15);
        if (u / 0.3).powi(2) + (v / (0.3 * width)).powi(2) < 1.0 {
            Zone::Core
        } else if (u / 0.74).powi(4) + (v / across).powi(4) < 1.0 {
            Zone::Fringe
        } else {
            Zone::Beyond
        }
    }
}

impl Shape {
    /// Learns from one more frame: what each sample of the window says, under this pose.
    pub fn learn(&mut self, window: &Window, voices: &[Voice], pose: &Pose, slowest: f32) {
        self.frames += 1.0;
        let rate = (1.0 / (self.frames + FIRST_OUTLINE_WEIGHT)).max(slowest);
        let look_rate = (1.0 / self.frames).max(2.0 * slowest);
        let to_picture = pose.onto_picture();
        for row in 0..self.rows {
            for column in 0..self.columns {
                let [x, y] = to_picture(self.spot(column, row));
                let gx = (x - window.corner_px[0]) / window.step_px[0];
                let gy = (y - window.corner_px[1]) / window.step_px[1];
                if gx < 0.0 || gy < 0.0 {
                    continue;
                }
                let (i, j) = (gx as i32 as usize, gy as i32 as usize);
                if i >= window.columns || j >= window.rows {
                    continue;
                }
                let cell = row * self.columns + column;
                let voice = &voices[j * window.columns + i];
                let chance = self.chance(cell, voice);
                self.likely[cell] += rate * (chance - self.likely[cell]);
                for n in 0..3 {
                    let off = voice.colour[n] - self.mean[cell][n];
                    self.mean[cell][n] += look_rate * off;
                    let spread = &mut self.variance[cell][n];
                    *spread += rate * (off * off - *spread);
                }
            }
        }
        if self.symmetric {
            self.even_out();
        }
        self.stretch();
        self.measure_reach();
        self.refresh_look();
    }

    /// Makes left and right of the body equally likely: over many wobbles they are, and it keeps the
    /// axis of the body frame on the axis of the body.
    fn even_out(&mut self) {
        for row in 0..self.rows / 2 {
            let mirror = self.rows - 1 - row;
            for column in 0..self.columns {
                let (a, b) = (row * self.columns + column, mirror * self.columns + column);
                let mean = 0.5 * (self.likely[a] + self.likely[b]);
                self.likely[a] = mean;
                self.likely[b] = mean;
            }
        }
    }

    /// Chance that a sample on this cell is lure: by the lure's colours as a whole and by how the cell
    /// has looked so far (background slides through under a cell, the lure does not).
    fn chance(&self, cell: usize, voice: &Voice) -> f32 {
        if self.frames < LOOK_AFTER + 1.0 {
            return voice.chance();
        }
        let look = &self.look[cell];
        let off: f32 = (0..3)
            .map(|n| (voice.colour[n] - look.mean[n]).powi(2) * look.per_variance[n])
            .sum();
        let by_look = (look.log_norm + long_tail(off) - voice.log_water).clamp(-2.5, 2.5);
        let say = 0.5 * self.look_weight();
        let ratio = ((1.0 - say) * voice.log_ratio + say * by_look).exp();
        ratio / (1.0 + ratio)
    }

    fn refresh_look(&mut self) {
        let least = LEAST_SPREAD.map(|s| s * s);
        // most cells are as even as a cell may be: their logarithms need not be taken again
        let log_least = least.map(f32::ln);
        for ((look, mean), variance) in self.look.iter_mut().zip(&self.mean).zip(&self.variance) {
            look.mean[..3].copy_from_slice(mean);
            look.log_norm = -1.5 * std::f32::consts::TAU.ln();
            for n in 0..3 {
                let v = variance[n].max(least[n]);
                let log = if v == least[n] { log_least[n] } else { v.ln() };
                look.per_variance[n] = 1.0 / v;
                look.log_norm -= 0.5 * log;
            }
        }
    }

    /// Stretches the mean likelihood so that water is 0 and the core of the body 1. The outline lies
    /// halfway between, where blur on either side of an edge is even.
    fn stretch(&mut self) {
        let mut core = Vec::new();
        let (mut outside, mut count) = (0.0, 0.0);
        for (zone, &likely) in self.zones.iter().zip(&self.likely) {
            match zone {
                Zone::Core => core.push(likely),
                Zone::Fringe => (),
                Zone::Beyond => {
                    outside += likely;
                    count += 1.0;
                }
            }
        }
        if core.is_empty() || count == 0.0 {
            return;
        }
        core.sort_by(f32::total_cmp);
        let high = core[core.len() * 7 / 10];
        let low = outside / count;
        if high - low < 0.08 {
            return;
        }
        self.water_and_core = [low, high];
        let (foot, top) = (low + 0.3 * (high - low), low + 0.7 * (high - low));
        let cells = self.zones.iter().zip(&self.likely);
        for (share, (zone, likely)) in self.share.iter_mut().zip(cells) {
            *share = if *zone == Zone::Beyond {
                0.0
            } else {
                let raw = ((likely - foot) / (top - foot)).clamp(0.0, 1.0);
                raw * raw * (3.0 - 2.0 * raw)
            };
        }
        self.keep_main_piece();
    }

    /// Drops everything that does not hang together with the middle of the body: stray look-alikes of
    /// the background must not become part of the lure.
    fn keep_main_piece(&mut self) {
        let mut kept = vec![false; self.share.len()];
        let mut open = Vec::new();
        let middle_row = self.rows / 2;
        let quarter = self.columns / 8;
        for column in self.columns / 2 - quarter..=self.columns / 2 + quarter {
            let k = middle_row * self.columns + column;
            if self.share[k] > 0.3 && !kept[k] {
                kept[k] = true;
                open.push(k);
            }
        }
        while let Some(k) = open.pop() {
            let (column, row) = (k % self.columns, k / self.columns);
            let mut visit = |n: usize| {
                if !kept[n] && self.share[n] > 0.1 {
                    kept[n] = true;
                    open.push(n);
                }
            };
            if column > 0 {
                visit(k - 1);
            }
            if column + 1 < self.columns {
                visit(k + 1);
            }
            if row > 0 {
                visit(k - self.columns);
            }
            if row + 1 < self.rows {
                visit(k + self.columns);
            }
        }
        for (share, kept) in self.share.iter_mut().zip(kept) {
            if !kept {
                *share = 0.0;
            }
        }
    }
}
