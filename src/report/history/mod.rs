//! The history of a lure as one page: everything inline, so that it works offline on a phone.

mod chart;
mod photo;

use minijinja::Environment;
use serde::Serialize;
use serde_json::Value;

use super::record_text::{build_text, change_words, day};
use crate::record::{Build, ChangeKind, Entry, Lure, Photo, Record, TestKind};
use crate::tuning::Measure;
use crate::{Error, Result};

/// Its name ends in `.html`, so that every text put into it is escaped.
const NAME: &str = "history.html";
const PAGE: &str = include_str!("history.html");

#[derive(Serialize)]
struct Page<'a> {
    name: &'a str,
    length_mm: Option<f64>,
    note: Option<&'a str>,
    retired: Option<&'a str>,
    builds: Vec<BuildPart>,
    photos: Vec<PhotoPart>,
}

#[derive(Serialize)]
struct BuildPart {
    name: String,
    retired: Option<String>,
    charts: Vec<String>,
    verdict: Option<VerdictPart>,
    changes: Vec<Line>,
    life: String,
}

#[derive(Serialize)]
struct VerdictPart {
    at: String,
    overall: String,
    measures: Vec<[String; 2]>,
}

#[derive(Serialize)]
struct Line {
    at: String,
    what: String,
}

#[derive(Serialize)]
struct PhotoPart {
    picture: Option<String>,
    path: String,
    note: Option<String>,
}

/// The page of a lure and all its builds.
///
/// # Errors
/// [`Error::Unreadable`] where the record cannot be read; [`Error::File`] where the page cannot be made.
pub fn history_page(record: &Record, lure: &Lure) -> Result<String> {
    let builds: Vec<BuildPart> = record
        .builds(lure.id)?
        .iter()
        .map(|build| build_part(record, lure, build))
        .collect::<Result<_>>()?;
    let photos: Vec<PhotoPart> = record
        .photos(lure.id)?
        .into_iter()
        .map(photo_part)
        .collect();
    let page_of = Page {
        name: &lure.name,
        length_mm: lure.length_mm,
        note: lure.note.as_deref(),
        retired: lure.retired_at.as_deref().map(day),
        builds,
        photos,
    };
    let failed = |e: minijinja::Error| Error::file("history page", std::io::Error::other(e));
    let mut pages = Environment::new();
    pages.add_template(NAME, PAGE).map_err(failed)?;
    pages
        .get_template(NAME)
        .and_then(|page| page.render(minijinja::value::Serde(&page_of)))
        .map_err(failed)
}

fn build_part(record: &Record, lure: &Lure, build: &Build) -> Result<BuildPart> {
    let life = record.life(build)?;
    let changes = life.iter().filter_map(|entry| match entry {
        Entry::Change(change) => Some(Line {
            at: day(&change.at).into(),
            what: change_words(change),
        }),
        Entry::Run(_) => None,
    });
    Ok(BuildPart {
        name: build.name.clone(),
        retired: build.retired_at.as_deref().map(|at| day(at).into()),
        charts: chart::charts(&life)?,
        verdict: last_verdict(record, &life)?,
        changes: changes.collect(),
        life: build_text(lure, build, &life),
    })
}

/// The verdict of the last swim test that has one.
fn last_verdict(record: &Record, life: &[Entry]) -> Result<Option<VerdictPart>> {
    for entry in life.iter().rev() {
        let Entry::Run(run) = entry else { continue };
        if run.test.kind != TestKind::Swim {
            continue;
        }
        let result: Value = serde_json::from_str(&record.result(run.test.id)?).unwrap_or_default();
        let text = |value: &Value| value.as_str().unwrap_or("").replace('_', " ");
        let name = |key: &Value| {
            let measure = key.as_str().and_then(Measure::of_key);
            measure.map_or_else(|| text(key), |measure| measure.name().into())
        };
        if let Some(verdict) = result.get("verdict").filter(|v| v.is_object()) {
            let measures = verdict["measures"].as_array().into_iter().flatten();
            return Ok(Some(VerdictPart {
                at: day(&run.test.at).into(),
                overall: text(&verdict["overall"]),
                measures: measures
                    .map(|m| [name(&m["measure"]), text(&m["verdict"])])
                    .collect(),
            }));
        }
    }
    Ok(None)
}

fn photo_part(photo: Photo) -> PhotoPart {
    PhotoPart {
        picture: photo::inline(std::path::Path::new(&photo.path)),
        path: photo.path,
        note: photo.note,
    }
}

/// How a change is marked in the charts: bends by side, the rest by kind.
fn mark(kind: ChangeKind, signed_mm: Option<f64>) -> &'static str {
    match (kind, signed_mm) {
        (ChangeKind::Tie, Some(mm)) if mm < 0.0 => "bent to own left",
        (ChangeKind::Tie, Some(_)) => "bent to own right",
        (ChangeKind::Tie, None) => "bent up or down",
        (other, _) => other.word(),
    }
}
