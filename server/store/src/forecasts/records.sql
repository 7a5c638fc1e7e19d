-- Every order with whatever is recorded of it with an instant, as one object each.
SELECT jsonb_build_object(
    'id', w.id, 'family', i.family, 'promised_on', w.promised_on, 'may_cost', w.may_cost::text,
    'moves', (SELECT jsonb_agg(jsonb_build_array(s.to_stage, s.changed_at) ORDER BY s.number)
                FROM stage_changes s WHERE s.shop_id = w.shop_id AND s.work_order_id = w.id),
    'is_finished', EXISTS (SELECT 1 FROM stage_changes s
                            WHERE s.shop_id = w.shop_id AND s.work_order_id = w.id AND s.because IN ('tests_passed', 'overridden')),
    'steps', coalesce((SELECT jsonb_agg(jsonb_build_object(
                  'title', o.title, 'kind', o.kind, 'method', o.method_id,
                  'minutes', jsonb_build_array(o.low_minutes, o.typical_minutes, o.high_minutes),
                  'clocks', coalesce((SELECT jsonb_agg(jsonb_build_array(t.started_at, t.stopped_at) ORDER BY t.started_at)
                                        FROM time_entries t
                                       WHERE t.shop_id = o.shop_id AND t.operation_id = o.id AND t.stopped_at IS NOT NULL), '[]'),
                  'is_done', o.state = 'done', 'was_done_again', o.rework_count > 0) ORDER BY o.number)
                FROM operations o WHERE o.shop_id = w.shop_id AND o.work_order_id = w.id AND o.state <> 'struck'), '[]'),
    'asks', coalesce((SELECT jsonb_agg(jsonb_build_object(
                  'sent_at', q.sent_at,
                  'ended_at', coalesce(d.decided_at, CASE WHEN q.state = 'sent' THEN NULL ELSE q.changed_at END),
                  'is_answered', coalesce(d.answer IN ('accepted', 'declined'), false)) ORDER BY q.sent_at)
                FROM quotes q LEFT JOIN LATERAL (
                     SELECT decided_at, answer, how FROM decisions
                      WHERE shop_id = q.shop_id AND quote_id = q.id ORDER BY decided_at LIMIT 1) d ON true
               WHERE q.shop_id = w.shop_id AND q.work_order_id = w.id AND q.sent_at IS NOT NULL
                 AND d.how IS DISTINCT FROM 'beforehand' AND d.decided_at IS DISTINCT FROM q.sent_at), '[]'),
    'holds', coalesce((SELECT jsonb_agg(jsonb_build_object(
                  'reason', h.reason, 'look_again_on', h.look_again_on, 'set_at', h.set_at, 'lifted_at', h.lifted_at) ORDER BY h.set_at)
                FROM holds h WHERE h.shop_id = w.shop_id AND h.work_order_id = w.id), '[]'),
    'tests', coalesce((SELECT jsonb_agg(jsonb_build_array(t.tested_at, t.verdict = 'passed') ORDER BY t.id)
                FROM tests t WHERE t.shop_id = w.shop_id AND t.work_order_id = w.id AND t.kind = 'leak_test' AND t.verdict IN ('passed', 'failed')), '[]'),
    'paid', (SELECT nullif(sum(p.amount), 0)::text FROM payments p WHERE p.shop_id = w.shop_id AND p.work_order_id = w.id
          AND NOT EXISTS (SELECT FROM struck_payments s WHERE s.shop_id = p.shop_id AND s.payment_id = p.id))) AS record
  FROM work_orders w
  JOIN instruments i ON i.shop_id = w.shop_id AND i.id = w.instrument_id
 ORDER BY w.claim_count
