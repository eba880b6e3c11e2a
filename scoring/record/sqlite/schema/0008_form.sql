-- Forms of the proficiency test. A form's parts hold the seeds that decide its items;
-- the sittings of it keep none, and name it by its fingerprint. Two forms may bear one
-- name: one that came in from elsewhere, and the book's own.

CREATE TABLE form (
  id     INTEGER PRIMARY KEY,
  print  TEXT    NOT NULL UNIQUE,
  name   TEXT    NOT NULL,
  class  INTEGER REFERENCES class ON DELETE CASCADE, -- NULL for everybody
  at     INTEGER NOT NULL,
  levels TEXT    NOT NULL, -- JSON, best first
  parts  TEXT    NOT NULL, -- JSON, setups
  seal   BLOB
) STRICT;
