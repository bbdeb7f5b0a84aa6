//! Is B really different from A? Repeated runs decide, by Welch's interval and two one-sided tests.
//!
//! * Difference: Welch 1947 (Biometrika 34:28) with the degrees of freedom of Welch and Satterthwaite.
//! * Same within a tolerance: two one-sided tests (Schuirmann 1987, J. Pharmacokin. Biopharm. 15:657),
//!   each at 5 %, with the same standard error and degrees of freedom.
//! * Only the spread from run to run counts: a clip's own interval does not hold what differs between
//!   pulls, so one run of each tells nothing.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::Measure;
use crate::Measured;

/// More runs than this are no advice.
const MOST_RUNS: usize = 50;

/// What a comparison says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sameness {
    /// The 95 % interval of the difference leaves out zero, and the difference is not surely within
    /// the tolerance.
    Different,
    /// Surely within the tolerance of each other.
    Same,
    /// Neither can be said; about this many more runs of each would settle it (`None`: more than 50).
    CannotTell {
        /// More runs of each.
        more: Option<usize>,
    },
}

/// The comparison of one measure between two groups of runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Runs of each.
    pub runs: [usize; 2],
    /// Mean of each.
    pub means: [f64; 2],
    /// Mean of the second less that of the first; no interval where one has a single run.
    pub difference: Measured,
    /// p of Welch's t, two-sided.
    pub p_different: Option<f64>,
    /// p of the two one-sided tests.
    pub p_same: Option<f64>,
    /// The tolerance.
    pub within: f64,
    /// What it comes to.
    pub says: Sameness,
}

/// Compares the values of runs `a` with those of runs `b`; `within` is the difference that does not
/// matter. `None` where one of them has no value.
pub fn compare(a: &[f64], b: &[f64], within: f64) -> Option<Comparison> {
    let (ga, gb) = (Group::of(a)?, Group::of(b)?);
    let difference = gb.mean - ga.mean;
    let spread = Spread::of(&ga, &gb);
    let whole = |difference: Measured, p_different, p_same, says| Comparison {
        runs: [ga.n, gb.n],
        means: [ga.mean, gb.mean],
        difference,
        p_different,
        p_same,
        within,
        says,
    };
    let Some(spread) = spread else {
        let bare = Measured {
            value: Some(difference),
            ..Measured::unmeasurable("one run of each does not show how much pulls differ")
        };
        let more = 3 - ga.n.min(gb.n).min(2);
        return Some(whole(
            bare,
            None,
            None,
            Sameness::CannotTell { more: Some(more) },
        ));
    };
    let p_different = 2.0 * spread.tail(difference.abs());
    let p_same = spread.tail(within - difference.abs());
    let half = spread.quantile(0.975) * spread.error;
    let says = if p_same < 0.05 {
        Sameness::Same
    } else if p_different < 0.05 {
        Sameness::Different
    } else {
        Sameness::CannotTell {
            more: more_runs(&ga, &gb, difference.abs(), within),
        }
    };
    Some(whole(
        Measured::within(difference, half),
        Some(p_different),
        Some(p_same),
        says,
    ))
}

/// A difference that does not matter, for want of the maker's own: about what the goals for single
/// clips are. Our own choice.
pub fn usual_tolerance(measure: Measure) -> f64 {
    match measure {
        Measure::Rate => 0.2,
        Measure::Width | Measure::Roll => 2.0,
        Measure::TailSweep => 2.0,
        Measure::Drift => 1.0,
        Measure::HuntsPerMinute => 2.0,
        Measure::HuntsPerMetre => 0.2,
        Measure::Pivot => 0.05,
        Measure::ThumpRms => 0.5,
        Measure::Speed => 0.05,
        Measure::FloatAngle | Measure::List => 0.5,
        Measure::WaterAtNose | Measure::WaterAtTail | Measure::Freeboard => 0.7,
        Measure::PartAbove | Measure::RockingDamping => 0.03,
        Measure::RockingPeriod => 0.05,
        Measure::Rise => 3.0,
    }
}

