//! What SQLite says, in words that help at the bench.

use std::path::Path;

use rusqlite::ErrorCode;

use crate::Error;

/// A fault inside a piece of work on the record: SQLite's, or one already in words.
pub enum Fault {
    /// From SQLite; [`Fault::told`] puts it in words.
    Sql(rusqlite::Error),
    /// In words already.
    Told(Error),
}

/// Result of a piece of work on the record.
pub type Work<T> = std::result::Result<T, Fault>;

impl From<rusqlite::Error> for Fault {
    fn from(e: rusqlite::Error) -> Self {
        Fault::Sql(e)
    }
}

impl From<Error> for Fault {
    fn from(e: Error) -> Self {
        Fault::Told(e)
    }
}

impl Fault {
    /// The fault as the library's error, about the record at `path`.
    pub fn told(self, path: &Path) -> Error {
        match self {
            Fault::Told(e) => e,
            Fault::Sql(e) => in_words(path, &e),
        }
    }
}

fn in_words(path: &Path, e: &rusqlite::Error) -> Error {
    let (what, remedy) = match e.sqlite_error_code() {
        Some(ErrorCode::NotADatabase) => (
            "not a tuning record, or damaged at its start".to_string(),
            "give another file with --record, or restore a copy of it",
        ),
        Some(ErrorCode::DatabaseCorrupt) => (
            "the record is damaged".to_string(),
            "nothing was changed; keep the file as it is and restore a copy or an export",
        ),
        Some(ErrorCode::DiskFull) => (
            "no room left on the disk, so nothing was saved".to_string(),
            "make room and save again; what was there before is untouched",
        ),
        Some(ErrorCode::ReadOnly) => (
            "the record may not be written, so nothing was saved".to_string(),
            "take the write protection off the file and its folder, or give another file with --record",
        ),
        Some(ErrorCode::CannotOpen) => (
            "cannot be opened or written there".to_string(),
            "check that the folder exists and may be written, or give another file with --record",
        ),
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => (
            "another program has held the record for too long".to_string(),
            "close it and try again; nothing was saved",
        ),
        Some(ErrorCode::SystemIoFailure) => (
            format!("the disk refused ({e}), so nothing was saved"),
            "check that the disk has room and is sound; what was there before is untouched",
        ),
        _ => (
            format!("the record could not do this: {e}"),
            "nothing was changed; `truerun lure check` looks the file over",
        ),
    };
    Error::unreadable(path, what, remedy)
}
