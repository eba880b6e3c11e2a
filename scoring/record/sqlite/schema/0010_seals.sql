-- Calibration sessions, assignments and identifiers that are nobody's own any more carry
-- a seal as well: a changed byte in them changes what people are asked, or whom an old
-- file brings back.
ALTER TABLE panel      ADD COLUMN seal BLOB;
ALTER TABLE assignment ADD COLUMN seal BLOB;
ALTER TABLE former     ADD COLUMN seal BLOB;
