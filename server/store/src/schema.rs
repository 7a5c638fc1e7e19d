//! The tables as Diesel sees them: generated from the migrated database, compared by a test.
#![expect(missing_docs, reason = "the comments stand in the migrations")]

diesel::table! {
    audit (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        act -> Text,
        work_order_id -> Nullable<Uuid>,
        by_person -> Nullable<Uuid>,
        by_words -> Text,
        happened_at -> Timestamptz,
    }
}

diesel::table! {
    bench_looks (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        looked_on -> Date,
        looked_at -> Timestamptz,
        by_person -> Uuid,
    }
}

diesel::table! {
    bench_settings (shop_id) {
        shop_id -> Uuid,
        settings -> Jsonb,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
    }
}

diesel::table! {
    call_words (shop_id, call_id) {
        shop_id -> Uuid,
        call_id -> Uuid,
        words -> Nullable<Text>,
        struck_reason -> Nullable<Text>,
        struck_by -> Nullable<Uuid>,
        struck_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    calls (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        customer_id -> Uuid,
        outcome -> Text,
        called_by -> Uuid,
        called_at -> Timestamptz,
    }
}

diesel::table! {
    counter_marks (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        part -> Text,
        kind -> Text,
        side -> Nullable<Text>,
        position_mm -> Nullable<Numeric>,
    }
}

diesel::table! {
    customers (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        kind -> Text,
        name -> Text,
        email -> Nullable<Text>,
        phone -> Nullable<Text>,
        phone_digits -> Text,
        language -> Text,
        mail_wanted -> Text,
        note -> Nullable<Text>,
        search -> Text,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    decisions (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        quote_id -> Uuid,
        content_hash -> Text,
        answer -> Text,
        how -> Text,
        typed_name -> Text,
        recorded_by -> Nullable<Uuid>,
        chosen_lines -> Jsonb,
        accepted_by_name -> Jsonb,
        question -> Nullable<Text>,
        decided_at -> Timestamptz,
    }
}

diesel::table! {
    desk_fields (shop_id, work_order_id) {
        shop_id -> Uuid,
        work_order_id -> Uuid,
        loaner_number -> Nullable<Text>,
        loaner_back_at -> Nullable<Timestamptz>,
        old_parts_back -> Bool,
    }
}

diesel::table! {
    disputes (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        decision_id -> Uuid,
        typed_name -> Text,
        reason -> Nullable<Text>,
        recorded_by -> Nullable<Uuid>,
        disputed_at -> Timestamptz,
    }
}

diesel::table! {
    event_counters (shop_id) {
        shop_id -> Uuid,
        last_number -> Int8,
    }
}

diesel::table! {
    event_queue (event_id) {
        event_id -> Uuid,
        shop_id -> Uuid,
    }
}

diesel::table! {
    events (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        number -> Nullable<Int8>,
        kind -> Text,
        work_order_id -> Nullable<Uuid>,
        data -> Jsonb,
        happened_at -> Timestamptz,
    }
}

diesel::table! {
    findings (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        number -> Int4,
        kind -> Text,
        part -> Text,
        side -> Nullable<Text>,
        position_mm -> Nullable<Numeric>,
        size_mm -> Nullable<Numeric>,
        leaks -> Text,
        likely_to_spread -> Bool,
        found_when -> Text,
        disposition -> Text,
        disposition_reason -> Nullable<Text>,
        note -> Nullable<Text>,
        shared -> Bool,
        struck_reason -> Nullable<Text>,
        found_by -> Uuid,
        found_at -> Timestamptz,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
        overruled -> Nullable<Text>,
    }
}

diesel::table! {
    fit_checks (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        fit_kind -> Text,
        part -> Text,
        measured -> Jsonb,
        answer -> Jsonb,
        finding_id -> Nullable<Uuid>,
        note -> Nullable<Text>,
        checked_by -> Uuid,
        checked_at -> Timestamptz,
    }
}

diesel::table! {
    forecasts (shop_id) {
        shop_id -> Uuid,
        number -> Int8,
        as_of -> Timestamptz,
        last_event -> Int8,
        settings -> Text,
        history_as_of -> Timestamptz,
        at_work -> Jsonb,
        basis -> Jsonb,
        stages -> Jsonb,
    }
}

diesel::table! {
    handovers (shop_id, work_order_id) {
        shop_id -> Uuid,
        work_order_id -> Uuid,
        collected_by -> Text,
        waived -> Numeric,
        waived_reason -> Nullable<Text>,
        note -> Nullable<Text>,
        handed_by -> Uuid,
        handed_at -> Timestamptz,
    }
}

diesel::table! {
    holds (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        reason -> Text,
        look_again_on -> Nullable<Date>,
        note -> Nullable<Text>,
        set_by -> Uuid,
        set_at -> Timestamptz,
        lifted_at -> Nullable<Timestamptz>,
        supplier -> Nullable<Text>,
        order_number -> Nullable<Text>,
        expected_on -> Nullable<Date>,
    }
}

diesel::table! {
    idempotency_keys (shop_id, actor, key) {
        shop_id -> Uuid,
        actor -> Text,
        key -> Text,
        body_hash -> Bytea,
        answer -> Jsonb,
        kept_at -> Timestamptz,
    }
}

diesel::table! {
    identities (id) {
        id -> Uuid,
        email -> Text,
        password_hash -> Text,
        changed_at -> Timestamptz,
    }
}

diesel::table! {
    instruments (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        owner_id -> Uuid,
        family -> Text,
        maker -> Nullable<Text>,
        model -> Nullable<Text>,
        serial_number -> Nullable<Text>,
        age_text -> Nullable<Text>,
        finish -> Nullable<Text>,
        owners_number -> Nullable<Text>,
        search -> Text,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
    }
}

diesel::table! {
    letters (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Nullable<Uuid>,
        stage_change_id -> Nullable<Uuid>,
        kind -> Text,
        state -> Text,
        state_reason -> Nullable<Text>,
        to_customer_id -> Nullable<Uuid>,
        to_name -> Text,
        to_email -> Nullable<Text>,
        message_id -> Text,
        subject -> Text,
        text -> Text,
        html -> Text,
        queued_at -> Timestamptz,
        sent_at -> Nullable<Timestamptz>,
        attempts -> Int4,
        next_try_at -> Nullable<Timestamptz>,
        last_trouble -> Nullable<Text>,
        to_person_id -> Nullable<Uuid>,
    }
}

diesel::table! {
    link_directory (token_hash) {
        token_hash -> Bytea,
        shop_id -> Uuid,
        link_id -> Uuid,
    }
}

diesel::table! {
    links (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        purpose -> Text,
        quote_id -> Nullable<Uuid>,
        issued_at -> Timestamptz,
        expires_at -> Nullable<Timestamptz>,
        withdrawn_at -> Nullable<Timestamptz>,
        customer_id -> Uuid,
    }
}

diesel::table! {
    memberships (shop_id, person_id) {
        identity_id -> Uuid,
        shop_id -> Uuid,
        person_id -> Uuid,
    }
}

diesel::table! {
    methods (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        name -> Text,
        heat -> Text,
        irreversible -> Bool,
        low_minutes -> Int4,
        typical_minutes -> Int4,
        high_minutes -> Int4,
        price -> Numeric,
        cautions -> Jsonb,
        station -> Text,
        filler -> Nullable<Text>,
        heat_c -> Nullable<Int4>,
        joint_kind -> Nullable<Text>,
        needs_apart -> Jsonb,
        answers -> Jsonb,
        plating_metal -> Nullable<Text>,
        is_offered -> Bool,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
    }
}

diesel::table! {
    notes (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        text -> Text,
        written_by -> Uuid,
        written_at -> Timestamptz,
    }
}

diesel::table! {
    one_time_links (token_hash) {
        token_hash -> Bytea,
        purpose -> Text,
        shop_id -> Nullable<Uuid>,
        person_id -> Nullable<Uuid>,
        expires_at -> Timestamptz,
        used_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    operations (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        number -> Int4,
        title -> Text,
        kind -> Text,
        method_id -> Nullable<Uuid>,
        heat -> Text,
        irreversible -> Bool,
        finding_ids -> Jsonb,
        after_ids -> Jsonb,
        low_minutes -> Int4,
        typical_minutes -> Int4,
        high_minutes -> Int4,
        price -> Numeric,
        tax_class -> Text,
        state -> Text,
        begun_at -> Nullable<Timestamptz>,
        claimed_by -> Nullable<Uuid>,
        claimed_at -> Nullable<Timestamptz>,
        rework_count -> Int4,
        waits_for_answer -> Bool,
        struck_reason -> Nullable<Text>,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
        joint -> Nullable<Text>,
        needs_apart -> Jsonb,
        chosen_ways -> Jsonb,
        method_changed_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    order_changes (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        changes -> Jsonb,
        reason -> Nullable<Text>,
        by_person -> Uuid,
        by_words -> Text,
        changed_at -> Timestamptz,
    }
}

diesel::table! {
    order_forecasts (shop_id, work_order_id) {
        shop_id -> Uuid,
        work_order_id -> Uuid,
        is_current -> Bool,
        ready_p50 -> Date,
        ready_p85 -> Date,
        ready_p95 -> Date,
        likely_days_late -> Int4,
        said -> Jsonb,
        first_on -> Date,
        first_p50 -> Date,
        first_p85 -> Date,
        first_p95 -> Date,
    }
}

diesel::table! {
    outbox (letter_id) {
        letter_id -> Uuid,
        shop_id -> Uuid,
        due_at -> Timestamptz,
        leased_until -> Nullable<Timestamptz>,
        fence -> Int4,
    }
}

diesel::table! {
    part_maps (shop_id, instrument_id) {
        shop_id -> Uuid,
        instrument_id -> Uuid,
        map -> Jsonb,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
    }
}

diesel::table! {
    payments (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        amount -> Numeric,
        kind -> Text,
        how -> Text,
        note -> Nullable<Text>,
        taken_by -> Uuid,
        taken_at -> Timestamptz,
    }
}

diesel::table! {
    people (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        name -> Text,
        initials -> Text,
        email -> Text,
        roles -> Jsonb,
        is_active -> Bool,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
        skills -> Jsonb,
        weekly_bench_hours -> Nullable<Int4>,
        absent -> Jsonb,
    }
}

diesel::table! {
    photos (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        finding_id -> Nullable<Uuid>,
        caption -> Nullable<Text>,
        shared -> Bool,
        media_type -> Text,
        sha256 -> Text,
        bytes_count -> Int4,
        width_px -> Int4,
        height_px -> Int4,
        added_by -> Uuid,
        added_at -> Timestamptz,
        struck_reason -> Nullable<Text>,
        struck_by -> Nullable<Uuid>,
        struck_at -> Nullable<Timestamptz>,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
    }
}

diesel::table! {
    places (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        name -> Text,
    }
}

diesel::table! {
    plans (shop_id, work_order_id) {
        shop_id -> Uuid,
        work_order_id -> Uuid,
        steps -> Jsonb,
        reason -> Nullable<Text>,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
    }
}

diesel::table! {
    pressure_tests (shop_id, test_id) {
        shop_id -> Uuid,
        test_id -> Uuid,
        readings -> Jsonb,
        asked -> Jsonb,
        answer -> Jsonb,
    }
}

diesel::table! {
    quotes (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        number -> Int4,
        state -> Text,
        is_extra -> Bool,
        content -> Jsonb,
        total -> Numeric,
        limit_amount -> Numeric,
        expires_on -> Date,
        content_hash -> Nullable<Text>,
        sent_by -> Nullable<Uuid>,
        sent_at -> Nullable<Timestamptz>,
        seen_at -> Nullable<Timestamptz>,
        struck_reason -> Nullable<Text>,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
        days_count -> Nullable<Int4>,
    }
}

diesel::table! {
    session_families (id) {
        id -> Uuid,
        shop_id -> Uuid,
        person_id -> Uuid,
        turn -> Int4,
        turned_at -> Timestamptz,
        begun_at -> Timestamptz,
        device -> Text,
        ended_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    shops (shop_id) {
        shop_id -> Uuid,
        name -> Text,
        address -> Text,
        phone -> Text,
        email -> Text,
        language -> Text,
        time_zone -> Text,
        currency -> Text,
        calendar -> Jsonb,
        tax_classes -> Jsonb,
        prices_include_tax -> Bool,
        labour_rate -> Numeric,
        quote_days -> Int4,
        reminder_days -> Jsonb,
        terms -> Text,
        next_claim_count -> Int8,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
        test_settings -> Jsonb,
        quote_reminder_days -> Jsonb,
        care_notes -> Jsonb,
    }
}

diesel::table! {
    stage_changes (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        number -> Int4,
        from_stage -> Nullable<Text>,
        to_stage -> Text,
        because -> Text,
        reason -> Nullable<Text>,
        by_person -> Nullable<Uuid>,
        by_words -> Text,
        changed_at -> Timestamptz,
    }
}

diesel::table! {
    struck_payments (shop_id, payment_id) {
        shop_id -> Uuid,
        payment_id -> Uuid,
        reason -> Text,
        struck_by -> Uuid,
        struck_at -> Timestamptz,
    }
}

diesel::table! {
    tests (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        kind -> Text,
        method -> Nullable<Text>,
        scope -> Text,
        verdict -> Nullable<Text>,
        where_words -> Nullable<Text>,
        finding_id -> Nullable<Uuid>,
        apart_from -> Jsonb,
        note -> Nullable<Text>,
        tested_by -> Uuid,
        tested_at -> Timestamptz,
        spots -> Jsonb,
        overruled_because -> Nullable<Text>,
    }
}

diesel::table! {
    time_entries (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        operation_id -> Uuid,
        person_id -> Uuid,
        started_at -> Timestamptz,
        stopped_at -> Nullable<Timestamptz>,
        to_check -> Bool,
    }
}

diesel::table! {
    waivers (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        work_order_id -> Uuid,
        amount -> Numeric,
        reason -> Text,
        waived_by -> Uuid,
        waived_at -> Timestamptz,
    }
}

diesel::table! {
    work_orders (shop_id, id) {
        shop_id -> Uuid,
        id -> Uuid,
        claim_count -> Int8,
        customer_id -> Uuid,
        owner_id -> Uuid,
        instrument_id -> Uuid,
        stage -> Text,
        stage_since -> Timestamptz,
        complaint -> Text,
        condition_note -> Nullable<Text>,
        keep_as_is -> Nullable<Text>,
        accessories -> Jsonb,
        may_cost -> Nullable<Numeric>,
        examination_fee -> Nullable<Numeric>,
        promised_on -> Date,
        place -> Nullable<Text>,
        terms -> Text,
        checked_in_at -> Timestamptz,
        checked_in_by -> Uuid,
        claimed_by -> Nullable<Uuid>,
        claimed_at -> Nullable<Timestamptz>,
        ending_because -> Nullable<Text>,
        ending_reason -> Nullable<Text>,
        ending_by -> Nullable<Text>,
        ending_at -> Nullable<Timestamptz>,
        question -> Nullable<Text>,
        question_by -> Nullable<Text>,
        question_at -> Nullable<Timestamptz>,
        version -> Int4,
        changed_by -> Text,
        changed_at -> Timestamptz,
        promise_reason -> Nullable<Text>,
    }
}

diesel::allow_tables_to_appear_in_same_query!(
    audit,
    bench_looks,
    bench_settings,
    call_words,
    calls,
    counter_marks,
    customers,
    decisions,
    desk_fields,
    disputes,
    event_counters,
    event_queue,
    events,
    findings,
    fit_checks,
    forecasts,
    handovers,
    holds,
    idempotency_keys,
    identities,
    instruments,
    letters,
    link_directory,
    links,
    memberships,
    methods,
    notes,
    one_time_links,
    operations,
    order_changes,
    order_forecasts,
    outbox,
    part_maps,
    payments,
    people,
    photos,
    places,
    plans,
    pressure_tests,
    quotes,
    session_families,
    shops,
    stage_changes,
    struck_payments,
    tests,
    time_entries,
    waivers,
    work_orders,
);
