SELECT w.id, w.checked_in_at, w.promised_on, w.stage::text AS stage, w.stage_since, i.family::text AS family, w.claimed_by, w.may_cost,
       w.ending_because IS NOT NULL AS is_ending, w.question_at IS NOT NULL AS has_question,
       sent.sent_at AS asked_at, sent.seen_at IS NOT NULL AS was_seen,
       coalesce((SELECT q.state = 'expired' FROM quotes q
                  WHERE q.shop_id = w.shop_id AND q.work_order_id = w.id AND q.sent_at IS NOT NULL
                  ORDER BY q.number DESC LIMIT 1), false) AS has_run_out, nullif(draft.total, 0) AS drafted,
       h.reason::text AS hold_reason, h.look_again_on AS hold_look_again_on
  FROM work_orders w
  JOIN LATERAL (SELECT family FROM instruments WHERE shop_id = w.shop_id AND id = w.instrument_id LIMIT 1) i ON true
  LEFT JOIN quotes sent ON sent.shop_id = w.shop_id AND sent.work_order_id = w.id AND sent.state = 'sent'
  LEFT JOIN quotes draft ON draft.shop_id = w.shop_id AND draft.work_order_id = w.id AND draft.state = 'draft'
  -- Of several holds the one that says whose turn it is.
  LEFT JOIN LATERAL (
       SELECT reason, look_again_on FROM holds
        WHERE shop_id = w.shop_id AND work_order_id = w.id AND lifted_at IS NULL
        ORDER BY look_again_on NULLS LAST, set_at LIMIT 1) h ON true
 WHERE w.stage <> 'closed' AND w.stage <> 'pickup'
 ORDER BY w.claim_count
