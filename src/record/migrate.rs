//! From whatever schema a file has to the newest, with a copy made first.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::backup::Backup;
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};

use super::fault::Work;
use super::figures;
use super::schema::{APPLICATION_ID, STEPS, VERSION};
use crate::Error;

/// Brings the schema of the open file up to date. A file of the newest schema is only looked at.
pub fn bring_up_to_date(db: &mut Connection, path: &Path) -> Work<()> {
    if state(db, path)? == VERSION {
        return Ok(());
    }
    let climbing = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Another process may have done it while this one waited.
    let from = state(&climbing, path)?;
    if (1..VERSION).contains(&from) {
        copy(path, from)?;
    }
    for step in from..VERSION {
        climb(&climbing, step)?;
    }
    climbing.pragma_update(None, "application_id", APPLICATION_ID)?;
    climbing.pragma_update(None, "user_version", VERSION)?;
    climbing.commit()?;
    Ok(())
}

fn climb(db: &Transaction, step: i64) -> Work<()> {
    db.execute_batch(STEPS[step as usize])?;
    if step == 1 {
        figures::fill(db)?;
    }
    Ok(())
}

/// The schema's version; 0 for an empty file. Refuses what is not ours and what is newer.
fn state(db: &Connection, path: &Path) -> Work<i64> {
    let number = |sql| db.query_row(sql, [], |row| row.get::<_, i64>(0));
    let application = number("PRAGMA application_id")?;
    let version = number("PRAGMA user_version")?;
    let tables = number("SELECT count(*) FROM sqlite_schema")?;
    if tables == 0 && application == 0 && version == 0 {
        return Ok(0);
    }
    if application != APPLICATION_ID || version < 1 {
        return Err(Error::unreadable(
            path,
            "a database of another program, not a tuning record",
            "give another file with --record",
        )
        .into());
    }
    if version > VERSION {
        return Err(Error::unreadable(
            path,
            format!(
                "written by a newer truerun (schema {version}; this one knows up to {VERSION})"
            ),
            "update this program; the record was not touched",
        )
        .into());
    }
    Ok(version)
}

/// Copies the record as it stands, under a name that is still free, and has it on the disk before
/// anything changes. Read through SQLite: opening the file beside it would drop the lock we hold.
fn copy(path: &Path, version: i64) -> Work<()> {
    let source = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let name = free_name(path, version);
    let mut target = Connection::open(&name)?;
    Backup::new(&source, &mut target)?.run_to_completion(i32::MAX, Duration::ZERO, None)?;
    Ok(())
}

/// `record.truerun.schema1`, or with `-2`, `-3` … where that is taken.
fn free_name(path: &Path, version: i64) -> PathBuf {
    let named = |more: String| {
        let mut name = path.as_os_str().to_owned();
        name.push(format!(".schema{version}{more}"));
        PathBuf::from(name)
    };
    std::iter::once(String::new())
        .chain((2..).map(|n| format!("-{n}")))
        .map(named)
        .find(|name| !name.exists())
        .unwrap_or_else(|| named("-copy".into()))
}
