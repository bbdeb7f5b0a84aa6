//! A range that a maker wants a figure to lie in.

/// A closed range, `lo` ≤ `hi`, in the measure's own unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Lower end.
    pub lo: f64,
    /// Upper end.
    pub hi: f64,
}

impl Range {
    /// The range from `lo` to `hi`; `None` where they are not finite or `lo` > `hi`.
    pub fn new(lo: f64, hi: f64) -> Option<Range> {
        (lo.is_finite() && hi.is_finite() && lo <= hi).then_some(Range { lo, hi })
    }

    /// The range `aim` ± `within`; `None` where they are not finite or `within` is negative.
    pub fn around(aim: f64, within: f64) -> Option<Range> {
        Range::new(aim - within, aim + within)
    }

    /// Whether `x` lies in it, ends included.
    pub fn holds(&self, x: f64) -> bool {
        (self.lo..=self.hi).contains(&x)
    }

    /// The middle: what a correction aims at.
    pub fn middle(&self) -> f64 {
        (self.lo + self.hi) / 2.0
    }
}
