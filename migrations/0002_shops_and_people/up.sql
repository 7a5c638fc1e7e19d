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
    CONSTRAINT shops_rate_not_negative CHECK (labour_rate >= 0),
    CONSTRAINT shops_claim_count_in_range CHECK (next_claim_count BETWEEN 1000 AND 1000000000),
    CONSTRAINT shops_quote_days_positive CHECK (quote_days BETWEEN 1 AND 365)
);
COMMENT ON TABLE shops IS 'One repair shop and its settings; every other row belongs to exactly one.';

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
    CONSTRAINT people_initials_once UNIQUE (shop_id, initials)
);
COMMENT ON TABLE people IS 'Staff of one shop: who they are there and what they may do.';

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

CREATE TABLE one_time_links (
    token_hash bytea       NOT NULL,
    purpose    text        NOT NULL,
    shop_id    uuid,
    person_id  uuid,
    expires_at timestamptz NOT NULL,
    used_at    timestamptz,
    CONSTRAINT one_time_links_pkey PRIMARY KEY (token_hash),
    CONSTRAINT one_time_links_purpose_known CHECK (purpose IN ('first_proprietor')),
    CONSTRAINT one_time_links_person_fkey FOREIGN KEY (shop_id, person_id) REFERENCES people (shop_id, id)
);
CREATE INDEX one_time_links_person ON one_time_links (shop_id, person_id);
COMMENT ON TABLE one_time_links IS 'Directory, read before the shop is known: links that may be used once, kept as a hash only.';
