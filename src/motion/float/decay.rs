//! Rocking after a push: a damped sine fitted by least squares.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};
use std::f64::consts::TAU;

use crate::Measured;

/// A decay needs so many swings and frames to be one.
const FEWEST_SWINGS: f64 = 1.3;
const FEWEST_FRAMES: usize = 12;
/// Least swing off its rest, degrees, and in standard deviations of what is left.
const LEAST_SWING_DEG: f64 = 0.8;
const LEAST_OVER_NOISE: f64 = 4.0;
/// How many times better than a steady angle it must explain the series (F statistic; 4 and many degrees of
/// freedom: a chance of less than 1 in 100 000 would need 7.7, and residuals are correlated).
const LEAST_F: f64 = 20.0;
/// No rocking is quite a damped sine: share of the period, and damping ratio, that stays open (rendered clips).
const MODEL_DOUBT: f64 = 0.002;
/// Periods looked for, s.
const PERIODS_S: [f64; 2] = [0.12, 5.0];

/// A damped sine: level + e^(−decay·τ)·(cosine·cos ωτ + sine·sin ωτ), τ = t − start.
#[derive(Debug, Clone, PartialEq)]
pub struct Decay {
    /// When it was let go, s.
    pub start_s: f64,
    /// Resting value and its standard deviation.
    pub level: [f64; 2],
    /// ω of the damped swing, rad/s.
    pub omega: f64,
    /// Decay rate, 1/s.
    pub decay: f64,
    /// Amplitudes at the start.
    pub cosine: f64,
    /// See `cosine`.
    pub sine: f64,
    /// Period, s.
    pub period_s: Measured,
    /// Damping ratio ζ = decay/√(decay² + ω²).
    pub damping: Measured,
}

impl Decay {
    /// The value at time `t`, s.
    pub fn at(&self, t: f64) -> f64 {
        let tau = t - self.start_s;
        let (sin, cos) = (self.omega * tau).sin_cos();
        self.level[0] + (-self.decay * tau).exp() * (self.cosine * cos + self.sine * sin)
    }
}

/// Finds the decay in a series of angles (degrees) over time; an error says why there is none, as a measure.
pub fn decay(t_s: &[f64], values: &[f64]) -> Result<Decay, Measured> {
    let none = || Err(Measured::none("it lies still: no rocking above the noise"));
    if t_s.len() < FEWEST_FRAMES {
        return Err(Measured::unmeasurable(
            "rocking needs a clip of a second or more",
        ));
    }
    let from = let_go(values);
    let (t, y) = (&t_s[from..], &values[from..]);
    if t.len() < FEWEST_FRAMES {
        return Err(Measured::unmeasurable(
            "the clip ends before the rocking has been seen",
        ));
    }
    let start_s = t[0];
    let tau: Vec<f64> = t.iter().map(|t| t - start_s).collect();
    let span = tau[tau.len() - 1];
    let steady = spread_about_mean(y);
    let Some(guess) = search(&tau, y, span) else {
        return none();
    };
    let Some((fit, covariance, left)) = settle(&tau, y, guess) else {
        return none();
    };
    let [level, cosine, sine, omega, rate] = fit;
    let n = y.len() as f64;
    let f = (steady - left) / 4.0 / (left / (n - 5.0)).max(1e-12);
    let swing = cosine.hypot(sine);
    let noise = (left / (n - 5.0)).sqrt();
    if f < LEAST_F || swing < LEAST_SWING_DEG.max(LEAST_OVER_NOISE * noise) {
        return none();
    }
    // swings while it still stands out of the noise
    let loud_s = if rate > 1e-6 {
        (swing / noise.max(1e-6)).ln() / rate
    } else {
        span
    };
    if loud_s.min(span) * omega / TAU < FEWEST_SWINGS {
        return Err(Measured::unmeasurable(
            "it came to rest within a swing or so: push harder, or film at a higher frame rate",
        ));
    }
    let whole = omega.hypot(rate);
    let sd_omega = covariance[(3, 3)].sqrt().hypot(MODEL_DOUBT * omega);
    let sd_rate = covariance[(4, 4)].sqrt();
    let period = TAU / omega;
    let damping = rate / whole;
    // dζ/dλ = ω²/(λ²+ω²)^1.5, dζ/dω = −λω/(…)^1.5
    let cube = whole.powi(3);
    let (by_rate, by_omega) = (omega * omega / cube, -rate * omega / cube);
    let sd_damping = (by_rate.powi(2) * covariance[(4, 4)]
        + by_omega.powi(2) * covariance[(3, 3)]
        + 2.0 * by_rate * by_omega * covariance[(3, 4)])
        .max(0.0)
        .sqrt()
        .hypot(MODEL_DOUBT);
    if sd_omega > 0.2 * omega || sd_rate.is_nan() {
        return none();
    }
    let half = 1.96 * sd_damping;
    Ok(Decay {
        start_s,
        level: [level, covariance[(0, 0)].sqrt()],
        omega,
        decay: rate,
        cosine,
        sine,
        period_s: Measured::within(period, 1.96 * period * sd_omega / omega),
        damping: Measured::new(
            damping,
            [(damping - half).max(0.0), (damping + half).min(1.0)],
        ),
    })
}

