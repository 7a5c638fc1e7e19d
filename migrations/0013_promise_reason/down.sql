ALTER TABLE work_orders DROP COLUMN promise_reason;
