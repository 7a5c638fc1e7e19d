-- The youngest quotes and how long each waited for its answer; a question is an answer that ends
-- the wait without deciding, so it cuts the wait off, as a newer version or the end of its time does.
SELECT greatest(extract(epoch FROM coalesce(d.decided_at, CASE WHEN q.state = 'sent' THEN $1 ELSE q.changed_at END) - q.sent_at), 0)::float8 / 86400 AS days,
       coalesce(d.answer IN ('accepted', 'declined'), false) AS answered
  FROM quotes q
  LEFT JOIN LATERAL (
       SELECT decided_at, answer, how FROM decisions
        WHERE shop_id = q.shop_id AND quote_id = q.id ORDER BY decided_at LIMIT 1) d ON true
 WHERE q.sent_at IS NOT NULL AND d.how IS DISTINCT FROM 'beforehand' AND d.decided_at IS DISTINCT FROM q.sent_at
 ORDER BY q.sent_at DESC
 LIMIT 500