/// The frame at which the lure is farthest from where it ends.
fn let_go(values: &[f64]) -> usize {
    let tail = &values[values.len() * 3 / 4..];
    let mut sorted = tail.to_vec();
    sorted.sort_by(f64::total_cmp);
    let rest = sorted[sorted.len() / 2];
    let smooth = |i: usize| {
        let part = &values[i.saturating_sub(1)..(i + 2).min(values.len())];
        (part.iter().sum::<f64>() / part.len() as f64 - rest).abs()
    };
    (0..values.len() * 3 / 4)
        .max_by(|a, b| smooth(*a).total_cmp(&smooth(*b)))
        .unwrap_or(0)
}

fn spread_about_mean(y: &[f64]) -> f64 {
    let mean = y.iter().sum::<f64>() / y.len() as f64;
    y.iter().map(|v| (v - mean).powi(2)).sum()
}

/// The best of a grid of rates and decays, amplitudes by linear least squares.
fn search(tau: &[f64], y: &[f64], span: f64) -> Option<[f64; 5]> {
    const RATES: usize = 140;
    let gap = span / (tau.len() - 1) as f64;
    let slowest = TAU / PERIODS_S[1].min(span);
    let fastest = (TAU / PERIODS_S[0]).min(0.9 * std::f64::consts::PI / gap);
    let mut best: Option<(f64, [f64; 5])> = None;
    for i in 0..RATES {
        let omega = slowest * (fastest / slowest).powf(i as f64 / (RATES - 1) as f64);
        for ratio in [0.0, 0.02, 0.05, 0.1, 0.18, 0.3, 0.5] {
            let rate = ratio * omega;
            let mut normal = nalgebra::Matrix3::<f64>::zeros();
            let mut right = nalgebra::Vector3::<f64>::zeros();
            for (t, v) in tau.iter().zip(y) {
                let (sin, cos) = (omega * t).sin_cos();
                let e = (-rate * t).exp();
                let row = nalgebra::Vector3::new(1.0, e * cos, e * sin);
                normal += row * row.transpose();
                right += row * *v;
            }
            let Some(x) = normal.cholesky().map(|c| c.solve(&right)) else {
                continue;
            };
            let explained = x.dot(&right);
            if best.as_ref().is_none_or(|b| explained > b.0) {
                best = Some((explained, [x[0], x[1], x[2], omega, rate]));
            }
        }
    }
    best.map(|b| b.1)
}

struct Problem<'a> {
    tau: &'a [f64],
    y: &'a [f64],
    x: DVector<f64>,
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ParameterStorage = Owned<f64, Dyn>;
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;

    fn set_params(&mut self, x: &DVector<f64>) {
        self.x.copy_from(x);
    }

    fn params(&self) -> DVector<f64> {
        self.x.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let x = &self.x;
        let r = self.tau.iter().zip(self.y).map(|(t, y)| {
            let (sin, cos) = (x[3] * t).sin_cos();
            x[0] + (-x[4] * t).exp() * (x[1] * cos + x[2] * sin) - y
        });
        Some(DVector::from_iterator(self.y.len(), r))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let x = &self.x;
        let mut j = DMatrix::zeros(self.y.len(), 5);
        for (i, t) in self.tau.iter().enumerate() {
            let (sin, cos) = (x[3] * t).sin_cos();
            let e = (-x[4] * t).exp();
            let wave = x[1] * cos + x[2] * sin;
            j[(i, 0)] = 1.0;
            j[(i, 1)] = e * cos;
            j[(i, 2)] = e * sin;
            j[(i, 3)] = e * t * (x[2] * cos - x[1] * sin);
            j[(i, 4)] = -t * e * wave;
        }
        Some(j)
    }
}

/// The fit, its covariance s²(JᵀJ)⁻¹ widened for residuals that follow one another, and the squares left.
fn settle(tau: &[f64], y: &[f64], start: [f64; 5]) -> Option<([f64; 5], DMatrix<f64>, f64)> {
    let problem = Problem {
        tau,
        y,
        x: DVector::from_column_slice(&start),
    };
    let (solved, _) = LevenbergMarquardt::new()
        .with_patience(100)
        .minimize(problem);
    let residuals = solved.residuals()?;
    let jacobian = solved.jacobian()?;
    let left = residuals.norm_squared();
    let freedom = (y.len() - 5) as f64;
    let (mut same, mut next) = (1e-12, 0.0);
    for i in 1..residuals.len() {
        same += residuals[i] * residuals[i];
        next += residuals[i] * residuals[i - 1];
    }
    let rho = (next / same).clamp(0.0, 0.95);
    let widen = (1.0 + rho) / (1.0 - rho);
    let covariance = (jacobian.transpose() * &jacobian).try_inverse()? * (widen * left / freedom);
    let mut x = [0.0; 5];
    x.copy_from_slice(solved.x.as_slice());
    let sane = x.iter().all(|v| v.is_finite()) && x[3] > 0.0 && x[4] > -0.05 * x[3];
    sane.then_some((x, covariance, left))
}
