-- Sittings are listed from an index that holds all that a list shows. In the table itself
-- the last columns lie behind the earlier outcomes, on a page of their own.
CREATE INDEX sitting_listed ON sitting (learner, started, ulid, within, ended, left_early, setup, display,
  road, origin_book, imported, simulated, begun_as);
