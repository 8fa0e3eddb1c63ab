-- Times named `wall` or ending in `_wall` are microseconds since 1970-01-01T00:00Z; other times are
-- house time in microseconds. Ids are 16 bytes.

-- What happened, in order; the truth that the state of every class is rebuilt from. Ids, never names.
CREATE TABLE journal (
    class BLOB NOT NULL,
    seq   INTEGER NOT NULL,
    at    INTEGER NOT NULL,
    event TEXT NOT NULL,
    PRIMARY KEY (class, seq)
) STRICT, WITHOUT ROWID;

-- The last anchor of each boot of the machine.
CREATE TABLE anchors (
    boot_id   TEXT PRIMARY KEY NOT NULL,
    boot_time INTEGER NOT NULL,
    wall      INTEGER NOT NULL,
    house     INTEGER NOT NULL
) STRICT;

CREATE TABLE classes (
    id            BLOB PRIMARY KEY NOT NULL,
    title         TEXT NOT NULL,
    sheet         TEXT NOT NULL,
    sheet_version INTEGER NOT NULL,
    code          TEXT NOT NULL,
    opened        INTEGER NOT NULL,
    opened_wall   INTEGER NOT NULL,
    closed        INTEGER
) STRICT;

-- The only place where names stand.
CREATE TABLE people (
    athlete     BLOB PRIMARY KEY NOT NULL,
    class       BLOB NOT NULL,
    name        TEXT NOT NULL,
    shown       TEXT NOT NULL,
    at_home     INTEGER NOT NULL,
    first_class INTEGER NOT NULL,
    told_me     INTEGER NOT NULL
) STRICT;
CREATE INDEX people_by_class ON people (class);

CREATE TABLE questions (
    class    BLOB NOT NULL,
    number   INTEGER NOT NULL,
    athlete  BLOB NOT NULL,
    text     TEXT NOT NULL,
    answered INTEGER NOT NULL,
    PRIMARY KEY (class, number)
) STRICT;

CREATE TABLE sheets (
    name       TEXT NOT NULL,
    version    INTEGER NOT NULL,
    text       TEXT NOT NULL,
    saved_wall INTEGER NOT NULL,
    PRIMARY KEY (name, version)
) STRICT;

-- Who is let in: hashes of tokens, with what each is good for.
CREATE TABLE grants (
    token          BLOB PRIMARY KEY NOT NULL,
    role           TEXT NOT NULL,
    device         BLOB,
    class          BLOB,
    athlete        BLOB,
    created_wall   INTEGER NOT NULL,
    last_seen_wall INTEGER NOT NULL
) STRICT;

-- Walls and tally tablets that the coach let in.
CREATE TABLE paired (
    device        BLOB PRIMARY KEY NOT NULL,
    kind          TEXT NOT NULL,
    number        INTEGER NOT NULL,
    accepted_wall INTEGER NOT NULL
) STRICT;

CREATE TABLE settings (
    key   TEXT PRIMARY KEY NOT NULL,
    value ANY NOT NULL
) STRICT, WITHOUT ROWID;
