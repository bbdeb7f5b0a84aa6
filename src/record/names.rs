//! Names of lures and builds: one name, one thing.

use rusqlite::{Connection, OptionalExtension};

use super::fault::Work;
use crate::{Error, Result};

/// Longest name, in characters.
const LONGEST: usize = 100;

/// A name as it is stored: trimmed, of one line.
pub fn checked(option: &str, name: &str) -> Result<String> {
    let name = name.trim();
    let fault = |what: &str, remedy: &str| Err(Error::setting(option, what, remedy));
    if name.is_empty() {
        return fault("a name is empty", "give one, as \"Hazel 58\" or hazel58-03");
    }
    if name.chars().any(char::is_control) {
        return fault(
            "a name holds a line break or a control character",
            "leave it out",
        );
    }
    if name.chars().count() > LONGEST {
        return fault(
            "a name is longer than 100 characters",
            "put the rest in a --note",
        );
    }
    Ok(name.to_string())
}

/// Refuses a name that a lure or a build other than `except` has already.
pub fn must_be_free(db: &Connection, name: &str, except: Option<(&str, i64)>) -> Work<()> {
    let taken: Option<(String, i64)> = db
        .query_row(
            "SELECT 'lure', id FROM lure WHERE name = ?1
             UNION ALL SELECT 'build', id FROM build WHERE name = ?1",
            [name],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?;
    match taken {
        Some((table, id)) if except != Some((table.as_str(), id)) => Err(Error::setting(
            format!("\"{name}\""),
            format!("a {table} of that name is in the record already"),
            "give another name (retired ones keep theirs)",
        )
        .into()),
        _ => Ok(()),
    }
}

/// There is no such `thing` ("lure" or "build"); names the one that was probably meant.
pub fn unknown(db: &Connection, thing: &str, name: &str) -> Work<Error> {
    let sql = match thing {
        "lure" => "SELECT name FROM lure",
        "build" => "SELECT name FROM build",
        _ => "SELECT name FROM lure UNION ALL SELECT name FROM build",
    };
    let mut query = db.prepare(sql)?;
    let known: Vec<String> = query
        .query_map([], |row| row.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    let lower: Vec<String> = known.iter().map(|name| name.to_lowercase()).collect();
    let meant = crate::tuning::nearest(name, lower.iter().map(String::as_str))
        .and_then(|near| lower.iter().position(|name| name == near))
        .map(|i| format!("did you mean \"{}\"? ", known[i]))
        .unwrap_or_default();
    Ok(Error::setting(
        format!("\"{name}\""),
        format!("there is no such {thing} in the record"),
        format!("{meant}`truerun lure list` shows all"),
    ))
}
