-- Schema 1 with one lure, one build, one bend: frozen, never to be changed.
PRAGMA application_id = 1414681934;
PRAGMA user_version = 1;

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

INSERT INTO lure (id, name, length_mm, added_at) VALUES (1, 'Hazel 58', 58.0, '2026-03-01T09:00:00');
INSERT INTO build (id, lure_id, name, origin, mass_g, added_at)
    VALUES (1, 1, 'hazel58-03', 'carved', 9.4, '2026-03-01T09:01:00');
INSERT INTO change (id, build_id, kind, at, side, side_mm, saved_at)
    VALUES (2, 1, 'tie', '2026-03-01T11:00:00', 'left', 0.3, '2026-03-01T11:00:00');
