-- The column stood in the middle, so the table is made anew as it was.
ALTER TABLE calls NO FORCE ROW LEVEL SECURITY;
ALTER TABLE call_words NO FORCE ROW LEVEL SECURITY;
CREATE TEMPORARY TABLE calls_kept AS
    SELECT c.*, w.words FROM calls c LEFT JOIN call_words w ON w.shop_id = c.shop_id AND w.call_id = c.id;
DROP TABLE call_words;
DROP TABLE calls;
CREATE TABLE calls (
    shop_id       uuid         NOT NULL,
    id            uuid         NOT NULL,
    work_order_id uuid         NOT NULL,
    customer_id   uuid         NOT NULL,
    outcome       call_outcome NOT NULL,
    words         text,
    called_by     uuid         NOT NULL,
    called_at     timestamptz  NOT NULL,
    CONSTRAINT calls_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT calls_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT calls_customer_fkey FOREIGN KEY (shop_id, customer_id) REFERENCES customers (shop_id, id),
    CONSTRAINT calls_called_by_fkey FOREIGN KEY (shop_id, called_by) REFERENCES people (shop_id, id)
);
CREATE INDEX calls_order ON calls (shop_id, work_order_id);
CREATE INDEX calls_customer ON calls (shop_id, customer_id);
CREATE INDEX calls_called_by ON calls (shop_id, called_by);
COMMENT ON TABLE calls IS 'One telephone call about an order, never updated or deleted; one in which somebody was spoken with takes what was to be told until then off the ring list.';
COMMENT ON COLUMN calls.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN calls.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN calls.work_order_id IS 'About which order.';
COMMENT ON COLUMN calls.customer_id IS 'Who was rung: whoever brought it or whoever owns it.';
COMMENT ON COLUMN calls.outcome IS 'How it went.';
COMMENT ON COLUMN calls.words IS 'In words. Null: nothing was noted.';
COMMENT ON COLUMN calls.called_by IS 'Who rang.';
COMMENT ON COLUMN calls.called_at IS 'When, by the business clock.';
INSERT INTO calls (shop_id, id, work_order_id, customer_id, outcome, words, called_by, called_at)
    SELECT shop_id, id, work_order_id, customer_id, outcome, words, called_by, called_at FROM calls_kept;
DROP TABLE calls_kept;
ALTER TABLE calls ENABLE ROW LEVEL SECURITY;
ALTER TABLE calls FORCE ROW LEVEL SECURITY;
CREATE POLICY calls_of_this_shop ON calls
    USING (shop_id = current_setting('bellbrace.shop')::uuid) WITH CHECK (shop_id = current_setting('bellbrace.shop')::uuid);
