DROP INDEX time_entries_stopped;
DROP INDEX stage_changes_mistakes;
DROP INDEX work_orders_left;
DROP INDEX work_orders_came_in;
