//! Time stamps of any kind told apart: unit, resolution, or none at all.

use super::cells::number;
use crate::robust::upper_median;

/// How rows get their time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Clock {
    /// So many rows a second, as the user says.
    Rate(f64),
    /// Each row's own stamp times this.
    Stamps(f64),
    /// Stamps times this repeat over many rows: rows are counted, stamps tell how many a second.
    Coarse(f64),
}

/// A clock and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// The clock.
    pub clock: Clock,
    /// Rows a second, as far as the first rows tell.
    pub rows_hz: f64,
    /// What it rests on, in words.
    pub words: String,
    /// Whether the header names another unit than the steps can mean.
    pub contradicts: bool,
    /// Whether the rows run from the last to the first.
    pub descends: bool,
}

/// Rates that a logger has, rows a second: a unit that would mean another is not meant.
const PLAUSIBLE_HZ: std::ops::RangeInclusive<f64> = 5.0..=20_000.0;
/// Where several units would do, the one that comes nearest to this many rows a second.
const USUAL_HZ: f64 = 100.0;
/// Share of repeated stamps from which on they are too coarse for a row each.
const COARSE: f64 = 0.2;

/// The clock of the first stamps `raw` (as they stand) under `label`; `wall` where they were
/// wall-clock times; `None` where they stand. A logger may write its latest row first.
pub fn told(raw: &[f64], label: &str, wall: bool) -> Option<Told> {
    let up = raw.windows(2).filter(|w| w[1] > w[0]).count();
    let down = raw.windows(2).filter(|w| w[1] < w[0]).count();
    if up >= down {
        return rising(raw, label, wall);
    }
    let turned: Vec<f64> = raw.iter().rev().copied().collect();
    let told = rising(&turned, label, wall)?;
    Some(Told {
        descends: true,
        ..told
    })
}

fn rising(raw: &[f64], label: &str, wall: bool) -> Option<Told> {
    let steps: Vec<f64> = raw.windows(2).map(|w| w[1] - w[0]).collect();
    let rising: Vec<f64> = steps.iter().copied().filter(|s| *s > 0.0).collect();
    let step = upper_median(rising.iter().copied())?;
    let repeated = steps.iter().filter(|s| **s == 0.0).count() as f64 / steps.len() as f64;
    let coarse = repeated > COARSE;
    let row_step = match coarse {
        true => step / rows_per_stamp(raw)?,
        false => step,
    };
    let (scale, contradicts) = match wall {
        true => (1.0, false),
        false => scale(unit(label), row_step, raw[0]),
    };
    let clock = if coarse {
        Clock::Coarse(scale)
    } else {
        Clock::Stamps(scale)
    };
    let kind = match (wall, coarse) {
        (true, _) => "wall-clock stamps".to_string(),
        (false, true) => format!("stamps in {} that repeat over many rows", name(scale)),
        (false, false) => format!("stamps in {}", name(scale)),
    };
    Some(Told {
        clock,
        rows_hz: 1.0 / (row_step * scale),
        words: kind,
        contradicts,
        descends: false,
    })
}

/// How many rows share a stamp: the median of whole runs.
fn rows_per_stamp(raw: &[f64]) -> Option<f64> {
    let mut runs = vec![0.0];
    for pair in raw.windows(2) {
        if let Some(run) = runs.last_mut() {
            *run += 1.0;
        }
        if pair[0] != pair[1] {
            runs.push(0.0);
        }
    }
    let whole = runs
        .get(1..runs.len() - 1)
        .filter(|r| !r.is_empty())
        .unwrap_or(&runs);
    upper_median(whole.iter().copied())
}

