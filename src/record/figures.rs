//! The figures of a result, kept beside it so that lists and comparisons need not read it.

use std::collections::BTreeMap;

use rusqlite::{Connection, params};
use serde_json::Value;

use super::fault::Work;
use super::model::TestKind;
use crate::tuning::Measure;
use crate::{Measured, Status};

/// The key under which a width goes that is not the lure's own: it must not be compared with one.
pub const APPARENT_WIDTH: &str = "apparent_width_deg";

/// The figures of a result. A swim's go by [`Measure::key`]; of any other kind, each `x` that has an
/// `x_ci95` beside it goes by `part.x`.
pub fn of_result(kind: TestKind, result: &Value) -> Vec<(String, Measured)> {
    match kind {
        TestKind::Swim => Measure::ALL
            .into_iter()
            .filter_map(|measure| swim_figure(measure, result))
            .collect(),
        _ => figures_with_intervals(result),
    }
}

/// The figures of a result given as JSON text; none where it cannot be read.
pub fn figures_of(kind: TestKind, result: &str) -> BTreeMap<String, Measured> {
    serde_json::from_str(result)
        .map(|result| of_result(kind, &result).into_iter().collect())
        .unwrap_or_default()
}

fn swim_figure(measure: Measure, result: &Value) -> Option<(String, Measured)> {
    let (part, field, status) = match measure {
        Measure::Rate => ("wobble", "hz", "status"),
        Measure::Width => ("wobble", "width_deg", "width_status"),
        Measure::TailSweep => ("wobble", "tail_sweep_mm", "tail_sweep_status"),
        Measure::Roll => ("roll", "width_deg", "status"),
        Measure::Drift => ("drift", "deg", "status"),
        Measure::HuntsPerMinute => ("hunts", "per_minute", "status"),
        Measure::HuntsPerMetre | Measure::ThumpRms => return None,
        Measure::Pivot => ("pivot", "from_nose", "status"),
        Measure::Speed => ("speed", "m_s", "status"),
        // the rest is of the float test
        _ => return None,
    };
    let part = part_of(result, part)?;
    let apparent = measure == Measure::Width && part["apparent"] == true;
    let key = if apparent {
        APPARENT_WIDTH
    } else {
        measure.key()
    };
    // A result without a status of its own for the field has the part's.
    let status = part.get(status).unwrap_or(&part["status"]);
    Some((key.into(), figure(part, field, status)))
}

fn part_of<'a>(result: &'a Value, part: &str) -> Option<&'a Value> {
    result.get(part).filter(|part| part.is_object())
}

fn figures_with_intervals(result: &Value) -> Vec<(String, Measured)> {
    let parts = result.as_object().into_iter().flatten();
    parts
        .filter_map(|(name, part)| Some((name, part, part.as_object()?)))
        .flat_map(|(name, part, fields)| {
            fields
                .keys()
                .filter(|field| fields.contains_key(&format!("{field}_ci95")))
                .map(move |field| {
                    let status = fields
                        .get(&format!("{field}_status"))
                        .unwrap_or(&part["status"]);
                    (format!("{name}.{field}"), figure(part, field, status))
                })
        })
        .collect()
}

/// A value without a status is measured; a count of nothing keeps its value and its interval.
fn figure(part: &Value, field: &str, status: &Value) -> Measured {
    let value = part[field].as_f64();
    let ends = &part[format!("{field}_ci95")];
    let ci95 = ends[0]
        .as_f64()
        .zip(ends[1].as_f64())
        .map(|(lo, hi)| [lo, hi]);
    let status = match (status.as_str(), value) {
        (Some("measured"), Some(_)) | (None, Some(_)) => Status::Measured,
        (Some("none"), Some(_)) => Status::Measured,
        (Some("none"), None) => Status::None,
        (Some("aliased"), _) => Status::Aliased,
        _ => Status::Unmeasurable,
    };
    let measured = status == Status::Measured;
    Measured {
        status,
        value: value.filter(|_| measured),
        ci95: ci95.filter(|_| measured),
        why: None,
    }
}

/// Keeps the figures of one test.
pub fn keep(db: &Connection, test: i64, kind: TestKind, result: &Value) -> Work<()> {
    let mut insert = db.prepare_cached(
        "INSERT INTO figure (test_id, measure, status, value, lo, hi) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    )?;
    for (measure, found) in of_result(kind, result) {
        let [lo, hi] = found.ci95.map_or([None; 2], |ends| ends.map(Some));
        insert.execute(params![
            test,
            measure,
            word(found.status),
            found.value,
            lo,
            hi
        ])?;
    }
    Ok(())
}

/// Keeps the figures of every test (schema 2 brought them in). A result that cannot be read has none.
pub fn fill(db: &Connection) -> Work<()> {
    let mut query = db.prepare("SELECT id, kind, result FROM test")?;
    let mut rows = query.query([])?;
    while let Some(row) = rows.next()? {
        let result: String = row.get(2)?;
        if let Ok(result) = serde_json::from_str(&result) {
            keep(db, row.get(0)?, row.get(1)?, &result)?;
        }
    }
    Ok(())
}

/// The status as stored.
pub fn word(status: Status) -> &'static str {
    match status {
        Status::Measured => "measured",
        Status::None => "none",
        Status::Aliased => "aliased",
        Status::Unmeasurable => "unmeasurable",
    }
}

/// The status of a stored word.
pub fn status_of(word: &str) -> Status {
    match word {
        "measured" => Status::Measured,
        "none" => Status::None,
        "aliased" => Status::Aliased,
        _ => Status::Unmeasurable,
    }
}
