SELECT w.id, w.claim_count, w.version, w.stage::text AS stage, w.stage_since, w.promised_on, w.claimed_by, w.place,
       w.ending_because::text AS ending_because, w.question_at,
       c.name AS customer_name, c.phone AS customer_phone, i.family::text AS family, i.maker,
       q.expires_on AS sent_expires_on,
       h.reason IS NOT NULL AS is_held, h.reason::text AS hold_reason,
       h.look_again_on AS hold_look_again_on, h.set_at AS hold_set_at,
       f.ready_p50, f.ready_p85, f.ready_p95, f.likely_days_late
  FROM work_orders w
  -- One look-up by key for each open order: a join lets the planner read every customer and
  -- instrument the shop ever had (11 ms instead of 2 ms with 20,000 of them).
  JOIN LATERAL (SELECT name, phone FROM customers WHERE shop_id = w.shop_id AND id = w.customer_id LIMIT 1) c ON true
  JOIN LATERAL (SELECT family, maker FROM instruments WHERE shop_id = w.shop_id AND id = w.instrument_id LIMIT 1) i ON true
  LEFT JOIN quotes q ON q.shop_id = w.shop_id AND q.work_order_id = w.id AND q.state = 'sent'
  LEFT JOIN LATERAL (
       SELECT reason, look_again_on, set_at FROM holds
        WHERE shop_id = w.shop_id AND work_order_id = w.id AND lifted_at IS NULL
        ORDER BY look_again_on NULLS LAST, set_at LIMIT 1) h ON true
 -- What is ready has no date ahead, also before the next forecast says so.
  LEFT JOIN order_forecasts f ON f.shop_id = w.shop_id AND f.work_order_id = w.id AND f.is_current AND w.stage <> 'pickup'
 WHERE w.stage <> 'closed'
 ORDER BY w.claim_count
