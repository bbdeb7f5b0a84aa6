//! A recording and a clip of the same pull, put on one time by their wobble.

use super::Thump;
use crate::motion::SecondRate;
use crate::{Measured, Status};
use serde_json::Value;

/// The wobble of a clip, out of its JSON result.
#[derive(Debug, Clone, PartialEq)]
pub struct ClipWobble {
    /// Name of the clip.
    pub file: String,
    /// Rate, Hz; [`Status::Aliased`] where the clip could not tell.
    pub hz: Measured,
    /// Rates that the clip could not tell apart, Hz.
    pub candidates_hz: Vec<f64>,
    /// The rate by second.
    pub by_second: Vec<SecondRate>,
}

/// How the two go together.
#[derive(Debug, Clone, PartialEq)]
pub struct Together {
    /// Name of the clip.
    pub clip: String,
    /// Recording's time less the clip's at the same moment, s.
    pub offset_s: Measured,
    /// The recording's rate less the clip's, Hz.
    pub difference_hz: Measured,
    /// Whether the two rates agree; `None` where one of them is missing.
    pub agree: Option<bool>,
    /// Where the clip was aliased: the one of its candidates that the recording picks, Hz.
    pub resolved_hz: Option<f64>,
}

/// Steps in which offsets are tried, s.
const STEP_S: f64 = 0.1;
/// Least number of seconds that must overlap.
const LEAST_S: usize = 4;
/// What is left when the sum of squares is over the least by this many variances is a 95 % interval
/// (chi-square with one degree of freedom).
const CHI2_95: f64 = 3.84;
/// An interval longer than this tells no offset, s.
const WIDEST_S: f64 = 2.0;
/// Rates by second are known no better than this, as a share: it keeps a chance fit from seeming sure.
const LEAST_SPREAD: f64 = 0.003;

impl ClipWobble {
    /// Out of a result with the schema `truerun/swim/1`; `None` where it is none.
    pub fn of(result: &Value) -> Option<ClipWobble> {
        if !result["schema"].as_str()?.starts_with("truerun/swim/") {
            return None;
        }
        let wobble = &result["wobble"];
        let numbers = |v: &Value| {
            v.as_array()
                .map(|a| a.iter().filter_map(Value::as_f64).collect::<Vec<f64>>())
        };
        let hz = match (
            wobble["status"].as_str()?,
            wobble["hz"].as_f64(),
            numbers(&wobble["hz_ci95"]).as_deref(),
        ) {
            ("measured", Some(hz), Some(&[lo, hi])) => Measured::new(hz, [lo, hi]),
            ("aliased", ..) => {
                Measured::without(Status::Aliased, "the clip's frame rate could not tell")
            }
            _ => Measured::none("the clip shows no wobble"),
        };
        let second = |v: &Value| {
            Some(SecondRate {
                t_s: v["t_s"].as_f64()?,
                hz: v["hz"].as_f64()?,
            })
        };
        Some(ClipWobble {
            file: result["clip"]["file"]
                .as_str()
                .unwrap_or("clip")
                .to_string(),
            hz,
            candidates_hz: numbers(&wobble["alias_candidates_hz"]).unwrap_or_default(),
            by_second: wobble["by_second"]
                .as_array()
                .map(|a| a.iter().filter_map(second).collect())
                .unwrap_or_default(),
        })
    }
}

