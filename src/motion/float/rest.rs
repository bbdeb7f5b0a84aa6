//! When the lure lies still.

use super::decay::Decay;
use super::rise::Rise;
use crate::robust::upper_median;
use crate::tracking::float::{Outline, WaterLine};

/// It lies still where the angle stays within so much for so long.
const STILL_DEG: f64 = 0.5;
const STILL_S: f64 = 0.35;
const LEAST_STILL_S: f64 = 0.6;
/// It moves for this part of the steady rise before and after it too.
const BEYOND: f64 = 0.4;

/// One frame in which all was seen.
pub struct Sight<'a> {
    pub frame: usize,
    pub t_s: f64,
    pub outline: &'a Outline,
    pub water: Option<&'a WaterLine>,
    /// Turn of the axis (or the upright) clockwise against level, degrees.
    pub clockwise_deg: f64,
}

/// Frames at rest, and why they are not quite, if so.
pub struct Rest {
    /// Their numbers among the sights.
    pub frames: Vec<usize>,
    /// Why they are not quite at rest.
    pub why: Option<&'static str>,
}

/// Where it lies still; else while it rises, or the middle of its rocking.
pub fn rest(t_s: &[f64], angles: &[f64], rocking: Option<&Decay>, rising: Option<&Rise>) -> Rest {
    let all = || (0..t_s.len()).collect::<Vec<_>>();
    if t_s.len() == 1 {
        return Rest {
            frames: all(),
            why: None,
        };
    }
    let steps = usual(angles.windows(2).map(|w| (w[1] - w[0]).abs()));
    let most = STILL_DEG.max(4.0 * steps);
    let is_still = |i: usize| {
        let near = (0..t_s.len()).filter(|j| (t_s[*j] - t_s[i]).abs() <= STILL_S);
        let (lo, hi) = near.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), j| {
            (lo.min(angles[j]), hi.max(angles[j]))
        });
        // the span is that of steady rise alone: before and after it gathers pace, or comes to rest
        let moving = rising.is_some_and(|r| {
            let beyond = BEYOND * (r.span_s[1] - r.span_s[0]);
            (r.span_s[0] - beyond..=r.span_s[1] + beyond).contains(&t_s[i])
        });
        hi - lo <= most && !moving
    };
    let still: Vec<usize> = (0..t_s.len()).filter(|i| is_still(*i)).collect();
    let gap = (t_s[t_s.len() - 1] - t_s[0]) / (t_s.len() - 1) as f64;
    if still.len() as f64 * gap >= LEAST_STILL_S || still.len() == t_s.len() {
        return Rest {
            frames: still,
            why: None,
        };
    }
    match (rising, rocking) {
        (Some(r), _) => Rest {
            frames: (0..t_s.len())
                .filter(|i| (r.span_s[0]..=r.span_s[1]).contains(&t_s[*i]))
                .collect(),
            why: Some("taken while it rose or sank"),
        },
        (None, Some(_)) => Rest {
            frames: all(),
            why: Some("the middle of its rocking: it never lay still"),
        },
        (None, None) => Rest {
            frames: all(),
            why: Some("it never lay quite still"),
        },
    }
}

/// The median of what every frame at rest tells; NaN of none.
pub fn usual(values: impl IntoIterator<Item = f64>) -> f64 {
    upper_median(values).unwrap_or(f64::NAN)
}
