//! What the columns of a logger's file are, told by the meaning of their names.

use super::LogOptions;
use super::cells::{number, stamp};
use crate::{Error, Result};
use std::path::Path;

/// The columns that are read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Columns {
    /// The time; `None` where there is none and the rate is given.
    pub time: Option<usize>,
    /// A second candidate that must tell the same time.
    pub other_time: Option<usize>,
    /// The axes, one to three.
    pub axes: Vec<usize>,
    /// Their names.
    pub names: Vec<String>,
    /// In the long format: the column that names the sensor, and the name that is read.
    pub sensor: Option<(usize, String)>,
    /// Header cell (and unit cell) of the time.
    pub time_label: String,
    /// Header cell (and unit cell) of the first axis.
    pub axis_label: String,
}

/// Words that mean time.
const TIME: [&str; 22] = [
    "time",
    "timestamp",
    "t",
    "seconds",
    "second",
    "sec",
    "secs",
    "elapsed",
    "ms",
    "millis",
    "milliseconds",
    "micros",
    "microseconds",
    "us",
    "ns",
    "nanoseconds",
    "datetime",
    "date",
    "clock",
    "zeit",
    "temps",
    "tiempo",
];
/// Words of quantities that are no acceleration.
const OTHERS: [&str; 22] = [
    "gyro",
    "gyroscope",
    "mag",
    "magnetometer",
    "magnetic",
    "rotation",
    "rot",
    "orientation",
    "angle",
    "gravity",
    "grav",
    "quat",
    "quaternion",
    "temp",
    "temperature",
    "pitch",
    "roll",
    "yaw",
    "lat",
    "location",
    "velocity",
    "omega",
];
/// Words of acceleration.
const ACCELERATION: [&str; 7] = [
    "acc",
    "accel",
    "acceleration",
    "accelerometer",
    "a",
    "beschleunigung",
    "vibration",
];

/// The columns of `header` (may be empty) with `units` below it and the first rows of `data`.
pub fn columns(
    path: &Path,
    header: &[String],
    units: &[String],
    data: &[Vec<String>],
    options: &LogOptions,
) -> Result<Columns> {
    let width = data.iter().map(Vec::len).max().unwrap_or(0);
    let label = |i: usize| {
        let cell = |cells: &[String]| cells.get(i).cloned().unwrap_or_default();
        format!("{} {}", cell(header), cell(units))
            .trim()
            .to_lowercase()
    };
    let sensor = sensor(header, data);
    let of_sensor = |row: &&Vec<String>| match &sensor {
        Some((i, name)) => row.get(*i).is_some_and(|cell| cell == name),
        None => true,
    };
    let rows: Vec<&Vec<String>> = data.iter().filter(of_sensor).collect();
    let share = |i: usize, is: &dyn Fn(&str) -> bool| {
        let hits = rows
            .iter()
            .filter(|r| r.get(i).is_some_and(|c| is(c)))
            .count();
        2 * hits > rows.len()
    };
    let numeric = |i: usize| share(i, &|c| number(c).is_some());
    let timed = |i: usize| share(i, &|c| stamp(c).is_some());
    let given = |option: &str, name: &Option<String>| -> Result<Option<usize>> {
        name.as_ref()
            .map(|name| named(option, name, header, width))
            .transpose()
    };
    let (time, other_time) = match given("--time", &options.time)? {
        Some(i) => (Some(i), None),
        None if options.rate_hz.is_some() => (None, None),
        None => time_column(path, header, width, &timed, &numeric, &rows)?,
    };
    let asked: Vec<usize> = [
        ("--x", &options.x),
        ("--y", &options.y),
        ("--z", &options.z),
    ]
    .into_iter()
    .filter_map(|(option, name)| given(option, name).transpose())
    .collect::<Result<_>>()?;
    let axes = match asked.is_empty() {
        false => asked,
        true if header.is_empty() => bare_axes(width, time, &numeric),
        true => axis_columns(header, time, &numeric),
    };
    if axes.is_empty() {
        return Err(Error::unreadable(
            path,
            "no column of numbers in it is known as an acceleration",
            "name the columns: --time NAME --x NAME (or their numbers, from 1)",
        ));
    }
    let name = |i: &usize| {
        header
            .get(*i)
            .cloned()
            .unwrap_or_else(|| format!("column {}", i + 1))
    };
    Ok(Columns {
        time,
        other_time,
        names: axes.iter().map(name).collect(),
        sensor,
        time_label: time.map(label).unwrap_or_default(),
        axis_label: axes.first().map(|i| label(*i)).unwrap_or_default(),
        axes,
    })
}

