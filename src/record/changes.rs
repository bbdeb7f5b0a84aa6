//! Bends and reworks of a build.

use rusqlite::{Connection, Row, params};

use super::builds::build;
use super::fault::Work;
use super::model::{Change, ChangeKind};
use super::runs::next_id;
use super::{Record, when};
use crate::camera::Side;
use crate::{Error, Result};

/// Farthest bend that can be meant, mm: more is a slip of the pen.
const FARTHEST_MM: f64 = 20.0;

/// A bend or rework to log.
#[derive(Debug, Clone, PartialEq)]
pub struct NewChange {
    /// What was changed.
    pub kind: ChangeKind,
    /// When, as the user wrote it; now where `None`.
    pub when: Option<String>,
    /// For a bend: to which side of the lure's own frame, and how far, mm.
    pub sideways: Option<(Side, f64)>,
    /// For a bend: up (true) or down, and how far, mm.
    pub upright: Option<(bool, f64)>,
    /// A note.
    pub note: Option<String>,
}

impl Record {
    /// Logs a change of the build called `build` and returns its number.
    ///
    /// # Errors
    /// [`Error::Setting`] for a build that does not exist, a bend without a size or one that cannot be
    /// meant; [`Error::Unreadable`] where it cannot be saved.
    pub fn log_change(&mut self, build_name: &str, change: &NewChange) -> Result<i64> {
        check(change)?;
        self.write(|db| {
            let build = build(db, build_name)?;
            let id = next_id(db)?;
            db.execute(
                "INSERT INTO change (id, build_id, kind, at, side, side_mm, upright, upright_mm, note,
                    saved_at)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
                params![
                    id,
                    build.id,
                    change.kind,
                    when::moment(db, change.when.as_deref())?,
                    change.sideways.map(|(side, _)| side.word()),
                    change.sideways.map(|(_, mm)| mm),
                    change.upright.map(|(up, _)| if up { "up" } else { "down" }),
                    change.upright.map(|(_, mm)| mm),
                    change.note,
                    when::now(db)?,
                ],
            )?;
            Ok(id)
        })
    }
}

fn check(change: &NewChange) -> Result<()> {
    let sizes = [change.sideways.map(|b| b.1), change.upright.map(|b| b.1)];
    let given: Vec<f64> = sizes.into_iter().flatten().collect();
    if given.iter().any(|mm| !(*mm > 0.0 && *mm <= FARTHEST_MM)) {
        return Err(Error::setting(
            "bend",
            "its size cannot be meant",
            "give how far the eye of the tie moved, in mm, more than 0 and up to 20",
        ));
    }
    match (change.kind, given.is_empty()) {
        (ChangeKind::Tie, true) => Err(Error::setting(
            "bend",
            "neither side nor height is given",
            "give --left, --right, --up or --down with the mm that its eye moved",
        )),
        (ChangeKind::Tie, false) | (_, true) => Ok(()),
        (_, false) => Err(Error::setting(
            "change",
            "only a bend of the tie has a side",
            "put the rest in a --note",
        )),
    }
}

/// The changes of a build in order.
pub(super) fn changes(db: &Connection, build_id: i64) -> Work<Vec<Change>> {
    let mut query = db.prepare(
        "SELECT id, build_id, kind, at, side, side_mm, upright, upright_mm, note
         FROM change WHERE build_id = ?1 ORDER BY at, id",
    )?;
    let changes = query.query_map([build_id], read_change)?;
    Ok(changes.collect::<rusqlite::Result<_>>()?)
}

fn read_change(row: &Row) -> rusqlite::Result<Change> {
    let side = row
        .get::<_, Option<String>>(4)?
        .map(|word| match word.as_str() {
            "left" => Side::Left,
            _ => Side::Right,
        });
    let up = row.get::<_, Option<String>>(6)?.map(|word| word == "up");
    Ok(Change {
        id: row.get(0)?,
        build_id: row.get(1)?,
        kind: row.get(2)?,
        at: row.get(3)?,
        sideways: side.zip(row.get(5)?),
        upright: up.zip(row.get(7)?),
        note: row.get(8)?,
    })
}
