//! Builds: carved originals and casts.

use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, Row, params};

use super::fault::Work;
use super::lures::lure;
use super::model::{Build, BuildMake, Origin};
use super::{Record, edits, names, when};
use crate::Result;

/// A build to enter.
#[derive(Debug, Clone, PartialEq)]
pub struct NewBuild {
    /// Its name, as `hazel58-03`.
    pub name: String,
    /// Name of its lure.
    pub lure: String,
    /// Carved or cast.
    pub origin: Origin,
    /// Name of the build it was copied from.
    pub parent: Option<String>,
    /// How it was made.
    pub make: BuildMake,
}

/// What to change on a build; `None` leaves it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BuildEdit {
    /// Its name.
    pub name: Option<String>,
    /// How it was made: the parts that are given.
    pub make: BuildMake,
}

impl Record {
    /// Enters a build and returns it.
    ///
    /// # Errors
    /// [`crate::Error::Setting`] for a name that is empty or taken, or a lure, parent or day that does
    /// not exist; [`crate::Error::Unreadable`] where it cannot be saved.
    pub fn add_build(&mut self, new: &NewBuild) -> Result<Build> {
        let name = names::checked("NAME", &new.name)?;
        let made_on = made_on(&new.make)?;
        self.write(|db| {
            names::must_be_free(db, &name, None)?;
            let lure = lure(db, &new.lure)?;
            let parent = new
                .parent
                .as_deref()
                .map(|parent| build(db, parent))
                .transpose()?;
            let make = &new.make;
            db.execute(
                "INSERT INTO build (lure_id, name, origin, parent_id, mould, mass_g, lip_angle_deg,
                    lip_length_mm, lip_width_mm, ballast, hooks, made_on, note, added_at)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)",
                params![
                    lure.id,
                    name,
                    new.origin,
                    parent.map(|parent| parent.id),
                    make.mould,
                    make.mass_g,
                    make.lip_angle_deg,
                    make.lip_length_mm,
                    make.lip_width_mm,
                    make.ballast,
                    make.hooks,
                    made_on,
                    make.note,
                    when::now(db)?,
                ],
            )?;
            build(db, &name)
        })
    }

    /// The build of a name (letters' case does not matter).
    ///
    /// # Errors
    /// [`crate::Error::Setting`] where there is none, with the name that was probably meant.
    pub fn build(&self, name: &str) -> Result<Build> {
        self.read(|db| build(db, name))
    }

    /// Whether a build has this name; false for a lure.
    ///
    /// # Errors
    /// [`crate::Error::Setting`] where nothing has this name.
    pub fn is_build(&self, name: &str) -> Result<bool> {
        self.read(|db| {
            let has = |table: &str| {
                let sql = format!("SELECT count(*) FROM {table} WHERE name = ?1");
                db.query_row(&sql, [name.trim()], |row| row.get::<_, i64>(0))
            };
            match (has("build")?, has("lure")?) {
                (0, 0) => Err(names::unknown(db, "lure or build", name)?.into()),
                (builds, _) => Ok(builds > 0),
            }
        })
    }

    /// The builds of a lure in the order in which they were entered, the retired ones among them.
    ///
    /// # Errors
    /// [`crate::Error::Unreadable`] where the record cannot be read.
    pub fn builds(&self, lure_id: i64) -> Result<Vec<Build>> {
        self.read(|db| {
            let mut query = db.prepare("SELECT * FROM build WHERE lure_id = ?1 ORDER BY id")?;
            let builds = query.query_map([lure_id], read_build)?;
            Ok(builds.collect::<rusqlite::Result<_>>()?)
        })
    }

    /// Changes a build; old values stay in the record.
    ///
    /// # Errors
    /// As [`Record::add_build`].
    pub fn edit_build(&mut self, name: &str, to: &BuildEdit) -> Result<Build> {
        let new_name = to
            .name
            .as_deref()
            .map(|n| names::checked("--name", n))
            .transpose()?;
        let made_on = made_on(&to.make)?;
        let make = &to.make;
        let text = |value: &Option<String>| value.clone().map(Value::from);
        let number = |value: Option<f64>| value.map(Value::from);
        let changes: [(&'static str, Option<Value>); 9] = [
            ("mould", text(&make.mould)),
            ("mass_g", number(make.mass_g)),
            ("lip_angle_deg", number(make.lip_angle_deg)),
            ("lip_length_mm", number(make.lip_length_mm)),
            ("lip_width_mm", number(make.lip_width_mm)),
            ("ballast", text(&make.ballast)),
            ("hooks", text(&make.hooks)),
            ("made_on", text(&made_on)),
            ("note", text(&make.note)),
        ];
        self.write(|db| {
            let old = build(db, name)?;
            if let Some(new_name) = &new_name {
                names::must_be_free(db, new_name, Some(("build", old.id)))?;
                edits::set(db, "build", old.id, "name", new_name.clone())?;
            }
            for (column, value) in changes {
                if let Some(value) = value {
                    edits::set(db, "build", old.id, column, value)?;
                }
            }
            build(db, new_name.as_deref().unwrap_or(name))
        })
    }
}

fn made_on(make: &BuildMake) -> Result<Option<String>> {
    make.made_on
        .as_deref()
        .map(|day| when::checked_day("--made-on", day))
        .transpose()
}

/// The build of a name.
pub(super) fn build(db: &Connection, name: &str) -> Work<Build> {
    let found = db
        .query_row(
            "SELECT * FROM build WHERE name = ?1",
            [name.trim()],
            read_build,
        )
        .optional()?;
    match found {
        Some(build) => Ok(build),
        None => Err(names::unknown(db, "build", name)?.into()),
    }
}

fn read_build(row: &Row) -> rusqlite::Result<Build> {
    Ok(Build {
        id: row.get("id")?,
        lure_id: row.get("lure_id")?,
        name: row.get("name")?,
        origin: row.get("origin")?,
        parent_id: row.get("parent_id")?,
        make: BuildMake {
            mould: row.get("mould")?,
            mass_g: row.get("mass_g")?,
            lip_angle_deg: row.get("lip_angle_deg")?,
            lip_length_mm: row.get("lip_length_mm")?,
            lip_width_mm: row.get("lip_width_mm")?,
            ballast: row.get("ballast")?,
            hooks: row.get("hooks")?,
            made_on: row.get("made_on")?,
            note: row.get("note")?,
        },
        added_at: row.get("added_at")?,
        retired_at: row.get("retired_at")?,
        retired_why: row.get("retired_why")?,
    })
}
