-- A book in its eleventh form, which is the first one that a database can hold; the tables,
-- the columns and what stands in them are those of a book in a file. Times are
-- milliseconds since 1970 (UTC), durations nanoseconds, colours 0xRRGGBB, truths 0 and 1.
-- Texts are ordered byte by byte wherever something is listed by them. No sequence makes
-- a key: the program does.

-- The mark of a book: its form, and another number each time that words were taken out.
-- Whoever writes locks this table first, see engine.go.
CREATE TABLE shadedrill (
  id        INTEGER PRIMARY KEY CHECK (id = 1),
  form      INTEGER NOT NULL,
  forgotten BIGINT  NOT NULL
);

-- Transactions whose commit may not have been answered. None is needed after a day.
CREATE TABLE receipt (
  id TEXT COLLATE "C" PRIMARY KEY,
  at BIGINT NOT NULL
);

CREATE INDEX receipt_by_time ON receipt (at);

CREATE TABLE book (
  id     BIGINT PRIMARY KEY CHECK (id = 1),
  ulid   TEXT   NOT NULL,
  at     BIGINT NOT NULL, -- when it got the name
  seal   BYTEA,
  secret BYTEA
);

CREATE TABLE learner (
  id        BIGINT PRIMARY KEY,
  ulid      TEXT COLLATE "C" NOT NULL UNIQUE,
  name      TEXT   NOT NULL,
  name_key  TEXT COLLATE "C" NOT NULL, -- equal for names that read alike
  role      TEXT   NOT NULL,
  at        BIGINT NOT NULL,
  simulated BIGINT NOT NULL,
  role_at   BIGINT NOT NULL,
  seal      BYTEA,
  number    TEXT COLLATE "C" NOT NULL, -- of their own, such as a student number, or empty
  email     TEXT   NOT NULL,
  pseudonym BIGINT NOT NULL
);

CREATE INDEX        learner_by_name   ON learner (name_key);
CREATE UNIQUE INDEX learner_by_number ON learner (lower(number)) WHERE number <> '';

CREATE TABLE sheet (
  fingerprint TEXT COLLATE "C" PRIMARY KEY,
  body        TEXT NOT NULL -- JSON
);

CREATE TABLE sitting (
  id          BIGINT PRIMARY KEY,
  ulid        TEXT COLLATE "C" NOT NULL UNIQUE,
  learner     BIGINT NOT NULL REFERENCES learner,
  kind        TEXT   NOT NULL,
  sheet       TEXT COLLATE "C" REFERENCES sheet,
  within      TEXT   NOT NULL,
  started     BIGINT NOT NULL,
  ended       BIGINT,          -- NULL while it can be resumed
  left_early  BIGINT NOT NULL,
  setup       TEXT   NOT NULL, -- JSON
  display     TEXT   NOT NULL, -- JSON
  experience  BYTEA,           -- JSON, deflated
  road        TEXT   NOT NULL,
  origin_book TEXT   NOT NULL,
  imported    BIGINT,
  simulated   BIGINT NOT NULL,
  begun_as    TEXT   NOT NULL
);

CREATE UNIQUE INDEX sitting_by_start   ON sitting (started, ulid);
CREATE UNIQUE INDEX sitting_by_learner ON sitting (learner, started, ulid);
CREATE INDEX        sitting_by_within  ON sitting (within) WHERE within <> '';

-- Words that attempts repeat: exercises, parts, items, tabs, groups, choices.
CREATE TABLE word (
  id   BIGINT PRIMARY KEY,
  text TEXT COLLATE "C" NOT NULL UNIQUE
);

