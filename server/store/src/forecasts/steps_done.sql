-- The youngest finished steps whose clock was not left running and that were done once. What took less
-- than a minute was ticked off, not worked on.
SELECT o.low_minutes, o.typical_minutes, o.high_minutes,
       extract(epoch FROM sum(t.stopped_at - t.started_at))::float8 / 60 AS taken_minutes
  FROM operations o
  JOIN time_entries t ON t.shop_id = o.shop_id AND t.operation_id = o.id
 WHERE o.state = 'done' AND o.rework_count = 0
 GROUP BY o.id, o.low_minutes, o.typical_minutes, o.high_minutes
HAVING bool_and(t.stopped_at IS NOT NULL AND NOT t.to_check) AND sum(t.stopped_at - t.started_at) >= interval '1 minute'
 ORDER BY min(t.started_at) DESC
 LIMIT 1000
