-- Calibration sessions: what a lead laid down for everybody. Nothing here is
-- ever changed but a session's end.

CREATE TABLE panel (
  id       INTEGER PRIMARY KEY,
  name     TEXT    NOT NULL,
  name_key TEXT    NOT NULL UNIQUE, -- the name without case and joiners
  lead     INTEGER REFERENCES learner,
  sheet    TEXT    REFERENCES sheet,
  at       INTEGER NOT NULL,
  closed   INTEGER,                 -- NULL while people may begin it
  setup    TEXT    NOT NULL         -- JSON
) STRICT;
