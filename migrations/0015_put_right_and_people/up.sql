-- What a shop puts right after the check-in: what was written at the counter, with its history, a payment
-- recorded by mistake, and the passwords of its own people, who are written to with a link.
CREATE TABLE desk_fields (
    shop_id        uuid        NOT NULL,
    work_order_id  uuid        NOT NULL,
    loaner_number  text,
    loaner_back_at timestamptz,
    old_parts_back boolean     NOT NULL,
    CONSTRAINT desk_fields_pkey PRIMARY KEY (shop_id, work_order_id),
    CONSTRAINT desk_fields_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT desk_fields_loaner_not_empty CHECK (btrim(coalesce(loaner_number, 'none')) <> ''),
    CONSTRAINT desk_fields_only_a_loaner_comes_back CHECK (loaner_back_at IS NULL OR loaner_number IS NOT NULL)
);
COMMENT ON TABLE desk_fields IS 'What the desk keeps of an order beside the order itself; no row: nothing of it.';
COMMENT ON COLUMN desk_fields.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN desk_fields.work_order_id IS 'Of which order.';
COMMENT ON COLUMN desk_fields.loaner_number IS 'The number of the loaner that the customer has meanwhile. Null: none.';
COMMENT ON COLUMN desk_fields.loaner_back_at IS 'When the loaner came back, by the business clock. Null: it has not.';
COMMENT ON COLUMN desk_fields.old_parts_back IS 'Whether the customer wants the old parts back.';

CREATE TABLE order_changes (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    changes       jsonb       NOT NULL,
    reason        text,
    by_person     uuid        NOT NULL,
    by_words      text        NOT NULL,
    changed_at    timestamptz NOT NULL,
    CONSTRAINT order_changes_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT order_changes_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT order_changes_person_fkey FOREIGN KEY (shop_id, by_person) REFERENCES people (shop_id, id),
    CONSTRAINT order_changes_of_something CHECK (jsonb_typeof(changes) = 'array' AND changes <> '[]')
);
CREATE INDEX order_changes_order ON order_changes (shop_id, work_order_id, id);
CREATE INDEX order_changes_person ON order_changes (shop_id, by_person);
COMMENT ON TABLE order_changes IS 'What was put right on an order after the check-in; never updated or deleted.';
COMMENT ON COLUMN order_changes.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN order_changes.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN order_changes.work_order_id IS 'On which order.';
COMMENT ON COLUMN order_changes.changes IS 'List of {field, before, after}, each as text or null; never empty.';
COMMENT ON COLUMN order_changes.reason IS 'Why the promised date moved, as the customer was told. Null: not said, or it did not move.';
COMMENT ON COLUMN order_changes.by_person IS 'Which member of staff.';
COMMENT ON COLUMN order_changes.by_words IS 'Who, as the record shows them.';
COMMENT ON COLUMN order_changes.changed_at IS 'When, by the business clock.';

CREATE TABLE struck_payments (
    shop_id    uuid        NOT NULL,
    payment_id uuid        NOT NULL,
    reason     text        NOT NULL,
    struck_by  uuid        NOT NULL,
    struck_at  timestamptz NOT NULL,
    CONSTRAINT struck_payments_pkey PRIMARY KEY (shop_id, payment_id),
    CONSTRAINT struck_payments_payment_fkey FOREIGN KEY (shop_id, payment_id) REFERENCES payments (shop_id, id),
    CONSTRAINT struck_payments_struck_by_fkey FOREIGN KEY (shop_id, struck_by) REFERENCES people (shop_id, id),
    CONSTRAINT struck_payments_say_why CHECK (btrim(reason) <> '')
);
CREATE INDEX struck_payments_struck_by ON struck_payments (shop_id, struck_by);
COMMENT ON TABLE struck_payments IS 'Payments that were recorded by mistake and do not count; never updated or deleted.';
COMMENT ON COLUMN struck_payments.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN struck_payments.payment_id IS 'Which payment; once.';
COMMENT ON COLUMN struck_payments.reason IS 'Why.';
COMMENT ON COLUMN struck_payments.struck_by IS 'Who struck it.';
COMMENT ON COLUMN struck_payments.struck_at IS 'When, by the business clock.';

-- What is given back is a payment below zero, with its reason.
ALTER TABLE payments
    DROP CONSTRAINT payments_positive,
    ADD CONSTRAINT payments_of_something CHECK (amount <> 0),
    ADD CONSTRAINT payments_given_back_says_why CHECK (amount > 0 OR btrim(coalesce(note, '')) <> '');
COMMENT ON COLUMN payments.amount IS 'Not 0, in the shop''s currency; below 0: given back.';
COMMENT ON COLUMN payments.note IS 'In words; why, where something is given back. Null: nothing.';

DO $$
DECLARE
    t text;
BEGIN
    FOREACH t IN ARRAY ARRAY['desk_fields', 'order_changes', 'struck_payments'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
        EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
        EXECUTE format('CREATE POLICY %I ON %I USING (shop_id = current_setting(''bellbrace.shop'')::uuid) WITH CHECK (shop_id = current_setting(''bellbrace.shop'')::uuid)', t || '_of_this_shop', t);
    END LOOP;
END
$$;

-- A letter is about an order and to a customer, or to somebody of the staff about their password. The
-- owner is bound by forced row-level security as well, so it is lifted while the reference is checked.
ALTER TABLE letters NO FORCE ROW LEVEL SECURITY;
ALTER TABLE people NO FORCE ROW LEVEL SECURITY;
ALTER TABLE letters
    ALTER COLUMN work_order_id DROP NOT NULL,
    ALTER COLUMN to_customer_id DROP NOT NULL,
    ADD COLUMN to_person_id uuid,
    ADD CONSTRAINT letters_person_fkey FOREIGN KEY (shop_id, to_person_id) REFERENCES people (shop_id, id),
    ADD CONSTRAINT letters_about_an_order_or_to_staff CHECK (
        (work_order_id IS NULL) = (to_customer_id IS NULL) AND (to_person_id IS NULL) = (to_customer_id IS NOT NULL));
ALTER TABLE people FORCE ROW LEVEL SECURITY;
ALTER TABLE letters FORCE ROW LEVEL SECURITY;
CREATE INDEX letters_person ON letters (shop_id, to_person_id);
COMMENT ON COLUMN letters.work_order_id IS 'About which order. Null: none, it is to somebody of the staff.';
COMMENT ON COLUMN letters.to_customer_id IS 'To which customer. Null: to somebody of the staff.';
COMMENT ON COLUMN letters.to_person_id IS 'To whom of the staff. Null: to a customer.';

ALTER TABLE one_time_links
    DROP CONSTRAINT one_time_links_purpose_known,
    ADD CONSTRAINT one_time_links_purpose_known CHECK (purpose IN ('first_proprietor', 'invitation', 'password_reset')),
    ADD CONSTRAINT one_time_links_password_of_somebody CHECK (purpose = 'first_proprietor' OR person_id IS NOT NULL);
