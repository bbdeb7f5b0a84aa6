//! Statistics that a few bad frames cannot upset.

/// Median of the finite values, the mean of the middle two where their number is even; `None` where there
/// are none. In the mean O(n).
pub fn median(values: impl IntoIterator<Item = f64>) -> Option<f64> {
    let mut v = finite(values);
    let (upper, lower) = middle_two(&mut v)?;
    Some(if v.len() % 2 == 1 {
        upper
    } else {
        lower + 0.5 * (upper - lower)
    })
}

/// The same, but the upper of the middle two where their number is even: a value that occurs, as where steps or
/// counts are whole.
pub fn upper_median(values: impl IntoIterator<Item = f64>) -> Option<f64> {
    middle_two(&mut finite(values)).map(|(upper, _)| upper)
}

fn finite(values: impl IntoIterator<Item = f64>) -> Vec<f64> {
    values.into_iter().filter(|x| x.is_finite()).collect()
}

/// The value at half of the order, and the one before it.
fn middle_two(values: &mut [f64]) -> Option<(f64, f64)> {
    if values.is_empty() {
        return None;
    }
    let half = values.len() / 2;
    let (below, upper, _) = values.select_nth_unstable_by(half, f64::total_cmp);
    let lower = below.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Some((*upper, lower))
}

/// The `q`-quantile (0–1, linear between neighbours) of the finite values; `None` where there are none.
pub fn quantile(values: impl IntoIterator<Item = f64>, q: f64) -> Option<f64> {
    let mut v = finite(values);
    if v.is_empty() {
        return None;
    }
    v.sort_by(f64::total_cmp);
    let at = q.clamp(0.0, 1.0) * (v.len() - 1) as f64;
    let (low, part) = (at.floor() as usize, at.fract());
    let high = (low + 1).min(v.len() - 1);
    Some(v[low] + part * (v[high] - v[low]))
}

/// The `q`-quantile of `values` with `weights`; `None` where the weights sum to nothing.
pub fn weighted_quantile(values: &[f64], weights: &[f64], q: f64) -> Option<f64> {
    let mut pairs: Vec<(f64, f64)> = values
        .iter()
        .zip(weights)
        .filter(|(v, w)| v.is_finite() && **w > 0.0)
        .map(|(v, w)| (*v, *w))
        .collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = pairs.iter().map(|p| p.1).sum();
    let mut sum = 0.0;
    for (v, w) in &pairs {
        sum += w;
        if sum >= q * total {
            return Some(*v);
        }
    }
    None
}

/// Standard deviation from the median absolute deviation (1.4826 × MAD for a normal spread).
pub fn spread(values: &[f64]) -> f64 {
    let Some(middle) = median(values.iter().copied()) else {
        return 0.0;
    };
    1.4826 * median(values.iter().map(|v| (v - middle).abs())).unwrap_or(0.0)
}

/// Mean direction-safe median of image angles, degrees: the median about the mean direction.
pub fn median_direction_deg(angles: &[f64]) -> Option<f64> {
    let (s, c) = angles
        .iter()
        .filter(|a| a.is_finite())
        .fold((0.0, 0.0), |(s, c), a| {
            let (sa, ca) = a.to_radians().sin_cos();
            (s + sa, c + ca)
        });
    let mean = s.atan2(c).to_degrees();
    let off = median(angles.iter().map(|a| crate::units::wrap_deg(a - mean)))?;
    Some(crate::units::wrap_deg(mean + off))
}

/// A straight line `y = at_mean + slope·(x − x_mean)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Mean of the (weighted) abscissae.
    pub x_mean: f64,
    /// Value there.
    pub at_mean: f64,
    /// Slope.
    pub slope: f64,
}

impl Line {
    /// The line's value at `x`.
    pub fn at(&self, x: f64) -> f64 {
        self.at_mean + self.slope * (x - self.x_mean)
    }

    /// Huber's line through `(x, y)`: least squares with residuals beyond 1.345 spreads drawn in
    /// (Huber 1964; 95 % efficient for a normal spread). `None` with fewer than three points or no
    /// extent in x.
    pub fn huber(x: &[f64], y: &[f64]) -> Option<Line> {
        const TUNING: f64 = 1.345;
        if x.len() < 3 {
            return None;
        }
        let mut line = Line::least_squares(x, y, &vec![1.0; x.len()])?;
        for _ in 0..20 {
            let rest: Vec<f64> = x.iter().zip(y).map(|(x, y)| y - line.at(*x)).collect();
            let limit = TUNING * spread(&rest);
            if limit <= 0.0 {
                break;
            }
            let weights: Vec<f64> = rest
                .iter()
                .map(|r| {
                    if r.abs() <= limit {
                        1.0
                    } else {
                        limit / r.abs()
                    }
                })
                .collect();
            let next = Line::least_squares(x, y, &weights)?;
            let settled = (next.slope - line.slope).abs() <= 1e-10 * (1.0 + line.slope.abs());
            line = next;
            if settled {
                break;
            }
        }
        Some(line)
    }

