-- What is nobody's business but this room's. None of it is an entry, and none of it is exported.
CREATE TABLE person (
    id   BLOB    NOT NULL PRIMARY KEY CHECK (length(id) = 16),
    name TEXT    NOT NULL COLLATE NOCASE UNIQUE CHECK (name <> ''),
    role TEXT    NOT NULL CHECK (role IN ('keeper', 'helper')),
    made INTEGER NOT NULL                                      -- ms since 1970, UTC
) STRICT;

CREATE TABLE passphrase (
    person BLOB    NOT NULL PRIMARY KEY REFERENCES person (id) ON DELETE CASCADE,
    hash   TEXT    NOT NULL,                                   -- argon2id, as a PHC string
    made   INTEGER NOT NULL
) STRICT;

CREATE TABLE session (
    token     BLOB    NOT NULL PRIMARY KEY CHECK (length(token) = 32), -- SHA-256 of the token; the token itself is not kept
    person    BLOB    NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    made      INTEGER NOT NULL,
    last_seen INTEGER NOT NULL
) STRICT;

CREATE INDEX session_of_person ON session (person);

CREATE TABLE setting (
    name  TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;

CREATE TABLE contact (
    id      BLOB    NOT NULL PRIMARY KEY CHECK (length(id) = 16), -- what a bird_left entry names
    name    TEXT    NOT NULL,
    address TEXT    NOT NULL DEFAULT '',
    made    INTEGER NOT NULL
) STRICT;
