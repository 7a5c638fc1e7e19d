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
COMMENT ON COLUMN work_orders.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN work_orders.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN work_orders.claim_count IS 'The number behind the claim number; its check digit is computed.';
COMMENT ON COLUMN work_orders.customer_id IS 'Who brought the instrument in; gets the status letters.';
COMMENT ON COLUMN work_orders.owner_id IS 'Who owns the instrument; gets the quotes.';
COMMENT ON COLUMN work_orders.instrument_id IS 'Which instrument.';
COMMENT ON COLUMN work_orders.stage IS 'Where it stands; written only together with a row in stage_changes.';
COMMENT ON COLUMN work_orders.stage_since IS 'Since when it stands there, by the business clock.';
COMMENT ON COLUMN work_orders.complaint IS 'What is wrong, in the customer''s words.';
COMMENT ON COLUMN work_orders.condition_note IS 'How it looked at the counter. Null: nothing to say.';
COMMENT ON COLUMN work_orders.keep_as_is IS 'What the owner wants left as it is. Null: nothing.';
COMMENT ON COLUMN work_orders.accessories IS 'List of {name, returned}: what came with it and what went back.';
COMMENT ON COLUMN work_orders.may_cost IS 'Authorised at the counter, tax included, in the shop''s currency. Null: nothing.';
COMMENT ON COLUMN work_orders.examination_fee IS 'Told at check-in, in the shop''s currency. Null: none.';
COMMENT ON COLUMN work_orders.promised_on IS 'Promised, as a calendar date of the shop.';
COMMENT ON COLUMN work_orders.place IS 'Where it is now, as the shop calls the place. Null: not said.';
COMMENT ON COLUMN work_orders.terms IS 'The shop''s terms as they were at check-in.';
COMMENT ON COLUMN work_orders.checked_in_at IS 'When it was taken in, by the business clock.';
COMMENT ON COLUMN work_orders.checked_in_by IS 'Who took it in.';
COMMENT ON COLUMN work_orders.claimed_by IS 'The technician who has it. Null: nobody.';
COMMENT ON COLUMN work_orders.claimed_at IS 'Since when, by the business clock.';
COMMENT ON COLUMN work_orders.ending_because IS 'The wish to end, once there is one; the move to pickup follows.';
COMMENT ON COLUMN work_orders.ending_reason IS 'Why, in words.';
COMMENT ON COLUMN work_orders.ending_by IS 'Who recorded the wish, as the record shows them.';
COMMENT ON COLUMN work_orders.ending_at IS 'When, by the business clock.';
COMMENT ON COLUMN work_orders.question IS 'What the owner asked and nobody answered yet.';
COMMENT ON COLUMN work_orders.question_by IS 'Who asked, as typed.';
COMMENT ON COLUMN work_orders.question_at IS 'When, by the business clock.';
COMMENT ON COLUMN work_orders.version IS 'Raised by one with every change; its ETag.';
COMMENT ON COLUMN work_orders.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN work_orders.changed_at IS 'When it was changed last, by the business clock.';

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
COMMENT ON COLUMN counter_marks.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN counter_marks.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN counter_marks.work_order_id IS 'On which order.';
COMMENT ON COLUMN counter_marks.part IS 'Which part or joint, by its name in the family''s part map.';
COMMENT ON COLUMN counter_marks.kind IS 'What it looks like.';
COMMENT ON COLUMN counter_marks.side IS 'Where around the part, in words. Null: not said.';
COMMENT ON COLUMN counter_marks.position_mm IS 'From the part''s beginning, in millimetres. Null: not measured.';

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
COMMENT ON COLUMN stage_changes.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN stage_changes.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN stage_changes.work_order_id IS 'Which order moved.';
COMMENT ON COLUMN stage_changes.number IS '1 for the check-in, then counting up per order.';
COMMENT ON COLUMN stage_changes.from_stage IS 'Where it came from; null for the check-in only.';
COMMENT ON COLUMN stage_changes.to_stage IS 'Where it went.';
COMMENT ON COLUMN stage_changes.because IS 'Why, by the table of moves.';
COMMENT ON COLUMN stage_changes.reason IS 'Why, in words; some moves cannot be without.';
COMMENT ON COLUMN stage_changes.by_person IS 'Which member of staff; null for an owner or the clock.';
COMMENT ON COLUMN stage_changes.by_words IS 'Who, as the record shows them.';
COMMENT ON COLUMN stage_changes.changed_at IS 'When, by the business clock.';

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
COMMENT ON COLUMN findings.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN findings.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN findings.work_order_id IS 'On which order it was found.';
COMMENT ON COLUMN findings.number IS 'Counting up per order; how people name it.';
COMMENT ON COLUMN findings.kind IS 'What it is.';
COMMENT ON COLUMN findings.part IS 'Which part or joint, by its name in the family''s part map.';
COMMENT ON COLUMN findings.side IS 'Where around the part, in words. Null: not said.';
COMMENT ON COLUMN findings.position_mm IS 'From the part''s beginning, in millimetres. Null: not measured.';
COMMENT ON COLUMN findings.size_mm IS 'Length, depth or play, as its kind has it, in millimetres. Null: not measured.';
COMMENT ON COLUMN findings.leaks IS 'Whether it leaks.';
COMMENT ON COLUMN findings.likely_to_spread IS 'Whether it is likely to get worse.';
COMMENT ON COLUMN findings.found_when IS 'When in the work it was found.';
COMMENT ON COLUMN findings.disposition IS 'What is to be done about it, as the technician decided.';
COMMENT ON COLUMN findings.disposition_reason IS 'Why, where it is not what the rules suggest.';
COMMENT ON COLUMN findings.note IS 'For the shop. Null: nothing.';
COMMENT ON COLUMN findings.shared IS 'Whether the owner may see it.';
COMMENT ON COLUMN findings.struck_reason IS 'Why it is struck; null while it counts.';
COMMENT ON COLUMN findings.found_by IS 'Who found it.';
COMMENT ON COLUMN findings.found_at IS 'When, by the business clock.';
COMMENT ON COLUMN findings.version IS 'Raised by one with every change; its ETag.';
COMMENT ON COLUMN findings.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN findings.changed_at IS 'When it was changed last, by the business clock.';

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
COMMENT ON COLUMN operations.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN operations.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN operations.work_order_id IS 'On which order.';
COMMENT ON COLUMN operations.number IS 'Counting up per order; how people name it.';
COMMENT ON COLUMN operations.title IS 'What is done, as technicians say it.';
COMMENT ON COLUMN operations.kind IS 'Work, taking apart, or putting together.';
COMMENT ON COLUMN operations.method_id IS 'From the shop''s list; null: entered freely.';
COMMENT ON COLUMN operations.heat IS 'How hot it gets.';
COMMENT ON COLUMN operations.irreversible IS 'Whether it cannot be undone; then it starts only after the owner accepted it by name.';
COMMENT ON COLUMN operations.finding_ids IS 'List of ids of the findings it answers.';
COMMENT ON COLUMN operations.after_ids IS 'List of ids of the operations that must be done before it.';
COMMENT ON COLUMN operations.low_minutes IS 'Quick, in minutes of work.';
COMMENT ON COLUMN operations.typical_minutes IS 'Usual, in minutes of work.';
COMMENT ON COLUMN operations.high_minutes IS 'Slow, in minutes of work.';
COMMENT ON COLUMN operations.price IS 'What the step costs, in the shop''s currency.';
COMMENT ON COLUMN operations.tax_class IS 'Id of one of the shop''s tax classes.';
COMMENT ON COLUMN operations.state IS 'Where it stands.';
COMMENT ON COLUMN operations.begun_at IS 'When it was first started, by the business clock; stays.';
COMMENT ON COLUMN operations.claimed_by IS 'The technician who has it. Null: nobody.';
COMMENT ON COLUMN operations.claimed_at IS 'Since when, by the business clock.';
COMMENT ON COLUMN operations.rework_count IS 'How often a failed test brought it back.';
COMMENT ON COLUMN operations.waits_for_answer IS 'Whether it rests until the owner has answered an extra-work request.';
COMMENT ON COLUMN operations.struck_reason IS 'Why it is struck; null while it counts.';
COMMENT ON COLUMN operations.version IS 'Raised by one with every change; its ETag.';
COMMENT ON COLUMN operations.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN operations.changed_at IS 'When it was changed last, by the business clock.';

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
COMMENT ON COLUMN time_entries.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN time_entries.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN time_entries.work_order_id IS 'On which order.';
COMMENT ON COLUMN time_entries.operation_id IS 'On which operation.';
COMMENT ON COLUMN time_entries.person_id IS 'Who worked.';
COMMENT ON COLUMN time_entries.started_at IS 'When the clock was started, by the business clock.';
COMMENT ON COLUMN time_entries.stopped_at IS 'When it was stopped, by the business clock; null while it runs.';
COMMENT ON COLUMN time_entries.to_check IS 'Whether it was stopped by something other than the person, and should be looked at.';

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
COMMENT ON COLUMN tests.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN tests.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN tests.work_order_id IS 'On which order.';
COMMENT ON COLUMN tests.kind IS 'Leak test or play test.';
COMMENT ON COLUMN tests.method IS 'How it was tested. Null: not said.';
COMMENT ON COLUMN tests.scope IS 'The whole instrument or a named part.';
COMMENT ON COLUMN tests.verdict IS 'What it said.';
COMMENT ON COLUMN tests.where_words IS 'Where it fails, in words.';
COMMENT ON COLUMN tests.finding_id IS 'The finding where it fails; a failure always has one.';
COMMENT ON COLUMN tests.apart_from IS 'List of ids of declined or watched findings that the pass leaves out.';
COMMENT ON COLUMN tests.note IS 'What was noticed. Null: nothing.';
COMMENT ON COLUMN tests.tested_by IS 'Who tested.';
COMMENT ON COLUMN tests.tested_at IS 'When, by the business clock.';

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
COMMENT ON COLUMN holds.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN holds.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN holds.work_order_id IS 'Which order is held.';
COMMENT ON COLUMN holds.reason IS 'Why.';
COMMENT ON COLUMN holds.look_again_on IS 'When to look again, as a calendar date of the shop. Null: not said.';
COMMENT ON COLUMN holds.note IS 'In words, such as the supplier and the order number.';
COMMENT ON COLUMN holds.set_by IS 'Who set it.';
COMMENT ON COLUMN holds.set_at IS 'When, by the business clock.';
COMMENT ON COLUMN holds.lifted_at IS 'When it was lifted, by the business clock; null while it holds.';

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
COMMENT ON COLUMN notes.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN notes.id IS 'UUIDv7, made by the server.';
COMMENT ON COLUMN notes.work_order_id IS 'On which order.';
COMMENT ON COLUMN notes.text IS 'What was jotted down; never shown to the customer.';
COMMENT ON COLUMN notes.written_by IS 'Who wrote it.';
COMMENT ON COLUMN notes.written_at IS 'When, by the business clock.';
