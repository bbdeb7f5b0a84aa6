//! How many minutes, and so darts, to film before one dart rate can be told from another.
//!
//! Darts are counted as chance events (Poisson), as in the verdict. Two counts over the same time are
//! held against each other by the exact conditional test: of all k₁ + k₂ darts the second lure's are
//! binomial with ½ if the rates are the same (Przyborowski & Wilenski 1940, Biometrika 31:313).

use statrs::distribution::{Binomial, Discrete, DiscreteCDF, Poisson};

/// Chance of telling the two apart that the time is planned for.
pub const POWER: f64 = 0.8;
/// Chance of a false difference, both sides together.
const LEVEL: f64 = 0.05;
/// Longer than this nobody films, minutes.
const LONGEST_MIN: f64 = 2000.0;
/// The tails of the count that are left out.
const TAIL: f64 = 1e-9;

/// How long to film for the darts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DartTime {
    /// The two rates, per minute.
    pub per_minute: [f64; 2],
    /// Minutes of swimming seen of each lure (or build).
    pub minutes: Option<f64>,
}

impl DartTime {
    /// To tell the two rates apart; no time where they are the same, or it would take days.
    pub fn of(per_minute: [f64; 2]) -> DartTime {
        DartTime {
            per_minute,
            minutes: minutes_to_tell(per_minute),
        }
    }

    /// Darts expected of each in that time.
    pub fn expected(&self) -> Option<[f64; 2]> {
        self.minutes.map(|m| self.per_minute.map(|rate| rate * m))
    }
}

/// The least time, minutes each, in which the exact test tells two dart rates apart with a chance of
/// [`POWER`]; `None` beyond what anybody films.
pub fn minutes_to_tell(per_minute: [f64; 2]) -> Option<f64> {
    let enough = |minutes: f64| power_to_tell(per_minute.map(|rate| rate * minutes)) >= POWER;
    let more: f64 = per_minute.iter().sum();
    // With this many expected in all, most of them normal, a difference of 3 % would show.
    let longest = LONGEST_MIN.min(12_000.0 / more);
    if !(more > 0.0 && enough(longest)) {
        return None;
    }
    let (mut short, mut long) = (0.0, longest);
    while long - short > 0.002 * long {
        let middle = 0.5 * (short + long);
        if enough(middle) {
            long = middle;
        } else {
            short = middle;
        }
    }
    Some(long)
}

/// The chance that the exact test tells two counts apart whose expectations are `expected`.
pub fn power_to_tell(expected: [f64; 2]) -> f64 {
    let total = expected[0] + expected[1];
    let (Ok(count), true) = (Poisson::new(total), total > 0.0) else {
        return 0.0;
    };
    let share = expected[1] / total;
    let reach = 7.0 * total.sqrt() + 30.0;
    let first = (total - reach).max(0.0) as u64;
    let last = (total + reach).ceil() as u64;
    (first..=last)
        .map(|n| (n, count.pmf(n)))
        .filter(|(_, chance)| *chance > TAIL)
        .map(|(n, chance)| chance * rejected(n, share))
        .sum()
}

/// The chance that of `n` darts, each the second lure's with chance `share`, so few or so many are that
/// the test at [`LEVEL`] rejects a half.
fn rejected(n: u64, share: f64) -> f64 {
    let (Ok(same), Ok(true_split)) = (Binomial::new(0.5, n), Binomial::new(share, n)) else {
        return 0.0;
    };
    let Some(few) = fewest(&same, n) else {
        return 0.0;
    };
    // By symmetry: k ≤ few, or n − k ≤ few.
    true_split.cdf(few) + true_split.sf(n - few - 1)
}

/// The largest k with P(K ≤ k) ≤ LEVEL/2 for a fair split of `n`; `None` where even 0 is too likely.
fn fewest(same: &Binomial, n: u64) -> Option<u64> {
    let (mut low, mut high) = (0, n / 2);
    if same.cdf(0) > LEVEL / 2.0 {
        return None;
    }
    while low < high {
        let middle = (low + high).div_ceil(2);
        if same.cdf(middle) <= LEVEL / 2.0 {
            low = middle;
        } else {
            high = middle - 1;
        }
    }
    Some(low)
}
