//! Changing a value without losing the old one.

use rusqlite::types::Value;
use rusqlite::{Connection, params};

use super::fault::Work;
use super::when;

/// Sets one column of one row and keeps the old value in the `edit` table. `table` and `column` are
/// words of this program, never the user's.
pub fn set(
    db: &Connection,
    table: &'static str,
    id: i64,
    column: &'static str,
    new: impl Into<Value>,
) -> Work<()> {
    let new: Value = new.into();
    let old: Value = db.query_row(
        &format!("SELECT {column} FROM {table} WHERE id = ?1"),
        [id],
        |row| row.get(0),
    )?;
    if old == new {
        return Ok(());
    }
    db.execute(
        "INSERT INTO edit (of_table, of_id, of_column, old, new, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        params![table, id, column, as_text(&old), as_text(&new), when::now(db)?],
    )?;
    db.execute(
        &format!("UPDATE {table} SET {column} = ?2 WHERE id = ?1"),
        params![id, new],
    )?;
    Ok(())
}

fn as_text(value: &Value) -> Option<String> {
    match value {
        Value::Null => None,
        Value::Integer(i) => Some(i.to_string()),
        Value::Real(x) => Some(x.to_string()),
        Value::Text(text) => Some(text.clone()),
        Value::Blob(bytes) => Some(format!("{} bytes", bytes.len())),
    }
}
