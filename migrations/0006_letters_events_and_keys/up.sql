-- Letters and their outbox, live events and their queue, customers' links, idempotency keys, the audit.
CREATE TABLE letters (
    shop_id         uuid         NOT NULL,
    id              uuid         NOT NULL,
    work_order_id   uuid         NOT NULL,
    stage_change_id uuid,
    kind            text         NOT NULL,
    state           letter_state NOT NULL,
    state_reason    text,
    to_customer_id  uuid         NOT NULL,
    to_name         text         NOT NULL,
    to_email        text,
    message_id      text         NOT NULL,
    subject         text         NOT NULL,
    text            text         NOT NULL,
    html            text         NOT NULL,
    queued_at       timestamptz  NOT NULL,
    sent_at         timestamptz,
    attempts        integer      NOT NULL DEFAULT 0,
    next_try_at     timestamptz,
    last_trouble    text,
    CONSTRAINT letters_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT letters_message_id_once UNIQUE (shop_id, message_id),
    CONSTRAINT letters_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT letters_stage_change_fkey FOREIGN KEY (shop_id, stage_change_id) REFERENCES stage_changes (shop_id, id),
    CONSTRAINT letters_customer_fkey FOREIGN KEY (shop_id, to_customer_id) REFERENCES customers (shop_id, id),
    CONSTRAINT letters_not_wanted_says_why CHECK (state <> 'not_wanted' OR coalesce(state_reason, '') <> ''),
    CONSTRAINT letters_sent_when CHECK (state <> 'sent' OR sent_at IS NOT NULL),
    CONSTRAINT letters_has_address CHECK (state = 'not_wanted' OR to_email IS NOT NULL)
);
CREATE INDEX letters_order ON letters (shop_id, work_order_id, id);
CREATE INDEX letters_stage_change ON letters (shop_id, stage_change_id);
CREATE INDEX letters_customer ON letters (shop_id, to_customer_id);
COMMENT ON TABLE letters IS 'Every outgoing mail with its state, or the reason why none was sent (domain rule 8).';
COMMENT ON COLUMN letters.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN letters.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN letters.work_order_id IS 'About which order.';
COMMENT ON COLUMN letters.stage_change_id IS 'Which move it tells of. Null: none.';
COMMENT ON COLUMN letters.kind IS 'What it tells; the name of its wording.';
COMMENT ON COLUMN letters.state IS 'Where it stands.';
COMMENT ON COLUMN letters.state_reason IS 'Why it stands there, in words for the screen.';
COMMENT ON COLUMN letters.to_customer_id IS 'To whom.';
COMMENT ON COLUMN letters.to_name IS 'To whom, as addressed.';
COMMENT ON COLUMN letters.to_email IS 'Where to. Null: nowhere; only a letter that is not sent may have none.';
COMMENT ON COLUMN letters.message_id IS 'RFC 5322 Message-ID, the same at every try; once in the shop.';
COMMENT ON COLUMN letters.subject IS 'As sent.';
COMMENT ON COLUMN letters.text IS 'The plain text, as sent.';
COMMENT ON COLUMN letters.html IS 'The HTML, as sent.';
COMMENT ON COLUMN letters.queued_at IS 'When it was written, by the business clock.';
COMMENT ON COLUMN letters.sent_at IS 'When the mail server took it, by the business clock; null before.';
COMMENT ON COLUMN letters.attempts IS 'How often it was tried.';
COMMENT ON COLUMN letters.next_try_at IS 'When it is tried again, by the business clock. Null: it is not, or at once.';
COMMENT ON COLUMN letters.last_trouble IS 'What the last try met, for the shop.';

CREATE TABLE outbox (
    letter_id    uuid        NOT NULL,
    shop_id      uuid        NOT NULL,
    due_at       timestamptz NOT NULL,
    leased_until timestamptz,
    fence        integer     NOT NULL DEFAULT 0,
    CONSTRAINT outbox_pkey PRIMARY KEY (letter_id),
    CONSTRAINT outbox_letter_fkey FOREIGN KEY (shop_id, letter_id) REFERENCES letters (shop_id, id)
);
CREATE INDEX outbox_due ON outbox (due_at);
CREATE INDEX outbox_letter ON outbox (shop_id, letter_id);
COMMENT ON TABLE outbox IS 'Directory, read before the shop is known: which letters are still to be sent, when, and who has them.';
COMMENT ON COLUMN outbox.letter_id IS 'Which letter.';
COMMENT ON COLUMN outbox.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN outbox.due_at IS 'From when it may be sent, by the database''s clock.';
COMMENT ON COLUMN outbox.leased_until IS 'Until when one sender has it, by the database''s clock. Null: nobody.';
COMMENT ON COLUMN outbox.fence IS 'Raised by one with every lease; a sender with an older number writes nothing.';

