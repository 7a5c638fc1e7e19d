-- Shops, the people who work in them, and the directories that must be read before the shop is known.
CREATE TABLE shops (
    shop_id             uuid        NOT NULL,
    name                text        NOT NULL,
    address             text        NOT NULL DEFAULT '',
    phone               text        NOT NULL DEFAULT '',
    email               text        NOT NULL DEFAULT '',
    language            text        NOT NULL DEFAULT 'en',
    time_zone           text        NOT NULL,
    currency            text        NOT NULL,
    calendar            jsonb       NOT NULL,
    tax_classes         jsonb       NOT NULL,
    prices_include_tax  boolean     NOT NULL,
    labour_rate         numeric     NOT NULL,
    quote_days          integer     NOT NULL DEFAULT 14,
    reminder_days       jsonb       NOT NULL DEFAULT '[7, 21, 60]',
    terms               text        NOT NULL DEFAULT '',
    next_claim_count    bigint      NOT NULL DEFAULT 1000,
    version             integer     NOT NULL DEFAULT 1,
    changed_by          text        NOT NULL DEFAULT '',
    changed_at          timestamptz NOT NULL,
    CONSTRAINT shops_pkey PRIMARY KEY (shop_id),
    CONSTRAINT shops_currency_is_a_code CHECK (currency ~ '^[A-Z]{3}$'),
    CONSTRAINT shops_rate_not_negative CHECK (labour_rate >= 0),
    CONSTRAINT shops_claim_count_in_range CHECK (next_claim_count BETWEEN 1000 AND 1000000000),
    CONSTRAINT shops_quote_days_positive CHECK (quote_days BETWEEN 1 AND 365)
);
COMMENT ON TABLE shops IS 'One repair shop and its settings; every other row belongs to exactly one.';
COMMENT ON COLUMN shops.shop_id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN shops.name IS 'As customers know it.';
COMMENT ON COLUMN shops.address IS 'For letters and papers; several lines. Empty: not said.';
COMMENT ON COLUMN shops.phone IS 'For letters and papers. Empty: not said.';
COMMENT ON COLUMN shops.email IS 'Where answers to letters go. Empty: nowhere.';
COMMENT ON COLUMN shops.language IS 'Of letters and pages, unless a customer wants another: a BCP 47 tag.';
COMMENT ON COLUMN shops.time_zone IS 'IANA name of the zone whose calendar dates and hours are the shop''s.';
COMMENT ON COLUMN shops.currency IS 'ISO 4217 code; every amount of the shop is in it.';
COMMENT ON COLUMN shops.calendar IS 'Opening hours and closed days, as the input of the business-time computation.';
COMMENT ON COLUMN shops.tax_classes IS 'List of {id, percent}; percent from 0 to 100, as a decimal string.';
COMMENT ON COLUMN shops.prices_include_tax IS 'Whether unit prices hold the tax.';
COMMENT ON COLUMN shops.labour_rate IS 'For one hour, in the shop''s currency.';
COMMENT ON COLUMN shops.quote_days IS 'For how many days a quote can be accepted, in calendar days.';
COMMENT ON COLUMN shops.reminder_days IS 'List of days after the arrival in pickup on which the customer is written to again.';
COMMENT ON COLUMN shops.terms IS 'The shop''s own terms, printed on the receipt; a work order keeps those of its day.';
COMMENT ON COLUMN shops.next_claim_count IS 'The count of the next claim number; raised under the row''s lock.';
COMMENT ON COLUMN shops.version IS 'Raised by one with every change; its ETag.';
COMMENT ON COLUMN shops.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN shops.changed_at IS 'When it was changed last, by the business clock.';

CREATE TABLE people (
    shop_id     uuid        NOT NULL,
    id          uuid        NOT NULL,
    name        text        NOT NULL,
    initials    text        NOT NULL,
    email       text        NOT NULL,
    roles       jsonb       NOT NULL,
    is_active   boolean     NOT NULL DEFAULT true,
    version     integer     NOT NULL DEFAULT 1,
    changed_by  text        NOT NULL DEFAULT '',
    changed_at  timestamptz NOT NULL,
    CONSTRAINT people_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT people_shop_fkey FOREIGN KEY (shop_id) REFERENCES shops (shop_id),
    CONSTRAINT people_email_once UNIQUE (shop_id, email),
    CONSTRAINT people_initials_once UNIQUE (shop_id, initials),
    CONSTRAINT people_roles_known CHECK (jsonb_typeof(roles) = 'array' AND roles <@ '["front_desk", "technician", "proprietor"]')
);
COMMENT ON TABLE people IS 'Staff of one shop: who they are there and what they may do.';
COMMENT ON COLUMN people.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN people.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN people.name IS 'As colleagues and customers read it.';
COMMENT ON COLUMN people.initials IS 'For the bench and the board; once in the shop.';
COMMENT ON COLUMN people.email IS 'Where they are written to; once in the shop.';
COMMENT ON COLUMN people.roles IS 'List of staff_role words; one person may hold several.';
COMMENT ON COLUMN people.is_active IS 'Whether they may still sign in; nobody is deleted, because the record names them.';
COMMENT ON COLUMN people.version IS 'Raised by one with every change; its ETag.';
COMMENT ON COLUMN people.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN people.changed_at IS 'When it was changed last, by the business clock.';

