-- Classes, their rosters and what they are to do. From here on a person's role
-- can be changed, and classes can be taken out; answers still only come in.

CREATE TABLE class (
  id       INTEGER PRIMARY KEY,
  ulid     TEXT    NOT NULL UNIQUE,
  name     TEXT    NOT NULL,
  name_key TEXT    NOT NULL UNIQUE, -- as of a learner
  at       INTEGER NOT NULL
) STRICT;

CREATE TABLE enrolment (
  class   INTEGER NOT NULL REFERENCES class ON DELETE CASCADE,
  learner INTEGER NOT NULL REFERENCES learner,
  PRIMARY KEY (class, learner)
) STRICT, WITHOUT ROWID;

CREATE INDEX enrolment_by_learner ON enrolment (learner);

-- A number is never given twice, even when its class is gone: AUTOINCREMENT.
CREATE TABLE assignment (
  number     INTEGER PRIMARY KEY AUTOINCREMENT,
  ulid       TEXT    NOT NULL UNIQUE,
  class      INTEGER NOT NULL REFERENCES class ON DELETE CASCADE,
  sheet      TEXT    REFERENCES sheet,
  at         INTEGER NOT NULL,
  due        INTEGER NOT NULL,
  setup      TEXT    NOT NULL, -- JSON
  pass_rule  TEXT    NOT NULL,
  pass_value REAL    NOT NULL
) STRICT;

CREATE INDEX assignment_by_class ON assignment (class);