CREATE TABLE events (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    number        bigint,
    kind          text        NOT NULL,
    work_order_id uuid        NOT NULL,
    data          jsonb       NOT NULL,
    happened_at   timestamptz NOT NULL,
    CONSTRAINT events_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT events_number_once UNIQUE (shop_id, number),
    CONSTRAINT events_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id)
);
CREATE INDEX events_order ON events (shop_id, work_order_id);
COMMENT ON TABLE events IS 'What changed, for live screens; numbered per shop by one relay at a time after the commit.';
COMMENT ON COLUMN events.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN events.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN events.number IS 'From 1 per shop, without gaps; null until the relay has given it.';
COMMENT ON COLUMN events.kind IS 'What happened.';
COMMENT ON COLUMN events.work_order_id IS 'To which order.';
COMMENT ON COLUMN events.data IS 'What a screen needs to know, as it is sent.';
COMMENT ON COLUMN events.happened_at IS 'When, by the business clock.';

CREATE TABLE event_queue (
    event_id uuid NOT NULL,
    shop_id  uuid NOT NULL,
    CONSTRAINT event_queue_pkey PRIMARY KEY (event_id),
    CONSTRAINT event_queue_event_fkey FOREIGN KEY (shop_id, event_id) REFERENCES events (shop_id, id)
);
CREATE INDEX event_queue_event ON event_queue (shop_id, event_id);
COMMENT ON TABLE event_queue IS 'Directory, read before the shop is known: committed events that have no number yet.';
COMMENT ON COLUMN event_queue.event_id IS 'Which event.';
COMMENT ON COLUMN event_queue.shop_id IS 'The shop it belongs to.';

CREATE TABLE event_counters (
    shop_id     uuid   NOT NULL,
    last_number bigint NOT NULL,
    CONSTRAINT event_counters_pkey PRIMARY KEY (shop_id),
    CONSTRAINT event_counters_shop_fkey FOREIGN KEY (shop_id) REFERENCES shops (shop_id)
);
COMMENT ON TABLE event_counters IS 'The last event number given in each shop; written by the relay alone.';
COMMENT ON COLUMN event_counters.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN event_counters.last_number IS '0 before the first.';

CREATE TABLE links (
    shop_id       uuid         NOT NULL,
    id            uuid         NOT NULL,
    work_order_id uuid         NOT NULL,
    purpose       link_purpose NOT NULL,
    quote_id      uuid,
    issued_at     timestamptz  NOT NULL,
    expires_at    timestamptz,
    withdrawn_at  timestamptz,
    customer_id   uuid         NOT NULL,
    CONSTRAINT links_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT links_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT links_quote_fkey FOREIGN KEY (shop_id, quote_id) REFERENCES quotes (shop_id, id),
    CONSTRAINT links_customer_fkey FOREIGN KEY (shop_id, customer_id) REFERENCES customers (shop_id, id),
    CONSTRAINT links_answer_names_quote CHECK ((purpose = 'answer') = (quote_id IS NOT NULL))
);
CREATE INDEX links_order ON links (shop_id, work_order_id);
CREATE INDEX links_quote ON links (shop_id, quote_id);
CREATE INDEX links_customer ON links (shop_id, customer_id);
COMMENT ON TABLE links IS 'Customers'' links: one order, one purpose, withdrawable.';
COMMENT ON COLUMN links.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN links.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN links.work_order_id IS 'Which order it opens.';
COMMENT ON COLUMN links.purpose IS 'What it opens of it.';
COMMENT ON COLUMN links.quote_id IS 'The quote it answers; for the purpose answer only.';
COMMENT ON COLUMN links.issued_at IS 'When, by the business clock.';
COMMENT ON COLUMN links.expires_at IS 'Until when it opens, by the business clock. Null: while the order is kept.';
COMMENT ON COLUMN links.withdrawn_at IS 'When it was withdrawn, by the business clock; null while it opens.';
COMMENT ON COLUMN links.customer_id IS 'Whose link it is: whom the letter went to, or to whom it was handed at the counter.';

CREATE TABLE link_directory (
    token_hash bytea NOT NULL,
    shop_id    uuid  NOT NULL,
    link_id    uuid  NOT NULL,
    CONSTRAINT link_directory_pkey PRIMARY KEY (token_hash),
    CONSTRAINT link_directory_token_is_hashed CHECK (octet_length(token_hash) = 32),
    CONSTRAINT link_directory_link_fkey FOREIGN KEY (shop_id, link_id) REFERENCES links (shop_id, id)
);
CREATE INDEX link_directory_link ON link_directory (shop_id, link_id);
COMMENT ON TABLE link_directory IS 'Directory, read before the shop is known: the SHA-256 of a link''s secret and where it leads.';
COMMENT ON COLUMN link_directory.token_hash IS 'SHA-256 of the link''s secret; the secret is kept nowhere.';
COMMENT ON COLUMN link_directory.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN link_directory.link_id IS 'Which link it is.';

