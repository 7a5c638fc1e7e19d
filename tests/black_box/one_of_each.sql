-- One row in every table, of the shop {shop}; {n} (one digit) makes the ids differ from another shop's.
SELECT set_config('bellbrace.shop', '{shop}', true);
INSERT INTO shops (shop_id, name, time_zone, currency, calendar, tax_classes, prices_include_tax, labour_rate, changed_at)
    VALUES ('{shop}', 'Brassworks {n}', 'Europe/Vienna', 'EUR', '{}', '[]', true, 60, now());
INSERT INTO people (shop_id, id, name, initials, email, roles, changed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}001', 'Mara Voss', 'MV', 'mara@shop{n}.example', '["technician"]', now());
INSERT INTO identities (id, email, password_hash, changed_at)
    VALUES ('00000000-0000-7000-8000-00000000{n}002', 'mara@shop{n}.example', 'none', now());
INSERT INTO memberships (identity_id, shop_id, person_id)
    VALUES ('00000000-0000-7000-8000-00000000{n}002', '{shop}', '00000000-0000-7000-8000-00000000{n}001');
INSERT INTO session_families (id, shop_id, person_id, turned_at, begun_at)
    VALUES ('00000000-0000-7000-8000-00000000{n}003', '{shop}', '00000000-0000-7000-8000-00000000{n}001', now(), now());
INSERT INTO one_time_links (token_hash, purpose, shop_id, person_id, expires_at)
    VALUES (sha256('first {n}'), 'first_proprietor', '{shop}', '00000000-0000-7000-8000-00000000{n}001', now());
INSERT INTO customers (shop_id, id, kind, name, email, phone, changed_at, created_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}004', 'person', 'Canary {n}', 'canary{n}@mail.example', '0{n} 555 01', now(), now());
INSERT INTO instruments (shop_id, id, owner_id, family, changed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}005', '00000000-0000-7000-8000-00000000{n}004', 'horn', now());
INSERT INTO part_maps (shop_id, instrument_id, map, changed_at) VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}005', '{}', now());
INSERT INTO bench_settings (shop_id, settings, changed_at) VALUES ('{shop}', '{}', now());
INSERT INTO places (shop_id, id, name) VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}006', 'Rack {n}');
INSERT INTO methods (shop_id, id, name, heat, irreversible, low_minutes, typical_minutes, high_minutes, price, changed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}007', 'Canary''s method', 'none', false, 1, 2, 3, 0, now());
INSERT INTO work_orders (shop_id, id, claim_count, customer_id, owner_id, instrument_id, stage, stage_since, complaint,
                         promised_on, checked_in_at, checked_in_by, changed_by, changed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}008', 1000, '00000000-0000-7000-8000-00000000{n}004',
            '00000000-0000-7000-8000-00000000{n}004', '00000000-0000-7000-8000-00000000{n}005', 'intake', now(), 'sings',
            current_date, now(), '00000000-0000-7000-8000-00000000{n}001', 'MV', now());
INSERT INTO plans (shop_id, work_order_id, steps, changed_at) VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}008', '[]', now());
INSERT INTO counter_marks (shop_id, id, work_order_id, part, kind)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}009', '00000000-0000-7000-8000-00000000{n}008', 'bell', 'dent');
INSERT INTO stage_changes (shop_id, id, work_order_id, number, to_stage, because, by_words, changed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}010', '00000000-0000-7000-8000-00000000{n}008', 1, 'intake', 'checked_in', 'MV', now());
INSERT INTO findings (shop_id, id, work_order_id, number, kind, part, leaks, likely_to_spread, found_when, disposition, found_by,
                      found_at, changed_by, changed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}011', '00000000-0000-7000-8000-00000000{n}008', 1, 'dent', 'bell', 'no', false,
            'first_examination', 'undecided', '00000000-0000-7000-8000-00000000{n}001', now(), 'MV', now());
INSERT INTO operations (shop_id, id, work_order_id, number, title, kind, heat, irreversible, low_minutes, typical_minutes, high_minutes,
                        price, tax_class, changed_by, changed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}012', '00000000-0000-7000-8000-00000000{n}008', 1, 'Roll the dent out', 'work', 'none',
            false, 1, 2, 3, 10, 'standard', 'MV', now());
INSERT INTO time_entries (shop_id, id, work_order_id, operation_id, person_id, started_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}013', '00000000-0000-7000-8000-00000000{n}008',
            '00000000-0000-7000-8000-00000000{n}012', '00000000-0000-7000-8000-00000000{n}001', now());
INSERT INTO tests (shop_id, id, work_order_id, kind, scope, verdict, tested_by, tested_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}014', '00000000-0000-7000-8000-00000000{n}008', 'leak_test', 'whole instrument',
            'passed', '00000000-0000-7000-8000-00000000{n}001', now());
INSERT INTO pressure_tests (shop_id, test_id, readings, asked, answer)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}014', '[]', '{}', '{}');
INSERT INTO fit_checks (shop_id, id, work_order_id, fit_kind, part, measured, answer, checked_by, checked_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}025', '00000000-0000-7000-8000-00000000{n}008', 'tuning_slide', 'tuning slide',
            '{}', '{}', '00000000-0000-7000-8000-00000000{n}001', now());
INSERT INTO holds (shop_id, id, work_order_id, reason, supplier, set_by, set_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}015', '00000000-0000-7000-8000-00000000{n}008', 'parts',
            'canary', '00000000-0000-7000-8000-00000000{n}001', now());
