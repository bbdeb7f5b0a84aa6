//! How much faster may it be pulled? From the drift at two or more speeds.
//!
//! # Model
//! The lip's dive force grows with the square of the speed U and banks a lure whose tie is off to one
//! side: sin φ = k·U² (derived, see the README), and the drift follows the bank, taken as equal to it.
//! Past U = 1/√|k| there is no equilibrium left: the blow-out. k by weighted least squares of
//! sin(drift) on U²; the model is given up where the drifts contradict it (χ² at 1 %).

use statrs::distribution::{ChiSquared, ContinuousCDF};

use crate::Measured;

/// Speeds closer than this ratio are one speed.
pub(super) const APART: f64 = 1.15;
/// Half-width of a 95 % interval in standard deviations.
const Z95: f64 = 1.959_964;

/// Drift of one run at a known speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriftAtSpeed {
    /// Speed, m/s.
    pub m_s: f64,
    /// Drift, degrees, + to own right.
    pub deg: f64,
    /// Half the width of its 95 % interval, degrees.
    pub half: f64,
}

/// What the runs at several speeds say.
#[derive(Debug, Clone, PartialEq)]
pub struct BlowOutMargin {
    /// k of sin φ = k·U², s²/m², + to own right.
    pub k: Measured,
    /// Speed past which no equilibrium is left, m/s.
    pub limit_m_s: Measured,
    /// That speed over the fastest pull so far.
    pub margin: Measured,
}

/// Fits the bank model to `runs`.
pub fn blow_out_margin(runs: &[DriftAtSpeed]) -> BlowOutMargin {
    let none = |why: &str| {
        let no = Measured::unmeasurable(why);
        BlowOutMargin {
            k: no.clone(),
            limit_m_s: no.clone(),
            margin: no,
        }
    };
    let usable: Vec<&DriftAtSpeed> = runs
        .iter()
        .filter(|r| r.m_s > 0.0 && r.half > 0.0 && r.deg.abs() + r.half < 89.0)
        .collect();
    let fastest = usable.iter().map(|r| r.m_s).fold(0.0, f64::max);
    let slowest = usable.iter().map(|r| r.m_s).fold(f64::INFINITY, f64::min);
    if usable.is_empty() || fastest < APART * slowest {
        return none("pull it at two speeds that are known and differ by a sixth or more");
    }
    let fit = Fit::of(&usable);
    if fit.contradicted() {
        return none(
            "the drift does not grow with the square of the speed, so it is not the banking alone",
        );
    }
    margin_of(&fit, fastest)
}

fn margin_of(fit: &Fit, fastest: f64) -> BlowOutMargin {
    let k = Measured::within(fit.k, Z95 * fit.error);
    let [near, far] = [fit.k.abs() + Z95 * fit.error, fit.k.abs() - Z95 * fit.error];
    let limit = |k: f64| 1.0 / k.sqrt();
    if far <= 0.0 {
        let why = format!(
            "the drift is too small to tell; no nearer than {:.1} times the fastest pull so far",
            limit(near) / fastest
        );
        let no = Measured::unmeasurable(why);
        return BlowOutMargin {
            k,
            limit_m_s: no.clone(),
            margin: no,
        };
    }
    let limit_m_s = Measured::new(limit(fit.k.abs()), [limit(near), limit(far)])
        .because("from the model sin φ = k·U², drift taken as the bank; go up in small steps");
    BlowOutMargin {
        k,
        margin: limit_m_s.scaled(1.0 / fastest),
        limit_m_s,
    }
}

struct Fit {
    k: f64,
    error: f64,
    chi2: f64,
    freedom: usize,
}

impl Fit {
    fn of(runs: &[&DriftAtSpeed]) -> Fit {
        let points: Vec<[f64; 3]> = runs
            .iter()
            .map(|r| {
                let drift = r.deg.to_radians();
                let error = (r.half / Z95).to_radians() * drift.cos();
                [r.m_s * r.m_s, drift.sin(), 1.0 / (error * error)]
            })
            .collect();
        let sxx: f64 = points.iter().map(|[x, _, w]| w * x * x).sum();
        let sxy: f64 = points.iter().map(|[x, y, w]| w * x * y).sum();
        let k = sxy / sxx;
        let chi2: f64 = points.iter().map(|[x, y, w]| w * (y - k * x).powi(2)).sum();
        let freedom = points.len() - 1;
        // Runs that scatter more than their intervals say widen the interval.
        let scatter = (chi2 / freedom.max(1) as f64).max(1.0);
        Fit {
            k,
            error: (scatter / sxx).sqrt(),
            chi2,
            freedom,
        }
    }

    fn contradicted(&self) -> bool {
        ChiSquared::new(self.freedom as f64).is_ok_and(|d| self.chi2 > d.inverse_cdf(0.99))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(m_s: f64, deg: f64) -> DriftAtSpeed {
        DriftAtSpeed {
            m_s,
            deg,
            half: 0.4,
        }
    }

    fn at(k: f64, m_s: f64) -> DriftAtSpeed {
        run(m_s, (k * m_s * m_s).asin().to_degrees())
    }

    #[test]
    fn exact_drifts_give_back_k_on_either_side() {
        for k in [0.2, -0.2] {
            let found = blow_out_margin(&[at(k, 0.6), at(k, 0.9)]);
            assert!((found.k.value.unwrap() - k).abs() < 1e-9);
            assert!((found.margin.value.unwrap() - 1.0 / 0.2f64.sqrt() / 0.9).abs() < 1e-6);
        }
    }

    #[test]
    fn what_the_data_cannot_say() {
        let one_speed = blow_out_margin(&[run(0.6, 3.0), run(0.62, 3.1)]);
        assert!(!one_speed.margin.is_measured());
        let straight = blow_out_margin(&[run(0.6, 0.1), run(1.0, -0.1)]);
        assert!(straight.margin.why.unwrap().contains("too small to tell"));
        let other_law = blow_out_margin(&[run(0.6, 4.0), run(1.0, -4.0)]);
        assert!(other_law.margin.why.unwrap().contains("does not grow"));
    }
}
