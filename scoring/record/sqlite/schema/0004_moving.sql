-- What books need to be merged by: when a role was last changed, when somebody
-- came onto a roster or went off it, and whose each number was. Whoever leaves a
-- class stays in its list with that mark, so that a book from before does not
-- bring them back.

ALTER TABLE learner ADD COLUMN role_at INTEGER NOT NULL DEFAULT 0;
UPDATE learner SET role_at = at;

-- When they were enrolled is not known: not before the class was made.
ALTER TABLE enrolment ADD COLUMN at  INTEGER NOT NULL DEFAULT 0;
ALTER TABLE enrolment ADD COLUMN off INTEGER NOT NULL DEFAULT 0;
UPDATE enrolment SET at = (SELECT c.at FROM class c WHERE c.id = enrolment.class);

-- Every number that an assignment ever had, also one that is gone with its class;
-- without an identifier where that is not known any more.
CREATE TABLE numbered (
  number INTEGER PRIMARY KEY,
  ulid   TEXT NOT NULL
) STRICT;

CREATE UNIQUE INDEX numbered_by_ulid ON numbered (ulid) WHERE ulid <> '';

WITH RECURSIVE given (number) AS (
  SELECT 1
  UNION ALL
  SELECT number + 1 FROM given WHERE number < (SELECT seq FROM sqlite_sequence WHERE name = 'assignment')
)
INSERT INTO numbered (number, ulid)
SELECT g.number, ifnull((SELECT a.ulid FROM assignment a WHERE a.number = g.number), '')
FROM given g
WHERE g.number <= ifnull((SELECT seq FROM sqlite_sequence WHERE name = 'assignment'), 0);
