//! How rate and strength of the thump grow with the retrieve speed, from several recordings.
//!
//! A straight line by least squares over the runs, each with one voice: two runs at one speed differ by
//! more than either's own interval, so weights from those intervals would trust them too far. What runs
//! scatter about the line gives the slope's interval (Student's t, two degrees of freedom less than
//! runs), and it is never narrower than the runs' own intervals make it. Two runs lie on any line
//! and show no scatter: they tell nothing yet.

use serde_json::Value;
use statrs::distribution::{ContinuousCDF, StudentsT};

use super::earlier::figure;
use super::two_speeds::APART;
use crate::Measured;
use crate::media::Unit;
use crate::motion::thump::Thump;

/// Fewer runs than this show no scatter.
const FEWEST: usize = 3;
/// Results hold four decimals: figures closer than this may be one.
const ROUNDED: f64 = 1e-4;
/// Half-width of a 95 % interval in standard deviations.
const Z95: f64 = 1.959_964;

/// One recording at a known speed.
#[derive(Debug, Clone, PartialEq)]
pub struct ThumpAtSpeed {
    /// Retrieve speed, m/s.
    pub m_s: f64,
    /// Rate, Hz.
    pub hz: Measured,
    /// Strength, m/s² RMS.
    pub rms: Measured,
}

/// What the runs at several speeds say.
#[derive(Debug, Clone, PartialEq)]
pub struct BySpeed {
    /// How many different runs.
    pub runs: usize,
    /// Slowest and fastest, m/s.
    pub speeds_m_s: [f64; 2],
    /// Rate gained for each m/s, Hz per m/s.
    pub hz: Measured,
    /// Strength gained for each m/s, m/s² per m/s.
    pub rms: Measured,
}

impl ThumpAtSpeed {
    /// Out of a result with the schema `truerun/thump/1`; `None` where it is none or holds no speed.
    pub fn of_result(result: &Value) -> Option<ThumpAtSpeed> {
        if !result["schema"].as_str()?.starts_with("truerun/thump/") {
            return None;
        }
        Some(ThumpAtSpeed {
            m_s: result["speed"]["m_s"].as_f64().filter(|v| *v > 0.0)?,
            hz: figure(&result["wobble"], "hz"),
            rms: figure(&result["thump"], "rms_m_s2"),
        })
    }

    /// Of a thump measured now; `None` where no speed was given.
    pub fn of_thump(thump: &Thump) -> Option<ThumpAtSpeed> {
        let rms = match thump.unit {
            Unit::MetresPerSecond2 => thump.rms.clone(),
            _ => Measured::unmeasurable("no strength in m/s²"),
        };
        Some(ThumpAtSpeed {
            m_s: thump.speed_m_s?,
            hz: thump.hz.clone(),
            rms,
        })
    }

    /// Whether both are one result, as far as a result's rounding lets it be seen.
    fn is_same(&self, other: &ThumpAtSpeed) -> bool {
        let near = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => (a - b).abs() <= ROUNDED,
            (a, b) => a.is_none() && b.is_none(),
        };
        near(Some(self.m_s), Some(other.m_s))
            && near(self.hz.value, other.hz.value)
            && near(self.rms.value, other.rms.value)
    }
}

/// The slopes over `runs`; the same result twice counts once.
pub fn thump_by_speed(runs: &[ThumpAtSpeed]) -> BySpeed {
    let mut different: Vec<&ThumpAtSpeed> = Vec::new();
    for run in runs {
        if !different.iter().any(|other| other.is_same(run)) {
            different.push(run);
        }
    }
    let slope_of = |of: fn(&ThumpAtSpeed) -> &Measured| {
        let points: Vec<[f64; 3]> = different
            .iter()
            .filter_map(|run| point(run.m_s, of(run)))
            .collect();
        slope(&points)
    };
    let speeds = different.iter().map(|r| r.m_s);
    BySpeed {
        runs: different.len(),
        speeds_m_s: [
            speeds.clone().fold(f64::INFINITY, f64::min),
            speeds.fold(0.0, f64::max),
        ],
        hz: slope_of(|run| &run.hz),
        rms: slope_of(|run| &run.rms),
    }
}

/// Speed, figure, and the figure's own variance.
fn point(m_s: f64, figure: &Measured) -> Option<[f64; 3]> {
    let [lo, hi] = figure.ci95.filter(|_| figure.is_measured())?;
    Some([m_s, figure.value?, (0.5 * (hi - lo) / Z95).powi(2)])
}

