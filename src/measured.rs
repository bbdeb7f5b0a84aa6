//! The one form in which a figure leaves the library: value, 95 % interval, status, reason.

use serde::{Deserialize, Serialize};

/// What became of a measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// A value with an interval.
    Measured,
    /// Looked, and there is nothing: no wobble above the noise, no dart.
    None,
    /// The frame rate cannot tell the value from others.
    Aliased,
    /// This view or this clip cannot show it.
    Unmeasurable,
}

/// A figure with its 95 % interval, or the reason why there is none.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// What became of the measure.
    pub status: Status,
    /// The value; present only where `status` is [`Status::Measured`] (or the best candidate where aliased).
    pub value: Option<f64>,
    /// Lower and upper end of the 95 % interval, in the value's unit.
    pub ci95: Option<[f64; 2]>,
    /// Why there is no value, or what the value rests on, in one plain sentence.
    pub why: Option<String>,
}

impl Measured {
    /// A measured value with its 95 % interval.
    pub fn new(value: f64, ci95: [f64; 2]) -> Self {
        Measured {
            status: Status::Measured,
            value: Some(value),
            ci95: Some(ci95),
            why: None,
        }
    }

    /// A measured value with a symmetric 95 % interval of ± `half`.
    pub fn within(value: f64, half: f64) -> Self {
        Measured::new(value, [value - half, value + half])
    }

    /// Looked, and there is nothing.
    pub fn none(why: impl Into<String>) -> Self {
        Measured::without(Status::None, why)
    }

    /// This view or clip cannot show it.
    pub fn unmeasurable(why: impl Into<String>) -> Self {
        Measured::without(Status::Unmeasurable, why)
    }

    /// No value, for the reason given.
    pub fn without(status: Status, why: impl Into<String>) -> Self {
        Measured {
            status,
            value: None,
            ci95: None,
            why: Some(why.into()),
        }
    }

    /// The same figure with a note on what it rests on.
    pub fn because(mut self, why: impl Into<String>) -> Self {
        self.why = Some(why.into());
        self
    }

    /// Both value and interval multiplied by `factor` (a change of unit; a negative factor swaps the ends).
    pub fn scaled(&self, factor: f64) -> Self {
        let ends = self.ci95.map(|[lo, hi]| {
            let (a, b) = (lo * factor, hi * factor);
            [a.min(b), a.max(b)]
        });
        Measured {
            value: self.value.map(|v| v * factor),
            ci95: ends,
            ..self.clone()
        }
    }

    /// Whether there is a value.
    pub fn is_measured(&self) -> bool {
        self.status == Status::Measured
    }
}
