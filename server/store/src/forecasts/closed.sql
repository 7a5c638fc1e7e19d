-- The youngest closed orders whose work was finished; not those done at the counter, where every
-- move has one instant.
WITH finished AS (
    SELECT c.work_order_id, max(c.changed_at) AS closed_at
      FROM stage_changes c
     WHERE c.to_stage = 'closed'
       AND EXISTS (SELECT 1 FROM stage_changes f
                    WHERE f.shop_id = c.shop_id AND f.work_order_id = c.work_order_id AND f.because IN ('tests_passed', 'overridden'))
     GROUP BY c.work_order_id
     ORDER BY closed_at DESC
     LIMIT 500)
SELECT w.id, i.family::text AS family, stages.names, stages.instants, ready.at AS ready_at,
       coalesce(held.held, '{}') AS held, coalesce(held.lifted, '{}') AS lifted,
       coalesce((SELECT sum(o.typical_minutes) FROM operations o
                  WHERE o.shop_id = w.shop_id AND o.work_order_id = w.id AND o.state = 'done'), 0)::integer AS planned_minutes,
       coalesce((SELECT extract(epoch FROM sum(t.stopped_at - t.started_at)) FROM time_entries t
                  WHERE t.shop_id = w.shop_id AND t.work_order_id = w.id), 0)::float8 / 60 AS worked_minutes,
       (SELECT min(t.started_at) FROM time_entries t
         WHERE t.shop_id = w.shop_id AND t.work_order_id = w.id) AS begun_at,
       w.may_cost,
       (SELECT nullif(sum(p.amount), 0) FROM payments p WHERE p.shop_id = w.shop_id AND p.work_order_id = w.id
          AND NOT EXISTS (SELECT FROM struck_payments s WHERE s.shop_id = p.shop_id AND s.payment_id = p.id)) AS cost
  FROM finished
  JOIN work_orders w ON w.id = finished.work_order_id AND w.stage = 'closed'
  JOIN instruments i ON i.shop_id = w.shop_id AND i.id = w.instrument_id
  CROSS JOIN LATERAL (
       SELECT min(s.changed_at) AS at FROM stage_changes s
        WHERE s.shop_id = w.shop_id AND s.work_order_id = w.id AND s.to_stage = 'pickup') ready
  CROSS JOIN LATERAL (
       SELECT array_agg(s.to_stage::text ORDER BY s.number) AS names, array_agg(s.changed_at ORDER BY s.number) AS instants,
              min(s.changed_at) FILTER (WHERE s.to_stage = 'diagnosis') AS begun_at
         FROM stage_changes s
        WHERE s.shop_id = w.shop_id AND s.work_order_id = w.id AND s.changed_at < ready.at) stages
  CROSS JOIN LATERAL (
       SELECT array_agg(h.set_at ORDER BY h.set_at) AS held, array_agg(coalesce(h.lifted_at, ready.at) ORDER BY h.set_at) AS lifted
         FROM holds h WHERE h.shop_id = w.shop_id AND h.work_order_id = w.id) held
 WHERE ready.at IS NOT NULL AND stages.begun_at IS NOT NULL
 ORDER BY w.claim_count
