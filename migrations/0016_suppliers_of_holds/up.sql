-- Whoever waits for parts or for outside work waits for somebody: who that is stood in the note, if anywhere.
ALTER TABLE holds ADD COLUMN supplier text;
ALTER TABLE holds ADD COLUMN order_number text;
ALTER TABLE holds ADD COLUMN expected_on date;
COMMENT ON COLUMN holds.supplier IS 'For parts and outside work: who is waited for. Null: another reason.';
COMMENT ON COLUMN holds.order_number IS 'The number of the order at the supplier. Null: not said.';
COMMENT ON COLUMN holds.expected_on IS 'When the supplier expects to be ready, as a calendar date of the shop. Null: not said.';
ALTER TABLE holds NO FORCE ROW LEVEL SECURITY;
UPDATE holds SET supplier = coalesce(nullif(btrim(note), ''), 'not said') WHERE reason IN ('parts', 'outside_work');
ALTER TABLE holds FORCE ROW LEVEL SECURITY;
ALTER TABLE holds ADD CONSTRAINT holds_supplier_said
    CHECK (reason NOT IN ('parts', 'outside_work') OR btrim(coalesce(supplier, '')) <> '');