CREATE TABLE attempt (
  sitting     BIGINT  NOT NULL REFERENCES sitting,
  ordinal     INTEGER NOT NULL,
  at          BIGINT  NOT NULL,
  kind        INTEGER NOT NULL, -- word
  version     BIGINT  NOT NULL,
  scene       BIGINT  NOT NULL,
  part        INTEGER,          -- word
  item        INTEGER,          -- word
  level       DOUBLE PRECISION,
  target      INTEGER NOT NULL,
  key         INTEGER,          -- word
  answer      INTEGER,
  tab         INTEGER,          -- word
  neighbour   INTEGER,          -- word
  value_group INTEGER,          -- word
  choice      INTEGER,          -- word
  first       BIGINT  NOT NULL,
  total       BIGINT  NOT NULL,
  looks       BIGINT  NOT NULL,
  timed_out   INTEGER NOT NULL,
  more        TEXT,             -- JSON: what no column holds
  link        BYTEA,
  chance      DOUBLE PRECISION,
  PRIMARY KEY (sitting, ordinal)
);

-- Its row is written anew with each answer: there is room for that on its page.
CREATE TABLE chain (
  sitting BIGINT PRIMARY KEY REFERENCES sitting,
  start   BYTEA  NOT NULL,
  answers BIGINT NOT NULL, -- taken so far
  last    BIGINT NOT NULL, -- the highest ordinal; −1 without an answer
  head    BYTEA  NOT NULL, -- the link of that answer
  closed  BYTEA,           -- the link of the end
  begun   BIGINT,          -- NULL where it grew with the sitting
  why     TEXT,
  lost    BIGINT NOT NULL
) WITH (fillfactor = 60);

CREATE TABLE panel (
  id       BIGINT PRIMARY KEY,
  name     TEXT   NOT NULL,
  name_key TEXT COLLATE "C" NOT NULL UNIQUE, -- the name without case and joiners
  lead     BIGINT REFERENCES learner,
  sheet    TEXT COLLATE "C" REFERENCES sheet,
  at       BIGINT NOT NULL,
  closed   BIGINT,         -- NULL while people may begin it
  setup    TEXT   NOT NULL, -- JSON
  seal     BYTEA
);

CREATE INDEX panel_by_lead ON panel (lead);

CREATE TABLE class (
  id       BIGINT PRIMARY KEY,
  ulid     TEXT COLLATE "C" NOT NULL UNIQUE,
  name     TEXT   NOT NULL,
  name_key TEXT COLLATE "C" NOT NULL UNIQUE,
  at       BIGINT NOT NULL,
  seal     BYTEA
);

CREATE TABLE enrolment (
  class   BIGINT NOT NULL REFERENCES class ON DELETE CASCADE,
  learner BIGINT NOT NULL REFERENCES learner,
  at      BIGINT NOT NULL,
  off     BIGINT NOT NULL,
  seal    BYTEA,
  PRIMARY KEY (class, learner)
);

CREATE INDEX enrolment_by_learner ON enrolment (learner);

CREATE TABLE assignment (
  number     BIGINT PRIMARY KEY,
  ulid       TEXT COLLATE "C" NOT NULL UNIQUE,
  class      BIGINT NOT NULL REFERENCES class ON DELETE CASCADE,
  sheet      TEXT COLLATE "C" REFERENCES sheet,
  at         BIGINT NOT NULL,
  due        BIGINT NOT NULL,
  setup      TEXT   NOT NULL, -- JSON
  pass_rule  TEXT   NOT NULL,
  pass_value DOUBLE PRECISION NOT NULL,
  seal       BYTEA
);

CREATE INDEX assignment_by_class ON assignment (class);

-- What was decided about an assignment after it was given. Rows are only added; of those
-- about one thing the latest stands.
CREATE TABLE ruling (
  id         BIGINT PRIMARY KEY,
  assignment BIGINT NOT NULL REFERENCES assignment ON DELETE CASCADE,
  what       TEXT   NOT NULL,
  learner    BIGINT REFERENCES learner, -- whom it is about, NULL for the class
  item       BIGINT NOT NULL,           -- from 1, 0 for none
  until      BIGINT,
  back       BIGINT NOT NULL,           -- takes back what was decided before
  why        TEXT   NOT NULL,
  decider    BIGINT REFERENCES learner, -- NULL where that is not known
  at         BIGINT NOT NULL,
  seal       BYTEA
);

CREATE INDEX ruling_by_assignment ON ruling (assignment);
CREATE INDEX ruling_by_learner    ON ruling (learner) WHERE learner IS NOT NULL;

