//! Looking a record over.

use rusqlite::Connection;
use serde_json::Value;

use super::fault::Work;
use super::figures;

/// What is wrong with the record, one line each.
pub fn faults(db: &Connection) -> Work<Vec<String>> {
    let mut faults = of_the_file(db)?;
    if faults.is_empty() {
        faults.extend(of_references(db)?);
        faults.extend(of_results(db)?);
    }
    Ok(faults)
}

fn of_the_file(db: &Connection) -> Work<Vec<String>> {
    let mut query = db.prepare("PRAGMA integrity_check(20)")?;
    let lines = query.query_map([], |row| row.get::<_, String>(0))?;
    let lines: Vec<String> = lines.collect::<rusqlite::Result<_>>()?;
    Ok(lines.into_iter().filter(|line| line != "ok").collect())
}

fn of_references(db: &Connection) -> Work<Vec<String>> {
    let mut query = db.prepare("PRAGMA foreign_key_check")?;
    let lines = query.query_map([], |row| {
        let (table, row_id, parent): (String, Option<i64>, String) =
            (row.get(0)?, row.get(1)?, row.get(2)?);
        let which = row_id.map_or(String::new(), |id| format!(" {id}"));
        Ok(format!(
            "{table}{which} belongs to a {parent} that is not there"
        ))
    })?;
    Ok(lines.collect::<rusqlite::Result<_>>()?)
}

fn of_results(db: &Connection) -> Work<Vec<String>> {
    let mut query = db.prepare("SELECT id, kind, result FROM test")?;
    let mut kept =
        db.prepare("SELECT measure, value FROM figure WHERE test_id = ?1 ORDER BY measure")?;
    let mut rows = query.query([])?;
    let mut faults = Vec::new();
    while let Some(row) = rows.next()? {
        let id: i64 = row.get(0)?;
        let Ok(result) = serde_json::from_str::<Value>(row.get_ref(2)?.as_str().unwrap_or(""))
        else {
            faults.push(format!("test {id}: its result cannot be read"));
            continue;
        };
        let mut wanted: Vec<(String, Option<f64>)> = figures::of_result(row.get(1)?, &result)
            .into_iter()
            .map(|(measure, found)| (measure, found.value))
            .collect();
        wanted.sort_by(|a, b| a.0.cmp(&b.0));
        let found = kept.query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
        if found.collect::<rusqlite::Result<Vec<(String, Option<f64>)>>>()? != wanted {
            faults.push(format!("test {id}: its figures differ from its result"));
        }
    }
    Ok(faults)
}