struct Group {
    n: usize,
    mean: f64,
    /// Variance with n − 1; 0 for a single run.
    variance: f64,
}

impl Group {
    fn of(values: &[f64]) -> Option<Group> {
        let n = values.len();
        let mean = values.iter().sum::<f64>() / n as f64;
        let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
        mean.is_finite().then_some(Group {
            n,
            mean,
            variance: squares / (n.max(2) - 1) as f64,
        })
    }

    fn share(&self) -> f64 {
        self.variance / self.n as f64
    }
}

/// Standard error of the difference and its degrees of freedom.
struct Spread {
    error: f64,
    t: StudentsT,
}

impl Spread {
    /// `None` where a group has a single run.
    fn of(a: &Group, b: &Group) -> Option<Spread> {
        if a.n < 2 || b.n < 2 {
            return None;
        }
        let total = a.share() + b.share();
        let parts = a.share().powi(2) / (a.n - 1) as f64 + b.share().powi(2) / (b.n - 1) as f64;
        // Runs that agree to the last digit: any freedom will do, for the error is zero.
        let freedom = if parts > 0.0 {
            total * total / parts
        } else {
            (a.n + b.n - 2) as f64
        };
        Some(Spread {
            error: total.sqrt(),
            t: StudentsT::new(0.0, 1.0, freedom).ok()?,
        })
    }

    /// Probability of a standardised difference beyond `distance`.
    fn tail(&self, distance: f64) -> f64 {
        if self.error > 0.0 {
            return self.t.cdf(-distance / self.error);
        }
        match distance {
            d if d > 0.0 => 0.0,
            d if d < 0.0 => 1.0,
            _ => 0.5,
        }
    }

    fn quantile(&self, p: f64) -> f64 {
        self.t.inverse_cdf(p)
    }
}

/// Fewest more runs of each after which, should means and spreads stay as they are, either question
/// would be settled.
fn more_runs(a: &Group, b: &Group, difference: f64, within: f64) -> Option<usize> {
    let grown = |group: &Group, more: usize| Group {
        n: group.n + more,
        ..*group
    };
    (1..=MOST_RUNS).find(|more| {
        Spread::of(&grown(a, *more), &grown(b, *more)).is_some_and(|spread| {
            spread.tail(within - difference) < 0.05 || 2.0 * spread.tail(difference) < 0.05
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_three_answers() {
        let a = [4.60, 4.62, 4.58, 4.61];
        assert_eq!(
            compare(&a, &[4.9, 4.92, 4.88], 0.05).unwrap().says,
            Sameness::Different
        );
        assert_eq!(
            compare(&a, &[4.61, 4.60, 4.59], 0.2).unwrap().says,
            Sameness::Same
        );
        let wide = compare(&[4.0, 5.0, 4.4], &[4.5, 5.2, 4.6], 0.2).unwrap();
        assert!(matches!(wide.says, Sameness::CannotTell { .. }), "{wide:?}");
    }

    #[test]
    fn one_run_of_each_tells_nothing() {
        let one = compare(&[4.6], &[6.0], 0.2).unwrap();
        assert_eq!(one.says, Sameness::CannotTell { more: Some(2) });
        assert_eq!(one.difference.ci95, None);
        assert_eq!(compare(&[], &[1.0], 0.2), None);
    }

    #[test]
    fn the_advised_number_of_runs_settles_it_if_nothing_changes() {
        let (a, b) = ([4.5, 4.7, 4.6], [4.7, 4.9, 4.75]);
        let Sameness::CannotTell { more: Some(more) } = compare(&a, &b, 0.02).unwrap().says else {
            panic!("{:?}", compare(&a, &b, 0.02));
        };
        let (ga, gb) = (Group::of(&a).unwrap(), Group::of(&b).unwrap());
        let settled = |more: usize| {
            let grown = |g: &Group| Group {
                n: g.n + more,
                ..*g
            };
            2.0 * Spread::of(&grown(&ga), &grown(&gb))
                .unwrap()
                .tail(gb.mean - ga.mean)
                < 0.05
        };
        assert!(settled(more) && !settled(more - 1));
    }
}
