-- One shop with 20,000 orders, 200 of them open, as in the promises' first rig.
SELECT set_config('bellbrace.shop', '00000000-0000-7000-8000-000000000001', false);
INSERT INTO shops (shop_id, name, time_zone, currency, calendar, tax_classes, prices_include_tax, labour_rate, changed_at, next_claim_count)
VALUES ('00000000-0000-7000-8000-000000000001', 'Bench', 'Europe/Berlin', 'EUR',
        '{"time_zone":"Europe/Berlin","weekly":{"monday":[{"from":"09:00","to":"18:00"}],"tuesday":[{"from":"09:00","to":"18:00"}],"wednesday":[{"from":"09:00","to":"18:00"}],"thursday":[{"from":"09:00","to":"18:00"}],"friday":[{"from":"09:00","to":"18:00"}]},"closed":[],"extra_days":[]}',
        '[{"id":"standard","percent":"19"}]', true, 75, now(), 21000);
INSERT INTO event_counters VALUES ('00000000-0000-7000-8000-000000000001', 0);
INSERT INTO people (shop_id, id, name, initials, email, roles, changed_at)
VALUES ('00000000-0000-7000-8000-000000000001', '00000000-0000-7000-8000-000000000002', 'Bench Person', 'BP', 'bench@bench.example', '["technician"]', now());
INSERT INTO customers (shop_id, id, kind, name, email, phone, changed_at, created_at)
SELECT '00000000-0000-7000-8000-000000000001', ('00000000-0000-7000-9000-' || lpad(to_hex(i), 12, '0'))::uuid, 'person', 'Customer ' || i, 'c' || i || '@bench.example', '555 ' || i, now(), now()
FROM generate_series(1, 5000) i;
INSERT INTO instruments (shop_id, id, owner_id, family, maker, serial_number, changed_at)
SELECT '00000000-0000-7000-8000-000000000001', ('00000000-0000-7000-a000-' || lpad(to_hex(i), 12, '0'))::uuid, ('00000000-0000-7000-9000-' || lpad(to_hex(1 + i % 5000), 12, '0'))::uuid, 'trumpet', 'Maker ' || i % 40, i::text, now()
FROM generate_series(1, 20000) i;
INSERT INTO work_orders (shop_id, id, claim_count, customer_id, owner_id, instrument_id, stage, stage_since, complaint, promised_on, checked_in_at, checked_in_by, changed_by, changed_at)
SELECT '00000000-0000-7000-8000-000000000001', ('00000000-0000-7000-b000-' || lpad(to_hex(i), 12, '0'))::uuid, 1000 + i, ('00000000-0000-7000-9000-' || lpad(to_hex(1 + i % 5000), 12, '0'))::uuid, ('00000000-0000-7000-9000-' || lpad(to_hex(1 + i % 5000), 12, '0'))::uuid, ('00000000-0000-7000-a000-' || lpad(to_hex(i), 12, '0'))::uuid,
       CASE WHEN i > 19800 THEN 'bench' ELSE 'closed' END, now(), 'Hard to blow since the spring.', current_date + (i % 20), now(), '00000000-0000-7000-8000-000000000002', 'Bench Person', now()
FROM generate_series(1, 20000) i;
INSERT INTO stage_changes (shop_id, id, work_order_id, number, from_stage, to_stage, because, by_words, changed_at)
SELECT shop_id, id, id, 1, NULL, stage, 'checked_in', 'Bench Person', now() FROM work_orders;
INSERT INTO letters (shop_id, id, work_order_id, stage_change_id, kind, state, state_reason, to_customer_id, to_name, message_id, subject, text, html, queued_at)
SELECT shop_id, id, id, id, 'checked_in', 'not_wanted', 'bench', customer_id, 'x', '<' || id || '@bench.example>', 's', 't', 'h', now() FROM work_orders;
