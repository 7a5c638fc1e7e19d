-- Tests say how much and where, a pressure test keeps its readings, fits are checked, and a shop sets its own limits.
ALTER DOMAIN verdict DROP CONSTRAINT verdict_known;
ALTER DOMAIN verdict ADD CONSTRAINT verdict_known CHECK (VALUE IN ('passed', 'failed', 'not_decidable'));
CREATE DOMAIN fit_kind AS text
    CONSTRAINT fit_kind_known CHECK (VALUE IN ('tuning_slide', 'hand_slide', 'valve', 'shank', 'tenon_with_cork'));
COMMENT ON DOMAIN fit_kind IS 'What kind of fit is measured.';

ALTER TABLE tests ALTER COLUMN verdict DROP NOT NULL;
COMMENT ON COLUMN tests.verdict IS 'What it said. Null: a pressure test of a family without a leak limit, which shows its rate only.';
ALTER TABLE tests ADD COLUMN spots jsonb NOT NULL DEFAULT '[]';
COMMENT ON COLUMN tests.spots IS 'List of {part, side, position_mm, how_much, gap_mm, bubbles_per_minute, words}: where it leaks and how much.';
ALTER TABLE tests ADD COLUMN overruled_because text;
COMMENT ON COLUMN tests.overruled_because IS 'Why a person''s verdict is not the computed one. Null: it is, or nothing was computed.';
ALTER TABLE tests ADD CONSTRAINT tests_without_verdict_are_of_pressure
    CHECK (method IS NOT DISTINCT FROM 'pressure_decay' OR coalesce(verdict, 'not_decidable') <> 'not_decidable');

CREATE TABLE pressure_tests (
    shop_id  uuid  NOT NULL,
    test_id  uuid  NOT NULL,
    readings jsonb NOT NULL,
    asked    jsonb NOT NULL,
    answer   jsonb NOT NULL,
    CONSTRAINT pressure_tests_pkey PRIMARY KEY (shop_id, test_id),
    CONSTRAINT pressure_tests_test_fkey FOREIGN KEY (shop_id, test_id) REFERENCES tests (shop_id, id),
    CONSTRAINT pressure_tests_readings_are_a_list CHECK (jsonb_typeof(readings) = 'array')
);
COMMENT ON TABLE pressure_tests IS 'Readings of a pressure decay test and what the server computed from them; never updated or deleted (domain rule 9).';
COMMENT ON COLUMN pressure_tests.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN pressure_tests.test_id IS 'Of which test.';
COMMENT ON COLUMN pressure_tests.readings IS 'List of [seconds, gauge pressure in Pa] or [seconds, Pa, °C], in order of time, all of them.';
COMMENT ON COLUMN pressure_tests.asked IS 'What was told beside the readings: volume, pressure of the room, gauge; each with its unit in its name.';
COMMENT ON COLUMN pressure_tests.answer IS 'Leak rate with uncertainty, verdict, inputs taken, and thinned readings for drawing; each with its unit in its name.';

CREATE TABLE fit_checks (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    fit_kind      fit_kind    NOT NULL,
    part          text        NOT NULL,
    measured      jsonb       NOT NULL,
    answer        jsonb       NOT NULL,
    finding_id    uuid,
    note          text,
    checked_by    uuid        NOT NULL,
    checked_at    timestamptz NOT NULL,
    CONSTRAINT fit_checks_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT fit_checks_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT fit_checks_finding_fkey FOREIGN KEY (shop_id, finding_id) REFERENCES findings (shop_id, id),
    CONSTRAINT fit_checks_checked_by_fkey FOREIGN KEY (shop_id, checked_by) REFERENCES people (shop_id, id),
    CONSTRAINT fit_checks_part_not_empty CHECK (btrim(part) <> '')
);
CREATE INDEX fit_checks_order ON fit_checks (shop_id, work_order_id, id);
CREATE INDEX fit_checks_finding ON fit_checks (shop_id, finding_id);
CREATE INDEX fit_checks_checked_by ON fit_checks (shop_id, checked_by);
COMMENT ON TABLE fit_checks IS 'Fits that were measured and what they said; never updated or deleted (domain rule 9).';
COMMENT ON COLUMN fit_checks.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN fit_checks.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN fit_checks.work_order_id IS 'On which order.';
COMMENT ON COLUMN fit_checks.fit_kind IS 'What kind of fit.';
COMMENT ON COLUMN fit_checks.part IS 'Which part or joint, by its name in the family''s part map.';
COMMENT ON COLUMN fit_checks.measured IS 'Diameters at stations and the tools, in millimetres and degrees, as measured.';
COMMENT ON COLUMN fit_checks.answer IS 'Clearance, roundness or taper with uncertainty, verdict, inputs taken; each with its unit in its name.';
COMMENT ON COLUMN fit_checks.finding_id IS 'The finding it belongs to. Null: none.';
COMMENT ON COLUMN fit_checks.note IS 'What was noticed. Null: nothing.';
COMMENT ON COLUMN fit_checks.checked_by IS 'Who measured.';
COMMENT ON COLUMN fit_checks.checked_at IS 'When, by the business clock.';

ALTER TABLE shops ADD COLUMN test_settings jsonb NOT NULL DEFAULT '{}';
COMMENT ON COLUMN shops.test_settings IS 'Leak limits and volumes by family, limits of fit by kind, what the gauges can do; each with its unit in its name.';

DO $$
DECLARE
    t text;
BEGIN
    FOREACH t IN ARRAY ARRAY['pressure_tests', 'fit_checks']
    LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
        EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
        EXECUTE format('CREATE POLICY %I ON %I USING (shop_id = current_setting(''bellbrace.shop'')::uuid) WITH CHECK (shop_id = current_setting(''bellbrace.shop'')::uuid)', t || '_of_this_shop', t);
    END LOOP;
END
$$;
