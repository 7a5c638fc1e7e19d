-- Customers, their instruments, and the shop's own lists.
CREATE TABLE customers (
    shop_id       uuid          NOT NULL,
    id            uuid          NOT NULL,
    kind          customer_kind NOT NULL,
    name          text          NOT NULL,
    email         text,
    phone         text,
    phone_digits  text          NOT NULL GENERATED ALWAYS AS (regexp_replace(coalesce(phone, ''), '[^0-9]', '', 'g')) STORED,
    language      text          NOT NULL DEFAULT 'en',
    mail_wanted   mail_wanted   NOT NULL DEFAULT 'every_change',
    note          text,
    search        text          NOT NULL GENERATED ALWAYS AS (lower(name || ' ' || coalesce(email, ''))) STORED,
    version       integer       NOT NULL DEFAULT 1,
    changed_by    text          NOT NULL DEFAULT '',
    changed_at    timestamptz   NOT NULL,
    created_at    timestamptz   NOT NULL,
    CONSTRAINT customers_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT customers_shop_fkey FOREIGN KEY (shop_id) REFERENCES shops (shop_id),
    CONSTRAINT customers_name_not_empty CHECK (btrim(name) <> '')
);
COMMENT ON TABLE customers IS 'People, schools and dealers who bring instruments in or own them.';
COMMENT ON COLUMN customers.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN customers.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN customers.kind IS 'A person, a school or a dealer.';
COMMENT ON COLUMN customers.name IS 'As letters address them.';
COMMENT ON COLUMN customers.email IS 'Null: letters become lines on the ring list.';
COMMENT ON COLUMN customers.phone IS 'As it was said.';
COMMENT ON COLUMN customers.phone_digits IS 'The digits of the phone number alone, to be found by.';
COMMENT ON COLUMN customers.language IS 'Of their letters and pages: a BCP 47 tag.';
COMMENT ON COLUMN customers.mail_wanted IS 'Which letters they want.';
COMMENT ON COLUMN customers.note IS 'What the front desk should know; never shown to the customer.';
COMMENT ON COLUMN customers.search IS 'Name and e-mail in lower case, to be found by although misspelt.';
COMMENT ON COLUMN customers.version IS 'Raised by one with every change; its ETag.';
COMMENT ON COLUMN customers.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN customers.changed_at IS 'When it was changed last, by the business clock.';
COMMENT ON COLUMN customers.created_at IS 'When they were first entered, by the business clock.';

CREATE TABLE instruments (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    owner_id      uuid        NOT NULL,
    family        family      NOT NULL,
    maker         text,
    model         text,
    serial_number text,
    age_text      text,
    finish        text,
    owners_number text,
    search        text        NOT NULL GENERATED ALWAYS AS (lower(coalesce(maker, '') || ' ' || coalesce(model, '') || ' ' || coalesce(serial_number, '') || ' ' || coalesce(owners_number, ''))) STORED,
    version       integer     NOT NULL DEFAULT 1,
    changed_by    text        NOT NULL DEFAULT '',
    changed_at    timestamptz NOT NULL,
    CONSTRAINT instruments_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT instruments_owner_fkey FOREIGN KEY (shop_id, owner_id) REFERENCES customers (shop_id, id)
);
CREATE INDEX instruments_owner ON instruments (shop_id, owner_id);
COMMENT ON TABLE instruments IS 'Instruments; they outlive their work orders.';
COMMENT ON COLUMN instruments.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN instruments.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN instruments.owner_id IS 'Who owns it and decides about it.';
COMMENT ON COLUMN instruments.family IS 'What it is.';
COMMENT ON COLUMN instruments.maker IS 'As text. Null: not known.';
COMMENT ON COLUMN instruments.model IS 'As text. Null: not known.';
COMMENT ON COLUMN instruments.serial_number IS 'As engraved. Null: none, or not read.';
COMMENT ON COLUMN instruments.age_text IS 'Year or age band, in words. Null: not known.';
COMMENT ON COLUMN instruments.finish IS 'Lacquer, plating or wood, in words. Null: not said.';
COMMENT ON COLUMN instruments.owners_number IS 'The owner''s own number for it, such as a school''s inventory number.';
COMMENT ON COLUMN instruments.search IS 'Maker, model and numbers in lower case, to be found by although misspelt.';
COMMENT ON COLUMN instruments.version IS 'Raised by one with every change; its ETag.';
COMMENT ON COLUMN instruments.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN instruments.changed_at IS 'When it was changed last, by the business clock.';

CREATE TABLE places (
    shop_id uuid NOT NULL,
    id      uuid NOT NULL,
    name    text NOT NULL,
    CONSTRAINT places_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT places_shop_fkey FOREIGN KEY (shop_id) REFERENCES shops (shop_id),
    CONSTRAINT places_name_once UNIQUE (shop_id, name)
);
COMMENT ON TABLE places IS 'Racks, shelves and trays: where an instrument can be.';
COMMENT ON COLUMN places.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN places.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN places.name IS 'As it is written on the rack, shelf or tray; once in the shop.';

CREATE TABLE methods (
    shop_id      uuid    NOT NULL,
    id           uuid    NOT NULL,
    name         text    NOT NULL,
    heat         heat    NOT NULL,
    irreversible boolean NOT NULL,
    low_minutes     integer NOT NULL,
    typical_minutes integer NOT NULL,
    high_minutes    integer NOT NULL,
    price        numeric NOT NULL,
    cautions     jsonb   NOT NULL DEFAULT '[]',
    CONSTRAINT methods_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT methods_shop_fkey FOREIGN KEY (shop_id) REFERENCES shops (shop_id),
    CONSTRAINT methods_name_once UNIQUE (shop_id, name),
    CONSTRAINT methods_minutes_in_order CHECK (0 <= low_minutes AND low_minutes <= typical_minutes AND typical_minutes <= high_minutes),
    CONSTRAINT methods_price_not_negative CHECK (price >= 0)
);
COMMENT ON TABLE methods IS 'Ways of doing a kind of work: the shop''s list of methods and its price list.';
COMMENT ON COLUMN methods.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN methods.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN methods.name IS 'As technicians say it; once in the shop.';
COMMENT ON COLUMN methods.heat IS 'How hot the work gets.';
COMMENT ON COLUMN methods.irreversible IS 'Whether it cannot be undone; then it starts only after the owner accepted it by name.';
COMMENT ON COLUMN methods.low_minutes IS 'Quick, in minutes of work.';
COMMENT ON COLUMN methods.typical_minutes IS 'Usual, in minutes of work.';
COMMENT ON COLUMN methods.high_minutes IS 'Slow, in minutes of work.';
COMMENT ON COLUMN methods.price IS 'Usual price, in the shop''s currency; 0: by the hour.';
COMMENT ON COLUMN methods.cautions IS 'List of sentences that the bench should see.';
