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

CREATE TABLE places (
    shop_id uuid NOT NULL,
    id      uuid NOT NULL,
    name    text NOT NULL,
    CONSTRAINT places_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT places_shop_fkey FOREIGN KEY (shop_id) REFERENCES shops (shop_id),
    CONSTRAINT places_name_once UNIQUE (shop_id, name)
);
COMMENT ON TABLE places IS 'Racks, shelves and trays: where an instrument can be.';

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
