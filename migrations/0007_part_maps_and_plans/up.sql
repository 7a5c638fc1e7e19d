-- An instrument has its own part map, and the bench plans its order of work on it: what a method
-- needs for that, what a step works on, where the stations are, and the order that a technician fixed.
CREATE TABLE part_maps (
    shop_id       uuid        NOT NULL,
    instrument_id uuid        NOT NULL,
    map           jsonb       NOT NULL,
    version       integer     NOT NULL DEFAULT 1,
    changed_by    text        NOT NULL DEFAULT '',
    changed_at    timestamptz NOT NULL,
    CONSTRAINT part_maps_pkey PRIMARY KEY (shop_id, instrument_id),
    CONSTRAINT part_maps_instrument_fkey FOREIGN KEY (shop_id, instrument_id) REFERENCES instruments (shop_id, id)
);
COMMENT ON TABLE part_maps IS 'Instruments'' own part maps, from the first change on; before it the family''s template counts.';
COMMENT ON COLUMN part_maps.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN part_maps.instrument_id IS 'The instrument; one map each.';
COMMENT ON COLUMN part_maps.map IS 'Parts and joints with their layout; lengths in mm, each measured or typical. What was struck stays in it.';
COMMENT ON COLUMN part_maps.version IS 'Raised by one with every change; 0 is the template.';
COMMENT ON COLUMN part_maps.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN part_maps.changed_at IS 'When it was changed last, by the business clock.';

CREATE TABLE bench_settings (
    shop_id    uuid        NOT NULL,
    settings   jsonb       NOT NULL,
    version    integer     NOT NULL DEFAULT 1,
    changed_by text        NOT NULL DEFAULT '',
    changed_at timestamptz NOT NULL,
    CONSTRAINT bench_settings_pkey PRIMARY KEY (shop_id),
    CONSTRAINT bench_settings_shop_fkey FOREIGN KEY (shop_id) REFERENCES shops (shop_id)
);
COMMENT ON TABLE bench_settings IS 'Stations, set-ups and the like, from the first change on; before it typical values count and are said to be typical.';
COMMENT ON COLUMN bench_settings.shop_id IS 'The shop it belongs to; one row each.';
COMMENT ON COLUMN bench_settings.settings IS 'Stations, minutes from one to another, minutes of taking apart, putting together and protecting a joint, margin in K.';
COMMENT ON COLUMN bench_settings.version IS 'Raised by one with every change; 0 is the typical values.';
COMMENT ON COLUMN bench_settings.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN bench_settings.changed_at IS 'When it was changed last, by the business clock.';

CREATE TABLE plans (
    shop_id       uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    steps         jsonb       NOT NULL,
    reason        text,
    version       integer     NOT NULL DEFAULT 1,
    changed_by    text        NOT NULL DEFAULT '',
    changed_at    timestamptz NOT NULL,
    CONSTRAINT plans_pkey PRIMARY KEY (shop_id, work_order_id),
    CONSTRAINT plans_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id)
);
COMMENT ON TABLE plans IS 'Orders of work that a technician fixed; without one the computed order counts.';
COMMENT ON COLUMN plans.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN plans.work_order_id IS 'The work order; one plan each.';
COMMENT ON COLUMN plans.steps IS 'The steps in the technician''s order; an empty list: the computed order counts again.';
COMMENT ON COLUMN plans.reason IS 'Why, where the order breaks a rule (domain rule 15). Null: it breaks none.';
COMMENT ON COLUMN plans.version IS 'Raised by one with every change; 0 is the computed order.';
COMMENT ON COLUMN plans.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN plans.changed_at IS 'When it was changed last, by the business clock.';

ALTER TABLE methods
    ADD COLUMN station       text  NOT NULL DEFAULT 'bench',
    ADD COLUMN filler        text,
    ADD COLUMN heat_c        integer,
    ADD COLUMN joint_kind    text,
    ADD COLUMN needs_apart   jsonb NOT NULL DEFAULT '[]',
    ADD COLUMN answers       jsonb NOT NULL DEFAULT '[]',
    ADD COLUMN plating_metal text,
    ADD CONSTRAINT methods_joint_kind_known CHECK (joint_kind IN ('butt', 'patch', 'lap')),
    ADD CONSTRAINT methods_heat_sensible CHECK (heat_c BETWEEN 50 AND 1100);