-- Every number that an assignment ever had, also one that is gone with its class.
CREATE TABLE numbered (
  number BIGINT PRIMARY KEY,
  ulid   TEXT COLLATE "C" NOT NULL
);

CREATE UNIQUE INDEX numbered_by_ulid ON numbered (ulid) WHERE ulid <> '';

-- Identifiers that are nobody's own any more: of people who were joined with another,
-- who is named, and of people who were erased, without anybody.
CREATE TABLE former (
  ulid    TEXT COLLATE "C" PRIMARY KEY,
  learner BIGINT REFERENCES learner,
  seal    BYTEA
);

CREATE INDEX former_by_learner ON former (learner);

-- What was done to people. No name stands here.
CREATE TABLE deed (
  id       BIGINT PRIMARY KEY,
  at       BIGINT NOT NULL,
  what     TEXT   NOT NULL,
  learner  TEXT   NOT NULL,
  into_id  TEXT   NOT NULL,
  sittings BIGINT NOT NULL,
  answers  BIGINT NOT NULL,
  wiped    BIGINT NOT NULL
);

-- The doors of the class server. Of every secret only a hash is here.
CREATE TABLE account (
  learner  BIGINT PRIMARY KEY REFERENCES learner ON DELETE CASCADE,
  hash     TEXT   NOT NULL, -- argon2id
  at       BIGINT NOT NULL,
  wrong    BIGINT NOT NULL,
  wrong_at BIGINT NOT NULL
);

CREATE TABLE ticket (
  id       TEXT COLLATE "C" PRIMARY KEY,
  hash     TEXT   NOT NULL, -- SHA-256 of the other half
  kind     TEXT   NOT NULL,
  class    BIGINT REFERENCES class ON DELETE CASCADE,
  learner  BIGINT REFERENCES learner ON DELETE CASCADE,
  by_id    TEXT   NOT NULL,
  at       BIGINT NOT NULL,
  until    BIGINT NOT NULL,
  uses     BIGINT NOT NULL,
  used     BIGINT NOT NULL,
  wrong    BIGINT NOT NULL,
  wrong_at BIGINT NOT NULL
);

CREATE INDEX ticket_by_class   ON ticket (class)   WHERE class IS NOT NULL;
CREATE INDEX ticket_by_learner ON ticket (learner) WHERE learner IS NOT NULL;

CREATE TABLE signed_in (
  id      TEXT COLLATE "C" PRIMARY KEY,
  hash    TEXT   NOT NULL,
  learner BIGINT NOT NULL REFERENCES learner ON DELETE CASCADE,
  at      BIGINT NOT NULL,
  seen    BIGINT NOT NULL
);

CREATE INDEX signed_in_by_learner ON signed_in (learner);

CREATE TABLE served (
  id    BIGINT PRIMARY KEY,
  at    BIGINT NOT NULL,
  by_id TEXT   NOT NULL,
  what  TEXT   NOT NULL,
  class TEXT COLLATE "C" NOT NULL, -- identifier, or empty
  about TEXT   NOT NULL            -- of a person, or empty
);

CREATE INDEX served_by_class ON served (class, id);

-- Forms of the proficiency test.
CREATE TABLE form (
  id     BIGINT PRIMARY KEY,
  print  TEXT COLLATE "C" NOT NULL UNIQUE,
  name   TEXT   NOT NULL,
  class  BIGINT REFERENCES class ON DELETE CASCADE, -- NULL for everybody
  at     BIGINT NOT NULL,
  levels TEXT   NOT NULL, -- JSON, best first
  parts  TEXT   NOT NULL, -- JSON, setups
  seal   BYTEA
);

-- For people with a database browser.
CREATE VIEW answers AS
SELECT l.name AS learner, s.ulid AS sitting, k.text AS kind, a.ordinal,
       to_timestamp(a.at / 1000.0) AS at,
       '#' || lpad(to_hex(a.target), 6, '0') AS target,
       '#' || lpad(to_hex(a.answer), 6, '0') AS answer,
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
