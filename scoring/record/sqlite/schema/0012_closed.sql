-- A form of the test can be closed and opened again, and a calibration session can be for
-- one class alone. Columns that are NULL are in no seal, so those of before still hold.
ALTER TABLE form  ADD COLUMN closed INTEGER; -- NULL while people may begin it
ALTER TABLE panel ADD COLUMN class  INTEGER REFERENCES class ON DELETE CASCADE; -- NULL for everybody

CREATE INDEX panel_by_class ON panel (class) WHERE class IS NOT NULL;
