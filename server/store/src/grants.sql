GRANT USAGE ON SCHEMA public TO {serving};
REVOKE ALL ON ALL TABLES IN SCHEMA public FROM {serving};
GRANT SELECT, INSERT, UPDATE ON
    shops, people, customers, instruments, work_orders, findings, operations, time_entries, holds, quotes,
    letters, events, event_counters, links, part_maps, bench_settings, plans, methods, identities, session_families, one_time_links, outbox, forecasts,
    order_forecasts, desk_fields, photos, call_words
    TO {serving};
GRANT SELECT, INSERT ON
    places, counter_marks, stage_changes, tests, pressure_tests, fit_checks, notes, decisions, disputes, payments, handovers, waivers, calls, audit,
    order_changes, struck_payments, bench_looks,
    memberships, link_directory, event_queue, idempotency_keys
    TO {serving};
GRANT UPDATE (answer) ON idempotency_keys TO {serving};
GRANT DELETE ON outbox, event_queue, idempotency_keys, one_time_links TO {serving};
GRANT SELECT ON __diesel_schema_migrations TO {serving};
