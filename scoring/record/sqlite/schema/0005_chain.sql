-- Every sitting is a chain: a hash over what it was begun with, then over each
-- answer in order, then over its end, each upon the one before. Where a sitting came
-- from stays with it. Rows that can be changed carry a seal, a hash over the row.
-- What was in the book before gets chains and seals at this moment, and says so.

-- The book's own name, by which another book knows where a sitting was taken.
CREATE TABLE book (
  id   INTEGER PRIMARY KEY CHECK (id = 1),
  ulid TEXT    NOT NULL,
  at   INTEGER NOT NULL, -- when it got the name
  seal BLOB
) STRICT;

INSERT INTO book (id, ulid, at) VALUES (1, lower(hex(randomblob(16))), CAST(1000 * unixepoch('subsec') AS INTEGER));

ALTER TABLE sitting ADD COLUMN road        TEXT    NOT NULL DEFAULT 'unknown';
ALTER TABLE sitting ADD COLUMN origin_book TEXT    NOT NULL DEFAULT '';
ALTER TABLE sitting ADD COLUMN imported    INTEGER;
ALTER TABLE sitting ADD COLUMN simulated   INTEGER NOT NULL DEFAULT 0;
UPDATE sitting SET simulated = 1 WHERE learner IN (SELECT id FROM learner WHERE simulated);

ALTER TABLE attempt ADD COLUMN link BLOB;

CREATE TABLE chain (
  sitting INTEGER PRIMARY KEY REFERENCES sitting,
  start   BLOB    NOT NULL,
  answers INTEGER NOT NULL, -- taken so far
  last    INTEGER NOT NULL, -- the highest ordinal; −1 without an answer
  head    BLOB    NOT NULL, -- the link of that answer
  closed  BLOB,             -- the link of the end
  begun   INTEGER,          -- NULL where it grew with the sitting
  why     TEXT,
  lost    INTEGER NOT NULL DEFAULT 0
) STRICT;

ALTER TABLE learner   ADD COLUMN seal BLOB;
ALTER TABLE class     ADD COLUMN seal BLOB;
ALTER TABLE enrolment ADD COLUMN seal BLOB;