CREATE TABLE idempotency_keys (
    shop_id    uuid        NOT NULL,
    actor      text        NOT NULL,
    key        text        NOT NULL,
    body_hash  bytea       NOT NULL,
    answer     jsonb       NOT NULL,
    kept_at    timestamptz NOT NULL DEFAULT now(),
    CONSTRAINT idempotency_keys_pkey PRIMARY KEY (shop_id, actor, key),
    CONSTRAINT idempotency_keys_shop_fkey FOREIGN KEY (shop_id) REFERENCES shops (shop_id)
);
CREATE INDEX idempotency_keys_age ON idempotency_keys (shop_id, kept_at);
COMMENT ON TABLE idempotency_keys IS 'Answers kept so that a repeated request has one effect (domain rule 7).';
COMMENT ON COLUMN idempotency_keys.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN idempotency_keys.actor IS 'Which person or link sent it.';
COMMENT ON COLUMN idempotency_keys.key IS 'The Idempotency-Key, as sent.';
COMMENT ON COLUMN idempotency_keys.body_hash IS 'SHA-256 of method, path and body.';
COMMENT ON COLUMN idempotency_keys.answer IS 'What was answered, to be given again.';
COMMENT ON COLUMN idempotency_keys.kept_at IS 'When, by the database''s clock; kept for at least 24 hours.';

CREATE TABLE audit (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    act           text        NOT NULL,
    work_order_id uuid,
    by_person     uuid,
    by_words      text        NOT NULL,
    happened_at   timestamptz NOT NULL,
    CONSTRAINT audit_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT audit_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT audit_person_fkey FOREIGN KEY (shop_id, by_person) REFERENCES people (shop_id, id)
);
CREATE INDEX audit_order ON audit (shop_id, work_order_id);
CREATE INDEX audit_person ON audit (shop_id, by_person);
COMMENT ON TABLE audit IS 'Who did what, for the proprietor; never updated or deleted.';
COMMENT ON COLUMN audit.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN audit.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN audit.act IS 'What was done.';
COMMENT ON COLUMN audit.work_order_id IS 'To which order. Null: none.';
COMMENT ON COLUMN audit.by_person IS 'Which member of staff; null for an owner or the clock.';
COMMENT ON COLUMN audit.by_words IS 'Who, as the record shows them.';
COMMENT ON COLUMN audit.happened_at IS 'When, by the business clock.';

-- Rules 1 and 8 by PostgreSQL itself: at commit an order stands where its last stage change
-- says, and that change has its letter or the reason why none was sent.
CREATE FUNCTION check_stage_is_recorded() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    order_id uuid;
    last record;
BEGIN
    IF TG_TABLE_NAME = 'work_orders' THEN
        order_id := NEW.id;
    ELSE
        order_id := NEW.work_order_id;
    END IF;
    SELECT c.id, c.to_stage INTO last
      FROM stage_changes c
     WHERE c.shop_id = NEW.shop_id AND c.work_order_id = order_id
     ORDER BY c.number DESC LIMIT 1;
    IF last IS NULL OR last.to_stage IS DISTINCT FROM
       (SELECT w.stage::text FROM work_orders w WHERE w.shop_id = NEW.shop_id AND w.id = order_id) THEN
        RAISE EXCEPTION 'the stage of work order % is not what its last stage change says', order_id
            USING ERRCODE = 'integrity_constraint_violation', CONSTRAINT = 'work_orders_stage_is_recorded';
    END IF;
    IF NOT EXISTS (SELECT 1 FROM letters l WHERE l.shop_id = NEW.shop_id AND l.stage_change_id = last.id) THEN
        RAISE EXCEPTION 'stage change % has no letter', last.id
            USING ERRCODE = 'integrity_constraint_violation', CONSTRAINT = 'stage_changes_have_letters';
    END IF;
    RETURN NULL;
END
$$;
COMMENT ON FUNCTION check_stage_is_recorded() IS 'Domain rules 1 and 8, checked at commit.';
CREATE CONSTRAINT TRIGGER work_orders_stage_is_recorded
    AFTER INSERT OR UPDATE OF stage ON work_orders
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION check_stage_is_recorded();
CREATE CONSTRAINT TRIGGER stage_changes_move_the_order
    AFTER INSERT ON stage_changes
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION check_stage_is_recorded();

-- Row-level security on every table that belongs to a shop: forced, with check, and closed when
-- the setting is missing (an unset or empty setting is an error, not "no rows").
DO $$
DECLARE
    t text;
BEGIN
    FOREACH t IN ARRAY ARRAY['shops', 'people', 'customers', 'instruments', 'places', 'methods', 'work_orders',
        'counter_marks', 'stage_changes', 'findings', 'operations', 'time_entries', 'tests', 'holds', 'notes', 'quotes',
        'decisions', 'disputes', 'payments', 'handovers', 'letters', 'events', 'event_counters', 'links',
        'idempotency_keys', 'audit']
    LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
        EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
        EXECUTE format('CREATE POLICY %I ON %I USING (shop_id = current_setting(''bellbrace.shop'')::uuid) WITH CHECK (shop_id = current_setting(''bellbrace.shop'')::uuid)', t || '_of_this_shop', t);
    END LOOP;
END
$$;
