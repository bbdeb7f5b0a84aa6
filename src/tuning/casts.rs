//! Casts one after the other: an individuals chart and a moving-range chart, and the usual rules.
//!
//! Limits as in ISO 7870-2 for individuals (constants exact: d2 = 2/√π, 3/d2 = 2.6587, D4 = 3.2665):
//! centre ± 2.6587·R̄ and 3.2665·R̄ for the moving range of two. The rules are those of the Western
//! Electric handbook (1956) with a trend of six; from memory.

/// 3/d2 for a moving range of two: 3·√π/2.
pub const LIMIT_FACTOR: f64 = 2.658_680_776_358_274;
/// Upper limit of the moving range over its mean (D4, n = 2): 1 + 3·d3/d2 with d3 = √(2 − 4/π).
pub const RANGE_FACTOR: f64 = 3.266_531_919_288_601;
/// Fewer casts than this give limits that are a rough guess only (common practice, no published source).
pub const FEW: usize = 12;

/// What a rule looks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Rule {
    /// One cast beyond the limits.
    BeyondLimit,
    /// Two of three in a row beyond two thirds of the way to the same limit.
    TwoOfThree,
    /// Four of five in a row beyond a third of the way to the same limit.
    FourOfFive,
    /// Eight in a row on the same side of the centre.
    EightOnOneSide,
    /// Six in a row, each above the one before, or each below.
    SixRising,
    /// A jump from one cast to the next beyond the limit of the moving range.
    Jump,
}

impl Rule {
    /// The rule in words.
    pub fn words(self) -> &'static str {
        match self {
            Rule::BeyondLimit => "outside the limits",
            Rule::TwoOfThree => "two of three far out on the same side",
            Rule::FourOfFive => "four of five well out on the same side",
            Rule::EightOnOneSide => "eight in a row on the same side: all have shifted",
            Rule::SixRising => "six in a row going the same way: it is drifting",
            Rule::Jump => "a jump from the cast before",
        }
    }

    /// How many casts the rule looks at.
    fn span(self) -> usize {
        match self {
            Rule::BeyondLimit => 1,
            Rule::TwoOfThree => 3,
            Rule::FourOfFive => 5,
            Rule::EightOnOneSide => 8,
            Rule::SixRising => 6,
            Rule::Jump => 2,
        }
    }
}

/// A rule that was met.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signal {
    /// Which rule.
    pub rule: Rule,
    /// The first cast (from 0) of the pattern: since when.
    pub since: usize,
    /// The cast at which the rule was met.
    pub at: usize,
}

/// The chart of one measure.
#[derive(Debug, Clone, PartialEq)]
pub struct CastChart {
    /// The centre: the keeper's figure, or the casts' mean.
    pub centre: f64,
    /// Lower and upper limit.
    pub limits: [f64; 2],
    /// Limit of the moving range.
    pub range_limit: f64,
    /// The casts' values in order.
    pub values: Vec<f64>,
    /// What is out of control.
    pub signals: Vec<Signal>,
}

/// Charts `values` in their order against `keeper` (or their own mean). `None` for fewer than two.
pub fn chart_casts(values: &[f64], keeper: Option<f64>) -> Option<CastChart> {
    let ranges: Vec<f64> = values.windows(2).map(|w| (w[1] - w[0]).abs()).collect();
    let n = values.len();
    if ranges.is_empty() || values.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let mean_range = ranges.iter().sum::<f64>() / ranges.len() as f64;
    let centre = keeper.unwrap_or(values.iter().sum::<f64>() / n as f64);
    let three = LIMIT_FACTOR * mean_range;
    let scaled: Vec<f64> = values.iter().map(|v| v - centre).collect();
    let mut signals = rules(&scaled, three / 3.0);
    let range_limit = RANGE_FACTOR * mean_range;
    signals.extend(
        ranges
            .iter()
            .enumerate()
            .filter(|(_, range)| **range > range_limit)
            .map(|(i, _)| Signal {
                rule: Rule::Jump,
                since: i + 1,
                at: i + 1,
            }),
    );
    signals.sort_by_key(|signal| signal.at);
    Some(CastChart {
        centre,
        limits: [centre - three, centre + three],
        range_limit,
        values: values.to_vec(),
        signals,
    })
}

