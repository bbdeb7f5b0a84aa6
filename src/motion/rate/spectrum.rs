//! The joint spectrum of all channels against the noise each of them has around every frequency.

use super::channel::Channel;
use super::periodogram::{Grid, fast};
use crate::robust::upper_median;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};

/// Pieces into which a recording is cut before its spectra are averaged: a wandering rate spreads
/// over more and more places of one long spectrum, but hardly over those of a few seconds.
const PIECE_S: f64 = 4.0;
/// Places per resolvable width 1/T of a piece.
const OVERSAMPLING: f64 = 6.0;
/// The noise around f is the median from f/`FLOOR_SPAN` to f·`FLOOR_SPAN`.
const FLOOR_SPAN: f64 = 1.6;

/// Spectrum of every channel as power over the noise around: 1 on average where there is nothing.
pub(super) struct Spectrum {
    pub grid: Grid,
    /// Length of the pieces, s.
    pub piece_s: f64,
    /// Per channel the pieces that were averaged.
    pub pieces: Vec<f64>,
    /// Per channel and frequency the power over the noise around.
    pub ratio: Vec<Vec<f64>>,
    /// Per channel and frequency the noise around, as the variance of a white noise as strong.
    pub floor: Vec<Vec<f64>>,
}

impl Spectrum {
    /// Of `channels` between `low_hz` and `high_hz`.
    pub fn of(channels: &[Channel], low_hz: f64, high_hz: f64) -> Spectrum {
        let start = channels
            .iter()
            .filter_map(|c| c.t_s.first())
            .copied()
            .fold(f64::INFINITY, f64::min);
        let end = channels
            .iter()
            .filter_map(|c| c.t_s.last())
            .copied()
            .fold(f64::NEG_INFINITY, f64::max);
        let count = ((end - start) / PIECE_S).floor().max(1.0);
        let piece_s = (end - start) / count;
        let grid = Grid::new(low_hz, high_hz, 1.0 / (OVERSAMPLING * piece_s));
        let mut spectrum = Spectrum {
            grid,
            piece_s,
            pieces: vec![],
            ratio: vec![],
            floor: vec![],
        };
        for channel in channels {
            let (power, pieces) = mean_power(channel, start, piece_s, count as usize, grid);
            let floor = noise_around(&power, grid, piece_s, pieces);
            spectrum.ratio.push(
                power
                    .iter()
                    .zip(&floor)
                    .map(|(p, f)| p / f.max(f64::MIN_POSITIVE))
                    .collect(),
            );
            spectrum.floor.push(floor);
            spectrum.pieces.push(pieces);
        }
        spectrum
    }

    /// Log-likelihood gained by a line at `hz` in channel `c`: the highest within ± `within` of it.
    pub fn gain(&self, c: usize, hz: f64, within: f64) -> f64 {
        let (a, b) = (
            self.grid.place(hz * (1.0 - within)),
            self.grid.place(hz * (1.0 + within)),
        );
        let peak = self.ratio[c][a..=b].iter().copied().fold(0.0, f64::max);
        self.pieces[c] * (peak - 1.0)
    }

    /// Joint gain of all channels at place `i`.
    fn joint(&self, i: usize) -> f64 {
        (0..self.ratio.len())
            .map(|c| self.pieces[c] * self.ratio[c][i])
            .sum()
    }

    /// The highest peaks of the joint spectrum, at most `count`, best first, Hz.
    pub fn peaks(&self, count: usize) -> Vec<f64> {
        let joint: Vec<f64> = (0..self.grid.count).map(|i| self.joint(i)).collect();
        let is_peak = |&i: &usize| {
            (i == 0 || joint[i] >= joint[i - 1])
                && (i + 1 == joint.len() || joint[i] > joint[i + 1])
        };
        let mut peaks: Vec<usize> = (0..joint.len()).filter(is_peak).collect();
        peaks.sort_by(|&a, &b| joint[b].total_cmp(&joint[a]));
        peaks.iter().take(count).map(|&i| self.grid.hz(i)).collect()
    }

    /// Independent places looked at: about twice as many as resolvable widths.
    pub fn looks(&self) -> f64 {
        2.0 * self.grid.count as f64 / OVERSAMPLING
    }

    /// Chance that noise as it is around, in channel `c`, shows so strong a line at any frequency.
    ///
    /// Power over noise follows an F distribution: the noise itself is known only from the places
    /// around.
    pub fn false_alarm(&self, c: usize, hz: f64) -> f64 {
        let place = self.grid.place(hz);
        let (from, to) = around(self.grid, place, self.piece_s);
        let places = (to - from) as f64 / OVERSAMPLING;
        let pieces = self.pieces[c];
        let freedom = 2.0 * MEDIAN_WORTH * places * pieces;
        match FisherSnedecor::new(2.0 * pieces, freedom.max(2.0)) {
            Ok(f) => (self.looks() * f.sf(self.ratio[c][place].max(0.0))).min(1.0),
            Err(_) => 1.0,
        }
    }
}

/// A median is worth this part of as many values in a mean (exponential noise, asymptotic: (ln 2)²).
const MEDIAN_WORTH: f64 = 0.48;

/// The places around place `i` from which its noise is taken.
fn around(grid: Grid, i: usize, piece_s: f64) -> (usize, usize) {
    let hz = grid.hz(i);
    let reach = (hz - hz / FLOOR_SPAN).max(6.0 / piece_s);
    (
        grid.place((hz - reach).max(0.0)),
        grid.place((hz * FLOOR_SPAN).max(hz + reach)),
    )
}

fn mean_power(
    channel: &Channel,
    start: f64,
    piece_s: f64,
    count: usize,
    grid: Grid,
) -> (Vec<f64>, f64) {
    let mut total = vec![0.0; grid.count];
    let mut used = 0.0;
    for piece in 0..count {
        let from = channel
            .t_s
            .partition_point(|&t| t < start + piece as f64 * piece_s);
        let to = if piece + 1 == count {
            channel.t_s.len()
        } else {
            channel
                .t_s
                .partition_point(|&t| t < start + (piece + 1) as f64 * piece_s)
        };
        if (to - from) * count * 2 < channel.t_s.len() || to - from < 8 {
            continue;
        }
        let values = &channel.values[from..to];
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let energy = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 2.0;
        for (sum, z) in total
            .iter_mut()
            .zip(fast(&channel.t_s[from..to], values, grid))
        {
            *sum += z * energy;
        }
        used += 1.0;
    }
    let used = f64::max(used, 1.0);
    total.iter_mut().for_each(|p| *p /= used);
    (total, used)
}

/// Running median of the power over a band that widens with frequency, raised to a mean.
fn noise_around(power: &[f64], grid: Grid, piece_s: f64, pieces: f64) -> Vec<f64> {
    // Median over mean of a gamma distribution with shape `pieces` (Wilson & Hilferty).
    let median_over_mean = (1.0 - 1.0 / (9.0 * pieces)).powi(3);
    let stride = OVERSAMPLING as usize / 2;
    let knots: Vec<usize> = (0..grid.count).step_by(2 * stride).collect();
    let at_knots: Vec<f64> = knots
        .iter()
        .map(|&i| {
            let (a, b) = around(grid, i, piece_s);
            let near = power[a..=b].iter().step_by(stride).copied();
            upper_median(near).unwrap_or(f64::NAN) / median_over_mean
        })
        .collect();
    (0..grid.count)
        .map(|i| at_knots[i / (2 * stride)])
        .collect()
}
