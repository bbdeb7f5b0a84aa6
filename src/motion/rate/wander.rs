//! The phase of a wobble whose rate wanders: the most probable path and what it leaves open.
//!
//! The rate is taken to move as a random walk of strength ρ (fraction of the rate per √s), so the
//! phase is the smoothing spline of Wahba 1978, here with the wave itself as the measurement: the
//! wave is made straight about the last path (Gauss–Newton), which turns each half cycle of samples
//! into one phase reading with its weight; a Kalman filter and a Rauch–Tung–Striebel smoother give
//! the path, the likelihood of ρ, and the doubt in the phase run through from first to last sample.
//! ρ = 0 is the plain sine fit. ρ itself is not chosen but averaged over by its likelihood.

use super::phase::Phase;
use super::tone::Tone;
use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};
use std::f64::consts::TAU;

/// Belief beforehand that the rate does not wander at all, for the value: a steady tone must not pay
/// for freedom it does not need.
pub(super) const STEADY_FOR_VALUE: f64 = 0.4;
/// The same for the interval: a wander too weak to see still moves the mean, so hardly any.
pub(super) const STEADY_FOR_INTERVAL: f64 = 0.1;
/// Strengths of wander tried.
pub(super) const STRENGTHS: [f64; 9] =
    [0.0, 0.0025, 0.005, 0.0075, 0.0125, 0.02, 0.03, 0.045, 0.07];
/// A few of them, for the way there.
pub(super) const FEW_STRENGTHS: [f64; 3] = [0.0, 0.0125, 0.045];
/// Gauss–Newton rounds per strength at most.
const ROUNDS: usize = 8;
/// Settled when no phase moves by more, rad; each round leaves a small part of its step, so what is
/// left is far less.
const SETTLED: f64 = 5e-3;

/// One strength of wander and what it makes of the data.
#[derive(Debug, Clone)]
pub(super) struct Path {
    pub strength: f64,
    pub phase: Phase,
    /// Log of the likelihood with the phase integrated out, up to a constant.
    pub likelihood: f64,
    /// Variance of the cycles counted from first to last sample.
    pub count_variance: f64,
    /// Phase freedom used up (trace of the smoother).
    pub freedom: f64,
}

/// The strengths tried, weakest first.
#[derive(Debug, Clone, Default)]
pub(super) struct Paths(pub Vec<Path>);

impl Paths {
    /// The paths with their shares of belief (sum 1), where `steady` was believed in no wander.
    pub fn shares(&self, steady: f64) -> Vec<(f64, &Path)> {
        let top = self.top();
        let wandering = (1.0 - steady) / (self.0.len().max(2) - 1) as f64;
        let prior = |p: &Path| if p.strength == 0.0 { steady } else { wandering };
        let weight = |p: &Path| prior(p) * (p.likelihood - top).exp();
        let total: f64 = self.0.iter().map(weight).sum();
        self.0.iter().map(|p| (weight(p) / total, p)).collect()
    }

    /// The path believed in most.
    pub fn best(&self) -> Option<&Path> {
        let shares = self.shares(STEADY_FOR_VALUE);
        shares
            .into_iter()
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, path)| path)
    }

    /// Log of the likelihood averaged over the strengths, up to a constant.
    pub fn evidence(&self) -> f64 {
        let top = self.top();
        top + (self
            .0
            .iter()
            .map(|p| (p.likelihood - top).exp())
            .sum::<f64>()
            / self.0.len() as f64)
            .ln()
    }

    fn top(&self) -> f64 {
        self.0
            .iter()
            .map(|p| p.likelihood)
            .fold(f64::NEG_INFINITY, f64::max)
    }
}

