//! A thump held against an earlier build's.

use serde_json::Value;

use crate::Measured;
use crate::motion::thump::Thump;

/// Rate and strength of an earlier thump, out of its JSON result.
#[derive(Debug, Clone, PartialEq)]
pub struct Earlier {
    /// Name of the earlier recording.
    pub file: String,
    hz: Measured,
    rms: Measured,
}

/// What changed since.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Rate now less rate then, Hz.
    pub hz: Measured,
    /// Strength now over strength then.
    pub rms_ratio: Measured,
}

impl Earlier {
    /// Out of a result with the schema `truerun/thump/1`; `None` where it is none.
    pub fn of(result: &Value) -> Option<Earlier> {
        if !result["schema"].as_str()?.starts_with("truerun/thump/") {
            return None;
        }
        Some(Earlier {
            file: result["recording"]["file"]
                .as_str()
                .unwrap_or("earlier")
                .to_string(),
            hz: figure(&result["wobble"], "hz"),
            rms: figure(&result["thump"], "rms_m_s2"),
        })
    }

    /// The change from it to `thump`, the two taken as independent.
    pub fn change_to(&self, thump: &Thump) -> Change {
        let (hz, rms) = (&thump.hz, &thump.rms);
        let hz = match (parts(hz), parts(&self.hz)) {
            (Some((now, a)), Some((then, b))) => Measured::within(now - then, a.hypot(b)),
            _ => Measured::unmeasurable("one of the two has no rate"),
        };
        let metric = thump.unit == crate::media::Unit::MetresPerSecond2;
        let rms_ratio = match (parts(rms).filter(|_| metric), parts(&self.rms)) {
            (Some((now, a)), Some((then, b))) if now > 0.0 && then > 0.0 => {
                // Relative errors add up in squares; on the logarithm, so that the ends stay above zero.
                let (ratio, off) = (now / then, (a / now).hypot(b / then));
                Measured::new(ratio, [ratio * (-off).exp(), ratio * off.exp()])
            }
            _ => Measured::unmeasurable("one of the two has no strength in m/s²"),
        };
        Change { hz, rms_ratio }
    }
}

/// The figure `field` of a result's `part` with its interval.
pub(super) fn figure(part: &Value, field: &str) -> Measured {
    let ends = &part[format!("{field}_ci95")];
    let known = part[field]
        .as_f64()
        .zip(ends[0].as_f64().zip(ends[1].as_f64()));
    match known {
        Some((value, (lo, hi))) => Measured::new(value, [lo, hi]),
        None => Measured::unmeasurable("the earlier result has no such figure"),
    }
}

/// Value and half-width of a measured figure.
fn parts(m: &Measured) -> Option<(f64, f64)> {
    let [lo, hi] = m.ci95.filter(|_| m.is_measured())?;
    Some((m.value?, 0.5 * (hi - lo)))
}