INSERT INTO notes (shop_id, id, work_order_id, text, written_by, written_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}016', '00000000-0000-7000-8000-00000000{n}008', 'canary',
            '00000000-0000-7000-8000-00000000{n}001', now());
INSERT INTO photos (shop_id, id, work_order_id, caption, shared, media_type, sha256, bytes_count, width_px, height_px, added_by, added_at,
                    changed_by, changed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}032', '00000000-0000-7000-8000-00000000{n}008', 'canary', false, 'image/jpeg',
            repeat('a', 64), 1, 1, 1, '00000000-0000-7000-8000-00000000{n}001', now(), 'MV', now());
INSERT INTO quotes (shop_id, id, work_order_id, number, state, is_extra, content, total, limit_amount, expires_on, content_hash, sent_at,
                    changed_by, changed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}017', '00000000-0000-7000-8000-00000000{n}008', 1, 'sent', false, '{}', 10, 10,
            current_date, 'abc', now(), 'MV', now());
INSERT INTO decisions (shop_id, id, work_order_id, quote_id, content_hash, answer, how, typed_name, decided_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}018', '00000000-0000-7000-8000-00000000{n}008',
            '00000000-0000-7000-8000-00000000{n}017', 'abc', 'accepted', 'link', 'Canary', now());
INSERT INTO disputes (shop_id, id, decision_id, typed_name, disputed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}019', '00000000-0000-7000-8000-00000000{n}018', 'Canary', now());
INSERT INTO payments (shop_id, id, work_order_id, amount, kind, how, taken_by, taken_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}020', '00000000-0000-7000-8000-00000000{n}008', 10, 'deposit', 'cash',
            '00000000-0000-7000-8000-00000000{n}001', now());
INSERT INTO struck_payments (shop_id, payment_id, reason, struck_by, struck_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}020', 'canary', '00000000-0000-7000-8000-00000000{n}001', now());
INSERT INTO desk_fields (shop_id, work_order_id, loaner_number, old_parts_back)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}008', 'canary', true);
INSERT INTO order_changes (shop_id, id, work_order_id, changes, by_person, by_words, changed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}031', '00000000-0000-7000-8000-00000000{n}008', '[{}]',
            '00000000-0000-7000-8000-00000000{n}001', 'MV', now());
INSERT INTO bench_looks (shop_id, id, looked_on, looked_at, by_person)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}034', current_date, now(), '00000000-0000-7000-8000-00000000{n}001');
INSERT INTO handovers (shop_id, work_order_id, collected_by, handed_by, handed_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}008', 'Canary', '00000000-0000-7000-8000-00000000{n}001', now());
INSERT INTO waivers (shop_id, id, work_order_id, amount, reason, waived_by, waived_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}030', '00000000-0000-7000-8000-00000000{n}008', 10, 'canary',
            '00000000-0000-7000-8000-00000000{n}001', now());
INSERT INTO calls (shop_id, id, work_order_id, customer_id, outcome, called_by, called_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}050', '00000000-0000-7000-8000-00000000{n}008',
            '00000000-0000-7000-8000-00000000{n}004', 'spoke', '00000000-0000-7000-8000-00000000{n}001', now());
INSERT INTO call_words (shop_id, call_id, words) VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}050', 'canary');
INSERT INTO letters (shop_id, id, work_order_id, stage_change_id, kind, state, to_customer_id, to_name, to_email, message_id, subject, text,
                     html, queued_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}021', '00000000-0000-7000-8000-00000000{n}008',
            '00000000-0000-7000-8000-00000000{n}010', 'checked_in', 'waiting', '00000000-0000-7000-8000-00000000{n}004', 'Canary',
            'canary@mail.example', '<canary@shop.example>', 'Canary', 'canary', '<p>canary</p>', now());
INSERT INTO outbox (letter_id, shop_id, due_at) VALUES ('00000000-0000-7000-8000-00000000{n}021', '{shop}', now());
INSERT INTO events (shop_id, id, kind, work_order_id, data, happened_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}022', 'checked_in', '00000000-0000-7000-8000-00000000{n}008', '{}', now());
INSERT INTO event_queue (event_id, shop_id) VALUES ('00000000-0000-7000-8000-00000000{n}022', '{shop}');
INSERT INTO event_counters (shop_id, last_number) VALUES ('{shop}', 0);
INSERT INTO links (shop_id, id, work_order_id, customer_id, purpose, issued_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}023', '00000000-0000-7000-8000-00000000{n}008',
            '00000000-0000-7000-8000-00000000{n}004', 'status', now());
INSERT INTO link_directory (token_hash, shop_id, link_id)
    VALUES (sha256('link {n}'), '{shop}', '00000000-0000-7000-8000-00000000{n}023');
INSERT INTO idempotency_keys (shop_id, actor, key, body_hash, answer) VALUES ('{shop}', 'canary', 'canary', 'x', '{}');
INSERT INTO audit (shop_id, id, act, by_words, happened_at)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}024', 'canary', 'MV', now());
INSERT INTO forecasts (shop_id, number, as_of, last_event, settings, history_as_of, at_work, basis, stages)
    VALUES ('{shop}', 1, now(), 0, 'canary {n}', now(), '{}', '{}', '[]');
INSERT INTO order_forecasts (shop_id, work_order_id, is_current, ready_p50, ready_p85, ready_p95, likely_days_late, said,
                             first_on, first_p50, first_p85, first_p95)
    VALUES ('{shop}', '00000000-0000-7000-8000-00000000{n}008', true, current_date, current_date, current_date, 0, '{}',
            current_date, current_date, current_date, current_date);
