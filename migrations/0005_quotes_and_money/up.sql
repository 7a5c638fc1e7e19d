-- Quotes, the owner's decisions, and payments.
CREATE TABLE quotes (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    number        integer     NOT NULL,
    state         quote_state NOT NULL,
    is_extra      boolean     NOT NULL,
    content       jsonb       NOT NULL,
    total         numeric     NOT NULL,
    limit_amount  numeric     NOT NULL,
    expires_on    date        NOT NULL,
    content_hash  text,
    sent_by       uuid,
    sent_at       timestamptz,
    seen_at       timestamptz,
    struck_reason text,
    version       integer     NOT NULL DEFAULT 1,
    changed_by    text        NOT NULL,
    changed_at    timestamptz NOT NULL,
    CONSTRAINT quotes_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT quotes_number_once UNIQUE (shop_id, work_order_id, number),
    CONSTRAINT quotes_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT quotes_sent_by_fkey FOREIGN KEY (shop_id, sent_by) REFERENCES people (shop_id, id),
    CONSTRAINT quotes_sent_is_sealed CHECK (state = 'draft' OR state = 'struck' OR (content_hash IS NOT NULL AND sent_at IS NOT NULL)),
    CONSTRAINT quotes_limit_covers_total CHECK (limit_amount >= total),
    CONSTRAINT quotes_total_not_negative CHECK (total >= 0)
);
CREATE INDEX quotes_sent_by ON quotes (shop_id, sent_by);
CREATE UNIQUE INDEX quotes_one_draft ON quotes (shop_id, work_order_id) WHERE state = 'draft';
CREATE UNIQUE INDEX quotes_one_open ON quotes (shop_id, work_order_id) WHERE state = 'sent';
COMMENT ON TABLE quotes IS 'Numbered quote versions; a sent one is sealed by the hash of its content.';

CREATE TABLE decisions (
    shop_id          uuid        NOT NULL,
    id               uuid        NOT NULL,
    work_order_id    uuid        NOT NULL,
    quote_id         uuid        NOT NULL,
    content_hash     text        NOT NULL,
    answer           answer      NOT NULL,
    how              answer_how  NOT NULL,
    typed_name       text        NOT NULL,
    recorded_by      uuid,
    chosen_lines     jsonb       NOT NULL DEFAULT '[]',
    accepted_by_name jsonb       NOT NULL DEFAULT '[]',
    question         text,
    decided_at       timestamptz NOT NULL,
    CONSTRAINT decisions_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT decisions_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT decisions_quote_fkey FOREIGN KEY (shop_id, quote_id) REFERENCES quotes (shop_id, id),
    CONSTRAINT decisions_recorded_by_fkey FOREIGN KEY (shop_id, recorded_by) REFERENCES people (shop_id, id),
    CONSTRAINT decisions_name_typed CHECK (btrim(typed_name) <> ''),
    CONSTRAINT decisions_question_asked CHECK (answer <> 'questions' OR btrim(coalesce(question, '')) <> '')
);
CREATE INDEX decisions_order ON decisions (shop_id, work_order_id, id);
CREATE INDEX decisions_quote ON decisions (shop_id, quote_id);
CREATE INDEX decisions_recorded_by ON decisions (shop_id, recorded_by);
COMMENT ON TABLE decisions IS 'What the owner said to one exact quote version; never updated or deleted (domain rules 3 and 9).';

CREATE TABLE disputes (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    decision_id   uuid        NOT NULL,
    typed_name    text        NOT NULL,
    reason        text,
    recorded_by   uuid,
    disputed_at   timestamptz NOT NULL,
    CONSTRAINT disputes_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT disputes_once UNIQUE (shop_id, decision_id),
    CONSTRAINT disputes_decision_fkey FOREIGN KEY (shop_id, decision_id) REFERENCES decisions (shop_id, id),
    CONSTRAINT disputes_recorded_by_fkey FOREIGN KEY (shop_id, recorded_by) REFERENCES people (shop_id, id)
);
CREATE INDEX disputes_recorded_by ON disputes (shop_id, recorded_by);
COMMENT ON TABLE disputes IS 'Acceptances that the owner called a mistake; each revokes one decision.';

CREATE TABLE payments (
    shop_id       uuid         NOT NULL,
    id            uuid         NOT NULL,
    work_order_id uuid         NOT NULL,
    amount        numeric      NOT NULL,
    kind          payment_kind NOT NULL,
    how           payment_how  NOT NULL,
    note          text,
    taken_by      uuid         NOT NULL,
    taken_at      timestamptz  NOT NULL,
    CONSTRAINT payments_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT payments_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT payments_taken_by_fkey FOREIGN KEY (shop_id, taken_by) REFERENCES people (shop_id, id),
    CONSTRAINT payments_positive CHECK (amount > 0)
);
CREATE INDEX payments_order ON payments (shop_id, work_order_id, id);
CREATE INDEX payments_taken_by ON payments (shop_id, taken_by);
COMMENT ON TABLE payments IS 'What was paid or charged to account; never updated or deleted.';

CREATE TABLE handovers (
    shop_id       uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    collected_by  text        NOT NULL,
    waived        numeric     NOT NULL DEFAULT 0,
    waived_reason text,
    note          text,
    handed_by     uuid        NOT NULL,
    handed_at     timestamptz NOT NULL,
    CONSTRAINT handovers_pkey PRIMARY KEY (shop_id, work_order_id),
    CONSTRAINT handovers_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT handovers_handed_by_fkey FOREIGN KEY (shop_id, handed_by) REFERENCES people (shop_id, id),
    CONSTRAINT handovers_waiver_says_why CHECK (waived = 0 OR btrim(coalesce(waived_reason, '')) <> '')
);
CREATE INDEX handovers_handed_by ON handovers (shop_id, handed_by);
COMMENT ON TABLE handovers IS 'Who collected the instrument, and what was waived.';
