//! A record with many tests, made at once by way of an import. The benchmark uses it too.

use std::path::Path;

use serde_json::{Value, json};
use truerun::record::{Record, TestKind, figures_of};

/// Makes a record of `builds` builds of one lure with `tests` swim tests each, of a realistic size.
pub fn large_record(path: &Path, builds: usize, tests: usize) -> Record {
    let at = |n: usize| {
        format!(
            "2026-{:02}-{:02}T10:{:02}:00",
            1 + n % 12,
            1 + n / 12 % 28,
            n / 336 % 60
        )
    };
    let mut tables = json!({"lure": [lure()], "build": [], "test": [], "change": [], "edit": [],
        "photo": [], "figure": []});
    for build in 1..=builds {
        push(&mut tables, "build", build_row(build));
        for n in 0..tests {
            let id = (build - 1) * tests + n + 1;
            let wiggle = ((id * 7919) % 1000) as f64 / 1000.0;
            let result = result(wiggle);
            for (measure, found) in figures_of(TestKind::Swim, &result) {
                let [lo, hi] = found.ci95.map_or([None; 2], |ends| ends.map(Some));
                let row = json!({"test_id": id, "measure": measure, "status": found.status,
                    "value": found.value, "lo": lo, "hi": hi});
                push(&mut tables, "figure", row);
            }
            push(&mut tables, "test", test_row(id, build, &at(n), &result));
        }
    }
    let mut record = Record::open(path).unwrap();
    record
        .restore(&json!({"schema": "truerun/record/2", "tables": tables}).to_string())
        .unwrap();
    record
}

fn push(tables: &mut Value, table: &str, row: Value) {
    tables[table].as_array_mut().unwrap().push(row);
}

fn lure() -> Value {
    json!({"id": 1, "name": "Hazel 58", "length_mm": 58.0, "target": null, "note": null,
        "added_at": "2026-01-01T09:00:00", "retired_at": null, "retired_why": null})
}

fn build_row(id: usize) -> Value {
    json!({"id": id, "lure_id": 1, "name": format!("hazel58-{id:03}"), "origin": "carved",
        "parent_id": null, "mould": null, "mass_g": 9.4, "lip_angle_deg": null, "lip_length_mm": null,
        "lip_width_mm": null, "ballast": null, "hooks": null, "made_on": null, "note": null,
        "added_at": "2026-01-01T09:00:00", "retired_at": null, "retired_why": null})
}

fn test_row(id: usize, build: usize, at: &str, result: &str) -> Value {
    json!({"id": id, "build_id": build, "kind": "swim", "at": at, "place": "reservoir", "water": "fresh",
        "water_c": 14.5, "retrieve": null, "note": null, "result": result, "source_file": "a.mp4",
        "source_sha256": "ab".repeat(32), "program": "truerun 0.1.0", "saved_at": at})
}

fn figures(wiggle: f64) -> [(&'static str, f64, f64); 5] {
    [
        ("rate_hz", 4.5 + wiggle * 0.2, 0.05),
        ("width_deg", 15.0 + wiggle * 2.0, 0.6),
        ("drift_deg", wiggle * 3.0, 0.4),
        ("pivot_from_nose", 0.38 + wiggle * 0.05, 0.03),
        ("speed_m_s", 0.5, 0.02),
    ]
}

/// About as long as a result of eight seconds.
fn result(wiggle: f64) -> String {
    let seconds: Vec<Value> = (0..60)
        .map(|t| json!({"t_s": t, "hz": 4.5 + wiggle}))
        .collect();
    let [rate, width, drift, pivot, speed] = figures(wiggle);
    let ci = |(_, value, half): (&str, f64, f64)| [value - half, value + half];
    json!({"schema": "truerun/swim/1",
        "wobble": {"status": "measured", "hz": rate.1, "hz_ci95": ci(rate), "width_deg": width.1,
            "width_deg_ci95": ci(width), "by_second": seconds},
        "drift": {"status": "measured", "deg": drift.1, "deg_ci95": ci(drift)},
        "pivot": {"status": "measured", "from_nose": pivot.1, "from_nose_ci95": ci(pivot)},
        "speed": {"status": "measured", "m_s": speed.1, "m_s_ci95": ci(speed)}})
    .to_string()
}
