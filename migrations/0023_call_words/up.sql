-- What was noted of a telephone call are words typed about a person: they stand apart from the call, which is
-- only ever added, so that they can be erased when that person asks (domain rule 9). The call itself stays.
CREATE TABLE call_words (
    shop_id       uuid NOT NULL,
    call_id       uuid NOT NULL,
    words         text,
    struck_reason text,
    struck_by     uuid,
    struck_at     timestamptz,
    CONSTRAINT call_words_pkey PRIMARY KEY (shop_id, call_id),
    CONSTRAINT call_words_call_fkey FOREIGN KEY (shop_id, call_id) REFERENCES calls (shop_id, id),
    CONSTRAINT call_words_struck_by_fkey FOREIGN KEY (shop_id, struck_by) REFERENCES people (shop_id, id),
    CONSTRAINT call_words_stand_or_are_struck_in_full CHECK (
        (words IS NOT NULL AND struck_reason IS NULL AND struck_by IS NULL AND struck_at IS NULL)
        OR (words IS NULL AND btrim(coalesce(struck_reason, '')) <> '' AND struck_by IS NOT NULL AND struck_at IS NOT NULL))
);
CREATE INDEX call_words_struck_by ON call_words (shop_id, struck_by);
COMMENT ON TABLE call_words IS 'What was noted of a telephone call; no row: nothing. Struck with a reason, and then the words are gone.';
COMMENT ON COLUMN call_words.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN call_words.call_id IS 'Of which call.';
COMMENT ON COLUMN call_words.words IS 'In words. Null once they were struck.';
COMMENT ON COLUMN call_words.struck_reason IS 'Why they were struck. Null while they stand.';
COMMENT ON COLUMN call_words.struck_by IS 'Who struck them. Null while they stand.';
COMMENT ON COLUMN call_words.struck_at IS 'When they were struck, by the business clock. Null while they stand.';

-- The owner is bound by forced row-level security as well, so it is lifted while the words move.
ALTER TABLE calls NO FORCE ROW LEVEL SECURITY;
INSERT INTO call_words (shop_id, call_id, words) SELECT shop_id, id, words FROM calls WHERE words IS NOT NULL;
ALTER TABLE calls FORCE ROW LEVEL SECURITY;
ALTER TABLE calls DROP COLUMN words;

ALTER TABLE call_words ENABLE ROW LEVEL SECURITY;
ALTER TABLE call_words FORCE ROW LEVEL SECURITY;
CREATE POLICY call_words_of_this_shop ON call_words
    USING (shop_id = current_setting('bellbrace.shop')::uuid) WITH CHECK (shop_id = current_setting('bellbrace.shop')::uuid);
