-- People: a number and an address of their own, names that read alike, what was
-- joined and erased.

-- Two people may be called alike, so that the key of a name is not the only one of its
-- kind any more: the table is made anew. Its rows are pointed to all the while.
PRAGMA defer_foreign_keys = ON;
CREATE TABLE learner_before AS SELECT * FROM learner;
DROP TABLE learner;

CREATE TABLE learner (
  id        INTEGER PRIMARY KEY,
  ulid      TEXT    NOT NULL UNIQUE,
  name      TEXT    NOT NULL,
  name_key  TEXT    NOT NULL, -- equal for names that read alike
  role      TEXT    NOT NULL,
  at        INTEGER NOT NULL,
  simulated INTEGER NOT NULL,
  role_at   INTEGER NOT NULL,
  seal      BLOB,
  number    TEXT    NOT NULL, -- of their own, such as a student number, or empty
  email     TEXT    NOT NULL,
  pseudonym INTEGER NOT NULL  -- the name is a label in the place of one
) STRICT;

INSERT INTO learner (id, ulid, name, name_key, number, email, role, role_at, at, simulated, pseudonym)
SELECT id, ulid, name, name_key, '', '', role, role_at, at, simulated, 0 FROM learner_before;
DROP TABLE learner_before;

CREATE INDEX        learner_by_name   ON learner (name_key);
CREATE UNIQUE INDEX learner_by_number ON learner (number COLLATE NOCASE) WHERE number <> '';

-- Identifiers that are nobody's own any more: of people who were joined with another,
-- who is named, and of people who were erased, without anybody.
CREATE TABLE former (
  ulid    TEXT PRIMARY KEY,
  learner INTEGER REFERENCES learner
) STRICT, WITHOUT ROWID;

CREATE INDEX former_by_learner ON former (learner);
CREATE INDEX panel_by_lead     ON panel (lead);

-- The identifier under which a sitting was begun, where its person was joined with
-- another since: the first link of its chain holds it.
ALTER TABLE sitting ADD COLUMN begun_as TEXT NOT NULL DEFAULT '';

-- What was done to people. No name stands here.
CREATE TABLE deed (
  id       INTEGER PRIMARY KEY,
  at       INTEGER NOT NULL,
  what     TEXT    NOT NULL,
  learner  TEXT    NOT NULL, -- identifier
  into_id  TEXT    NOT NULL, -- of whom they were joined with
  sittings INTEGER NOT NULL,
  answers  INTEGER NOT NULL,
  wiped    INTEGER NOT NULL  -- the file holds no trace any more of what was taken out
) STRICT;

-- What labels are made with that cannot be guessed back.
ALTER TABLE book ADD COLUMN secret BLOB;
UPDATE book SET secret = randomblob(32), seal = NULL;