/// Seconds per unit that a header names.
fn unit(label: &str) -> Option<f64> {
    let words: Vec<&str> = label
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .collect();
    let has = |names: &[&str]| words.iter().any(|w| names.contains(w));
    if has(&["ns", "nanos", "nanoseconds", "nanosecond"]) {
        Some(1e-9)
    } else if has(&["us", "µs", "μs", "micros", "microseconds", "microsecond"]) {
        Some(1e-6)
    } else if has(&["ms", "millis", "milliseconds", "millisecond", "msec"]) {
        Some(1e-3)
    } else if has(&["s", "sec", "secs", "second", "seconds"]) {
        Some(1.0)
    } else {
        None
    }
}

/// Seconds per unit of stamps that step by `step`, and whether that contradicts the header.
fn scale(named: Option<f64>, step: f64, first: f64) -> (f64, bool) {
    let plausible = |scale: &f64| PLAUSIBLE_HZ.contains(&(1.0 / (step * scale)));
    if let Some(named) = named.filter(plausible) {
        return (named, false);
    }
    // Seconds of the epoch are about 1.8e9 now.
    let epoch = [(1e17, 1e-9), (1e14, 1e-6), (1e11, 1e-3), (1e9, 1.0)];
    let by_size = epoch
        .iter()
        .find(|(least, _)| first >= *least)
        .map(|e| e.1)
        .filter(plausible);
    let far = |scale: &f64| (1.0 / (step * scale * USUAL_HZ)).ln().abs();
    let by_step = [1.0, 1e-3, 1e-6, 1e-9]
        .into_iter()
        .filter(plausible)
        .min_by(|a, b| far(a).total_cmp(&far(b)));
    match by_size.or(by_step) {
        Some(scale) => (scale, named.is_some()),
        None => (named.unwrap_or(1.0), false),
    }
}

/// A unit of time in words.
pub fn name(scale: f64) -> &'static str {
    match scale {
        s if s >= 1.0 => "seconds",
        s if s >= 1e-3 => "milliseconds",
        s if s >= 1e-6 => "microseconds",
        _ => "nanoseconds",
    }
}

/// Whether a cell is a wall-clock time and no plain number.
pub fn is_wall_clock(cell: &str) -> bool {
    number(cell).is_none()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn even(step: f64, first: f64) -> Vec<f64> {
        (0..200).map(|i| first + step * f64::from(i)).collect()
    }

    #[test]
    fn units_by_header_by_size_and_by_step() {
        for (label, step, first, scale) in [
            ("time (s)", 0.01, 0.0, 1.0),
            ("time_ms", 10.0, 0.0, 1e-3),
            ("t [µs]", 2000.0, 0.0, 1e-6),
            ("timestamp", 0.01, 0.0, 1.0),
            ("timestamp", 10.0, 1.8e12, 1e-3),
            ("timestamp", 1e7, 1.8e18, 1e-9),
            ("time", 1000.0, 0.0, 1e-6),
            ("seconds", 1.0, 48_359.0, 1e-3),
        ] {
            let told = told(&even(step, first), label, false).unwrap();
            assert_eq!(told.clock, Clock::Stamps(scale), "{label} {step}");
            assert_eq!(told.contradicts, label == "seconds");
        }
    }

    #[test]
    fn whole_seconds_over_many_rows_are_counted() {
        let raw: Vec<f64> = (0..2000).map(|i| f64::from(i / 230)).collect();
        let told = told(&raw, "seconds", false).unwrap();
        assert_eq!(told.clock, Clock::Coarse(1.0));
        assert!((told.rows_hz - 230.0).abs() < 1e-9);
    }

    #[test]
    fn rows_from_last_to_first() {
        let up = even(10.0, 1.8e12);
        let down: Vec<f64> = up.iter().rev().copied().collect();
        let told = |raw: &[f64]| told(raw, "timestamp", false).unwrap();
        assert_eq!(
            told(&down),
            Told {
                descends: true,
                ..told(&up)
            }
        );
    }

    #[test]
    fn a_clock_that_stands_tells_nothing() {
        assert_eq!(told(&[5.0; 30], "time", false), None);
    }
}
