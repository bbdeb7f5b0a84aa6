//! Photos by path: the pictures stay where they are.

use rusqlite::params;

use super::builds::build;
use super::lures::lure;
use super::model::Photo;
use super::{Record, when};
use crate::Result;

impl Record {
    /// Notes a photo of a lure or of a build by its path.
    ///
    /// # Errors
    /// [`crate::Error::Setting`] where there is nothing of that name.
    pub fn add_photo(&mut self, name: &str, path: &str, note: Option<&str>) -> Result<()> {
        self.write(|db| {
            let build_id = build(db, name).ok().map(|build| build.id);
            let lure_id = match build_id {
                Some(_) => None,
                None => Some(lure(db, name)?.id),
            };
            db.execute(
                "INSERT INTO photo (lure_id, build_id, path, note, added_at) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![lure_id, build_id, path, note, when::now(db)?],
            )?;
            Ok(())
        })
    }

    /// The photos of a lure and of all its builds, in the order in which they were noted.
    ///
    /// # Errors
    /// [`crate::Error::Unreadable`] where the record cannot be read.
    pub fn photos(&self, lure_id: i64) -> Result<Vec<Photo>> {
        self.read(|db| {
            let mut query = db.prepare(
                "SELECT path, photo.note, photo.added_at FROM photo LEFT JOIN build ON build.id = build_id
                 WHERE photo.lure_id = ?1 OR build.lure_id = ?1 ORDER BY photo.id",
            )?;
            let photos = query.query_map([lure_id], |row| {
                Ok(Photo {
                    path: row.get(0)?,
                    note: row.get(1)?,
                    added_at: row.get(2)?,
                })
            })?;
            Ok(photos.collect::<rusqlite::Result<_>>()?)
        })
    }
}
