ALTER TABLE methods DROP COLUMN changed_at, DROP COLUMN changed_by, DROP COLUMN version, DROP COLUMN is_offered;
ALTER TABLE operations DROP COLUMN method_changed_at, DROP COLUMN chosen_ways;
