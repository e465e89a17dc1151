-- How often records of the shop were written: while it is the same, what was put together from them holds.
ALTER TABLE shop ADD COLUMN writes BIGINT NOT NULL DEFAULT 0;
