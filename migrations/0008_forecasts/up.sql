-- The forecast of ready dates, and of the people what it rests on: skills, hours at the bench, absences.
ALTER TABLE people
    ADD COLUMN skills             jsonb NOT NULL DEFAULT '{}',
    ADD COLUMN weekly_bench_hours integer,
    ADD COLUMN absent             jsonb NOT NULL DEFAULT '[]',
    ADD CONSTRAINT people_skills_of_two_kinds CHECK (jsonb_typeof(skills) = 'object' AND skills - 'families' - 'methods' = '{}'),
    ADD CONSTRAINT people_week_has_hours CHECK (coalesce(weekly_bench_hours, 1) BETWEEN 1 AND 100),
    ADD CONSTRAINT people_absent_is_a_list CHECK (jsonb_typeof(absent) = 'array');
COMMENT ON COLUMN people.skills IS 'At the bench: {families, methods}, a list of family words and one of method ids; a list left out means all.';
COMMENT ON COLUMN people.weekly_bench_hours IS 'Hours a week at the bench. Null: a typical part of the opening hours.';
COMMENT ON COLUMN people.absent IS 'List of {from, to}, calendar dates of the shop, both included, on which they are away.';

-- An event can concern the shop as a whole: the forecast.
ALTER TABLE events ALTER COLUMN work_order_id DROP NOT NULL;
COMMENT ON COLUMN events.work_order_id IS 'To which order. Null: to the shop as a whole.';

CREATE TABLE forecasts (
    shop_id       uuid        NOT NULL,
    number        bigint      NOT NULL,
    as_of         timestamptz NOT NULL,
    last_event    bigint      NOT NULL,
    settings      text        NOT NULL,
    history_as_of timestamptz NOT NULL,
    at_work       jsonb       NOT NULL,
    basis         jsonb       NOT NULL,
    stages        jsonb       NOT NULL,
    CONSTRAINT forecasts_pkey PRIMARY KEY (shop_id),
    CONSTRAINT forecasts_shop_fkey FOREIGN KEY (shop_id) REFERENCES shops (shop_id)
);
COMMENT ON TABLE forecasts IS 'The latest forecast of each shop and everything that it rests on; computed, never typed.';
COMMENT ON COLUMN forecasts.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN forecasts.number IS 'Raised by one whenever something that is shown came out otherwise.';
COMMENT ON COLUMN forecasts.as_of IS 'From when it looks ahead, by the business clock.';
COMMENT ON COLUMN forecasts.last_event IS 'The number of the last event that it knows of.';
COMMENT ON COLUMN forecasts.settings IS 'Versions of the shop and its people that it knows of, in one word.';
COMMENT ON COLUMN forecasts.history_as_of IS 'When the closed orders were looked at, by the business clock; it may be some minutes before the rest.';
COMMENT ON COLUMN forecasts.at_work IS 'What it rests on: open orders with their steps, people, history; a further order is forecast on top of it.';
COMMENT ON COLUMN forecasts.basis IS 'How many orders it rests on, and which figures are typical ones.';
COMMENT ON COLUMN forecasts.stages IS 'List of {stage, reach_days, kind, count}: working days that closed orders still needed.';

CREATE TABLE order_forecasts (
    shop_id          uuid    NOT NULL,
    work_order_id    uuid    NOT NULL,
    is_current       boolean NOT NULL,
    ready_p50        date    NOT NULL,
    ready_p85        date    NOT NULL,
    ready_p95        date    NOT NULL,
    likely_days_late integer NOT NULL,
    said             jsonb   NOT NULL,
    first_on         date    NOT NULL,
    first_p50        date    NOT NULL,
    first_p85        date    NOT NULL,
    first_p95        date    NOT NULL,
    CONSTRAINT order_forecasts_pkey PRIMARY KEY (shop_id, work_order_id),
    CONSTRAINT order_forecasts_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT order_forecasts_dates_rise CHECK (ready_p50 <= ready_p85 AND ready_p85 <= ready_p95),
    CONSTRAINT order_forecasts_first_dates_rise CHECK (first_p50 <= first_p85 AND first_p85 <= first_p95),
    CONSTRAINT order_forecasts_days_late_not_negative CHECK (likely_days_late >= 0)
);
COMMENT ON TABLE order_forecasts IS 'When each order will likely be ready: the latest forecast, and the first, to be compared with what came.';
COMMENT ON COLUMN order_forecasts.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN order_forecasts.work_order_id IS 'Which order.';
COMMENT ON COLUMN order_forecasts.is_current IS 'Whether it is still ahead; false once the order is ready, or nobody can work on it.';
COMMENT ON COLUMN order_forecasts.ready_p50 IS 'Ready by then in 10 of 20 cases, as a calendar date of the shop.';
COMMENT ON COLUMN order_forecasts.ready_p85 IS 'Ready by then in 17 of 20 cases, as a calendar date of the shop.';
COMMENT ON COLUMN order_forecasts.ready_p95 IS 'Ready by then in 19 of 20 cases, as a calendar date of the shop.';
COMMENT ON COLUMN order_forecasts.likely_days_late IS 'Working days of the shop from the promise to ready_p85; 0: not likely late.';
COMMENT ON COLUMN order_forecasts.said IS 'Twenty dates, the chance of keeping the promise, and what it waits for.';
COMMENT ON COLUMN order_forecasts.first_on IS 'When it was first forecast, as a calendar date of the shop.';
COMMENT ON COLUMN order_forecasts.first_p50 IS 'What ready_p50 was in the first forecast.';
COMMENT ON COLUMN order_forecasts.first_p85 IS 'What ready_p85 was in the first forecast.';
COMMENT ON COLUMN order_forecasts.first_p95 IS 'What ready_p95 was in the first forecast.';

DO $$
DECLARE
    t text;
BEGIN
    FOREACH t IN ARRAY ARRAY['forecasts', 'order_forecasts']
    LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
        EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
        EXECUTE format('CREATE POLICY %I ON %I USING (shop_id = current_setting(''bellbrace.shop'')::uuid) WITH CHECK (shop_id = current_setting(''bellbrace.shop'')::uuid)', t || '_of_this_shop', t);
    END LOOP;
END
$$;
