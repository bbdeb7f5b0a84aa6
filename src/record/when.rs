//! Times on the maker's own clock.

use rusqlite::Connection;

use super::fault::Work;
use crate::{Error, Result};

/// Now, on the clock of this computer.
pub fn now(db: &Connection) -> Work<String> {
    Ok(db.query_row(
        "SELECT strftime('%Y-%m-%dT%H:%M:%S', 'now', 'localtime')",
        [],
        |row| row.get(0),
    )?)
}

/// The moment meant by `given` (`2026-11-25`, `2026-11-25 14:30` …): now where nothing is given or
/// the day is today, noon of another day without a time.
pub fn moment(db: &Connection, given: Option<&str>) -> Work<String> {
    let now = now(db)?;
    let Some(given) = given else { return Ok(now) };
    let given = given.trim().replace(' ', "T");
    let (day, time) = match given.split_once('T') {
        Some((day, time)) => (day, Some(time)),
        None => (given.as_str(), None),
    };
    let day = checked_day("--when", day)?;
    Ok(match time {
        Some(time) => format!("{day}T{}", checked_time(time)?),
        None if now.starts_with(&day) => now,
        None => format!("{day}T12:00:00"),
    })
}

/// A day that is in the calendar, as `YYYY-MM-DD`.
pub fn checked_day(option: &str, text: &str) -> Result<String> {
    let parts: Vec<&str> = text.split('-').collect();
    let numbers: Option<Vec<u32>> = parts
        .iter()
        .map(|part| part.parse().ok().filter(|_| digits_only(part)))
        .collect();
    let is_day = parts.first().is_some_and(|year| year.len() == 4)
        && matches!(numbers.as_deref(), Some([year, month, day])
            if (1..=12).contains(month) && (1..=days_in(*year, *month)).contains(day));
    match (is_day, numbers.as_deref()) {
        (true, Some([year, month, day])) => Ok(format!("{year:04}-{month:02}-{day:02}")),
        _ => Err(Error::setting(
            option,
            format!("`{text}` is not a day"),
            "write it as 2026-11-25, or 2026-11-25T14:30",
        )),
    }
}

fn checked_time(text: &str) -> Result<String> {
    let numbers: Option<Vec<u32>> = text
        .split(':')
        .map(|part| part.parse().ok().filter(|_| digits_only(part)))
        .collect();
    match numbers.as_deref() {
        Some([h, m]) if *h < 24 && *m < 60 => Ok(format!("{h:02}:{m:02}:00")),
        Some([h, m, s]) if *h < 24 && *m < 60 && *s < 60 => Ok(format!("{h:02}:{m:02}:{s:02}")),
        _ => Err(Error::setting(
            "--when",
            format!("`{text}` is not a time of day"),
            "write it as 14:30",
        )),
    }
}

fn digits_only(part: &str) -> bool {
    !part.is_empty() && part.len() <= 4 && part.bytes().all(|b| b.is_ascii_digit())
}

fn days_in(year: u32, month: u32) -> u32 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if (year % 4 == 0 && year % 100 != 0) || year % 400 == 0 => 29,
        2 => 28,
        _ => 31,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_of_the_calendar_and_no_others() {
        assert_eq!(
            checked_day("x", "2026-11-25").ok().as_deref(),
            Some("2026-11-25")
        );
        assert_eq!(
            checked_day("x", "2028-2-29").ok().as_deref(),
            Some("2028-02-29")
        );
        for wrong in [
            "2026-02-29",
            "2026-13-01",
            "25.11.2026",
            "26-11-25",
            "",
            "2026-11",
            "2026-11-+5",
        ] {
            assert!(checked_day("x", wrong).is_err(), "{wrong}");
        }
        assert!(checked_time("24:00").is_err());
        assert_eq!(checked_time("7:05").ok().as_deref(), Some("07:05:00"));
    }
}
