//! The thump as one JSON object, schema `truerun/thump/1`: every key always there, null where unknown.

use serde::Serialize;

use super::json_parts::{SecondObject, all_stored, interval, pretty, value};
use super::numbers::stored;
use super::verdict_json::VerdictObject;
use crate::media::{Recording, STANDARD_GRAVITY, Unit};
use crate::motion::thump::{Thump, Together, octaves};
use crate::tuning::{BySpeed, Change, Verdict};
use crate::{Measured, Status, Warning};

/// What the object is made from.
#[derive(Debug, Clone, Copy)]
pub struct ThumpDocument<'a> {
    /// The recording.
    pub recording: &'a Recording,
    /// The figures.
    pub thump: &'a Thump,
    /// The clip that went with it.
    pub together: Option<&'a Together>,
    /// The change since an earlier recording of that name.
    pub change: Option<(&'a str, &'a Change)>,
    /// How it grows with the speed, where results at other speeds were given.
    pub by_speed: Option<&'a BySpeed>,
    /// The verdict, where a target was given.
    pub verdict: Option<&'a Verdict>,
}

/// The result as pretty JSON text ending in a line feed.
pub fn thump_json(document: &ThumpDocument) -> String {
    pretty(&Object::of(document))
}

#[derive(Serialize)]
struct Object<'a> {
    schema: &'static str,
    recording: RecordingObject<'a>,
    found: bool,
    wobble: WobbleObject<'a>,
    thump: StrengthObject<'a>,
    harmonics: Vec<HarmonicObject>,
    third_octaves: Vec<BandObject>,
    lead: LeadObject<'a>,
    parts: Vec<PartObject>,
    gusts: Vec<GustObject>,
    followed_s: Option<f64>,
    speed: SpeedObject,
    clip: Option<ClipObject<'a>>,
    change: Option<ChangeObject<'a>>,
    by_speed: Option<BySpeedObject<'a>>,
    verdict: Option<VerdictObject<'a>>,
    warnings: &'a [Warning],
}

#[derive(Serialize)]
struct RecordingObject<'a> {
    file: &'a str,
    sha256: Option<&'a str>,
    source: &'static str,
    rows: usize,
    duration_s: Option<f64>,
    recorded_hz: Option<f64>,
    time_from: &'a str,
    unit: Option<&'static str>,
    unit_from: &'static str,
}

#[derive(Serialize)]
struct WobbleObject<'a> {
    status: Status,
    hz: Option<f64>,
    hz_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
    unsteadiness: Option<f64>,
    nyquist_hz: Option<f64>,
    alias_candidates_hz: Vec<Option<f64>>,
    by_second: Vec<SecondObject>,
}

#[derive(Serialize)]
struct StrengthObject<'a> {
    status: Status,
    rms_m_s2: Option<f64>,
    rms_m_s2_ci95: Option<[f64; 2]>,
    rms_g: Option<f64>,
    rms_g_ci95: Option<[f64; 2]>,
    rms_db: Option<f64>,
    rms_db_ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
    felt_status: Status,
    felt_m_s2: Option<f64>,
    felt_m_s2_ci95: Option<[f64; 2]>,
    felt_why: Option<&'a str>,
}

#[derive(Serialize)]
struct HarmonicObject {
    number: u32,
    hz: Option<f64>,
    rms: Option<f64>,
    share: Option<f64>,
}

#[derive(Serialize)]
struct BandObject {
    nominal_hz: f64,
    mid_hz: Option<f64>,
    rms: Option<f64>,
    db: Option<f64>,
}

#[derive(Serialize)]
struct LeadObject<'a> {
    carrier: &'static str,
    names: &'a [String],
    direction: Vec<Option<f64>>,
    why: &'a str,
}

#[derive(Serialize)]
struct PartObject {
    from_s: Option<f64>,
    to_s: Option<f64>,
    pull: bool,
}

#[derive(Serialize)]
struct GustObject {
    from_s: Option<f64>,
    to_s: Option<f64>,
    times: Option<f64>,
}

#[derive(Serialize)]
struct SpeedObject {
    status: Status,
    m_s: Option<f64>,
    rms_m_s2_per_m_s: Option<f64>,
    rms_m_s2_per_m_s_ci95: Option<[f64; 2]>,
    wobbles_per_m: Option<f64>,
    wobbles_per_m_ci95: Option<[f64; 2]>,
}

