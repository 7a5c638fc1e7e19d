-- A technician's choice of a way round a heat conflict is kept, and the shop's list of methods is its own to change.
ALTER TABLE operations
    ADD COLUMN chosen_ways       jsonb NOT NULL DEFAULT '[]',
    ADD COLUMN method_changed_at timestamptz;
COMMENT ON COLUMN operations.chosen_ways IS 'List of what is to save a joint from its heat: the id of the joint or brace on the part map, and how.';
COMMENT ON COLUMN operations.method_changed_at IS 'When another method was chosen for it, by the business clock. Null: it is done as it was planned.';

ALTER TABLE methods
    ADD COLUMN is_offered boolean NOT NULL DEFAULT true,
    ADD COLUMN version    integer NOT NULL DEFAULT 1,
    ADD COLUMN changed_by text    NOT NULL DEFAULT '',
    ADD COLUMN changed_at timestamptz;
COMMENT ON COLUMN methods.is_offered IS 'Whether it is offered for new steps. What was done by it keeps it.';
COMMENT ON COLUMN methods.version IS 'Raised by one with every change.';
COMMENT ON COLUMN methods.changed_by IS 'Who changed it last, as the record shows them; empty where nobody has since before this was kept.';
COMMENT ON COLUMN methods.changed_at IS 'When it was changed last, by the business clock.';

-- The policies bind the owner too. What the shops have already stands as it did when they were last changed.
ALTER TABLE methods NO FORCE ROW LEVEL SECURITY;
ALTER TABLE shops NO FORCE ROW LEVEL SECURITY;
UPDATE methods SET changed_at = shops.changed_at FROM shops WHERE shops.shop_id = methods.shop_id;
ALTER TABLE shops FORCE ROW LEVEL SECURITY;
ALTER TABLE methods FORCE ROW LEVEL SECURITY;
ALTER TABLE methods ALTER COLUMN changed_at SET NOT NULL;
