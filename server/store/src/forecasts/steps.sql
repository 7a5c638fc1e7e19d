SELECT o.work_order_id, o.title, o.kind::text AS kind, o.method_id, o.low_minutes, o.typical_minutes, o.high_minutes,
       o.claimed_by,
       -- What a failed test opened again is done again.
       CASE WHEN o.rework_count > 0 THEN 0 ELSE taken.minutes END AS taken_minutes
  FROM work_orders w
  JOIN operations o ON o.shop_id = w.shop_id AND o.work_order_id = w.id AND o.state IN ('planned', 'running', 'paused')
  CROSS JOIN LATERAL (
       SELECT coalesce(floor(extract(epoch FROM sum(coalesce(t.stopped_at, greatest($1, t.started_at)) - t.started_at)) / 60), 0)::integer AS minutes
         FROM time_entries t WHERE t.shop_id = o.shop_id AND t.operation_id = o.id) taken
  -- Offered on optional lines only, and ticked on none.
  CROSS JOIN LATERAL (
       SELECT coalesce(bool_and((line ->> 'optional')::boolean AND NOT EXISTS (
                  SELECT 1 FROM decisions d
                   WHERE d.shop_id = q.shop_id AND d.quote_id = q.id AND d.answer = 'accepted' AND d.chosen_lines ? (line ->> 'id'))), false) AS out
         FROM quotes q, jsonb_array_elements(q.content -> 'lines') AS line
        WHERE q.shop_id = o.shop_id AND q.work_order_id = o.work_order_id AND q.state IN ('draft', 'sent', 'answered')
          AND line ->> 'operation_id' = o.id::text) l
 WHERE w.stage <> 'closed' AND w.stage <> 'pickup' AND NOT l.out
 ORDER BY o.work_order_id, o.number