/// The column called `name`, or of that number (from 1).
fn named(option: &str, name: &str, header: &[String], width: usize) -> Result<usize> {
    let same = |cell: &String| cell.trim().eq_ignore_ascii_case(name.trim());
    let by_number = name
        .parse::<usize>()
        .ok()
        .filter(|n| (1..=width).contains(n))
        .map(|n| n - 1);
    header.iter().position(same).or(by_number).ok_or_else(|| {
        let known = match header.is_empty() {
            true => format!("give a number from 1 to {width}"),
            false => format!("there are {}", header.join(", ")),
        };
        Error::setting(format!("{option} {name}"), "no such column", known)
    })
}

type Is<'a> = &'a dyn Fn(usize) -> bool;

fn time_column(
    path: &Path,
    header: &[String],
    width: usize,
    timed: Is,
    numeric: Is,
    rows: &[&Vec<String>],
) -> Result<(Option<usize>, Option<usize>)> {
    let named = |i: &usize| {
        header.get(*i).is_some_and(|h| {
            let words = words(h);
            words.iter().any(|w| TIME.contains(&w.as_str()))
                && !words
                    .iter()
                    .any(|w| OTHERS.contains(&w.as_str()) || ACCELERATION.contains(&w.as_str()))
        })
    };
    // A date alone tells no moment; the clock time beside it does.
    let moment = |i: &usize| {
        timed(*i)
            && !rows
                .iter()
                .all(|r| r.get(*i).is_some_and(|c| is_date_only(c)))
    };
    let found: Vec<usize> = (0..width).filter(named).filter(moment).collect();
    match found[..] {
        [one] => Ok((Some(one), None)),
        [first, second] => Ok((Some(first), Some(second))),
        [] => {
            // Wall-clock stamps and a rising first column speak for themselves.
            let clock = (0..width).find(|i| timed(*i) && !numeric(*i) && moment(i));
            let rises = |i: usize| {
                let t: Vec<f64> = rows.iter().filter_map(|r| number(r.get(i)?)).collect();
                t.len() > 2
                    && (t.windows(2).all(|w| w[1] > w[0]) || t.windows(2).all(|w| w[1] < w[0]))
            };
            let rising = (header.is_empty() && width > 1 && numeric(0) && rises(0)).then_some(0);
            match clock.or(rising) {
                Some(i) => Ok((Some(i), None)),
                None => Err(Error::unreadable(
                    path,
                    "no column tells the time",
                    "give --rate ROWS-PER-SECOND, or name the column with --time",
                )),
            }
        }
        _ => Err(two_times(path, header, &found)),
    }
}

/// The refusal for more than one time.
pub fn two_times(path: &Path, header: &[String], found: &[usize]) -> Error {
    let names: Vec<&str> = found
        .iter()
        .filter_map(|i| header.get(*i))
        .map(String::as_str)
        .collect();
    Error::unreadable(
        path,
        format!(
            "{} columns may be the time and do not agree: {}",
            found.len(),
            names.join(", ")
        ),
        "say which with --time NAME",
    )
}

fn is_date_only(cell: &str) -> bool {
    cell.len() <= 10 && cell.matches(['-', '/', '.']).count() == 2 && !cell.contains(':')
}

