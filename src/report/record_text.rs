//! What the record holds, in plain words for the terminal.

use super::bend_text::bend_words;
use super::layout::{beside, entry};
use super::numbers::{decimals, shown, shown_range};
use crate::Measured;
use crate::camera::Side;
use crate::record::{Build, Change, Entry, Lure, LureLine, Origin, Photo, Run};
use crate::tuning::Measure;

/// Text of the user's without what a terminal would take for a command.
pub(super) fn plain(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}

/// The day of a moment.
pub(super) fn day(at: &str) -> &str {
    at.split('T').next().unwrap_or(at)
}

/// Day and time of a moment, to the minute.
fn minute(at: &str) -> String {
    at.replace('T', " ").chars().take(16).collect()
}

/// The list of lures.
pub fn lure_list(lines: &[LureLine]) -> String {
    if lines.is_empty() {
        return "No lures yet: `truerun lure add \"Hazel 58\" --length 58` enters one.\n".into();
    }
    let widest = lines
        .iter()
        .map(|l| l.lure.name.chars().count())
        .max()
        .unwrap_or(0)
        .max(4);
    let head = format!("{:<widest$}  length  builds  tests  last test\n", "lure");
    let rows = lines.iter().map(|line| {
        let length = line
            .lure
            .length_mm
            .map_or("-".into(), |mm| format!("{mm} mm"));
        let retired = if line.lure.retired_at.is_some() {
            "  (retired)"
        } else {
            ""
        };
        format!(
            "{:<widest$}  {length:>6}  {:>6}  {:>5}  {}{retired}\n",
            plain(&line.lure.name),
            line.builds,
            line.tests,
            line.last_test.as_deref().map_or("-", day),
        )
    });
    std::iter::once(head).chain(rows).collect()
}

/// A lure, its builds and photos.
pub fn lure_text(lure: &Lure, builds: &[Build], photos: &[Photo]) -> String {
    let mut text = format!("{}\n", plain(&lure.name));
    if let Some(mm) = lure.length_mm {
        text += &entry("body length", &format!("{mm} mm"));
    }
    if let Some(note) = &lure.note {
        text += &entry("note", &plain(note));
    }
    text += &retired(lure.retired_at.as_deref(), lure.retired_why.as_deref());
    if lure.target.is_some() {
        text += &entry("target", "is recorded; `truerun bend` aims at its drift");
    }
    for build in builds {
        text += &entry("build", &build_line(build, builds));
    }
    for photo in photos {
        text += &entry("photo", &plain(&photo.path));
    }
    text
}

fn build_line(build: &Build, builds: &[Build]) -> String {
    let parent = builds
        .iter()
        .find(|other| Some(other.id) == build.parent_id);
    let from = parent.map_or(String::new(), |p| format!(" from {}", plain(&p.name)));
    let gone = if build.retired_at.is_some() {
        ", retired"
    } else {
        ""
    };
    format!(
        "{}, {}{from}{gone}",
        plain(&build.name),
        build.origin.word()
    )
}

/// A build and its life in order.
pub fn build_text(lure: &Lure, build: &Build, life: &[Entry]) -> String {
    let origin = match build.origin {
        Origin::Carved => "carved",
        Origin::Cast => "a cast",
    };
    let mut text = format!("{}: {origin}, {}\n", plain(&build.name), plain(&lure.name));
    let make = &build.make;
    let number = |label, value: Option<f64>, unit: &str| {
        value.map_or(String::new(), |v| entry(label, &format!("{v} {unit}")))
    };
    let words = |label, value: &Option<String>| {
        value
            .as_deref()
            .map_or(String::new(), |v| entry(label, &plain(v)))
    };
    text += &number("mass", make.mass_g, "g");
    text += &number("lip angle", make.lip_angle_deg, "degrees");
    text += &number("lip length", make.lip_length_mm, "mm");
    text += &number("lip width", make.lip_width_mm, "mm");
    text += &words("mould", &make.mould);
    text += &words("ballast", &make.ballast);
    text += &words("hooks", &make.hooks);
    text += &words("made on", &make.made_on);
    text += &words("note", &make.note);
    text += &retired(build.retired_at.as_deref(), build.retired_why.as_deref());
    if life.is_empty() {
        text += "  No tests yet: `truerun swim CLIP … --save BUILD` saves one.\n";
    }
    for event in life {
        let what = match event {
            Entry::Run(run) => run_words(run),
            Entry::Change(change) => change_words(change),
        };
        text += &beside(&format!("  {}  ", minute(event.moment().0)), 20, &what);
    }
    text
}

fn retired(at: Option<&str>, why: Option<&str>) -> String {
    at.map_or(String::new(), |at| {
        let why = why.map_or(String::new(), |why| format!(": {}", plain(why)));
        entry("retired", &format!("{}{why}", day(at)))
    })
}

/// "change 12: tie bent 0.3 mm …".
pub(super) fn change_words(change: &Change) -> String {
    let what = match change.kind {
        crate::record::ChangeKind::Tie => bend_words(change.sideways, change.upright),
        other => other.word().to_string(),
    };
    let note = change
        .note
        .as_deref()
        .map_or(String::new(), |n| format!(" ({})", plain(n)));
    format!("change {}: {what}{note}", change.id)
}

fn run_words(run: &Run) -> String {
    let test = &run.test;
    let figures: Vec<String> = run
        .figures
        .iter()
        .filter_map(|(key, found)| figure_words(key, found))
        .collect();
    let figures = match figures.is_empty() {
        true => "nothing measured".to_string(),
        false => figures.join(", "),
    };
    let water = test.water.map(|w| format!("{} water", w.word()));
    let degrees = test.water_c.map(|c| format!("{c} °C"));
    let about: Vec<String> = [
        &test.place,
        &water,
        &degrees,
        &test.retrieve,
        &test.note,
        &test.source_file,
    ]
    .into_iter()
    .flatten()
    .map(|text| plain(text))
    .collect();
    let about = match about.is_empty() {
        true => String::new(),
        false => format!(" ({})", about.join("; ")),
    };
    format!("test {}, {}: {figures}{about}", test.id, test.kind.word())
}

fn figure_words(key: &str, found: &Measured) -> Option<String> {
    let (value, ci) = found.value.zip(found.ci95)?;
    let digits = decimals(Some(ci));
    let range = shown_range(ci, digits);
    let Some(measure) = Measure::of_key(key) else {
        return Some(format!("{key} {} ({range})", shown(value, digits)));
    };
    if measure == Measure::Drift {
        return Some(drift_words(value, ci));
    }
    let unit = match measure {
        Measure::Pivot => "from the nose",
        other => other.unit(),
    };
    Some(format!(
        "{} {} {unit} ({range})",
        measure.name(),
        shown(value, digits)
    ))
}

/// A drift with its side in both frames, where the side is sure.
pub(super) fn drift_words(value: f64, [lo, hi]: [f64; 2]) -> String {
    let digits = decimals(Some([lo, hi]));
    let side = Side::of(lo).filter(|side| Side::of(hi) == Some(*side));
    match side {
        Some(side) => {
            let mut ends = [lo.abs(), hi.abs()];
            ends.sort_by(f64::total_cmp);
            format!(
                "drift {} degrees to {} ({})",
                shown(value.abs(), digits),
                side.both_frames(),
                shown_range(ends, digits)
            )
        }
        None => format!(
            "drift {} degrees, side not sure ({}, + to own right)",
            shown(value, digits),
            shown_range([lo, hi], digits)
        ),
    }
}
