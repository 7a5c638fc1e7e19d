-- In the evening somebody looks at the bench before the door is locked, and says so.
CREATE TABLE bench_looks (
    shop_id   uuid        NOT NULL,
    id        uuid        NOT NULL,
    looked_on date        NOT NULL,
    looked_at timestamptz NOT NULL,
    by_person uuid        NOT NULL,
    CONSTRAINT bench_looks_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT bench_looks_person_fkey FOREIGN KEY (shop_id, by_person) REFERENCES people (shop_id, id)
);
CREATE INDEX bench_looks_day ON bench_looks (shop_id, looked_on);
CREATE INDEX bench_looks_person ON bench_looks (shop_id, by_person);
COMMENT ON TABLE bench_looks IS 'Who looked at the bench before locking up, and when; never updated or deleted.';
COMMENT ON COLUMN bench_looks.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN bench_looks.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN bench_looks.looked_on IS 'On which day, as a calendar date of the shop.';
COMMENT ON COLUMN bench_looks.looked_at IS 'When, by the business clock.';
COMMENT ON COLUMN bench_looks.by_person IS 'Who looked.';
ALTER TABLE bench_looks ENABLE ROW LEVEL SECURITY;
ALTER TABLE bench_looks FORCE ROW LEVEL SECURITY;
CREATE POLICY bench_looks_of_this_shop ON bench_looks
    USING (shop_id = current_setting('bellbrace.shop')::uuid) WITH CHECK (shop_id = current_setting('bellbrace.shop')::uuid);

-- The evening counts the e-mails of its day, and lists the few that did not arrive.
CREATE INDEX letters_sent ON letters (shop_id, sent_at) WHERE sent_at IS NOT NULL;
CREATE INDEX letters_in_trouble ON letters (shop_id, queued_at) WHERE state IN ('bounced', 'given_up', 'unknown');
