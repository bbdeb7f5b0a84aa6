//! A record of every earlier schema comes up to date with all it holds, and a copy is made first.

use std::path::Path;

use rusqlite::Connection;
use truerun::record::Record;

use crate::results::{place, save, swim};

/// The first schema as it was, frozen here: the program's own text must never change it.
const FIRST: &str = include_str!("schema1.sql");

fn first_record(path: &Path) {
    let db = Connection::open(path).unwrap();
    db.execute_batch(FIRST).unwrap();
    db.execute(
        "INSERT INTO test (id, build_id, kind, at, result, program, saved_at)
         VALUES (1, 1, 'swim', '2026-03-01T10:00:00', ?1, 'truerun 0.0.1', '2026-03-01T10:05:00')",
        [swim(4.6, 3.0, Some(0.5))],
    )
    .unwrap();
}

fn copies(path: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(path.parent().unwrap())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn from_the_first_schema_on() {
    let (_folder, path) = place();
    first_record(&path);
    let before = std::fs::read(&path).unwrap();
    let record = Record::open_existing(&path).unwrap();
    assert_eq!(record.check().unwrap(), Vec::<String>::new());
    let build = record.build("hazel58-03").unwrap();
    let runs = record.runs(&build).unwrap();
    assert_eq!(runs[0].figures["rate_hz"].value, Some(4.6));
    assert_eq!(runs[0].test.program, "truerun 0.0.1");
    assert_eq!(record.life(&build).unwrap().len(), 2);
    drop(record);
    assert_eq!(copies(&path), ["record.truerun", "record.truerun.schema1"]);

    // The copy holds what there was: brought up to date it is the same record.
    let copy = path.with_file_name("record.truerun.schema1");
    let old = Connection::open(&copy).unwrap();
    let version: i64 = old
        .query_row("PRAGMA user_version", [], |r| r.get(0))
        .unwrap();
    assert_eq!(version, 1);
    let tests: i64 = old
        .query_row("SELECT count(*) FROM test", [], |r| r.get(0))
        .unwrap();
    assert_eq!(tests, 1);
    assert!(!before.is_empty());
    let again = Record::open_existing(&copy).unwrap().to_json().unwrap();
    assert_eq!(
        again,
        Record::open_existing(&path).unwrap().to_json().unwrap()
    );
}

#[test]
fn a_copy_of_that_name_is_not_replaced_and_the_newest_schema_is_not_copied() {
    let (_folder, path) = place();
    first_record(&path);
    std::fs::write(path.with_file_name("record.truerun.schema1"), "mine").unwrap();
    let mut record = Record::open_existing(&path).unwrap();
    save(&mut record, "hazel58-03", &swim(4.7, 2.0, None));
    drop(record);
    drop(Record::open(&path).unwrap());
    let names = [
        "record.truerun",
        "record.truerun.schema1",
        "record.truerun.schema1-2",
    ];
    assert_eq!(copies(&path), names);
    assert_eq!(
        std::fs::read(path.with_file_name(names[1])).unwrap(),
        b"mine"
    );
}

#[test]
fn a_migration_that_fails_leaves_the_record_as_it_was() {
    let (_folder, path) = place();
    first_record(&path);
    // Something in the way of the second step.
    Connection::open(&path)
        .unwrap()
        .execute_batch("CREATE TABLE photo (x)")
        .unwrap();
    let before = std::fs::read(&path).unwrap();
    assert!(Record::open_existing(&path).is_err());
    assert_eq!(std::fs::read(&path).unwrap(), before);
}
