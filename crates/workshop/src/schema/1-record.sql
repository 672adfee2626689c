-- Layout 1: the record of the work. What was entered is only ever added to.

CREATE TABLE job (
    id      INTEGER PRIMARY KEY,
    name    TEXT NOT NULL UNIQUE,
    created INTEGER NOT NULL,
    -- Kept with each change, so that the list of jobs needs no counting.
    title   TEXT NOT NULL,
    newest  INTEGER NOT NULL,
    entries INTEGER NOT NULL,
    touched INTEGER NOT NULL
) STRICT;
CREATE INDEX job_touched ON job (touched DESC, id DESC);

CREATE TABLE revision (
    job    INTEGER NOT NULL REFERENCES job (id),
    number INTEGER NOT NULL,
    made   INTEGER NOT NULL,
    why    TEXT NOT NULL,
    title  TEXT NOT NULL,
    text   TEXT NOT NULL,
    PRIMARY KEY (job, number)
) STRICT;

CREATE TABLE run (
    id       INTEGER PRIMARY KEY,
    job      INTEGER NOT NULL REFERENCES job (id),
    number   INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    begun    INTEGER NOT NULL,
    UNIQUE (job, number),
    -- For the entries, whose run and job must agree.
    UNIQUE (job, id),
    FOREIGN KEY (job, revision) REFERENCES revision (job, number)
) STRICT;

CREATE TABLE entry (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    job        INTEGER NOT NULL,
    run        INTEGER NOT NULL,
    revision   INTEGER NOT NULL,
    key        TEXT NOT NULL,
    taken      INTEGER NOT NULL,
    received   INTEGER NOT NULL,
    stage      TEXT NOT NULL,
    kind       TEXT NOT NULL,
    red        TEXT NOT NULL,
    black      TEXT NOT NULL,
    function   TEXT NOT NULL,
    -- As the shortest decimal that reads back to the same number; a REAL would lose the sign of zero.
    value      TEXT,
    answer     TEXT,
    note       TEXT NOT NULL,
    instrument TEXT NOT NULL,
    device     TEXT NOT NULL,
    UNIQUE (job, key),
    FOREIGN KEY (job, run) REFERENCES run (job, id),
    FOREIGN KEY (job, revision) REFERENCES revision (job, number)
) STRICT;
CREATE INDEX entry_run ON entry (run, id);

-- The content of pictures, once each.
CREATE TABLE image (
    hash  BLOB PRIMARY KEY NOT NULL,
    media TEXT NOT NULL,
    bytes BLOB NOT NULL
) STRICT;

CREATE TABLE picture (
    id    INTEGER PRIMARY KEY,
    job   INTEGER NOT NULL REFERENCES job (id),
    hash  BLOB NOT NULL REFERENCES image (hash),
    name  TEXT NOT NULL,
    note  TEXT NOT NULL,
    view  TEXT NOT NULL,
    added INTEGER NOT NULL,
    UNIQUE (job, hash, name, note, view)
) STRICT;

CREATE TRIGGER revision_kept BEFORE UPDATE ON revision BEGIN SELECT RAISE (ABORT, 'revisions are kept'); END;
CREATE TRIGGER run_kept BEFORE UPDATE ON run BEGIN SELECT RAISE (ABORT, 'runs are kept'); END;
CREATE TRIGGER entry_kept BEFORE UPDATE ON entry BEGIN SELECT RAISE (ABORT, 'entries are kept'); END;
CREATE TRIGGER image_kept BEFORE UPDATE ON image BEGIN SELECT RAISE (ABORT, 'pictures are kept'); END;
CREATE TRIGGER picture_kept BEFORE UPDATE ON picture BEGIN SELECT RAISE (ABORT, 'pictures are kept'); END;

CREATE TRIGGER revision_stays BEFORE DELETE ON revision BEGIN SELECT RAISE (ABORT, 'revisions are kept'); END;
CREATE TRIGGER run_stays BEFORE DELETE ON run BEGIN SELECT RAISE (ABORT, 'runs are kept'); END;
CREATE TRIGGER entry_stays BEFORE DELETE ON entry BEGIN SELECT RAISE (ABORT, 'entries are kept'); END;
CREATE TRIGGER image_stays BEFORE DELETE ON image BEGIN SELECT RAISE (ABORT, 'pictures are kept'); END;
CREATE TRIGGER picture_stays BEFORE DELETE ON picture BEGIN SELECT RAISE (ABORT, 'pictures are kept'); END;

-- INSERT OR REPLACE deletes without asking the triggers above, so what is there refuses a second coming.
CREATE TRIGGER revision_once BEFORE INSERT ON revision
    WHEN EXISTS (SELECT 1 FROM revision WHERE (job = NEW.job AND number = NEW.number) OR rowid = NEW.rowid)
    BEGIN SELECT RAISE (ABORT, 'revisions are kept'); END;
CREATE TRIGGER run_once BEFORE INSERT ON run
    WHEN EXISTS (SELECT 1 FROM run WHERE (job = NEW.job AND number = NEW.number) OR id = NEW.id)
    BEGIN SELECT RAISE (ABORT, 'runs are kept'); END;
CREATE TRIGGER entry_once BEFORE INSERT ON entry
    WHEN EXISTS (SELECT 1 FROM entry WHERE (job = NEW.job AND key = NEW.key) OR id = NEW.id)
    BEGIN SELECT RAISE (ABORT, 'entries are kept'); END;
CREATE TRIGGER image_once BEFORE INSERT ON image
    WHEN EXISTS (SELECT 1 FROM image WHERE hash = NEW.hash OR rowid = NEW.rowid)
    BEGIN SELECT RAISE (ABORT, 'pictures are kept'); END;
CREATE TRIGGER picture_once BEFORE INSERT ON picture
    WHEN EXISTS (SELECT 1 FROM picture WHERE id = NEW.id OR (job = NEW.job AND hash = NEW.hash
        AND name = NEW.name AND note = NEW.note AND view = NEW.view))
    BEGIN SELECT RAISE (ABORT, 'pictures are kept'); END;