#[derive(Serialize)]
struct ClipObject<'a> {
    file: &'a str,
    offset_status: Status,
    offset_s: Option<f64>,
    offset_s_ci95: Option<[f64; 2]>,
    offset_why: Option<&'a str>,
    rates_agree: Option<bool>,
    difference_hz: Option<f64>,
    difference_hz_ci95: Option<[f64; 2]>,
    resolved_hz: Option<f64>,
}

#[derive(Serialize)]
struct BySpeedObject<'a> {
    runs: usize,
    slowest_m_s: Option<f64>,
    fastest_m_s: Option<f64>,
    hz_per_m_s: Option<f64>,
    hz_per_m_s_ci95: Option<[f64; 2]>,
    hz_why: Option<&'a str>,
    rms_m_s2_per_m_s: Option<f64>,
    rms_m_s2_per_m_s_ci95: Option<[f64; 2]>,
    rms_why: Option<&'a str>,
}

#[derive(Serialize)]
struct ChangeObject<'a> {
    since: &'a str,
    hz: Option<f64>,
    hz_ci95: Option<[f64; 2]>,
    rms_ratio: Option<f64>,
    rms_ratio_ci95: Option<[f64; 2]>,
}

/// Level in dB: of acceleration re 1 µm/s² (ISO 1683), of sound re full scale.
pub fn level_db(rms: f64, unit: Unit) -> Option<f64> {
    let reference = match unit {
        Unit::MetresPerSecond2 => 1e-6,
        Unit::FullScale => 1.0,
        Unit::Unknown => return None,
    };
    Some(20.0 * (rms / reference).log10()).filter(|db| db.is_finite())
}

/// A strength in dB with its interval.
pub fn in_db(rms: &Measured, unit: Unit) -> Measured {
    let db = |x: f64| level_db(x, unit);
    let ends = rms.ci95.and_then(|[lo, hi]| Some([db(lo)?, db(hi)?]));
    Measured {
        value: rms.value.and_then(db),
        ci95: ends,
        ..rms.clone()
    }
}

impl<'a> Object<'a> {
    fn of(document: &ThumpDocument<'a>) -> Self {
        let ThumpDocument {
            recording, thump, ..
        } = *document;
        Object {
            schema: "truerun/thump/1",
            recording: RecordingObject {
                file: &recording.file,
                sha256: recording.sha256.as_deref(),
                source: recording.source.word(),
                rows: recording.rows,
                duration_s: stored(Some(recording.duration_s())),
                recorded_hz: stored(Some(recording.recorded_hz)),
                time_from: &recording.time_from,
                unit: match recording.unit {
                    Unit::MetresPerSecond2 => Some("m/s²"),
                    Unit::FullScale => Some("full scale"),
                    Unit::Unknown => None,
                },
                unit_from: recording.unit_from,
            },
            found: thump.found,
            wobble: WobbleObject::of(thump),
            thump: StrengthObject::of(thump),
            harmonics: thump
                .harmonics
                .iter()
                .map(|h| HarmonicObject {
                    number: h.number,
                    hz: stored(Some(h.hz)),
                    rms: fine(h.rms),
                    share: stored(Some(h.share)),
                })
                .collect(),
            third_octaves: thump
                .bands
                .iter()
                .map(|b| BandObject {
                    nominal_hz: octaves::nominal_hz(b.mid_hz),
                    mid_hz: stored(Some(b.mid_hz)),
                    rms: fine(b.rms),
                    db: stored(level_db(b.rms, thump.unit)),
                })
                .collect(),
            lead: LeadObject {
                carrier: thump.lead.carrier.word(),
                names: &thump.lead.names,
                direction: thump
                    .lead
                    .direction
                    .iter()
                    .map(|d| stored(Some(*d)))
                    .collect(),
                why: &thump.lead.why,
            },
            parts: thump
                .parts
                .iter()
                .map(|p| PartObject {
                    from_s: stored(Some(p.from_s)),
                    to_s: stored(Some(p.to_s)),
                    pull: p.pull,
                })
                .collect(),
            gusts: thump
                .gusts
                .iter()
                .map(|g| GustObject {
                    from_s: stored(Some(g.from_s)),
                    to_s: stored(Some(g.to_s)),
                    times: stored(Some(g.times)),
                })
                .collect(),
            followed_s: stored(Some(thump.followed_s)),
            speed: SpeedObject::of(thump),
            clip: document.together.map(ClipObject::of),
            change: document.change.map(|(since, change)| ChangeObject {
                since,
                hz: value(&change.hz),
                hz_ci95: interval(&change.hz),
                rms_ratio: value(&change.rms_ratio),
                rms_ratio_ci95: interval(&change.rms_ratio),
            }),
            by_speed: document.by_speed.map(|by_speed| BySpeedObject {
                runs: by_speed.runs,
                slowest_m_s: stored(Some(by_speed.speeds_m_s[0])),
                fastest_m_s: stored(Some(by_speed.speeds_m_s[1])),
                hz_per_m_s: value(&by_speed.hz),
                hz_per_m_s_ci95: interval(&by_speed.hz),
                hz_why: by_speed.hz.why.as_deref(),
                rms_m_s2_per_m_s: value(&by_speed.rms),
                rms_m_s2_per_m_s_ci95: interval(&by_speed.rms),
                rms_why: by_speed.rms.why.as_deref(),
            }),
            verdict: document.verdict.map(VerdictObject::of),
            warnings: &thump.warnings,
        }
    }
}

