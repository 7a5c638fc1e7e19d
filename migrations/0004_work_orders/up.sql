-- Work orders and what is recorded on them.
CREATE TABLE work_orders (
    shop_id          uuid        NOT NULL,
    id               uuid        NOT NULL,
    claim_count      bigint      NOT NULL,
    customer_id      uuid        NOT NULL,
    owner_id         uuid        NOT NULL,
    instrument_id    uuid        NOT NULL,
    stage            stage       NOT NULL,
    stage_since      timestamptz NOT NULL,
    complaint        text        NOT NULL,
    condition_note   text,
    keep_as_is       text,
    accessories      jsonb       NOT NULL DEFAULT '[]',
    may_cost         numeric,
    examination_fee  numeric,
    promised_on      date        NOT NULL,
    place            text,
    terms            text        NOT NULL DEFAULT '',
    checked_in_at    timestamptz NOT NULL,
    checked_in_by    uuid        NOT NULL,
    claimed_by       uuid,
    claimed_at       timestamptz,
    ending_because   move_reason,
    ending_reason    text,
    ending_by        text,
    ending_at        timestamptz,
    question         text,
    question_by      text,
    question_at      timestamptz,
    version          integer     NOT NULL DEFAULT 1,
    changed_by       text        NOT NULL,
    changed_at       timestamptz NOT NULL,
    CONSTRAINT work_orders_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT work_orders_claim_count_once UNIQUE (shop_id, claim_count),
    CONSTRAINT work_orders_customer_fkey FOREIGN KEY (shop_id, customer_id) REFERENCES customers (shop_id, id),
    CONSTRAINT work_orders_owner_fkey FOREIGN KEY (shop_id, owner_id) REFERENCES customers (shop_id, id),
    CONSTRAINT work_orders_instrument_fkey FOREIGN KEY (shop_id, instrument_id) REFERENCES instruments (shop_id, id),
    CONSTRAINT work_orders_checked_in_by_fkey FOREIGN KEY (shop_id, checked_in_by) REFERENCES people (shop_id, id),
    CONSTRAINT work_orders_claimed_by_fkey FOREIGN KEY (shop_id, claimed_by) REFERENCES people (shop_id, id),
    CONSTRAINT work_orders_claim_whole CHECK ((claimed_by IS NULL) = (claimed_at IS NULL)),
    CONSTRAINT work_orders_ending_whole CHECK ((ending_because IS NULL) = (ending_at IS NULL)),
    CONSTRAINT work_orders_question_whole CHECK ((question IS NULL) = (question_at IS NULL)),
    CONSTRAINT work_orders_may_cost_not_negative CHECK (coalesce(may_cost, 0) >= 0 AND coalesce(examination_fee, 0) >= 0),
    CONSTRAINT work_orders_complaint_not_empty CHECK (btrim(complaint) <> '')
);
CREATE INDEX work_orders_customer ON work_orders (shop_id, customer_id);
CREATE INDEX work_orders_owner ON work_orders (shop_id, owner_id);
CREATE INDEX work_orders_instrument ON work_orders (shop_id, instrument_id);
CREATE INDEX work_orders_checked_in_by ON work_orders (shop_id, checked_in_by);
CREATE INDEX work_orders_claimed_by ON work_orders (shop_id, claimed_by);
CREATE INDEX work_orders_open ON work_orders (shop_id, stage) WHERE stage <> 'closed';
COMMENT ON TABLE work_orders IS 'One visit of one instrument.';

CREATE TABLE counter_marks (
    shop_id       uuid      NOT NULL,
    id            uuid      NOT NULL,
    work_order_id uuid      NOT NULL,
    part          text      NOT NULL,
    kind          mark_kind NOT NULL,
    side          text,
    position_mm   numeric,
    CONSTRAINT counter_marks_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT counter_marks_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id)
);
CREATE INDEX counter_marks_order ON counter_marks (shop_id, work_order_id);
COMMENT ON TABLE counter_marks IS 'What the customer and the shop agreed the instrument looked like at the counter; no findings.';

