SELECT -- What the evening says beside the board and the forecast: of the shop's day in which $1 lies, up to then.
       day.date,
       (SELECT count(*) FROM work_orders w
         WHERE w.checked_in_at >= day.begins
           AND NOT EXISTS (SELECT FROM stage_changes c WHERE c.shop_id = w.shop_id AND c.work_order_id = w.id AND c.because = 'entered_by_mistake')
       ) AS came_in_count,
       (SELECT count(*) FROM work_orders w
         WHERE w.stage = 'closed' AND w.stage_since >= day.begins
           AND NOT EXISTS (SELECT FROM stage_changes c WHERE c.shop_id = w.shop_id AND c.work_order_id = w.id AND c.because = 'entered_by_mistake')
       ) AS left_count,
       (SELECT count(*) FROM letters l WHERE l.sent_at >= day.begins AND l.work_order_id IS NOT NULL) AS letters_sent_count,
       -- One of which nobody knows whether it came is somebody's to ask about, as one that came back is: the ring
       -- list is for what surely did not. Repeated by itself, or with the same sent after it, it needs nobody.
       (SELECT coalesce(jsonb_agg(to_jsonb(one) ORDER BY one.queued_at, one.id), '[]')
          FROM (SELECT l.id, l.state, l.state_reason, l.subject, l.to_name, l.to_email, l.queued_at, w.claim_count, c.phone
                  FROM letters l
                  JOIN work_orders w ON w.shop_id = l.shop_id AND w.id = l.work_order_id
                  JOIN customers c ON c.shop_id = l.shop_id AND c.id = l.to_customer_id
                 WHERE l.state IN ('bounced', 'given_up', 'unknown') AND l.next_try_at IS NULL
                   AND (w.stage <> 'closed' OR l.queued_at >= $1 - interval '10 days')
                   AND NOT EXISTS (SELECT FROM letters later
                                    WHERE later.shop_id = l.shop_id AND later.work_order_id = l.work_order_id
                                      AND later.to_customer_id = l.to_customer_id AND later.kind = l.kind AND later.state = 'sent'
                                      AND later.queued_at > l.queued_at)
                 ORDER BY l.queued_at DESC LIMIT 50) one) AS letters_back,
       (SELECT coalesce(jsonb_agg(to_jsonb(one) ORDER BY one.at, one.claim_count), '[]')
          FROM (SELECT w.claim_count, o.title, t.started_at AS at, p.id AS person_id, p.name, p.initials, false AS to_check
                  FROM time_entries t
                  JOIN operations o ON o.shop_id = t.shop_id AND o.id = t.operation_id AND o.heat <> 'none'
                  JOIN work_orders w ON w.shop_id = t.shop_id AND w.id = t.work_order_id
                  JOIN people p ON p.shop_id = t.shop_id AND p.id = t.person_id
                 WHERE t.stopped_at IS NULL) one) AS burning,
       (SELECT to_jsonb(one)
          FROM (SELECT w.claim_count, o.title, t.stopped_at AS at, p.id AS person_id, p.name, p.initials, t.to_check
                  FROM time_entries t
                  JOIN operations o ON o.shop_id = t.shop_id AND o.id = t.operation_id AND o.heat <> 'none'
                  JOIN work_orders w ON w.shop_id = t.shop_id AND w.id = t.work_order_id
                  JOIN people p ON p.shop_id = t.shop_id AND p.id = t.person_id
                 WHERE t.stopped_at >= day.begins
                 ORDER BY t.stopped_at DESC, t.id DESC LIMIT 1) one) AS last_flame,
       (SELECT to_jsonb(one)
          FROM (SELECT b.looked_at AS at, p.id AS person_id, p.name, p.initials
                  FROM bench_looks b JOIN people p ON p.shop_id = b.shop_id AND p.id = b.by_person
                 WHERE b.looked_on = day.date ORDER BY b.looked_at DESC, b.id DESC LIMIT 1) one) AS bench_look
  FROM (SELECT (($1 AT TIME ZONE time_zone)::date)::timestamp AT TIME ZONE time_zone AS begins,
               ($1 AT TIME ZONE time_zone)::date AS date
          FROM shops) day
