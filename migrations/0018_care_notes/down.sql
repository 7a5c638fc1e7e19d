ALTER TABLE shops DROP COLUMN care_notes;
