COMMENT ON COLUMN quotes.expires_on IS 'The last day on which it can be accepted, as a calendar date of the shop.';
ALTER TABLE quotes DROP COLUMN days_count;
DROP INDEX time_entries_stopped;
DROP INDEX stage_changes_mistakes;
DROP INDEX work_orders_left;
DROP INDEX work_orders_came_in;
