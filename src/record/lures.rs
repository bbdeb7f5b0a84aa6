//! Lures: entered, shown, edited, retired.

use rusqlite::{Connection, OptionalExtension, Row, params};

use super::fault::Work;
use super::model::Lure;
use super::{Record, edits, names, when};
use crate::{Error, Result};

/// What to change on a lure; `None` leaves it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LureEdit {
    /// Its name.
    pub name: Option<String>,
    /// Body length without lip, mm.
    pub length_mm: Option<f64>,
    /// Text of its target file.
    pub target: Option<String>,
    /// A note.
    pub note: Option<String>,
}

/// One line of the list of lures.
#[derive(Debug, Clone, PartialEq)]
pub struct LureLine {
    /// The lure.
    pub lure: Lure,
    /// Its builds that are not retired.
    pub builds: usize,
    /// Tests of all its builds.
    pub tests: usize,
    /// When the last of them was done.
    pub last_test: Option<String>,
}

impl Record {
    /// Enters a lure (`what.name` must be given) and returns it.
    ///
    /// # Errors
    /// [`Error::Setting`] for a name that is empty or taken; [`Error::Unreadable`] where it cannot be
    /// saved.
    pub fn add_lure(&mut self, what: &LureEdit) -> Result<Lure> {
        let name = names::checked("NAME", what.name.as_deref().unwrap_or(""))?;
        self.write(|db| {
            names::must_be_free(db, &name, None)?;
            db.execute(
                "INSERT INTO lure (name, length_mm, target, note, added_at) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![name, what.length_mm, what.target, what.note, when::now(db)?],
            )?;
            lure(db, &name)
        })
    }

    /// The lure of a name (letters' case does not matter).
    ///
    /// # Errors
    /// [`Error::Setting`] where there is none, with the name that was probably meant.
    pub fn lure(&self, name: &str) -> Result<Lure> {
        self.read(|db| lure(db, name))
    }

    /// The lure of a number.
    ///
    /// # Errors
    /// [`Error::Setting`] where there is none.
    pub fn lure_of_id(&self, id: i64) -> Result<Lure> {
        self.read(|db| Ok(db.query_row("SELECT * FROM lure WHERE id = ?1", [id], read_lure)?))
    }

    /// All lures with what they count, by name; the retired ones only if wanted.
    ///
    /// # Errors
    /// [`Error::Unreadable`] where the record cannot be read.
    pub fn lures(&self, retired_too: bool) -> Result<Vec<LureLine>> {
        const LIST: &str = "
            WITH per_build AS (
                SELECT build_id, count(*) AS tests, max(at) AS last FROM test GROUP BY build_id)
            SELECT lure.*,
                count(build.id) FILTER (WHERE build.retired_at IS NULL) AS builds,
                coalesce(sum(per_build.tests), 0) AS tests, max(per_build.last) AS last
            FROM lure LEFT JOIN build ON build.lure_id = lure.id
                LEFT JOIN per_build ON per_build.build_id = build.id
            WHERE ?1 OR lure.retired_at IS NULL
            GROUP BY lure.id ORDER BY lure.name";
        self.read(|db| {
            let mut query = db.prepare(LIST)?;
            let lines = query.query_map([retired_too], |row| {
                Ok(LureLine {
                    lure: read_lure(row)?,
                    builds: row.get("builds")?,
                    tests: row.get("tests")?,
                    last_test: row.get("last")?,
                })
            })?;
            Ok(lines.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// Changes a lure; old values stay in the record.
    ///
    /// # Errors
    /// As [`Record::add_lure`] and [`Record::lure`].
    pub fn edit_lure(&mut self, name: &str, to: &LureEdit) -> Result<Lure> {
        let new_name = to
            .name
            .as_deref()
            .map(|n| names::checked("--name", n))
            .transpose()?;
        self.write(|db| {
            let old = lure(db, name)?;
            if let Some(new_name) = &new_name {
                names::must_be_free(db, new_name, Some(("lure", old.id)))?;
                edits::set(db, "lure", old.id, "name", new_name.clone())?;
            }
            if let Some(length) = to.length_mm {
                edits::set(db, "lure", old.id, "length_mm", length)?;
            }
            for (column, value) in [("target", &to.target), ("note", &to.note)] {
                if let Some(value) = value {
                    edits::set(db, "lure", old.id, column, value.clone())?;
                }
            }
            lure(db, new_name.as_deref().unwrap_or(name))
        })
    }

    /// Retires a lure or a build of that name: it leaves the lists, and nothing of it is deleted.
    ///
    /// # Errors
    /// [`Error::Setting`] where there is none, or it is retired already.
    pub fn retire(&mut self, name: &str, why: Option<&str>) -> Result<()> {
        self.mark(name, |db, table, id, retired| {
            if retired {
                return Err(already(
                    name,
                    "is retired already",
                    "`truerun lure show` tells since when",
                ));
            }
            edits::set(db, table, id, "retired_at", when::now(db)?)?;
            edits::set(db, table, id, "retired_why", why.map(str::to_string))
        })
    }

    /// Takes a lure or a build back into use.
    ///
    /// # Errors
    /// [`Error::Setting`] where there is none, or it is in use.
    pub fn take_back(&mut self, name: &str) -> Result<()> {
        self.mark(name, |db, table, id, retired| {
            if !retired {
                return Err(already(name, "is in use", "there is nothing to take back"));
            }
            edits::set(db, table, id, "retired_at", None::<String>)?;
            edits::set(db, table, id, "retired_why", None::<String>)
        })
    }

    fn mark(
        &mut self,
        name: &str,
        work: impl FnOnce(&Connection, &'static str, i64, bool) -> Work<()>,
    ) -> Result<()> {
        self.write(|db| {
            for table in ["lure", "build"] {
                let found = db
                    .query_row(
                        &format!("SELECT id, retired_at IS NOT NULL FROM {table} WHERE name = ?1"),
                        [name],
                        |row| Ok((row.get(0)?, row.get(1)?)),
                    )
                    .optional()?;
                if let Some((id, retired)) = found {
                    return work(db, table, id, retired);
                }
            }
            Err(names::unknown(db, "lure or build", name)?.into())
        })
    }
}

fn already(name: &str, what: &str, remedy: &str) -> super::fault::Fault {
    Error::setting(format!("\"{name}\""), what, remedy).into()
}

/// The lure of a name.
pub(super) fn lure(db: &Connection, name: &str) -> Work<Lure> {
    let found = db
        .query_row(
            "SELECT * FROM lure WHERE name = ?1",
            [name.trim()],
            read_lure,
        )
        .optional()?;
    match found {
        Some(lure) => Ok(lure),
        None => Err(names::unknown(db, "lure", name)?.into()),
    }
}

fn read_lure(row: &Row) -> rusqlite::Result<Lure> {
    Ok(Lure {
        id: row.get("id")?,
        name: row.get("name")?,
        length_mm: row.get("length_mm")?,
        target: row.get("target")?,
        note: row.get("note")?,
        added_at: row.get("added_at")?,
        retired_at: row.get("retired_at")?,
        retired_why: row.get("retired_why")?,
    })
}
