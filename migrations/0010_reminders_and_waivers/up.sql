-- Reminders of an answer, what is waived where nobody collects, and no secret of a link in what is kept.
ALTER TABLE shops ADD COLUMN quote_reminder_days jsonb NOT NULL DEFAULT '[7, 14]';
COMMENT ON COLUMN shops.quote_reminder_days IS 'List of days after a quote went out on which its owner is reminded of it.';

CREATE TABLE waivers (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    amount        numeric     NOT NULL,
    reason        text        NOT NULL,
    waived_by     uuid        NOT NULL,
    waived_at     timestamptz NOT NULL,
    CONSTRAINT waivers_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT waivers_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT waivers_waived_by_fkey FOREIGN KEY (shop_id, waived_by) REFERENCES people (shop_id, id),
    CONSTRAINT waivers_of_something CHECK (amount > 0),
    CONSTRAINT waivers_say_why CHECK (btrim(reason) <> '')
);
CREATE INDEX waivers_order ON waivers (shop_id, work_order_id);
CREATE INDEX waivers_waived_by ON waivers (shop_id, waived_by);
COMMENT ON TABLE waivers IS 'What the proprietor let go of where an order ends without a handover; never updated or deleted.';
COMMENT ON COLUMN waivers.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN waivers.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN waivers.work_order_id IS 'Of which order.';
COMMENT ON COLUMN waivers.amount IS 'How much, in the shop''s currency, above 0.';
COMMENT ON COLUMN waivers.reason IS 'Why.';
COMMENT ON COLUMN waivers.waived_by IS 'Who let it go.';
COMMENT ON COLUMN waivers.waived_at IS 'When, by the business clock.';
ALTER TABLE waivers ENABLE ROW LEVEL SECURITY;
ALTER TABLE waivers FORCE ROW LEVEL SECURITY;
CREATE POLICY waivers_of_this_shop ON waivers
    USING (shop_id = current_setting('bellbrace.shop')::uuid) WITH CHECK (shop_id = current_setting('bellbrace.shop')::uuid);

-- Letters that have gone keep their words, not the secrets of their links. The owner is bound by
-- forced row-level security as well, so it is lifted for this one statement.
ALTER TABLE letters NO FORCE ROW LEVEL SECURITY;
UPDATE letters SET
    text = regexp_replace(text, '/(status|answer)/a[A-Za-z0-9_-]{32}', '/\1/withheld', 'g'),
    html = regexp_replace(html, '/(status|answer)/a[A-Za-z0-9_-]{32}', '/\1/withheld', 'g')
 WHERE NOT EXISTS (SELECT FROM outbox WHERE outbox.letter_id = letters.id);
ALTER TABLE letters FORCE ROW LEVEL SECURITY;
ALTER TABLE idempotency_keys NO FORCE ROW LEVEL SECURITY;
DELETE FROM idempotency_keys WHERE answer ->> 'url' IS NOT NULL;
ALTER TABLE idempotency_keys FORCE ROW LEVEL SECURITY;
COMMENT ON COLUMN letters.text IS 'The plain text, as sent; once it has gone, without the secrets of its links.';
COMMENT ON COLUMN letters.html IS 'The HTML, as sent; once it has gone, without the secrets of its links.';
