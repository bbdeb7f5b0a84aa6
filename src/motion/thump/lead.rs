//! What carries the thump: the direction among several axes, or the channel and band of a sound.

use super::Gust;
use super::follow::{channel, first_rate};
use super::product::Lead;
use crate::media::{Carrier, Recording};
use crate::motion::rate::RateFit;
use nalgebra::{DMatrix, SymmetricEigen};
use std::f64::consts::TAU;

/// How many times as clear a rattle must be before it is preferred to the low band itself.
const RATTLE_BETTER: f64 = 1.5;

/// Unit vector along which the wave of `fit` is strongest: the principal axis of the axes' cosine and
/// sine parts at the rate and its double. Its largest component is positive.
pub(super) fn direction(
    t_s: &[f64],
    axes: &[Vec<f32>],
    [a, b]: [usize; 2],
    fit: &RateFit,
) -> Vec<f64> {
    let n = axes.len();
    let mut spread = DMatrix::<f64>::zeros(n, n);
    for k in [1.0, 2.0] {
        let parts: Vec<[f64; 2]> = axes
            .iter()
            .map(|axis| {
                (a..b).fold([0.0; 2], |[c, s], i| {
                    let (sin, cos) = (TAU * k * fit.phase.at(t_s[i])).sin_cos();
                    [c + f64::from(axis[i]) * cos, s + f64::from(axis[i]) * sin]
                })
            })
            .collect();
        for i in 0..n {
            for j in 0..n {
                spread[(i, j)] += parts[i][0] * parts[j][0] + parts[i][1] * parts[j][1];
            }
        }
    }
    let eigen = SymmetricEigen::new(spread);
    let strongest = eigen.eigenvalues.imax();
    let mut along: Vec<f64> = eigen
        .eigenvectors
        .column(strongest)
        .iter()
        .copied()
        .collect();
    let largest = along
        .iter()
        .copied()
        .max_by(|x, y| x.abs().total_cmp(&y.abs()))
        .unwrap_or(1.0);
    along.iter_mut().for_each(|v| *v *= largest.signum());
    along
}

/// The axes' values along `direction`.
pub(super) fn along(axes: &[Vec<f32>], direction: &[f64]) -> Vec<f32> {
    let count = axes.iter().map(Vec::len).min().unwrap_or(0);
    (0..count)
        .map(|i| {
            let parts = axes.iter().zip(direction);
            parts.map(|(axis, d)| d * f64::from(axis[i])).sum::<f64>() as f32
        })
        .collect()
}

/// How clear a rate stands out: its strongest wave over that wave's standard deviation.
fn clarity(fit: &RateFit) -> f64 {
    fit.amplitudes
        .iter()
        .map(|a| a.at_rate.max(a.at_double) / a.sd)
        .fold(0.0, f64::max)
}

/// The strip of a sound that shows a rate most clearly, its place, and the rate.
pub(super) fn clearest(
    recording: &Recording,
    strips: &[Vec<f32>],
    piece: [usize; 2],
    gusts: &[Vec<Gust>],
) -> Option<(usize, RateFit, Lead)> {
    let fits = strips.iter().enumerate().filter_map(|(i, values)| {
        let fit = first_rate(
            &[channel(&recording.t_s, values, piece, &gusts[i])],
            recording.passband_hz,
        )?;
        Some((i, fit))
    });
    let weight = |i: usize, fit: &RateFit| match recording.strips[i].carrier {
        Carrier::Rattle => clarity(fit) / RATTLE_BETTER,
        _ => clarity(fit),
    };
    let mut ranked: Vec<(usize, RateFit)> = fits.collect();
    ranked.sort_by(|(i, a), (j, b)| weight(*j, b).total_cmp(&weight(*i, a)));
    let best_of_other = |carrier: Carrier| {
        ranked
            .iter()
            .find(|(i, _)| recording.strips[*i].carrier != carrier)
            .map(|(_, f)| clarity(f))
    };
    let (i, fit) = ranked.first()?.clone();
    let strip = &recording.strips[i];
    let band = match strip.carrier {
        Carrier::Rattle => "the loudness of the rattle band",
        _ => "the low band itself",
    };
    let against = match best_of_other(strip.carrier) {
        Some(other) => format!(
            "{:.0} times its noise, against {other:.0} in the other band",
            clarity(&fit)
        ),
        None => format!(
            "{:.0} times its noise; the other band shows nothing",
            clarity(&fit)
        ),
    };
    let lead = Lead {
        carrier: strip.carrier,
        names: vec![strip.name.clone()],
        direction: vec![1.0],
        why: format!("{band} carries it ({against})"),
    };
    Some((i, fit, lead))
}
