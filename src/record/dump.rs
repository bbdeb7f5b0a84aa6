//! Everything out of a record and everything back in, exactly.

use rusqlite::types::{Value, ValueRef};
use rusqlite::{Connection, params_from_iter};
use serde_json::{Map, Value as Json, json};

use super::Record;
use super::fault::{Fault, Work};
use super::schema::{TABLES, VERSION};
use crate::{Error, Result};

const SCHEMA: &str = "truerun/record/";

impl Record {
    /// The whole record as one JSON object: `schema` (`truerun/record/N`) and `tables`, each a list of
    /// rows with every column.
    ///
    /// # Errors
    /// [`Error::Unreadable`] where the record cannot be read.
    pub fn to_json(&self) -> Result<String> {
        let tables = self.read(|db| {
            let mut tables = Map::new();
            for table in TABLES {
                tables.insert(table.into(), Json::Array(rows(db, table)?));
            }
            Ok(tables)
        })?;
        let object = json!({ "schema": format!("{SCHEMA}{VERSION}"), "tables": tables });
        Ok(format!("{object:#}\n"))
    }

    /// Each table as CSV: its name and its text. A cell that a spreadsheet would take for a formula
    /// has a `'` put before it; JSON is the form to restore from.
    ///
    /// # Errors
    /// [`Error::Unreadable`] where the record cannot be read.
    pub fn to_csv(&self) -> Result<Vec<(&'static str, Vec<u8>)>> {
        self.read(|db| {
            TABLES
                .into_iter()
                .map(|table| Ok((table, csv(db, table)?)))
                .collect()
        })
    }

    /// Fills an empty record from the text of [`Record::to_json`], exactly.
    ///
    /// # Errors
    /// [`Error::Setting`] where the record is not empty or the text is no export of this program (or of
    /// a newer one); the record is then unchanged.
    pub fn restore(&mut self, text: &str) -> Result<()> {
        let tables = exported_tables(text)?;
        self.write(|db| {
            must_be_empty(db)?;
            // The builds' parents may come after them.
            db.pragma_update(None, "defer_foreign_keys", true)?;
            for table in TABLES {
                for row in tables
                    .get(table)
                    .and_then(Json::as_array)
                    .into_iter()
                    .flatten()
                {
                    insert(db, table, row)?;
                }
            }
            Ok(())
        })
    }
}

fn rows(db: &Connection, table: &str) -> Work<Vec<Json>> {
    let mut query = db.prepare(&format!("SELECT * FROM {table}"))?;
    let names: Vec<String> = query.column_names().into_iter().map(String::from).collect();
    let rows = query.query_map([], |row| {
        let mut object = Map::new();
        for (i, name) in names.iter().enumerate() {
            let value = match row.get_ref(i)? {
                ValueRef::Integer(i) => json!(i),
                ValueRef::Real(x) => json!(x),
                ValueRef::Text(text) => json!(String::from_utf8_lossy(text)),
                ValueRef::Null | ValueRef::Blob(_) => Json::Null,
            };
            object.insert(name.clone(), value);
        }
        Ok(Json::Object(object))
    })?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

fn csv(db: &Connection, table: &str) -> Work<Vec<u8>> {
    let mut query = db.prepare(&format!("SELECT * FROM {table}"))?;
    let columns = query.column_count();
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |e: csv::Error| Fault::Told(Error::file(table, std::io::Error::other(e)));
    writer.write_record(query.column_names()).map_err(failed)?;
    let mut rows = query.query([])?;
    while let Some(row) = rows.next()? {
        let cells: rusqlite::Result<Vec<String>> =
            (0..columns).map(|i| Ok(cell(row.get_ref(i)?))).collect();
        writer.write_record(cells?).map_err(failed)?;
    }
    writer
        .into_inner()
        .map_err(|e| Fault::Told(Error::file(table, std::io::Error::other(e.to_string()))))
}

fn cell(value: ValueRef) -> String {
    match value {
        ValueRef::Integer(i) => i.to_string(),
        ValueRef::Real(x) => x.to_string(),
        ValueRef::Text(text) => {
            let text = String::from_utf8_lossy(text);
            match text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
                true => format!("'{text}"),
                false => text.into_owned(),
            }
        }
        ValueRef::Null | ValueRef::Blob(_) => String::new(),
    }
}

fn exported_tables(text: &str) -> Result<Map<String, Json>> {
    let fault = |what: String, remedy: &str| Err(Error::setting("import", what, remedy));
    let export = "give a file that `truerun export FILE.json` wrote";
    let Ok(Json::Object(mut object)) = serde_json::from_str(text) else {
        return fault("the file is not JSON".into(), export);
    };
    let version = object
        .get("schema")
        .and_then(Json::as_str)
        .and_then(|schema| schema.strip_prefix(SCHEMA)?.parse::<i64>().ok());
    match (version, object.remove("tables")) {
        (Some(newer), _) if newer > VERSION => fault(
            format!("written by a newer truerun (schema {newer}; this one knows up to {VERSION})"),
            "update this program",
        ),
        (Some(VERSION), Some(Json::Object(tables))) => Ok(tables),
        _ => fault("the file is no export of a record".into(), export),
    }
}

fn must_be_empty(db: &Connection) -> Work<()> {
    let lures: i64 = db.query_row("SELECT count(*) FROM lure", [], |row| row.get(0))?;
    match lures {
        0 => Ok(()),
        _ => Err(Error::setting(
            "import",
            "this record holds something already, and two records are not mixed",
            "give a new file with --record NEW",
        )
        .into()),
    }
}

fn insert(db: &Connection, table: &str, row: &Json) -> Work<()> {
    let odd = |what: &str| {
        Fault::Told(Error::setting(
            "import",
            format!("a row of `{table}` {what}"),
            "the file was changed since it was exported; take an untouched copy",
        ))
    };
    let row = row.as_object().ok_or_else(|| odd("is no object"))?;
    let known = db.prepare_cached(&format!("SELECT * FROM {table} LIMIT 0"))?;
    let columns: Vec<String> = known.column_names().into_iter().map(String::from).collect();
    if columns.len() != row.len() || columns.iter().any(|column| !row.contains_key(column)) {
        return Err(odd("has other columns than a record"));
    }
    let values: Vec<Value> = columns
        .iter()
        .map(|column| value(&row[column]).ok_or_else(|| odd("holds what no record holds")))
        .collect::<Work<_>>()?;
    let places = vec!["?"; columns.len()].join(", ");
    db.prepare_cached(&format!(
        "INSERT INTO {table} ({}) VALUES ({places})",
        columns.join(", ")
    ))?
    .execute(params_from_iter(values))?;
    Ok(())
}

fn value(json: &Json) -> Option<Value> {
    match json {
        Json::Null => Some(Value::Null),
        Json::String(text) => Some(Value::Text(text.clone())),
        Json::Number(n) => n
            .as_i64()
            .map(Value::Integer)
            .or(n.as_f64().map(Value::Real)),
        _ => None,
    }
}
