-- Secret addresses under which a person's calendar program reads the room's dates. No entry, and never exported.
CREATE TABLE calendar (
    id        BLOB    NOT NULL PRIMARY KEY CHECK (length(id) = 16),
    token     BLOB    NOT NULL UNIQUE CHECK (length(token) = 32), -- SHA-256 of the token; the token itself is not kept
    person    BLOB    NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    name      TEXT    NOT NULL DEFAULT '',                        -- what reads it: "phone"
    kinds     TEXT    NOT NULL DEFAULT '',                        -- kinds of date, parted by commas; '' for all
    made      INTEGER NOT NULL,                                   -- ms since 1970, UTC
    last_read INTEGER NOT NULL DEFAULT 0                          -- ms since 1970, UTC; 0 when it was never read
) STRICT;

CREATE INDEX calendar_of_person ON calendar (person);
