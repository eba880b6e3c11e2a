-- The record: people, sheets, sittings and what was answered in them.
-- Times are milliseconds since 1970 (UTC), durations nanoseconds, colours
-- 0xRRGGBB. Nothing here is ever changed but a sitting's end.

CREATE TABLE learner (
  id        INTEGER PRIMARY KEY,
  ulid      TEXT    NOT NULL UNIQUE,
  name      TEXT    NOT NULL,
  name_key  TEXT    NOT NULL UNIQUE, -- the name without case and joiners
  role      TEXT    NOT NULL,
  at        INTEGER NOT NULL,
  simulated INTEGER NOT NULL
) STRICT;

CREATE TABLE sheet (
  fingerprint TEXT PRIMARY KEY,
  body        TEXT NOT NULL -- JSON
) STRICT, WITHOUT ROWID;

CREATE TABLE sitting (
  id         INTEGER PRIMARY KEY,
  ulid       TEXT    NOT NULL UNIQUE,
  learner    INTEGER NOT NULL REFERENCES learner,
  kind       TEXT    NOT NULL,
  sheet      TEXT    REFERENCES sheet,
  within     TEXT    NOT NULL,
  started    INTEGER NOT NULL,
  ended      INTEGER,          -- NULL while it can be resumed
  left_early INTEGER NOT NULL,
  setup      TEXT    NOT NULL, -- JSON
  display    TEXT    NOT NULL, -- JSON
  experience BLOB              -- JSON, deflated
) STRICT;

CREATE UNIQUE INDEX sitting_by_start   ON sitting (started, ulid);
CREATE UNIQUE INDEX sitting_by_learner ON sitting (learner, started, ulid);
CREATE INDEX        sitting_by_within  ON sitting (within) WHERE within <> '';

-- Words that attempts repeat: exercises, parts, items, tabs, groups, choices.
CREATE TABLE word (
  id   INTEGER PRIMARY KEY,
  text TEXT NOT NULL UNIQUE
) STRICT;

-- The table lies on disk sitting by sitting, so that reading a person's
-- attempts needs no other index. NULL is the empty word, no colour, zero.
CREATE TABLE attempt (
  sitting     INTEGER NOT NULL REFERENCES sitting,
  ordinal     INTEGER NOT NULL,
  at          INTEGER NOT NULL,
  kind        INTEGER NOT NULL, -- word
  version     INTEGER NOT NULL,
  scene       INTEGER NOT NULL,
  part        INTEGER,          -- word
  item        INTEGER,          -- word
  level       REAL,
  target      INTEGER NOT NULL,
  key         INTEGER,          -- word
  answer      INTEGER,
  tab         INTEGER,          -- word
  neighbour   INTEGER,          -- word
  value_group INTEGER,          -- word
  choice      INTEGER,          -- word
  first       INTEGER NOT NULL,
  total       INTEGER NOT NULL,
  looks       INTEGER NOT NULL,
  timed_out   INTEGER NOT NULL,
  more        TEXT,             -- JSON: what no column holds
  PRIMARY KEY (sitting, ordinal)
) STRICT, WITHOUT ROWID;

-- For people with a database browser.
CREATE VIEW answers AS
SELECT l.name AS learner, s.ulid AS sitting, k.text AS kind, a.ordinal,
       strftime('%Y-%m-%dT%H:%M:%fZ', a.at / 1000.0, 'unixepoch') AS at,
       printf('#%06x', a.target) AS target,
       CASE WHEN a.answer IS NULL THEN NULL ELSE printf('#%06x', a.answer) END AS answer,
       t.text AS tab, n.text AS neighbour, g.text AS value_group, c.text AS choice,
       a.first / 1e6 AS first_ms, a.total / 1e6 AS total_ms
FROM sitting s
JOIN learner l ON l.id = s.learner
JOIN attempt a ON a.sitting = s.id
LEFT JOIN word k ON k.id = a.kind
LEFT JOIN word t ON t.id = a.tab
LEFT JOIN word n ON n.id = a.neighbour
LEFT JOIN word g ON g.id = a.value_group
LEFT JOIN word c ON c.id = a.choice;