/// Follows `tones` from each of `starts` with each of `strengths`, the freest first.
pub(super) fn paths(tones: &[Tone], starts: &[Phase], hz: f64, strengths: &[f64]) -> Paths {
    let span = span(tones);
    let mut best: Vec<Option<Path>> = vec![None; strengths.len()];
    for start in starts {
        let mut phase = start.clone();
        for (slot, &strength) in best.iter_mut().zip(strengths).rev() {
            let path = settle(tones, phase, strength, hz, span);
            phase = path.phase.clone();
            if slot.as_ref().is_none_or(|p| path.likelihood > p.likelihood) {
                *slot = Some(path);
            }
        }
    }
    let settled = best.into_iter().flatten();
    Paths(settled.filter(|p| p.likelihood.is_finite()).collect())
}

/// First and last time stamp of all channels, s.
pub(super) fn span(tones: &[Tone]) -> [f64; 2] {
    let first = tones.iter().filter_map(|t| t.channel.t_s.first()).copied();
    let last = tones.iter().filter_map(|t| t.channel.t_s.last()).copied();
    [
        first.fold(f64::INFINITY, f64::min),
        last.fold(f64::NEG_INFINITY, f64::max),
    ]
}

fn settle(tones: &[Tone], start: Phase, strength: f64, hz: f64, span: [f64; 2]) -> Path {
    let mut phase = start;
    let mut path = None;
    for _ in 0..ROUNDS {
        let readings = Readings::take(tones, &phase, hz, span);
        let next = readings.smooth(strength, hz);
        let moved = next
            .phase
            .t_s
            .iter()
            .map(|&t| (next.phase.at(t) - phase.at(t)).abs() * TAU);
        let moved = moved.fold(0.0, f64::max);
        phase = next.phase.clone();
        path = Some(next);
        if moved < SETTLED {
            break;
        }
    }
    path.unwrap_or(Path {
        strength,
        phase,
        likelihood: f64::NEG_INFINITY,
        count_variance: f64::INFINITY,
        freedom: 0.0,
    })
}

/// A phase reading from half a cycle of samples.
#[derive(Debug, Clone, Copy, Default)]
struct Reading {
    t: f64,
    samples: f64,
    /// Σ weight·slope², 1/rad².
    weight: f64,
    /// Σ weight·slope·residual, 1/rad.
    pull: f64,
    /// Phase about which the wave was made straight, rad.
    about: f64,
}

struct Readings {
    /// In order of time; the first and the last stand at the ends of the span and weigh nothing.
    list: Vec<Reading>,
    /// Σ weight·residual² about the path.
    misfit: f64,
}

impl Readings {
    fn take(tones: &[Tone], phase: &Phase, hz: f64, [from_s, to_s]: [f64; 2]) -> Readings {
        let width = 0.5 / hz;
        let count = ((to_s - from_s) / width).ceil().max(1.0) as usize;
        let mut blocks = vec![Reading::default(); count];
        let mut misfit = 0.0;
        for tone in tones {
            let cycles = tone.cycles(phase);
            let wave = tone.wave_at(&cycles);
            let samples = tone.channel.t_s.iter().zip(&tone.channel.values);
            for (((&t, &y), &c), trust) in samples.zip(&cycles).zip(&tone.trust) {
                let (value, slope) = wave.at(c);
                let residual = y - value;
                let weight = tone.weight * trust * trust;
                misfit += weight * residual * residual;
                let block = &mut blocks[(((t - from_s) / width) as usize).min(count - 1)];
                block.samples += 1.0;
                block.t += (t - block.t) / block.samples;
                block.weight += weight * slope * slope;
                block.pull += weight * slope * residual;
            }
        }
        let end = |t| Reading {
            t,
            ..Reading::default()
        };
        let inner = blocks
            .into_iter()
            .filter(|b| b.samples > 0.0 && b.t > from_s && b.t < to_s);
        let mut list: Vec<Reading> = std::iter::once(end(from_s)).chain(inner).collect();
        list.push(end(to_s));
        list.iter_mut().for_each(|r| r.about = TAU * phase.at(r.t));
        Readings { list, misfit }
    }