/// The rules on deviations from the centre; a pattern that goes on is told once, where it is met.
fn rules(off: &[f64], sigma: f64) -> Vec<Signal> {
    let beyond = |k: f64, of: usize, need: usize| {
        move |window: &[f64]| {
            window.len() == of
                && [1.0, -1.0].iter().any(|side| {
                    let far = |v: &f64| v * side > k * sigma;
                    window.last().is_some_and(far)
                        && window.iter().filter(|v| far(v)).count() >= need
                })
        }
    };
    let one_side = |w: &[f64]| w.iter().all(|v| *v > 0.0) || w.iter().all(|v| *v < 0.0);
    let one_way =
        |w: &[f64]| w.windows(2).all(|p| p[1] > p[0]) || w.windows(2).all(|p| p[1] < p[0]);
    let mut signals = met(Rule::BeyondLimit, off, beyond(3.0, 1, 1));
    signals.extend(met(Rule::TwoOfThree, off, beyond(2.0, 3, 2)));
    signals.extend(met(Rule::FourOfFive, off, beyond(1.0, 5, 4)));
    signals.extend(met(Rule::EightOnOneSide, off, one_side));
    signals.extend(met(Rule::SixRising, off, one_way));
    signals
}

fn met(rule: Rule, off: &[f64], holds: impl Fn(&[f64]) -> bool) -> Vec<Signal> {
    let span = rule.span();
    let hits: Vec<usize> = off
        .windows(span)
        .enumerate()
        .filter(|(_, window)| holds(window))
        .map(|(start, _)| start)
        .collect();
    let goes_on = |start: usize| span > 1 && start > 0 && hits.contains(&(start - 1));
    hits.iter()
        .copied()
        .filter(|start| !goes_on(*start))
        .map(|start| Signal {
            rule,
            since: start,
            at: start + span - 1,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// ISO 7870-2's constants for n = 2: d2 1.128379, 3/d2 2.658681, D4 3.266532 (from memory, exact).
    #[test]
    fn constants() {
        let d2 = 2.0 / std::f64::consts::PI.sqrt();
        assert_relative_eq!(LIMIT_FACTOR, 3.0 / d2, epsilon = 1e-12);
        // d3 = sqrt(2 − 4/π); D4 = 1 + 3·d3/d2.
        let d3 = (2.0 - 4.0 / std::f64::consts::PI).sqrt();
        assert_relative_eq!(RANGE_FACTOR, 1.0 + 3.0 * d3 / d2, epsilon = 1e-9);
    }

    fn rules_met(values: &[f64], keeper: f64) -> Vec<(Rule, usize, usize)> {
        let chart = chart_casts(values, Some(keeper)).unwrap();
        chart
            .signals
            .iter()
            .map(|s| (s.rule, s.since, s.at))
            .collect()
    }

    #[test]
    fn one_bad_cast_is_named() {
        let values = [
            0.1, -0.1, 0.1, -0.1, 0.1, -0.1, 0.1, 3.0, 0.1, -0.1, 0.1, -0.1, 0.1, -0.1,
        ];
        let met = rules_met(&values, 0.0);
        assert!(met.contains(&(Rule::BeyondLimit, 7, 7)), "{met:?}");
        assert!(met.iter().all(|m| m.2 == 7 || m.2 == 8), "{met:?}");
    }

    #[test]
    fn a_mould_that_shifts_is_told_with_its_beginning() {
        let mut values = vec![0.3, -0.3, 0.2, -0.2];
        values.extend([0.35, 0.2, 0.3, 0.25, 0.35, 0.2, 0.3, 0.25, 0.3]);
        let met = rules_met(&values, 0.0);
        assert!(met.contains(&(Rule::EightOnOneSide, 4, 11)), "{met:?}");
    }

    #[test]
    fn a_steady_rise_is_told_and_noise_is_not() {
        assert!(rules_met(&[0.0, 0.1, 0.2, 0.3, 0.4, 0.5], 0.25).contains(&(
            Rule::SixRising,
            0,
            5
        )));
        assert_eq!(
            rules_met(&[0.2, -0.1, 0.1, -0.3, 0.2, 0.0, -0.2, 0.3], 0.0),
            []
        );
        assert_eq!(chart_casts(&[1.0], None), None);
    }
}