    /// The weighted least-squares line; `None` with no extent in x.
    pub fn least_squares(x: &[f64], y: &[f64], weights: &[f64]) -> Option<Line> {
        let total: f64 = weights.iter().sum();
        if total <= 0.0 {
            return None;
        }
        let mean = |v: &[f64]| v.iter().zip(weights).map(|(v, w)| v * w).sum::<f64>() / total;
        let (x_mean, at_mean) = (mean(x), mean(y));
        let (mut xx, mut xy) = (0.0, 0.0);
        for ((x, y), w) in x.iter().zip(y).zip(weights) {
            xx += w * (x - x_mean).powi(2);
            xy += w * (x - x_mean) * (y - at_mean);
        }
        (xx > 0.0).then(|| Line {
            x_mean,
            at_mean,
            slope: xy / xx,
        })
    }
}

/// Solves the symmetric positive system `a·x = b` in place by Cholesky; `None` where it is singular.
/// `a` holds `n`×`n` values row by row.
pub fn solve(mut a: Vec<f64>, mut b: Vec<f64>) -> Option<Vec<f64>> {
    let n = b.len();
    for j in 0..n {
        for k in 0..j {
            let ajk = a[j * n + k];
            for i in j..n {
                a[i * n + j] -= a[i * n + k] * ajk;
            }
        }
        let pivot = a[j * n + j];
        if pivot.is_nan() || pivot <= 1e-12 {
            return None;
        }
        let root = pivot.sqrt();
        for i in j..n {
            a[i * n + j] /= root;
        }
    }
    for i in 0..n {
        for k in 0..i {
            b[i] -= a[i * n + k] * b[k];
        }
        b[i] /= a[i * n + i];
    }
    for i in (0..n).rev() {
        for k in i + 1..n {
            b[i] -= a[k * n + i] * b[k];
        }
        b[i] /= a[i * n + i];
    }
    Some(b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_median_is_the_half_quantile() {
        let values = [3.0, -1.0, f64::NAN, 7.5, 0.25, 2.0, f64::INFINITY, 11.0];
        for n in 1..=values.len() {
            let some = values[..n].iter().copied();
            assert_eq!(median(some.clone()), quantile(some, 0.5), "{n}");
        }
        assert_eq!(median([f64::NAN]), None);
        assert_eq!(upper_median([3.0, 1.0, 2.0, 9.0]), Some(3.0));
        assert_eq!(upper_median([3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median([]), None);
    }

    #[test]
    fn a_third_of_bad_points_does_not_move_the_line_much() {
        let x: Vec<f64> = (0..60).map(f64::from).collect();
        let y: Vec<f64> = x
            .iter()
            .map(|x| {
                2.0 + 0.5 * x + 0.1 * (x * 7.3).sin() + if x % 10.0 == 3.0 { 50.0 } else { 0.0 }
            })
            .collect();
        let line = Line::huber(&x, &y).unwrap();
        assert_abs_diff_eq!(line.slope, 0.5, epsilon = 0.01);
    }

    #[test]
    fn directions_are_averaged_across_north() {
        assert_abs_diff_eq!(
            median_direction_deg(&[358.0, 2.0, 4.0]).unwrap(),
            2.0,
            epsilon = 1e-9
        );
        assert_eq!(median_direction_deg(&[f64::NAN]), None);
    }

    #[test]
    fn solves_a_small_system() {
        // Hilbert 3×3 with x = (1, 1, 1): row sums.
        let a = vec![
            1.0,
            1.0 / 2.0,
            1.0 / 3.0,
            1.0 / 2.0,
            1.0 / 3.0,
            0.25,
            1.0 / 3.0,
            0.25,
            0.2,
        ];
        let b = vec![11.0 / 6.0, 13.0 / 12.0, 47.0 / 60.0];
        for x in solve(a, b).unwrap() {
            assert_abs_diff_eq!(x, 1.0, epsilon = 1e-9);
        }
    }
}