    /// Filter forward, smooth backward. State: phase less the steady rate's, its rate, and a copy
    /// of the phase at the first sample, which carries the variance of the difference.
    fn smooth(&self, strength: f64, hz: f64) -> Path {
        let steady = TAU * hz;
        let drive = (strength * steady).powi(2);
        let origin = self.list[0].about - steady * self.list[0].t;
        let mut state = Vector3::zeros();
        let wide = 10.0_f64.powi(2);
        let mut cov = Matrix3::new(
            wide,
            0.0,
            wide,
            0.0,
            (0.3 * steady).powi(2),
            0.0,
            wide,
            0.0,
            wide,
        );
        let mut steps: Vec<Step> = Vec::with_capacity(self.list.len());
        let mut likelihood = -0.5 * self.misfit;
        for (i, reading) in self.list.iter().enumerate() {
            let dt = if i == 0 {
                0.0
            } else {
                reading.t - self.list[i - 1].t
            };
            let move_on = Matrix3::new(1.0, dt, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0);
            state = move_on * state;
            cov = move_on * cov * move_on.transpose();
            cov[(0, 0)] += drive * dt.powi(3) / 3.0;
            cov[(0, 1)] += drive * dt * dt / 2.0;
            cov[(1, 0)] += drive * dt * dt / 2.0;
            cov[(1, 1)] += drive * dt;
            let predicted = (two(&state), two_by_two(&cov));
            if reading.weight > 0.0 {
                let read =
                    reading.about - steady * reading.t - origin + reading.pull / reading.weight;
                let variance = cov[(0, 0)] + 1.0 / reading.weight;
                let surprise = read - state[0];
                likelihood += 0.5 * reading.pull * reading.pull / reading.weight
                    - 0.5 * (variance * reading.weight).ln()
                    - 0.5 * surprise * surprise / variance;
                let gain: Vector3<f64> = cov.column(0) / variance;
                state += gain * surprise;
                cov -= gain * gain.transpose() * variance;
            }
            steps.push(Step {
                dt,
                predicted,
                filtered: (two(&state), two_by_two(&cov)),
            });
        }
        let count_variance = (cov[(0, 0)] - 2.0 * cov[(0, 2)] + cov[(2, 2)]) / (TAU * TAU);
        let smoothed = backward(&steps);
        let cycles = self
            .list
            .iter()
            .zip(&smoothed)
            .map(|(r, s)| (s.0[0] + origin + steady * r.t) / TAU);
        Path {
            strength,
            phase: Phase {
                t_s: self.list.iter().map(|r| r.t).collect(),
                cycles: cycles.collect(),
            },
            likelihood,
            count_variance,
            freedom: self
                .list
                .iter()
                .zip(&smoothed)
                .map(|(r, s)| r.weight * s.1[(0, 0)])
                .sum(),
        }
    }
}

/// Phase and rate with their covariance.
type State = (Vector2<f64>, Matrix2<f64>);

struct Step {
    dt: f64,
    predicted: State,
    filtered: State,
}

fn two(v: &Vector3<f64>) -> Vector2<f64> {
    Vector2::new(v[0], v[1])
}

fn two_by_two(m: &Matrix3<f64>) -> Matrix2<f64> {
    m.fixed_view::<2, 2>(0, 0).into_owned()
}

fn backward(steps: &[Step]) -> Vec<State> {
    let mut smoothed: Vec<State> = steps.iter().map(|s| s.filtered).collect();
    for i in (0..steps.len().saturating_sub(1)).rev() {
        let next = &steps[i + 1];
        let move_on = Matrix2::new(1.0, next.dt, 0.0, 1.0);
        let Some(inverse) = next.predicted.1.try_inverse() else {
            continue;
        };
        let gain = smoothed[i].1 * move_on.transpose() * inverse;
        let (mean, cov) = smoothed[i];
        let (later, later_cov) = smoothed[i + 1];
        smoothed[i].0 = mean + gain * (later - next.predicted.0);
        smoothed[i].1 = cov + gain * (later_cov - next.predicted.1) * gain.transpose();
    }
    smoothed
}
