-- What took less than a minute was ticked off, not worked on.
SELECT o.method_id, round(sum(extract(epoch FROM t.stopped_at - t.started_at)) / 60)::integer AS minutes
  FROM operations o
  JOIN time_entries t ON t.shop_id = o.shop_id AND t.operation_id = o.id
 WHERE o.method_id = ANY ($1) AND o.state = 'done' AND t.stopped_at IS NOT NULL
 GROUP BY o.shop_id, o.id, o.method_id
HAVING NOT bool_or(t.to_check) AND sum(t.stopped_at - t.started_at) >= interval '1 minute'
 ORDER BY o.id DESC
 LIMIT 5000