/// Puts `thump` and `clip` together. Where the recording may have begun up to `start_doubt_s` earlier on
/// its clock than its stamps tell, the offset may be that much less.
pub fn together(thump: &Thump, clip: &ClipWobble, start_doubt_s: f64) -> Together {
    let half = |m: &Measured| m.ci95.map(|[lo, hi]| 0.5 * (hi - lo));
    let resolved_hz = resolved(thump, clip);
    let aliased = clip.hz.status == Status::Aliased;
    let difference_hz = match (
        thump.hz.value,
        half(&thump.hz),
        clip.hz.value,
        half(&clip.hz),
    ) {
        (Some(a), Some(da), Some(b), Some(db))
            if thump.hz.is_measured() && clip.hz.is_measured() =>
        {
            Measured::within(a - b, da.hypot(db))
        }
        _ if aliased => Measured::unmeasurable("the clip's frame rate could not tell its rate"),
        _ => Measured::unmeasurable("one of the two shows no wobble"),
    };
    let agree = match difference_hz.ci95 {
        Some([lo, hi]) => Some(lo <= 0.0 && hi >= 0.0),
        None if aliased && thump.hz.is_measured() => Some(resolved_hz.is_some()),
        None => None,
    };
    let offset_s = match clip.hz.is_measured() {
        true => widened(offset(&clip.by_second, &thump.by_second), start_doubt_s),
        false => {
            Measured::unmeasurable("the clip's rate is not known, so there is nothing to align by")
        }
    };
    Together {
        clip: clip.file.clone(),
        offset_s,
        difference_hz,
        agree,
        resolved_hz,
    }
}

/// The candidate of an aliased clip that is nearest to the recording's rate, if it is near enough: the
/// two are not of exactly the same seconds, so a twentieth is allowed.
fn resolved(thump: &Thump, clip: &ClipWobble) -> Option<f64> {
    let hz = thump.hz.value.filter(|_| thump.hz.is_measured())?;
    let near = clip
        .candidates_hz
        .iter()
        .copied()
        .min_by(|a, b| (a - hz).abs().total_cmp(&(b - hz).abs()))?;
    ((near / hz - 1.0).abs() < 0.05).then_some(near)
}

fn widened(mut offset: Measured, less_s: f64) -> Measured {
    if let Some([lo, _]) = &mut offset.ci95 {
        *lo -= less_s;
    }
    offset
}

/// The offset at which the clip's rates by second fit the recording's best.
fn offset(clip: &[SecondRate], recording: &[SecondRate]) -> Measured {
    let flat = || {
        Measured::unmeasurable(
            "the rate wanders too little, or too alike, to put the two on one time",
        )
    };
    let (Some(c0), Some(c1), Some(r0), Some(r1)) = (
        clip.first(),
        clip.last(),
        recording.first(),
        recording.last(),
    ) else {
        return flat();
    };
    let (from, to) = (r0.t_s - c1.t_s, r1.t_s - c0.t_s);
    let least = LEAST_S.max(clip.len().min(recording.len()) * 3 / 5);
    let fits: Vec<(f64, f64, f64)> = (0..=((to - from) / STEP_S) as usize)
        .filter_map(|i| {
            let lag = from + STEP_S * i as f64;
            let off: Vec<f64> = clip
                .iter()
                .filter_map(|c| Some(c.hz - rate_at(recording, c.t_s + lag)?))
                .collect();
            let n = off.len() as f64;
            (off.len() >= least).then(|| (lag, off.iter().map(|d| d * d).sum::<f64>() / n, n))
        })
        .collect();
    let Some(best) = fits.iter().min_by(|a, b| a.1.total_cmp(&b.1)) else {
        return flat();
    };
    let mean = clip.iter().map(|c| c.hz).sum::<f64>() / clip.len() as f64;
    let variance = best.1.max((LEAST_SPREAD * mean).powi(2));
    let stands: Vec<f64> = fits
        .iter()
        .filter(|f| f.2 * (f.1 - best.1) / variance < CHI2_95)
        .map(|f| f.0)
        .collect();
    match (stands.first(), stands.last()) {
        (Some(lo), Some(hi)) if hi - lo < WIDEST_S => {
            Measured::new(best.0, [lo - STEP_S, hi + STEP_S])
        }
        _ => flat(),
    }
}

/// The recording's rate at `t`, straight between seconds; `None` outside or in a gap.
fn rate_at(seconds: &[SecondRate], t: f64) -> Option<f64> {
    let right = seconds.partition_point(|s| s.t_s < t);
    let (a, b) = (seconds.get(right.checked_sub(1)?)?, seconds.get(right)?);
    (b.t_s - a.t_s < 1.6).then(|| a.hz + (b.hz - a.hz) * (t - a.t_s) / (b.t_s - a.t_s))
}