CREATE TABLE stage_changes (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    number        integer     NOT NULL,
    from_stage    stage,
    to_stage      stage       NOT NULL,
    because       move_reason NOT NULL,
    reason        text,
    by_person     uuid,
    by_words      text        NOT NULL,
    changed_at    timestamptz NOT NULL,
    CONSTRAINT stage_changes_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT stage_changes_number_once UNIQUE (shop_id, work_order_id, number),
    CONSTRAINT stage_changes_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT stage_changes_person_fkey FOREIGN KEY (shop_id, by_person) REFERENCES people (shop_id, id),
    CONSTRAINT stage_changes_goes_somewhere CHECK (from_stage IS DISTINCT FROM to_stage),
    CONSTRAINT stage_changes_says_why CHECK (
        because NOT IN ('nothing_to_do', 'recalled', 'overridden', 'withdrawn', 'not_repairable', 'sent_back', 'reopened', 'otherwise_settled', 'entered_by_mistake')
        OR btrim(coalesce(reason, '')) <> '')
);
CREATE INDEX stage_changes_person ON stage_changes (shop_id, by_person);
COMMENT ON TABLE stage_changes IS 'One row per move of a work order, never updated or deleted (domain rule 9).';

CREATE TABLE findings (
    shop_id            uuid         NOT NULL,
    id                 uuid         NOT NULL,
    work_order_id      uuid         NOT NULL,
    number             integer      NOT NULL,
    kind               finding_kind NOT NULL,
    part               text         NOT NULL,
    side               text,
    position_mm        numeric,
    size_mm            numeric,
    leaks              leaks        NOT NULL,
    likely_to_spread   boolean      NOT NULL,
    found_when         found_when   NOT NULL,
    disposition        disposition  NOT NULL,
    disposition_reason text,
    note               text,
    shared             boolean      NOT NULL DEFAULT true,
    struck_reason      text,
    found_by           uuid         NOT NULL,
    found_at           timestamptz  NOT NULL,
    version            integer      NOT NULL DEFAULT 1,
    changed_by         text         NOT NULL,
    changed_at         timestamptz  NOT NULL,
    CONSTRAINT findings_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT findings_number_once UNIQUE (shop_id, work_order_id, number),
    CONSTRAINT findings_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT findings_found_by_fkey FOREIGN KEY (shop_id, found_by) REFERENCES people (shop_id, id),
    CONSTRAINT findings_size_positive CHECK (coalesce(size_mm, 1) > 0)
);
CREATE INDEX findings_found_by ON findings (shop_id, found_by);
COMMENT ON TABLE findings IS 'What an examination turned up; struck with a reason, never deleted (domain rule 9).';

CREATE TABLE operations (
    shop_id          uuid            NOT NULL,
    id               uuid            NOT NULL,
    work_order_id    uuid            NOT NULL,
    number           integer         NOT NULL,
    title            text            NOT NULL,
    kind             operation_kind  NOT NULL,
    method_id        uuid,
    heat             heat            NOT NULL,
    irreversible     boolean         NOT NULL,
    finding_ids      jsonb           NOT NULL DEFAULT '[]',
    after_ids        jsonb           NOT NULL DEFAULT '[]',
    low_minutes      integer         NOT NULL,
    typical_minutes  integer         NOT NULL,
    high_minutes     integer         NOT NULL,
    price            numeric         NOT NULL,
    tax_class        text            NOT NULL,
    state            operation_state NOT NULL DEFAULT 'planned',
    begun_at         timestamptz,
    claimed_by       uuid,
    claimed_at       timestamptz,
    rework_count     integer         NOT NULL DEFAULT 0,
    waits_for_answer boolean         NOT NULL DEFAULT false,
    struck_reason    text,
    version          integer         NOT NULL DEFAULT 1,
    changed_by       text            NOT NULL,
    changed_at       timestamptz     NOT NULL,
    CONSTRAINT operations_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT operations_number_once UNIQUE (shop_id, work_order_id, number),
    CONSTRAINT operations_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT operations_method_fkey FOREIGN KEY (shop_id, method_id) REFERENCES methods (shop_id, id),
    CONSTRAINT operations_claimed_by_fkey FOREIGN KEY (shop_id, claimed_by) REFERENCES people (shop_id, id),
    CONSTRAINT operations_claim_whole CHECK ((claimed_by IS NULL) = (claimed_at IS NULL)),
    CONSTRAINT operations_minutes_in_order CHECK (0 <= low_minutes AND low_minutes <= typical_minutes AND typical_minutes <= high_minutes),
    CONSTRAINT operations_price_not_negative CHECK (price >= 0),
    CONSTRAINT operations_struck_says_why CHECK (state <> 'struck' OR btrim(coalesce(struck_reason, '')) <> ''),
    CONSTRAINT operations_begun_when_running CHECK (state NOT IN ('running', 'paused', 'done') OR begun_at IS NOT NULL)
);
CREATE INDEX operations_method ON operations (shop_id, method_id);
CREATE INDEX operations_claimed_by ON operations (shop_id, claimed_by);
COMMENT ON TABLE operations IS 'One step on the bench answering one or more findings.';

