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
    CONSTRAINT letters_message_id_once UNIQUE (message_id),
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

CREATE TABLE event_queue (
    event_id uuid NOT NULL,
    shop_id  uuid NOT NULL,
    CONSTRAINT event_queue_pkey PRIMARY KEY (event_id),
    CONSTRAINT event_queue_event_fkey FOREIGN KEY (shop_id, event_id) REFERENCES events (shop_id, id)
);
CREATE INDEX event_queue_event ON event_queue (shop_id, event_id);
COMMENT ON TABLE event_queue IS 'Directory, read before the shop is known: committed events that have no number yet.';

CREATE TABLE event_counters (
    shop_id     uuid   NOT NULL,
    last_number bigint NOT NULL,
    CONSTRAINT event_counters_pkey PRIMARY KEY (shop_id),
    CONSTRAINT event_counters_shop_fkey FOREIGN KEY (shop_id) REFERENCES shops (shop_id)
);
COMMENT ON TABLE event_counters IS 'The last event number given in each shop; written by the relay alone.';

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
COMMENT ON COLUMN links.customer_id IS 'Whose link it is: whom the letter went to, or to whom it was handed at the counter.';

CREATE TABLE link_directory (
    token_hash bytea NOT NULL,
    shop_id    uuid  NOT NULL,
    link_id    uuid  NOT NULL,
    CONSTRAINT link_directory_pkey PRIMARY KEY (token_hash),
    CONSTRAINT link_directory_link_fkey FOREIGN KEY (shop_id, link_id) REFERENCES links (shop_id, id)
);
CREATE INDEX link_directory_link ON link_directory (shop_id, link_id);
COMMENT ON TABLE link_directory IS 'Directory, read before the shop is known: the SHA-256 of a link''s secret and where it leads.';

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

-- Rules 1 and 8 by PostgreSQL itself: at commit an order stands where its last stage change
-- says, and that change has its letter or the reason why none was sent.
CREATE FUNCTION check_stage_is_recorded() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    last record;
BEGIN
    SELECT c.id, c.to_stage INTO last
      FROM stage_changes c
     WHERE c.shop_id = NEW.shop_id AND c.work_order_id = NEW.id
     ORDER BY c.number DESC LIMIT 1;
    IF last IS NULL OR last.to_stage IS DISTINCT FROM
       (SELECT w.stage::text FROM work_orders w WHERE w.shop_id = NEW.shop_id AND w.id = NEW.id) THEN
        RAISE EXCEPTION 'the stage of work order % has no stage change', NEW.id
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