COMMENT ON COLUMN methods.station IS 'Where it is done: one of the shop''s stations.';
COMMENT ON COLUMN methods.filler IS 'Slug of the solder or brazing filler. Null: a typical one for its heat.';
COMMENT ON COLUMN methods.heat_c IS 'How hot the metal is made, in degrees Celsius. Null: 30 above the filler''s liquidus.';
COMMENT ON COLUMN methods.joint_kind IS 'What the filler joins: butt, patch or lap. Null: nothing is filled.';
COMMENT ON COLUMN methods.needs_apart IS 'List of joint kinds: every joint of such a kind on the part must be apart for it.';
COMMENT ON COLUMN methods.answers IS 'List of finding kinds that it answers, so that it can stand in for another method.';
COMMENT ON COLUMN methods.plating_metal IS 'Slug of the metal that it plates with. Null: by the part''s finish, or it plates nothing.';

ALTER TABLE operations
    ADD COLUMN joint       text,
    ADD COLUMN needs_apart jsonb NOT NULL DEFAULT '[]';
COMMENT ON COLUMN operations.joint IS 'For taking apart and putting together: the id of the joint, or of the brace, on the part map. Null: not said.';
COMMENT ON COLUMN operations.needs_apart IS 'List of ids of the joints on the part map that must be apart for it.';

ALTER TABLE findings
    ADD COLUMN overruled disposition;
COMMENT ON COLUMN findings.overruled IS 'What the rules suggested when the disposition was chosen against them (domain rule 15). Null: it was not.';

-- The policies bind the owner too; what the shops have already is given its typical values here.
ALTER TABLE methods NO FORCE ROW LEVEL SECURITY;
UPDATE methods SET station = 'torch' WHERE heat <> 'none';
UPDATE methods SET filler = 'bag_7' WHERE heat = 'braze';
UPDATE methods SET filler = 'sn60pb40' WHERE heat = 'solder';
UPDATE methods SET station = 'wheel' WHERE name IN ('Buff bright', 'Strip and relacquer');
UPDATE methods SET station = 'plating' WHERE name = 'Replate a spot';
UPDATE methods SET station = 'sink' WHERE name = 'Chemical clean and oil';
UPDATE methods SET joint_kind = 'butt', answers = '["crack"]' WHERE name = 'Braze a crack';
UPDATE methods SET joint_kind = 'patch', answers = '["crack"]' WHERE name = 'Patch a crack';
UPDATE methods SET joint_kind = 'lap', answers = '["open_joint"]' WHERE name = 'Soft-solder a joint';
UPDATE methods SET answers = '["dent"]' WHERE name = 'Take a dent out';
UPDATE methods SET answers = '["slide"]' WHERE name = 'Free a stuck slide';
UPDATE methods SET answers = '["stuck_mouthpiece"]' WHERE name = 'Free a stuck mouthpiece';
UPDATE methods SET answers = '["valve", "valve_alignment"]' WHERE name = 'Align and clean valves';
UPDATE methods SET answers = '["leaking_pad"]' WHERE name = 'Replace a pad';
UPDATE methods SET answers = '["worn_cork", "loose_tenon"]' WHERE name = 'Replace a cork';
UPDATE methods SET answers = '["broken_spring"]' WHERE name = 'Replace a spring';
UPDATE methods SET answers = '["keys_not_together", "key_height", "lost_motion"]' WHERE name = 'Regulate the keys';
UPDATE methods SET answers = '["plating_loss"]' WHERE name = 'Replate a spot';
UPDATE methods SET answers = '["lacquer_loss"]' WHERE name = 'Strip and relacquer';
ALTER TABLE methods FORCE ROW LEVEL SECURITY;

DO $$
DECLARE
    t text;
BEGIN
    FOREACH t IN ARRAY ARRAY['part_maps', 'bench_settings', 'plans']
    LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
        EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
        EXECUTE format('CREATE POLICY %I ON %I USING (shop_id = current_setting(''bellbrace.shop'')::uuid) WITH CHECK (shop_id = current_setting(''bellbrace.shop'')::uuid)', t || '_of_this_shop', t);
    END LOOP;
END
$$;
