DROP TABLE order_forecasts;
DROP TABLE forecasts;
ALTER TABLE events NO FORCE ROW LEVEL SECURITY;
DELETE FROM event_queue q USING events e WHERE e.shop_id = q.shop_id AND e.id = q.event_id AND e.work_order_id IS NULL;
DELETE FROM events WHERE work_order_id IS NULL;
ALTER TABLE events FORCE ROW LEVEL SECURITY;
ALTER TABLE events ALTER COLUMN work_order_id SET NOT NULL;
COMMENT ON COLUMN events.work_order_id IS 'To which order.';
ALTER TABLE people DROP COLUMN skills, DROP COLUMN weekly_bench_hours, DROP COLUMN absent;
