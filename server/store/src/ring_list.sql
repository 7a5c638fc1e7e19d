-- Whom to telephone: one row for each order and person whom a letter did not reach and who was not
-- spoken with since. $1: kinds that are told across the counter. $2: kinds that only tell of a change.
WITH unheard AS (
  SELECT l.work_order_id, l.to_customer_id, min(l.queued_at) AS since,
         jsonb_agg(jsonb_build_object('letter_id', l.id, 'kind', l.kind, 'subject', l.subject, 'state', l.state,
                                      'queued_at', l.queued_at) ORDER BY l.queued_at DESC, l.id DESC) AS letters
    FROM letters l
    JOIN work_orders w ON w.shop_id = l.shop_id AND w.id = l.work_order_id
    JOIN customers c ON c.shop_id = l.shop_id AND c.id = l.to_customer_id
   WHERE (l.state IN ('bounced', 'given_up') OR (l.state = 'not_wanted' AND l.to_email IS NULL))
     AND l.kind <> ALL ($1)
     -- Once the same was sent, as the evening has it too, nobody needs to ring about it.
     AND NOT EXISTS (SELECT FROM letters later
                      WHERE later.shop_id = l.shop_id AND later.work_order_id = l.work_order_id
                        AND later.to_customer_id = l.to_customer_id AND later.kind = l.kind AND later.state = 'sent'
                        AND later.queued_at > l.queued_at)
     -- Whoever wants to hear only when asked is not rung about less.
     AND NOT (c.mail_wanted = 'only_when_asked' AND l.kind = ANY ($2))
     -- Once it has left the house only what was written about that is still news.
     AND (w.stage <> 'closed' OR l.queued_at >= w.stage_since)
     AND l.queued_at > coalesce((SELECT max(k.called_at) FROM calls k
                                  WHERE k.shop_id = l.shop_id AND k.work_order_id = l.work_order_id
                                    AND k.customer_id = l.to_customer_id AND k.outcome = 'spoke'), '-infinity')
     -- Whoever gave an answer knows what was asked until then.
     AND (l.to_customer_id <> w.owner_id OR l.queued_at > coalesce((SELECT max(d.decided_at) FROM decisions d
                                  WHERE d.shop_id = l.shop_id AND d.work_order_id = l.work_order_id
                                    AND d.how <> 'beforehand'), '-infinity'))
   GROUP BY l.work_order_id, l.to_customer_id
)
SELECT w.id AS work_order_id, w.claim_count, w.version, w.stage::text AS stage, w.promised_on, c.id AS customer_id,
       c.name AS customer_name, c.phone AS customer_phone, c.id = w.owner_id AS is_owner, i.family::text AS family,
       i.maker, i.serial_number, u.since, u.letters, k.count::integer AS calls_count, k.last
  FROM unheard u
  JOIN work_orders w ON w.id = u.work_order_id
  JOIN customers c ON c.shop_id = w.shop_id AND c.id = u.to_customer_id
  JOIN instruments i ON i.shop_id = w.shop_id AND i.id = w.instrument_id
  CROSS JOIN LATERAL (
       SELECT count(*) AS count,
              (array_agg(jsonb_build_object('id', calls.id, 'customer_id', calls.customer_id, 'customer_name', c.name,
                         'outcome', calls.outcome, 'words', noted.words, 'words_struck_reason', noted.struck_reason,
                         'words_struck_at', noted.struck_at,
                         'by', jsonb_build_object('id', p.id, 'name', p.name, 'initials', p.initials), 'at', calls.called_at)
                         ORDER BY calls.called_at DESC, calls.id DESC))[1] AS last
         FROM calls
         JOIN people p ON p.shop_id = calls.shop_id AND p.id = calls.called_by
         LEFT JOIN call_words noted ON noted.shop_id = calls.shop_id AND noted.call_id = calls.id
        WHERE calls.shop_id = w.shop_id AND calls.work_order_id = w.id AND calls.customer_id = c.id
          AND calls.called_at >= u.since) k
 -- The shop waits for an answer; then for somebody to fetch it; then whoever waits longest to hear.
 ORDER BY NOT (w.stage = 'approval' AND c.id = w.owner_id), w.stage <> 'pickup', u.since, w.claim_count, c.id
