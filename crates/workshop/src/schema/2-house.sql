-- Layout 2: what the workshop needs to run, and may change: paired devices, settings, digests of revisions.

CREATE TABLE device (
    id      INTEGER PRIMARY KEY,
    name    TEXT NOT NULL,
    -- SHA-256 of the token; the token itself is nowhere.
    token   BLOB NOT NULL UNIQUE,
    paired  INTEGER NOT NULL,
    seen    INTEGER NOT NULL,
    revoked INTEGER
) STRICT;

CREATE TABLE setting (
    name  TEXT PRIMARY KEY NOT NULL,
    value BLOB NOT NULL
) STRICT;

CREATE TABLE digest (
    job      INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    version  TEXT NOT NULL,
    text     TEXT NOT NULL,
    PRIMARY KEY (job, revision),
    FOREIGN KEY (job, revision) REFERENCES revision (job, number)
) STRICT;
