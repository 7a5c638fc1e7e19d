COMMENT ON COLUMN letters.text IS 'The plain text, as sent.';
COMMENT ON COLUMN letters.html IS 'The HTML, as sent.';
DROP TABLE waivers;
ALTER TABLE shops DROP COLUMN quote_reminder_days;
