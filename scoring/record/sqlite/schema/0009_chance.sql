-- How many times as likely as in an even sample the target was when practice that adapts
-- drew it. NULL is what nothing is known of.
ALTER TABLE attempt ADD COLUMN chance REAL;