CREATE TABLE time_entries (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    operation_id  uuid        NOT NULL,
    person_id     uuid        NOT NULL,
    started_at    timestamptz NOT NULL,
    stopped_at    timestamptz,
    to_check      boolean     NOT NULL DEFAULT false,
    CONSTRAINT time_entries_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT time_entries_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT time_entries_operation_fkey FOREIGN KEY (shop_id, operation_id) REFERENCES operations (shop_id, id),
    CONSTRAINT time_entries_person_fkey FOREIGN KEY (shop_id, person_id) REFERENCES people (shop_id, id),
    CONSTRAINT time_entries_forward CHECK (stopped_at IS NULL OR stopped_at >= started_at)
);
CREATE INDEX time_entries_order ON time_entries (shop_id, work_order_id);
CREATE INDEX time_entries_operation ON time_entries (shop_id, operation_id);
CREATE INDEX time_entries_person ON time_entries (shop_id, person_id);
CREATE UNIQUE INDEX time_entries_one_clock_per_person ON time_entries (shop_id, person_id) WHERE stopped_at IS NULL;
CREATE UNIQUE INDEX time_entries_one_clock_per_operation ON time_entries (shop_id, operation_id) WHERE stopped_at IS NULL;
COMMENT ON TABLE time_entries IS 'When a clock ran on an operation; one running clock per person.';

CREATE TABLE tests (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    kind          test_kind   NOT NULL,
    method        test_method,
    scope         text        NOT NULL,
    verdict       verdict     NOT NULL,
    where_words   text,
    finding_id    uuid,
    apart_from    jsonb       NOT NULL DEFAULT '[]',
    note          text,
    tested_by     uuid        NOT NULL,
    tested_at     timestamptz NOT NULL,
    CONSTRAINT tests_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT tests_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT tests_finding_fkey FOREIGN KEY (shop_id, finding_id) REFERENCES findings (shop_id, id),
    CONSTRAINT tests_tested_by_fkey FOREIGN KEY (shop_id, tested_by) REFERENCES people (shop_id, id),
    CONSTRAINT tests_failure_is_pinned CHECK (verdict <> 'failed' OR finding_id IS NOT NULL)
);
CREATE INDEX tests_order ON tests (shop_id, work_order_id, id);
CREATE INDEX tests_finding ON tests (shop_id, finding_id);
CREATE INDEX tests_tested_by ON tests (shop_id, tested_by);
COMMENT ON TABLE tests IS 'What was tested before pickup and what it said; never updated or deleted (domain rule 9).';

CREATE TABLE holds (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    reason        hold_reason NOT NULL,
    look_again_on date,
    note          text,
    set_by        uuid        NOT NULL,
    set_at        timestamptz NOT NULL,
    lifted_at     timestamptz,
    CONSTRAINT holds_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT holds_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT holds_set_by_fkey FOREIGN KEY (shop_id, set_by) REFERENCES people (shop_id, id)
);
CREATE INDEX holds_order ON holds (shop_id, work_order_id);
CREATE INDEX holds_set_by ON holds (shop_id, set_by);
COMMENT ON TABLE holds IS 'Why an order waits across its stages, and when to look again.';

CREATE TABLE notes (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    text          text        NOT NULL,
    written_by    uuid        NOT NULL,
    written_at    timestamptz NOT NULL,
    CONSTRAINT notes_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT notes_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT notes_written_by_fkey FOREIGN KEY (shop_id, written_by) REFERENCES people (shop_id, id)
);
CREATE INDEX notes_order ON notes (shop_id, work_order_id, id);
CREATE INDEX notes_written_by ON notes (shop_id, written_by);
COMMENT ON TABLE notes IS 'What staff jotted down on an order.';
