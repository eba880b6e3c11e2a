-- What was decided about an assignment after it was given: another due date, longer for
-- one person, somebody excused, an item left out of the grade, the assignment taken
-- back. Rows are only added; of those about one thing the latest stands.

CREATE TABLE ruling (
  id         INTEGER PRIMARY KEY,
  assignment INTEGER NOT NULL REFERENCES assignment ON DELETE CASCADE,
  what       TEXT    NOT NULL,
  learner    INTEGER REFERENCES learner, -- whom it is about, NULL for the class
  item       INTEGER NOT NULL,           -- from 1, 0 for none
  until      INTEGER,
  back       INTEGER NOT NULL,           -- takes back what was decided before
  why        TEXT    NOT NULL,
  decider    INTEGER REFERENCES learner, -- NULL where that is not known
  at         INTEGER NOT NULL,
  seal       BLOB
) STRICT;

CREATE INDEX ruling_by_assignment ON ruling (assignment);
CREATE INDEX ruling_by_learner ON ruling (learner) WHERE learner IS NOT NULL;
