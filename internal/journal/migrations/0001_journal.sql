-- The journal: one row an entry, in order of arrival. Rows are only ever added.
CREATE TABLE entry (
    seq      INTEGER PRIMARY KEY,                              -- order of arrival
    id       BLOB    NOT NULL UNIQUE CHECK (length(id) = 16),  -- UUID made by the writer
    kind     TEXT    NOT NULL CHECK (kind <> ''),
    version  INTEGER NOT NULL CHECK (version >= 1),            -- of the body's form
    day      TEXT    NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    time     TEXT    NOT NULL DEFAULT '' CHECK (time = '' OR time GLOB '[0-9][0-9]:[0-9][0-9]'),
    written  INTEGER NOT NULL,                                 -- ms since 1970, UTC, by the writer's clock
    received INTEGER NOT NULL,                                 -- ms since 1970, UTC, by the room's clock
    by       TEXT    NOT NULL,
    batch    BLOB    CHECK (length(batch) = 16),
    strikes  BLOB    CHECK (length(strikes) = 16),
    why      TEXT    NOT NULL DEFAULT '',
    body     TEXT    NOT NULL                                  -- JSON; these bytes are never rewritten
) STRICT;

CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
BEGIN
    SELECT RAISE(ABORT, 'an entry is never changed; strike it out and write another');
END;

CREATE TRIGGER entry_is_never_erased BEFORE DELETE ON entry
BEGIN
    SELECT RAISE(ABORT, 'an entry is never erased; strike it out');
END;

-- What room this is. One row.
CREATE TABLE room (
    one   INTEGER PRIMARY KEY CHECK (one = 1),
    id    BLOB    NOT NULL CHECK (length(id) = 16),
    mark  TEXT    NOT NULL,     -- '' for a keeper's own room, else what it was made as
    made  INTEGER NOT NULL      -- ms since 1970, UTC
) STRICT;
