//! A logger's text file: any sensible export, read row by row with flat memory.
//!
//! | part | job |
//! |---|---|
//! | `layout` | separator, header, units, where the numbers begin |
//! | `header` | which column is what |
//! | `cells` | numbers and moments |
//! | `clock` | the unit and kind of the stamps |
//! | `stamps` | rows counted under stamps that repeat |
//! | `axis`, `unit` | one axis as its rows come; the unit of its values |
//! | `gather` | rows to even, thinned strips |

mod axis;
mod cells;
mod clock;
mod gather;
mod header;
mod layout;
mod plain;
mod stamps;
mod unit;

use std::fs::File;
use std::io::{BufReader, Read};
use std::path::Path;

use crate::{Error, Result};

use self::cells::{number, stamp};
use self::clock::Clock;
use self::gather::Gatherer;
use self::header::Columns;
use self::layout::Layout;
use self::plain::Plain;
use super::recording::Recording;

/// What the user says about a logger's file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LogOptions {
    /// Name (or number from 1) of the column of time.
    pub time: Option<String>,
    /// Name (or number) of the first axis.
    pub x: Option<String>,
    /// Name (or number) of the second axis.
    pub y: Option<String>,
    /// Name (or number) of the third axis.
    pub z: Option<String>,
    /// The unit of acceleration.
    pub unit: Option<AccelerationUnit>,
    /// Rows a second, in place of any stamps.
    pub rate_hz: Option<f64>,
}

/// A unit of acceleration in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AccelerationUnit {
    /// Metres per second squared.
    MetresPerSecond2,
    /// Standard gravity.
    G,
    /// Thousandths of it.
    MilliG,
}

/// As much of the file's beginning as tells its layout.
const PROBE_BYTES: u64 = 1 << 18;

/// Reads a logger's text file.
///
/// # Errors
/// [`Error::Unreadable`] where it is no table of numbers, where no column (or more than one) may be
/// the time, or where the stamps cannot be repaired, with the row; [`Error::Setting`] for a column
/// that is not there; [`Error::File`] where it cannot be read.
pub fn read_log(path: &Path, options: &LogOptions) -> Result<Recording> {
    let (layout, columns) = look(path, options)?;
    let told = tell_clock(path, &layout, &columns, options)?;
    let mut gatherer = Gatherer::new(path, &columns, told, options.unit);
    let mut rows = layout::reader(layout.separator, BufReader::new(Plain::new(open(path)?)));
    let mut record = csv::ByteRecord::new();
    let mut line = 0;
    // A fault of the CSV reader can only be one of the disk: it takes any bytes.
    while rows
        .read_byte_record(&mut record)
        .map_err(|e| Error::file(path, std::io::Error::other(e)))?
    {
        line = record.position().map_or(line, csv::Position::line);
        if line >= layout.first_line && !layout::is_comment(&record) {
            take(&mut gatherer, &columns, &record, line)?;
        }
    }
    gatherer.finish()
}

fn open(path: &Path) -> Result<File> {
    File::open(path).map_err(|e| Error::file(path, e))
}

/// Layout and columns from the file's beginning.
fn look(path: &Path, options: &LogOptions) -> Result<(Layout, Columns)> {
    let mut bytes = Vec::new();
    Plain::new(open(path)?)
        .take(PROBE_BYTES)
        .read_to_end(&mut bytes)
        .map_err(|e| Error::file(path, e))?;
    let layout = layout::layout(&bytes, (bytes.len() as u64) < PROBE_BYTES);
    if layout.data.is_empty() {
        return Err(Error::unreadable(
            path,
            "there are no rows of numbers in it",
            "give a logger's CSV file, a WAV file or a phone clip with sound",
        ));
    }
    if layout.data.len() < 2 {
        return Err(Error::unreadable(
            path,
            "there is only one row of numbers in it",
            "record at least two seconds of the pull",
        ));
    }
    let columns = header::columns(path, &layout.header, &layout.units, &layout.data, options)?;
    Ok((layout, columns))
}

/// The clock of the time column, or of the option.
fn tell_clock(
    path: &Path,
    layout: &Layout,
    columns: &Columns,
    options: &LogOptions,
) -> Result<clock::Told> {
    let (Some(time), None) = (columns.time, options.rate_hz) else {
        let hz = options.rate_hz.unwrap_or(f64::NAN);
        return Ok(clock::Told {
            clock: Clock::Rate(hz),
            rows_hz: hz,
            words: "the rate given".into(),
            contradicts: false,
            descends: false,
        });
    };
    let of_sensor = |row: &&Vec<String>| match &columns.sensor {
        Some((i, name)) => row.get(*i).is_some_and(|cell| cell == name),
        None => true,
    };
    let rows: Vec<&Vec<String>> = layout.data.iter().filter(of_sensor).collect();
    let told = |column: usize, label: &str| {
        let cells: Vec<&String> = rows.iter().filter_map(|row| row.get(column)).collect();
        let wall = cells.first().is_some_and(|cell| clock::is_wall_clock(cell));
        let raw: Vec<f64> = cells
            .iter()
            .filter_map(|c| stamp(c))
            .filter(|t| t.is_finite())
            .collect();
        clock::told(&raw, label, wall)
    };
    let first = told(time, &columns.time_label).ok_or_else(|| {
        Error::unreadable(
            path,
            "its time does not rise",
            "give --rate ROWS-PER-SECOND, or another column with --time",
        )
    })?;
    if let Some(other) = columns.other_time {
        let label = layout
            .header
            .get(other)
            .map(|h| h.to_lowercase())
            .unwrap_or_default();
        let agrees =
            told(other, &label).is_some_and(|o| (o.rows_hz / first.rows_hz - 1.0).abs() < 0.05);
        if !agrees {
            return Err(header::two_times(path, &layout.header, &[time, other]));
        }
    }
    Ok(first)
}

/// One row into the gatherer.
fn take(
    gatherer: &mut Gatherer,
    columns: &Columns,
    record: &csv::ByteRecord,
    line: u64,
) -> Result<()> {
    let cell = |i: usize| record.get(i).and_then(|c| std::str::from_utf8(c).ok());
    if let Some((i, name)) = &columns.sensor {
        if cell(*i) != Some(name.as_str()) {
            return Ok(());
        }
    }
    let time = columns.time.map(|i| cell(i).and_then(stamp));
    let mut values = [f64::NAN; 3];
    for (value, i) in values.iter_mut().zip(&columns.axes) {
        *value = cell(*i).and_then(number).unwrap_or(f64::NAN);
    }
    gatherer.push(line, time, &values[..columns.axes.len().min(3)])
}
