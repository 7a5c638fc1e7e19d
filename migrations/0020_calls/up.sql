-- Whom the shop telephoned about an order, and how it went: who has no e-mail address gets no letter.
CREATE DOMAIN call_outcome AS text
    CONSTRAINT call_outcome_known CHECK (VALUE IN ('no_answer', 'left_message', 'spoke'));
COMMENT ON DOMAIN call_outcome IS 'How a telephone call went.';

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
ALTER TABLE calls ENABLE ROW LEVEL SECURITY;
ALTER TABLE calls FORCE ROW LEVEL SECURITY;
CREATE POLICY calls_of_this_shop ON calls
    USING (shop_id = current_setting('bellbrace.shop')::uuid) WITH CHECK (shop_id = current_setting('bellbrace.shop')::uuid);

-- The letters that reached nobody are few among all that were ever sent.
CREATE INDEX letters_unheard ON letters (shop_id, work_order_id) WHERE state IN ('not_wanted', 'bounced', 'given_up');
