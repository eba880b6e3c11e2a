-- The doors of the class server: accounts, tickets (links and codes), who is signed
-- in, and what was done. Of every secret only a hash is here. Whoever is taken out of
-- the book goes out of here as well; what was done stays, by identifiers.

CREATE TABLE account (
  learner  INTEGER PRIMARY KEY REFERENCES learner ON DELETE CASCADE,
  hash     TEXT    NOT NULL, -- argon2id
  at       INTEGER NOT NULL, -- when the passphrase was chosen
  wrong    INTEGER NOT NULL, -- wrong passphrases in a row
  wrong_at INTEGER NOT NULL  -- the last of them
) STRICT;

CREATE TABLE ticket (
  id       TEXT    PRIMARY KEY,
  hash     TEXT    NOT NULL, -- SHA-256 of the other half
  kind     TEXT    NOT NULL,
  class    INTEGER REFERENCES class ON DELETE CASCADE,
  learner  INTEGER REFERENCES learner ON DELETE CASCADE,
  by_id    TEXT    NOT NULL,
  at       INTEGER NOT NULL,
  until    INTEGER NOT NULL,
  uses     INTEGER NOT NULL,
  used     INTEGER NOT NULL,
  wrong    INTEGER NOT NULL,
  wrong_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX ticket_by_class   ON ticket (class)   WHERE class IS NOT NULL;
CREATE INDEX ticket_by_learner ON ticket (learner) WHERE learner IS NOT NULL;

CREATE TABLE signed_in (
  id      TEXT    PRIMARY KEY,
  hash    TEXT    NOT NULL,
  learner INTEGER NOT NULL REFERENCES learner ON DELETE CASCADE,
  at      INTEGER NOT NULL,
  seen    INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX signed_in_by_learner ON signed_in (learner);

CREATE TABLE served (
  id    INTEGER PRIMARY KEY,
  at    INTEGER NOT NULL,
  by_id TEXT    NOT NULL,
  what  TEXT    NOT NULL,
  class TEXT    NOT NULL, -- identifier, or empty
  about TEXT    NOT NULL  -- of a person, or empty
) STRICT;

CREATE INDEX served_by_class ON served (class, id);
