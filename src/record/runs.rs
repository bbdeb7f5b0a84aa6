//! Tests of a build and their results.

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension, Row, params};
use serde_json::Value;

use super::builds::build;
use super::fault::Work;
use super::model::{Build, Entry, Run, Test, TestKind, Water};
use super::{Record, changes, figures, when};
use crate::{Error, Measured, Result};

/// A test to save.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NewTest {
    /// When, as the user wrote it; now where `None`.
    pub when: Option<String>,
    /// Where.
    pub place: Option<String>,
    /// In which water.
    pub water: Option<Water>,
    /// Temperature of the water, °C.
    pub water_c: Option<f64>,
    /// How it was retrieved.
    pub retrieve: Option<String>,
    /// A note.
    pub note: Option<String>,
}

impl Record {
    /// Saves a test of the build called `build` with its whole result (JSON text, kept letter for
    /// letter) and returns its number.
    ///
    /// # Errors
    /// [`Error::Setting`] for a build that does not exist, a day that is none, or text that is not a
    /// result of this kind; [`Error::Unreadable`] where it cannot be saved.
    pub fn save_test(
        &mut self,
        build_name: &str,
        kind: TestKind,
        test: &NewTest,
        result: &str,
    ) -> Result<i64> {
        let object = parsed(kind, result)?;
        let (source_file, source_sha256) = source(&object);
        self.write(|db| {
            let build = build(db, build_name)?;
            let id = next_id(db)?;
            db.execute(
                "INSERT INTO test (id, build_id, kind, at, place, water, water_c, retrieve, note,
                    result, source_file, source_sha256, program, saved_at)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)",
                params![
                    id,
                    build.id,
                    kind,
                    when::moment(db, test.when.as_deref())?,
                    test.place,
                    test.water,
                    test.water_c,
                    test.retrieve,
                    test.note,
                    result,
                    source_file,
                    source_sha256,
                    concat!("truerun ", env!("CARGO_PKG_VERSION")),
                    when::now(db)?,
                ],
            )?;
            figures::keep(db, id, kind, &object)?;
            Ok(id)
        })
    }

    /// The tests of a build with their figures, in the order in which they were done.
    ///
    /// # Errors
    /// [`Error::Unreadable`] where the record cannot be read.
    pub fn runs(&self, build: &Build) -> Result<Vec<Run>> {
        self.read(|db| runs(db, build.id))
    }

    /// The life of a build: tests and changes in order.
    ///
    /// # Errors
    /// [`Error::Unreadable`] where the record cannot be read.
    pub fn life(&self, build: &Build) -> Result<Vec<Entry>> {
        self.read(|db| {
            let runs = runs(db, build.id)?
                .into_iter()
                .map(|run| Entry::Run(Box::new(run)));
            let changes = changes::changes(db, build.id)?
                .into_iter()
                .map(Entry::Change);
            let mut life: Vec<Entry> = runs.chain(changes).collect();
            life.sort_by(|a, b| a.moment().cmp(&b.moment()));
            Ok(life)
        })
    }

    /// The result of a test, letter for letter as it was saved.
    ///
    /// # Errors
    /// [`Error::Setting`] where there is no such test.
    pub fn result(&self, test_id: i64) -> Result<String> {
        self.read(|db| {
            db.query_row("SELECT result FROM test WHERE id = ?1", [test_id], |row| {
                row.get(0)
            })
            .optional()?
            .ok_or_else(|| {
                Error::setting(
                    format!("test {test_id}"),
                    "there is no such test in the record",
                    "`truerun lure show BUILD` lists them",
                )
                .into()
            })
        })
    }
}

/// The next number of the series that tests and changes share.
pub(super) fn next_id(db: &Connection) -> Work<i64> {
    Ok(db.query_row(
        "SELECT 1 + max((SELECT coalesce(max(id), 0) FROM test), (SELECT coalesce(max(id), 0) FROM change))",
        [],
        |row| row.get(0),
    )?)
}

fn parsed(kind: TestKind, result: &str) -> Result<Value> {
    let schema = format!("truerun/{}/", kind.word());
    serde_json::from_str::<Value>(result)
        .ok()
        .filter(|object| {
            object["schema"]
                .as_str()
                .is_some_and(|s| s.starts_with(&schema))
        })
        .ok_or_else(|| {
            Error::setting(
                "result",
                format!("not the JSON result of a {} test", kind.word()),
                format!(
                    "give a file that `truerun {} … --json FILE` wrote",
                    kind.word()
                ),
            )
        })
}

/// Name and checksum of the file measured: of the part of the result that has both.
fn source(result: &Value) -> (Option<String>, Option<String>) {
    let text = |value: &Value| value.as_str().map(str::to_string);
    result
        .as_object()
        .into_iter()
        .flat_map(|parts| parts.values())
        .find(|part| part.get("file").is_some() && part.get("sha256").is_some())
        .map_or((None, None), |part| {
            (text(&part["file"]), text(&part["sha256"]))
        })
}

fn runs(db: &Connection, build_id: i64) -> Work<Vec<Run>> {
    let mut query = db.prepare(
        "SELECT id, build_id, kind, at, place, water, water_c, retrieve, note, source_file,
            source_sha256, program
         FROM test WHERE build_id = ?1 ORDER BY at, id",
    )?;
    let tests = query.query_map([build_id], read_test)?;
    let mut figures = figures_of(db, build_id)?;
    tests
        .map(|test| {
            let test = test?;
            let figures = figures.remove(&test.id).unwrap_or_default();
            Ok(Run { test, figures })
        })
        .collect()
}

fn figures_of(db: &Connection, build_id: i64) -> Work<BTreeMap<i64, BTreeMap<String, Measured>>> {
    let mut query = db.prepare(
        "SELECT test_id, measure, status, value, lo, hi FROM test JOIN figure ON test_id = test.id
         WHERE build_id = ?1",
    )?;
    let mut rows = query.query([build_id])?;
    let mut all: BTreeMap<i64, BTreeMap<String, Measured>> = BTreeMap::new();
    while let Some(row) = rows.next()? {
        let ends: (Option<f64>, Option<f64>) = (row.get(4)?, row.get(5)?);
        let found = Measured {
            status: figures::status_of(row.get_ref(2)?.as_str().map_err(rusqlite::Error::from)?),
            value: row.get(3)?,
            ci95: ends.0.zip(ends.1).map(|(lo, hi)| [lo, hi]),
            why: None,
        };
        all.entry(row.get(0)?)
            .or_default()
            .insert(row.get(1)?, found);
    }
    Ok(all)
}

fn read_test(row: &Row) -> rusqlite::Result<Test> {
    Ok(Test {
        id: row.get(0)?,
        build_id: row.get(1)?,
        kind: row.get(2)?,
        at: row.get(3)?,
        place: row.get(4)?,
        water: row.get(5)?,
        water_c: row.get(6)?,
        retrieve: row.get(7)?,
        note: row.get(8)?,
        source_file: row.get(9)?,
        source_sha256: row.get(10)?,
        program: row.get(11)?,
    })
}