/// Axes by their names: of the groups that differ only in the letter, the one that is most surely
/// an acceleration, with gravity in it if there is a choice.
fn axis_columns(header: &[String], time: Option<usize>, numeric: Is) -> Vec<usize> {
    let mut groups: Vec<(String, Vec<(char, usize)>)> = Vec::new();
    for (i, name) in header.iter().enumerate() {
        if Some(i) == time || !numeric(i) {
            continue;
        }
        let words = words(name);
        if words.iter().any(|w| OTHERS.contains(&w.as_str())) {
            continue;
        }
        if let Some((letter, key)) = axis(&words) {
            match groups
                .iter_mut()
                .find(|(k, axes)| *k == key && axes.iter().all(|a| a.0 != letter))
            {
                Some((_, axes)) => axes.push((letter, i)),
                None => groups.push((key, vec![(letter, i)])),
            }
        }
    }
    let score = |(key, axes): &(String, Vec<(char, usize)>)| {
        let has = |words: &[&str]| key.split(' ').any(|w| words.contains(&w));
        let linear = has(&["linear", "user", "lin"]);
        8 * usize::from(has(&ACCELERATION)) + 2 * axes.len() + usize::from(!linear)
    };
    let best = groups.iter().rev().max_by_key(|g| score(g));
    let mut axes = best.map(|g| g.1.clone()).unwrap_or_default();
    axes.sort_unstable();
    if !axes.is_empty() {
        return axes.into_iter().map(|a| a.1).collect();
    }
    // One axis without a letter.
    let single = |words: &Vec<String>| {
        words.iter().any(|w| {
            ACCELERATION.contains(&w.as_str()) || ["value", "g", "magnitude"].contains(&w.as_str())
        })
    };
    let known = header
        .iter()
        .position(|h| single(&words(h)) && !is_other(h))
        .filter(|i| numeric(*i) && Some(*i) != time);
    let left: Vec<usize> = (0..header.len())
        .filter(|i| Some(*i) != time && numeric(*i) && !is_other(&header[*i]))
        .collect();
    match (known, &left[..]) {
        (Some(i), _) => vec![i],
        (None, [only]) => vec![*only],
        _ => vec![],
    }
}

fn is_other(name: &str) -> bool {
    words(name).iter().any(|w| OTHERS.contains(&w.as_str()))
}

/// Without names: every column but the time, if there are one to three.
fn bare_axes(width: usize, time: Option<usize>, numeric: Is) -> Vec<usize> {
    let left: Vec<usize> = (0..width)
        .filter(|i| Some(*i) != time && numeric(*i))
        .collect();
    if left.len() <= 3 { left } else { vec![] }
}

/// The axis letter in a name's words, and the words without it.
fn axis(words: &[String]) -> Option<(char, String)> {
    let at = words.iter().position(|w| {
        let stem = w.strip_suffix(['x', 'y', 'z']);
        stem.is_some_and(|stem| {
            stem.is_empty()
                || ACCELERATION.contains(&stem)
                || stem.ends_with("acceleration")
                || stem.ends_with("acc")
        })
    })?;
    let letter = words[at].chars().last()?;
    let stem = words[at][..words[at].len() - 1].to_string();
    let key: Vec<String> = words
        .iter()
        .enumerate()
        .map(|(i, w)| if i == at { stem.clone() } else { w.clone() })
        .filter(|w| !w.is_empty() && w != "axis")
        .collect();
    Some((letter, key.join(" ")))
}

/// Words of a name in lower case: cut at anything but letters and digits, and where a capital
/// follows a small letter. What stands in brackets is a unit and is left out.
fn words(name: &str) -> Vec<String> {
    let plain = name.split(['(', '[']).next().unwrap_or_default();
    let mut words = vec![String::new()];
    let mut before = ' ';
    for c in plain.chars() {
        if !c.is_alphanumeric() || (c.is_uppercase() && before.is_lowercase()) {
            words.push(String::new());
        }
        if let (true, Some(word)) = (c.is_alphanumeric(), words.last_mut()) {
            word.extend(c.to_lowercase());
        }
        before = c;
    }
    words.retain(|w| !w.is_empty());
    words
}

/// The column that names the sensor in the long format, and the accelerometer's name in it.
fn sensor(header: &[String], data: &[Vec<String>]) -> Option<(usize, String)> {
    const NAMES: [&str; 4] = ["sensor", "type", "source", "stream"];
    let column = header
        .iter()
        .position(|h| words(h).iter().any(|w| NAMES.contains(&w.as_str())))?;
    let mut seen: Vec<&String> = Vec::new();
    for cell in data.iter().filter_map(|row| row.get(column)) {
        if cell.to_lowercase().contains("acc") && !seen.contains(&cell) {
            seen.push(cell);
        }
    }
    let linear = |name: &&&String| {
        let name = name.to_lowercase();
        ["linear", "user", "uncal"].iter().any(|w| name.contains(w))
    };
    let plain = seen.iter().find(|n| !linear(n)).or(seen.first())?;
    Some((column, (*plain).clone()))
}
