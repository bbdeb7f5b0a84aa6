//! Single cells: numbers with point or comma, and moments.

/// A number with decimal point or comma; not finite ones too (a logger's "NaN" is a number missing).
pub fn number(cell: &str) -> Option<f64> {
    let cell = cell.trim();
    if let Ok(x) = cell.parse::<f64>() {
        return Some(x);
    }
    let commas = cell.matches(',').count();
    (commas == 1 && !cell.contains('.')).then(|| cell.replace(',', ".").parse().ok())?
}

/// A moment: a plain number, or wall-clock time in ISO 8601 (`2026-05-01T06:30:00.250Z`, a blank for
/// the T, a time zone or none) or alone (`06:30:00.25`), as seconds.
pub fn stamp(cell: &str) -> Option<f64> {
    number(cell).or_else(|| wall_clock(cell.trim()))
}

/// Seconds since 1970 (or since midnight where there is no date) of a wall-clock time.
pub fn wall_clock(cell: &str) -> Option<f64> {
    let (date, clock) = match cell.split_once(['T', ' ']) {
        Some((date, clock)) => (Some(date), clock),
        None => (None, cell),
    };
    let days = match date {
        Some(date) => days(date)?,
        None => 0.0,
    };
    let clock = clock.trim().trim_end_matches(['Z', 'z']);
    let (clock, zone_s) = match clock.rfind(['+', '-']) {
        Some(at) => (clock.get(..at)?, zone(clock.get(at..)?)?),
        None => (clock, 0.0),
    };
    let parts: Vec<f64> = clock.trim().split(':').map(number).collect::<Option<_>>()?;
    let seconds = match parts[..] {
        [h, m, s] if h < 25.0 && m < 60.0 && s < 61.0 && h >= 0.0 && m >= 0.0 && s >= 0.0 => {
            3600.0 * h + 60.0 * m + s
        }
        _ => return None,
    };
    Some(86_400.0 * days + seconds - zone_s)
}

/// `+02:00`, `-0530` or `+01` in seconds.
fn zone(text: &str) -> Option<f64> {
    let sign = if text.starts_with('-') { -1.0 } else { 1.0 };
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    let hours: f64 = digits.get(..2)?.parse().ok()?;
    let minutes: f64 = digits.get(2..4).unwrap_or("0").parse().ok()?;
    Some(sign * (3600.0 * hours + 60.0 * minutes))
}

/// Days from 1970-01-01 of `year-month-day` (also with slashes), proleptic Gregorian calendar.
fn days(date: &str) -> Option<f64> {
    let parts: Vec<i64> = date
        .split(['-', '/'])
        .map(|p| p.trim().parse().ok())
        .collect::<Option<_>>()?;
    let &[year, month, day] = &parts[..] else {
        return None;
    };
    if !(1..=12).contains(&month) || !(1..=31).contains(&day) || !(1..=9999).contains(&year) {
        return None;
    }
    // Years from March, so that the leap day is the last.
    let (y, m) = if month > 2 {
        (year, month - 3)
    } else {
        (year - 1, month + 9)
    };
    let day_of_year = (153 * m + 2) / 5 + day - 1;
    Some((365 * y + y / 4 - y / 100 + y / 400 + day_of_year - 719_468) as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_with_point_or_comma() {
        assert_eq!(number(" -0,25 "), Some(-0.25));
        assert_eq!(number("1.5e-3"), Some(0.0015));
        assert!(number("NaN").is_some_and(f64::is_nan));
        for no in ["", "1,2,3", "1.000,5", "acc", "12:30"] {
            assert_eq!(number(no), None, "{no}");
        }
    }

    /// Seconds of the epoch as `date -u -d … +%s` prints them.
    #[test]
    fn moments() {
        assert_eq!(stamp("2026-05-01T06:30:00Z"), Some(1_777_617_000.0));
        assert_eq!(
            stamp("2026-05-01 08:30:00.250+02:00"),
            Some(1_777_617_000.25)
        );
        assert_eq!(stamp("2024-02-29 00:00:00"), Some(1_709_164_800.0));
        assert_eq!(stamp("06:30:00,5"), Some(23_400.5));
        for no in [
            "2026-13-01 00:00:00",
            "6:30",
            "T",
            "2026-05-01",
            "06:61:00",
            "é:é:é",
        ] {
            assert_eq!(stamp(no), None, "{no}");
        }
    }
}
