//! The tables, version by version. A step is never changed once it has been released: a record made
//! by any earlier program climbs the same steps. Lengths are mm, masses g, times the maker's own
//! clock as `YYYY-MM-DDTHH:MM:SS`. Bends are signed by side, never by sign.

/// Marks a file as a tuning record (SQLite's `application_id`): "TRUN".
pub const APPLICATION_ID: i64 = 0x5452_554e;

/// The steps from an empty file to the newest schema; the schema's version is how many are done.
pub const STEPS: [&str; 2] = [FIRST, SECOND];

/// The newest version.
pub const VERSION: i64 = STEPS.len() as i64;

/// Every table, parents before children: the order of an export and of an import.
pub const TABLES: [&str; 7] = ["lure", "build", "test", "change", "edit", "photo", "figure"];

/// Version 1: lures, their builds, tests and changes, and what was edited.
const FIRST: &str = "
CREATE TABLE lure (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL COLLATE NOCASE UNIQUE,
    length_mm REAL,
    target TEXT,
    note TEXT,
    added_at TEXT NOT NULL,
    retired_at TEXT,
    retired_why TEXT
) STRICT;

CREATE TABLE build (
    id INTEGER PRIMARY KEY,
    lure_id INTEGER NOT NULL REFERENCES lure (id),
    name TEXT NOT NULL COLLATE NOCASE UNIQUE,
    origin TEXT NOT NULL CHECK (origin IN ('carved', 'cast')),
    parent_id INTEGER REFERENCES build (id),
    mould TEXT,
    mass_g REAL,
    lip_angle_deg REAL,
    lip_length_mm REAL,
    lip_width_mm REAL,
    ballast TEXT,
    hooks TEXT,
    made_on TEXT,
    note TEXT,
    added_at TEXT NOT NULL,
    retired_at TEXT,
    retired_why TEXT
) STRICT;

CREATE TABLE test (
    id INTEGER PRIMARY KEY,
    build_id INTEGER NOT NULL REFERENCES build (id),
    kind TEXT NOT NULL CHECK (kind IN ('swim', 'thump', 'float')),
    at TEXT NOT NULL,
    place TEXT,
    water TEXT CHECK (water IN ('fresh', 'salt')),
    water_c REAL,
    retrieve TEXT,
    note TEXT,
    result TEXT NOT NULL,
    source_file TEXT,
    source_sha256 TEXT,
    program TEXT NOT NULL,
    saved_at TEXT NOT NULL
) STRICT;

CREATE TABLE change (
    id INTEGER PRIMARY KEY,
    build_id INTEGER NOT NULL REFERENCES build (id),
    kind TEXT NOT NULL CHECK (kind IN ('tie', 'lip', 'ballast', 'hooks', 'repaint', 'other')),
    at TEXT NOT NULL,
    side TEXT CHECK (side IN ('left', 'right')),
    side_mm REAL CHECK (side_mm > 0),
    upright TEXT CHECK (upright IN ('up', 'down')),
    upright_mm REAL CHECK (upright_mm > 0),
    note TEXT,
    saved_at TEXT NOT NULL
) STRICT;

CREATE TABLE edit (
    id INTEGER PRIMARY KEY,
    of_table TEXT NOT NULL,
    of_id INTEGER NOT NULL,
    of_column TEXT NOT NULL,
    old TEXT,
    new TEXT,
    at TEXT NOT NULL
) STRICT;

CREATE INDEX build_by_lure ON build (lure_id);
CREATE INDEX change_by_build ON change (build_id, at, id);
";

/// Version 2: photos by path, and the figures of each result beside it, so that ten thousand tests
/// can be listed and compared without reading ten thousand results.
const SECOND: &str = "
CREATE TABLE photo (
    id INTEGER PRIMARY KEY,
    lure_id INTEGER REFERENCES lure (id),
    build_id INTEGER REFERENCES build (id),
    path TEXT NOT NULL,
    note TEXT,
    added_at TEXT NOT NULL,
    CHECK ((lure_id IS NULL) <> (build_id IS NULL))
) STRICT;

CREATE TABLE figure (
    test_id INTEGER NOT NULL REFERENCES test (id),
    measure TEXT NOT NULL,
    status TEXT NOT NULL,
    value REAL,
    lo REAL,
    hi REAL,
    PRIMARY KEY (test_id, measure)
) STRICT, WITHOUT ROWID;

CREATE INDEX test_by_build ON test (build_id, at, id);
";