fn slope(points: &[[f64; 3]]) -> Measured {
    let n = points.len() as f64;
    let speeds = || points.iter().map(|p| p[0]);
    let slowest = speeds().fold(f64::INFINITY, f64::min);
    let fastest = speeds().fold(0.0, f64::max);
    if points.len() < FEWEST {
        return Measured::unmeasurable(
            "cannot tell yet: three runs or more, one of them at another speed, show how far runs scatter",
        );
    }
    if fastest < APART * slowest {
        return Measured::unmeasurable(
            "cannot tell yet: pull it at speeds that differ by a sixth or more",
        );
    }
    let (mean_x, mean_y) = (
        speeds().sum::<f64>() / n,
        points.iter().map(|p| p[1]).sum::<f64>() / n,
    );
    let sxx: f64 = speeds().map(|x| (x - mean_x).powi(2)).sum();
    let sxy: f64 = points
        .iter()
        .map(|p| (p[0] - mean_x) * (p[1] - mean_y))
        .sum();
    let slope = sxy / sxx;
    let off = |p: &[f64; 3]| p[1] - mean_y - slope * (p[0] - mean_x);
    let scatter = points.iter().map(|p| off(p).powi(2)).sum::<f64>() / (n - 2.0);
    let own = points.iter().map(|p| p[2]).sum::<f64>() / n;
    let half = |quantile: f64, variance: f64| quantile * (variance / sxx).sqrt();
    match StudentsT::new(0.0, 1.0, n - 2.0) {
        Ok(t) => {
            let half = half(t.inverse_cdf(0.975), scatter).max(half(Z95, own));
            Measured::within(slope, half)
        }
        Err(_) => Measured::unmeasurable("cannot tell yet: too few runs"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};
    use rand_chacha::ChaCha8Rng;
    use rand_distr::StandardNormal;

    fn run(m_s: f64, hz: f64, rms: f64) -> ThumpAtSpeed {
        ThumpAtSpeed {
            m_s,
            hz: Measured::within(hz, 0.02),
            rms: Measured::within(rms, 0.05),
        }
    }

    /// Truth: 8 Hz and 2.5 m/s² for each m/s; runs scatter by 0.15 Hz, far over their own intervals, or
    /// not at all.
    #[test]
    fn the_truth_lies_in_the_interval() {
        let mut dice = ChaCha8Rng::seed_from_u64(5);
        let mut normal = move || dice.sample::<f64, _>(StandardNormal);
        let speeds = [0.4, 0.5, 0.6, 0.7, 0.8];
        const RUNS: usize = 4000;
        for (count, scatter, expected) in [
            (3, 0.15, 0.94..=0.96),
            (5, 0.15, 0.94..=0.96),
            (5, 0.0, 0.95..=1.0),
        ] {
            let held = (0..RUNS).filter(|_| {
                let runs: Vec<ThumpAtSpeed> = speeds[..count]
                    .iter()
                    .map(|v| {
                        let hz = 8.0 * v + scatter * normal() + 0.02 / Z95 * normal();
                        run(*v, hz, 2.5 * v + 0.05 / Z95 * normal())
                    })
                    .collect();
                let [lo, hi] = thump_by_speed(&runs).hz.ci95.unwrap();
                lo <= 8.0 && 8.0 <= hi
            });
            let share = held.count() as f64 / RUNS as f64;
            println!("{count} runs, scatter {scatter}: held {share:.3}");
            assert!(expected.contains(&share), "{count} {scatter}: {share}");
        }
    }

    #[test]
    fn what_the_runs_cannot_say() {
        let why = |runs: &[ThumpAtSpeed]| thump_by_speed(runs).hz.why.unwrap();
        let (a, b) = (run(0.5, 4.0, 1.0), run(0.7, 5.6, 1.5));
        assert!(why(&[a.clone(), b.clone()]).contains("three runs"));
        // The same result named twice is no third run.
        assert!(why(&[a.clone(), b.clone(), b.clone()]).contains("three runs"));
        let close = [a.clone(), run(0.52, 4.2, 1.1), run(0.51, 4.1, 1.0)];
        assert!(why(&close).contains("differ by a sixth"));
        let aliased = ThumpAtSpeed {
            hz: Measured::without(crate::Status::Aliased, "no"),
            ..run(0.6, 5.0, 1.2)
        };
        let found = thump_by_speed(&[a, b, aliased]);
        assert!(!found.hz.is_measured() && found.rms.is_measured());
    }
}
