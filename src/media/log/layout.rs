//! The look of a text file: separator, where the header stands, where the rows of numbers begin.

use super::cells::stamp;

/// What the beginning of a file shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layout {
    /// The separator.
    pub separator: u8,
    /// Names of the columns; empty where there are none.
    pub header: Vec<String>,
    /// A row of units below the names; empty where there is none.
    pub units: Vec<String>,
    /// The first rows of numbers.
    pub data: Vec<Vec<String>>,
    /// Line on which the first of them stands, from 1.
    pub first_line: u64,
}

/// The layout of a file that begins with `bytes`; `whole` says that there is no more.
pub fn layout(bytes: &[u8], whole: bool) -> Layout {
    let separator = separator(bytes);
    let mut rows: Vec<(u64, Vec<String>)> = Vec::new();
    let mut reader = reader(separator, bytes);
    let mut record = csv::ByteRecord::new();
    while let Ok(true) = reader.read_byte_record(&mut record) {
        let line = record.position().map_or(0, csv::Position::line);
        if !is_comment(&record) {
            rows.push((line, record.iter().map(text).collect()));
        }
    }
    if !whole {
        rows.pop();
    }
    let Some(first) = first_of_numbers(&rows) else {
        return Layout {
            separator,
            ..Layout::default()
        };
    };
    let width = rows[first].1.len();
    let above: Vec<&Vec<String>> = rows[..first]
        .iter()
        .map(|r| &r.1)
        .filter(|r| r.len().abs_diff(width) <= 1 && r.len() > usize::from(width > 1))
        .collect();
    let (header, units) = match above[..] {
        [.., names, units] if are_units(units) => (names.clone(), units.clone()),
        [.., names] => (names.clone(), vec![]),
        [] => (vec![], vec![]),
    };
    Layout {
        separator,
        header,
        units,
        first_line: rows[first].0,
        data: rows.into_iter().skip(first).map(|r| r.1).collect(),
    }
}

/// A reader that takes rows of any length, quoted cells and any line ends.
pub fn reader<R: std::io::Read>(separator: u8, source: R) -> csv::Reader<R> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .trim(csv::Trim::All)
        .from_reader(source)
}

/// Whether a row is a comment.
pub fn is_comment(record: &csv::ByteRecord) -> bool {
    record.get(0).is_some_and(|cell| {
        cell.starts_with(b"#") || cell.starts_with(b"%") || cell.starts_with(b"//")
    })
}

/// A cell as text; what is no UTF-8 is replaced.
fn text(cell: &[u8]) -> String {
    String::from_utf8_lossy(cell).trim().to_string()
}

/// The separator that cuts most lines alike into more than one cell; a comma between digits of a file
/// that also has semicolons or tabs is a decimal comma.
fn separator(bytes: &[u8]) -> u8 {
    let lines: Vec<&[u8]> = bytes
        .split(|b| *b == b'\n')
        .filter(|l| l.len() > 1)
        .take(400)
        .collect();
    let steady = |separator: u8| {
        let counts: Vec<usize> = lines
            .iter()
            .map(|l| l.iter().filter(|b| **b == separator).count())
            .collect();
        let usual = counts
            .iter()
            .max_by_key(|c| counts.iter().filter(|d| d == c).count());
        usual.is_some_and(|usual| *usual > 0)
    };
    [b';', b'\t', b',', b'|']
        .into_iter()
        .find(|s| steady(*s))
        .unwrap_or(b',')
}

/// The first row that is mostly numbers or moments, as the row after it is.
fn first_of_numbers(rows: &[(u64, Vec<String>)]) -> Option<usize> {
    let is = |row: &[String]| {
        let told = row.iter().filter(|c| stamp(c).is_some()).count();
        let filled = row.iter().filter(|c| !c.is_empty()).count();
        told > 0 && 2 * told >= filled
    };
    (0..rows.len()).find(|i| is(&rows[*i].1) && rows.get(i + 1).is_none_or(|next| is(&next.1)))
}

/// Whether a row below the names holds units.
fn are_units(row: &[String]) -> bool {
    const UNITS: [&str; 16] = [
        "s", "ms", "us", "µs", "ns", "sec", "seconds", "g", "mg", "m/s2", "m/s^2", "m/s²", "m/s/s",
        "-", "rad/s", "°/s",
    ];
    let plain = |c: &String| c.trim_matches(['(', ')', '[', ']']).to_lowercase();
    let known = row
        .iter()
        .filter(|c| UNITS.contains(&plain(c).as_str()))
        .count();
    known > 0 && 2 * known >= row.iter().filter(|c| !c.is_empty()).count()
}
