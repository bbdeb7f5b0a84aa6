//! Opening a record: made if it is new, brought up to date if it is old, left alone if it is neither.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};

use super::fault::{Fault, Work};
use super::{migrate, schema};
use crate::{Error, Result};

/// How long a writer waits for another one.
const PATIENCE: Duration = Duration::from_secs(15);

/// A maker's memory: one SQLite file.
///
/// Each write is one transaction, acknowledged (the function returns `Ok`) only after it is on the
/// disk: a rollback journal with `synchronous = EXTRA`, which also survives a power cut. There is no
/// second file beside the record when nobody writes, so it can be copied like any other.
pub struct Record {
    db: Connection,
    path: PathBuf,
}

impl Record {
    /// Opens the record at `path`, and makes it (and its folder) where there is none.
    ///
    /// # Errors
    /// [`Error::Unreadable`] for a file that is no record, is damaged, was made by a newer program
    /// or cannot be written; the file is then untouched.
    pub fn open(path: &Path) -> Result<Record> {
        if let Some(folder) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
            std::fs::create_dir_all(folder).map_err(|e| Error::file(folder, e))?;
        }
        Record::connect(path, OpenFlags::SQLITE_OPEN_CREATE)
    }

    /// Opens a record that must be there already.
    ///
    /// # Errors
    /// As [`Record::open`]; [`Error::Setting`] where there is no file.
    pub fn open_existing(path: &Path) -> Result<Record> {
        if !path.exists() {
            return Err(Error::setting(
                path.display().to_string(),
                "there is no record yet",
                "begin one with `truerun lure add NAME`, or give its file with --record",
            ));
        }
        Record::connect(path, OpenFlags::empty())
    }

    fn connect(path: &Path, more: OpenFlags) -> Result<Record> {
        if path.is_dir() {
            return Err(Error::setting(
                path.display().to_string(),
                "is a folder, not a record",
                "add a file name",
            ));
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX | more;
        let db = Connection::open_with_flags(path, flags).map_err(|e| Fault::from(e).told(path))?;
        let mut record = Record {
            db,
            path: path.to_path_buf(),
        };
        record.prepare().map_err(|fault| fault.told(path))?;
        Ok(record)
    }

    fn prepare(&mut self) -> Work<()> {
        self.db.busy_timeout(PATIENCE)?;
        migrate::bring_up_to_date(&mut self.db, &self.path)?;
        self.db.pragma_update(None, "foreign_keys", true)?;
        self.db.pragma_update(None, "synchronous", "EXTRA")?;
        self.db.pragma_update(None, "trusted_schema", false)?;
        Ok(())
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Version of its schema.
    pub fn schema_version(&self) -> i64 {
        schema::VERSION
    }

    /// Looks the whole file over: SQLite's own check, references that lead nowhere, results that
    /// cannot be read, and figures that differ from the result they were taken from. Empty: all well.
    ///
    /// # Errors
    /// [`Error::Unreadable`] where the file is too damaged to be looked over.
    pub fn check(&self) -> Result<Vec<String>> {
        self.read(super::check::faults)
    }

    /// Reads from one state of the record, whatever others write meanwhile.
    pub(super) fn read<T>(&self, work: impl FnOnce(&Connection) -> Work<T>) -> Result<T> {
        let in_one_state = || {
            let reading = self.db.unchecked_transaction()?;
            work(&reading)
        };
        in_one_state().map_err(|fault: Fault| fault.told(&self.path))
    }

    /// Writes in one transaction: all of it or nothing, and on the disk when this returns `Ok`.
    pub(super) fn write<T>(&mut self, work: impl FnOnce(&Transaction) -> Work<T>) -> Result<T> {
        let Record { db, path } = self;
        let told = |fault: Fault| fault.told(path);
        let writing = db
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(|e| told(e.into()))?;
        let made = work(&writing).map_err(told)?;
        writing.commit().map_err(|e| told(e.into()))?;
        Ok(made)
    }
}
