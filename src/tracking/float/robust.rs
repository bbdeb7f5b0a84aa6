//! Robust linear least squares with what is known beforehand.

use nalgebra::{DMatrix, DVector};

use crate::robust::upper_median;

/// Tukey's constant, 95 % efficiency for normal residuals (from memory).
const TUKEY: f64 = 4.685;
/// Least scatter, px: no edge is read better.
const LEAST_SCATTER: f64 = 0.05;

/// A row of at least this weight bears the fit.
const BEARS: f64 = 0.2;

/// Coefficients with their standard deviations.
pub struct Fit {
    /// Coefficients.
    pub x: Vec<f64>,
    /// Their standard deviations.
    pub sd: Vec<f64>,
    /// Scatter of the residuals (from their median size).
    pub scatter: f64,
    /// How many rows bear it.
    pub kept: usize,
}

/// Fits `value ≈ Σ x_k·row_k` over `rows` with Tukey's weights. `known` holds mean and standard deviation of
/// coefficients that are known beforehand; `alike` neighbouring rows share their errors, or more where the
/// residuals follow one another (first-order autocorrelation).
pub fn weighted_fit(
    rows: &[(Vec<f64>, f64)],
    known: &[Option<[f64; 2]>],
    alike: f64,
) -> Option<Fit> {
    let (n, k) = (rows.len(), known.len());
    let matrix = DMatrix::from_fn(n, k, |i, j| rows[i].0[j]);
    let values = DVector::from_iterator(n, rows.iter().map(|r| r.1));
    let mut weights = vec![1.0f64; n];
    let mut scatter = 1.0;
    let mut answer = None;
    for _ in 0..12 {
        let weighted = DMatrix::from_fn(n, k, |i, j| weights[i] * matrix[(i, j)]);
        let mut normal = matrix.transpose() * &weighted;
        let mut right = weighted.transpose() * &values;
        for (j, prior) in known.iter().enumerate() {
            if let Some([mean, sd]) = prior {
                let weight = alike * (scatter / sd).powi(2);
                normal[(j, j)] += weight;
                right[j] += weight * mean;
            }
        }
        let inverse = normal.try_inverse()?;
        let x = &inverse * right;
        let residuals = &values - &matrix * &x;
        let usual = upper_median(residuals.iter().map(|r| r.abs()))?;
        scatter = (1.4826 * usual).max(LEAST_SCATTER);
        for (weight, r) in weights.iter_mut().zip(residuals.iter()) {
            let t = r / (TUKEY * scatter);
            *weight = if t.abs() < 1.0 {
                (1.0 - t * t).powi(2)
            } else {
                0.0
            };
        }
        let alike = alike.max(follow_one_another(&residuals, &weights));
        let sd = (0..k)
            .map(|j| (alike * inverse[(j, j)]).sqrt() * scatter)
            .collect();
        answer = Some(Fit {
            x: x.iter().copied().collect(),
            sd,
            scatter,
            kept: weights.iter().filter(|w| **w > BEARS).count(),
        });
    }
    answer
}

/// A line `at + slope·x`.
pub struct Line {
    /// At x = 0.
    pub at: f64,
    /// Per x.
    pub slope: f64,
    /// Standard deviations of both.
    pub sd: [f64; 2],
    /// Of the points about it.
    pub scatter: f64,
}

/// A line through `[x, y]`, by [`weighted_fit`]; `None` where fewer than half of the points, or than six, bear it.
pub fn robust_line(points: &[[f64; 2]]) -> Option<Line> {
    const FEWEST: usize = 8;
    const FEWEST_KEPT: usize = 6;
    if points.len() < FEWEST {
        return None;
    }
    let rows: Vec<_> = points.iter().map(|[x, y]| (vec![1.0, *x], *y)).collect();
    let fit = weighted_fit(&rows, &[None, None], 1.0)?;
    (fit.kept >= FEWEST_KEPT && 2 * fit.kept >= points.len()).then(|| Line {
        at: fit.x[0],
        slope: fit.x[1],
        sd: [fit.sd[0], fit.sd[1]],
        scatter: fit.scatter,
    })
}

/// Over how many rows residuals are alike: (1 + ρ)/(1 − ρ).
fn follow_one_another(residuals: &DVector<f64>, weights: &[f64]) -> f64 {
    let (mut same, mut next) = (1e-12, 0.0);
    for i in 1..residuals.len() {
        let weight = weights[i] * weights[i - 1];
        same += weight * residuals[i] * residuals[i];
        next += weight * residuals[i] * residuals[i - 1];
    }
    let rho = (next / same).clamp(0.0, 0.92);
    (1.0 + rho) / (1.0 - rho)
}