/// Six significant digits: levels of sound may be far below 1.
fn fine(x: f64) -> Option<f64> {
    let scale = 10f64.powf(5.0 - x.abs().max(1e-300).log10().floor());
    Some((x * scale).round() / scale).filter(|x| x.is_finite())
}

impl<'a> WobbleObject<'a> {
    fn of(thump: &'a Thump) -> Self {
        WobbleObject {
            status: thump.hz.status,
            hz: value(&thump.hz),
            hz_ci95: interval(&thump.hz),
            why: thump.hz.why.as_deref(),
            unsteadiness: stored(thump.unsteadiness),
            nyquist_hz: stored(Some(thump.nyquist_hz)),
            alias_candidates_hz: all_stored(&thump.alias_candidates_hz),
            by_second: SecondObject::all(&thump.by_second),
        }
    }
}

impl<'a> StrengthObject<'a> {
    fn of(thump: &'a Thump) -> Self {
        let metric = thump.unit == Unit::MetresPerSecond2;
        let none = Measured::none("");
        let rms = if metric { &thump.rms } else { &none };
        let in_g = rms.scaled(1.0 / STANDARD_GRAVITY);
        let db = in_db(&thump.rms, thump.unit);
        StrengthObject {
            status: thump.rms.status,
            rms_m_s2: value(rms),
            rms_m_s2_ci95: interval(rms),
            rms_g: value(&in_g),
            rms_g_ci95: interval(&in_g),
            rms_db: value(&db),
            rms_db_ci95: interval(&db),
            why: thump.rms.why.as_deref(),
            felt_status: thump.felt.status,
            felt_m_s2: value(&thump.felt),
            felt_m_s2_ci95: interval(&thump.felt),
            felt_why: thump.felt.why.as_deref(),
        }
    }
}

impl SpeedObject {
    fn of(thump: &Thump) -> Self {
        let metric = thump.unit == Unit::MetresPerSecond2;
        let per_speed = if metric {
            thump.rms_per_speed.clone()
        } else {
            Measured::none("")
        };
        SpeedObject {
            status: match thump.speed_m_s {
                Some(_) => Status::Measured,
                None => Status::Unmeasurable,
            },
            m_s: stored(thump.speed_m_s),
            rms_m_s2_per_m_s: value(&per_speed),
            rms_m_s2_per_m_s_ci95: interval(&per_speed),
            wobbles_per_m: value(&thump.wobbles_per_m),
            wobbles_per_m_ci95: interval(&thump.wobbles_per_m),
        }
    }
}

impl<'a> ClipObject<'a> {
    fn of(together: &'a Together) -> Self {
        ClipObject {
            file: &together.clip,
            offset_status: together.offset_s.status,
            offset_s: value(&together.offset_s),
            offset_s_ci95: interval(&together.offset_s),
            offset_why: together.offset_s.why.as_deref(),
            rates_agree: together.agree,
            difference_hz: value(&together.difference_hz),
            difference_hz_ci95: interval(&together.difference_hz),
            resolved_hz: stored(together.resolved_hz),
        }
    }
}