CREATE TABLE identities (
    id            uuid        NOT NULL,
    email         text        NOT NULL,
    password_hash text        NOT NULL,
    changed_at    timestamptz NOT NULL,
    CONSTRAINT identities_pkey PRIMARY KEY (id),
    CONSTRAINT identities_email_once UNIQUE (email),
    CONSTRAINT identities_email_lower CHECK (email = lower(email))
);
COMMENT ON TABLE identities IS 'Directory, read before the shop is known: who may sign in, with an Argon2id hash.';
COMMENT ON COLUMN identities.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN identities.email IS 'With which they sign in, in lower case; once in the installation.';
COMMENT ON COLUMN identities.password_hash IS 'Argon2id, as a PHC string.';
COMMENT ON COLUMN identities.changed_at IS 'When the password was set last, by the business clock.';

CREATE TABLE memberships (
    identity_id uuid NOT NULL,
    shop_id     uuid NOT NULL,
    person_id   uuid NOT NULL,
    CONSTRAINT memberships_pkey PRIMARY KEY (shop_id, person_id),
    CONSTRAINT memberships_identity_fkey FOREIGN KEY (identity_id) REFERENCES identities (id),
    CONSTRAINT memberships_person_fkey FOREIGN KEY (shop_id, person_id) REFERENCES people (shop_id, id)
);
CREATE INDEX memberships_identity ON memberships (identity_id);
COMMENT ON TABLE memberships IS 'Directory, read before the shop is known: which person an identity is in which shop.';
COMMENT ON COLUMN memberships.identity_id IS 'Who signs in.';
COMMENT ON COLUMN memberships.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN memberships.person_id IS 'Who they are in that shop.';

CREATE TABLE session_families (
    id           uuid        NOT NULL,
    shop_id      uuid        NOT NULL,
    person_id    uuid        NOT NULL,
    turn         integer     NOT NULL DEFAULT 0,
    turned_at    timestamptz NOT NULL,
    begun_at     timestamptz NOT NULL,
    device       text        NOT NULL DEFAULT '',
    ended_at     timestamptz,
    CONSTRAINT session_families_pkey PRIMARY KEY (id),
    CONSTRAINT session_families_person_fkey FOREIGN KEY (shop_id, person_id) REFERENCES people (shop_id, id)
);
CREATE INDEX session_families_person ON session_families (shop_id, person_id);
COMMENT ON TABLE session_families IS 'Directory, read before the shop is known: one sign-in and how often its refresh token has turned.';
COMMENT ON COLUMN session_families.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN session_families.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN session_families.person_id IS 'Who signed in.';
COMMENT ON COLUMN session_families.turn IS 'How often the refresh token has been renewed; only this turn and the one before are good.';
COMMENT ON COLUMN session_families.turned_at IS 'When it was renewed last, by the database''s clock.';
COMMENT ON COLUMN session_families.begun_at IS 'When they signed in, by the database''s clock.';
COMMENT ON COLUMN session_families.device IS 'What the browser says it is, shortened. Empty: it did not say.';
COMMENT ON COLUMN session_families.ended_at IS 'When it ended, by the database''s clock; null while it may go on.';

CREATE TABLE one_time_links (
    token_hash bytea       NOT NULL,
    purpose    text        NOT NULL,
    shop_id    uuid,
    person_id  uuid,
    expires_at timestamptz NOT NULL,
    used_at    timestamptz,
    CONSTRAINT one_time_links_pkey PRIMARY KEY (token_hash),
    CONSTRAINT one_time_links_token_is_hashed CHECK (octet_length(token_hash) = 32),
    CONSTRAINT one_time_links_person_of_a_shop CHECK (person_id IS NULL OR shop_id IS NOT NULL),
    CONSTRAINT one_time_links_purpose_known CHECK (purpose IN ('first_proprietor')),
    CONSTRAINT one_time_links_person_fkey FOREIGN KEY (shop_id, person_id) REFERENCES people (shop_id, id)
);
CREATE INDEX one_time_links_person ON one_time_links (shop_id, person_id);
COMMENT ON TABLE one_time_links IS 'Directory, read before the shop is known: links that may be used once, kept as a hash only.';
COMMENT ON COLUMN one_time_links.token_hash IS 'SHA-256 of the link''s secret.';
COMMENT ON COLUMN one_time_links.purpose IS 'What the link is good for.';
COMMENT ON COLUMN one_time_links.shop_id IS 'The shop it belongs to; null while there is none.';
COMMENT ON COLUMN one_time_links.person_id IS 'For whom it is; null while there is nobody.';
COMMENT ON COLUMN one_time_links.expires_at IS 'Until when it can be used, by the database''s clock.';
COMMENT ON COLUMN one_time_links.used_at IS 'When it was used up, by the database''s clock; null while it can be.';
