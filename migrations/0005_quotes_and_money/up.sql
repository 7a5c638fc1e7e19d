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
    CONSTRAINT quotes_struck_says_why CHECK (state <> 'struck' OR btrim(coalesce(struck_reason, '')) <> ''),
    CONSTRAINT quotes_limit_covers_total CHECK (limit_amount >= total),
    CONSTRAINT quotes_total_not_negative CHECK (total >= 0)
);
CREATE INDEX quotes_sent_by ON quotes (shop_id, sent_by);
CREATE UNIQUE INDEX quotes_one_draft ON quotes (shop_id, work_order_id) WHERE state = 'draft';
CREATE UNIQUE INDEX quotes_one_open ON quotes (shop_id, work_order_id) WHERE state = 'sent';
COMMENT ON TABLE quotes IS 'Numbered quote versions; a sent one is sealed by the hash of its content.';
COMMENT ON COLUMN quotes.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN quotes.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN quotes.work_order_id IS 'For which order.';
COMMENT ON COLUMN quotes.number IS 'Version, counting up per order from 1.';
COMMENT ON COLUMN quotes.state IS 'Where it stands.';
COMMENT ON COLUMN quotes.is_extra IS 'Whether it asks for extra work, after something was accepted.';
COMMENT ON COLUMN quotes.content IS 'All that it binds both sides to: message, lines, discount, tax classes, currency, limit, last day.';
COMMENT ON COLUMN quotes.total IS 'Of the lines that are not optional, tax included, in the shop''s currency.';
COMMENT ON COLUMN quotes.limit_amount IS 'The most that the owner is asked to authorise, tax included, in the shop''s currency.';
COMMENT ON COLUMN quotes.expires_on IS 'The last day on which it can be accepted, as a calendar date of the shop.';
COMMENT ON COLUMN quotes.content_hash IS 'SHA-256 of the content when it was sent, in hexadecimal; null before.';
COMMENT ON COLUMN quotes.sent_by IS 'Who sent it; null before.';
COMMENT ON COLUMN quotes.sent_at IS 'When it was sent, by the business clock; null before.';
COMMENT ON COLUMN quotes.seen_at IS 'When its page was first opened by a person, by the business clock; null: not yet.';
COMMENT ON COLUMN quotes.struck_reason IS 'Why it was taken back or set aside.';
COMMENT ON COLUMN quotes.version IS 'Raised by one with every change; its ETag.';
COMMENT ON COLUMN quotes.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN quotes.changed_at IS 'When it was changed last, by the business clock.';

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
    CONSTRAINT decisions_recorded_by_someone CHECK (how = 'link' OR recorded_by IS NOT NULL),
    CONSTRAINT decisions_name_typed CHECK (btrim(typed_name) <> ''),
    CONSTRAINT decisions_question_asked CHECK (answer <> 'questions' OR btrim(coalesce(question, '')) <> '')
);
CREATE INDEX decisions_order ON decisions (shop_id, work_order_id, id);
CREATE INDEX decisions_quote ON decisions (shop_id, quote_id);
CREATE INDEX decisions_recorded_by ON decisions (shop_id, recorded_by);
COMMENT ON TABLE decisions IS 'What the owner said to one exact quote version; never updated or deleted (domain rules 3 and 9).';
COMMENT ON COLUMN decisions.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN decisions.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN decisions.work_order_id IS 'On which order.';
COMMENT ON COLUMN decisions.quote_id IS 'Which quote version was answered.';
COMMENT ON COLUMN decisions.content_hash IS 'Of the version as it was shown to whoever decided.';
COMMENT ON COLUMN decisions.answer IS 'What was said.';
COMMENT ON COLUMN decisions.how IS 'How it reached the shop.';
COMMENT ON COLUMN decisions.typed_name IS 'Who decided, as typed.';
COMMENT ON COLUMN decisions.recorded_by IS 'Who recorded it; null when the owner did by link.';
COMMENT ON COLUMN decisions.chosen_lines IS 'List of ids of the optional lines that were ticked.';
COMMENT ON COLUMN decisions.accepted_by_name IS 'List of ids of the operations that were accepted by name.';
COMMENT ON COLUMN decisions.question IS 'What the owner asked, for questions.';
COMMENT ON COLUMN decisions.decided_at IS 'When, by the business clock.';

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
COMMENT ON COLUMN disputes.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN disputes.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN disputes.decision_id IS 'Which acceptance is revoked.';
COMMENT ON COLUMN disputes.typed_name IS 'Who called it a mistake, as typed.';
COMMENT ON COLUMN disputes.reason IS 'Why, in words. Null: not said.';
COMMENT ON COLUMN disputes.recorded_by IS 'Who recorded it; null when the owner did by link.';
COMMENT ON COLUMN disputes.disputed_at IS 'When, by the business clock.';

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
COMMENT ON COLUMN payments.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN payments.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN payments.work_order_id IS 'For which order.';
COMMENT ON COLUMN payments.amount IS 'Above zero, in the shop''s currency.';
COMMENT ON COLUMN payments.kind IS 'What it is for.';
COMMENT ON COLUMN payments.how IS 'How it was paid.';
COMMENT ON COLUMN payments.note IS 'In words. Null: nothing.';
COMMENT ON COLUMN payments.taken_by IS 'Who took it.';
COMMENT ON COLUMN payments.taken_at IS 'When, by the business clock.';

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
COMMENT ON COLUMN handovers.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN handovers.work_order_id IS 'Which order was handed over; once.';
COMMENT ON COLUMN handovers.collected_by IS 'Who collected it, or where it was shipped.';
COMMENT ON COLUMN handovers.waived IS 'What the proprietor let go of, in the shop''s currency; 0: nothing.';
COMMENT ON COLUMN handovers.waived_reason IS 'Why.';
COMMENT ON COLUMN handovers.note IS 'In words. Null: nothing.';
COMMENT ON COLUMN handovers.handed_by IS 'Who handed it over.';
COMMENT ON COLUMN handovers.handed_at IS 'When, by the business clock.';
