INSERT INTO order_forecasts (shop_id, work_order_id, is_current, ready_p50, ready_p85, ready_p95, likely_days_late, said,
                             first_on, first_p50, first_p85, first_p95)
SELECT $1, g.work_order_id, true, g.ready_p50, g.ready_p85, g.ready_p95, g.likely_days_late, g.said,
       $3, g.ready_p50, g.ready_p85, g.ready_p95
  FROM jsonb_to_recordset($2) AS g(work_order_id uuid, ready_p50 date, ready_p85 date, ready_p95 date, likely_days_late integer, said jsonb)
    ON CONFLICT (shop_id, work_order_id) DO UPDATE
   SET is_current = true, ready_p50 = excluded.ready_p50, ready_p85 = excluded.ready_p85, ready_p95 = excluded.ready_p95,
       likely_days_late = excluded.likely_days_late, said = excluded.said
 -- A row that came out the same is not written again.
 WHERE (order_forecasts.is_current, order_forecasts.ready_p50, order_forecasts.ready_p85, order_forecasts.ready_p95,
        order_forecasts.likely_days_late, order_forecasts.said)
       IS DISTINCT FROM (true, excluded.ready_p50, excluded.ready_p85, excluded.ready_p95, excluded.likely_days_late, excluded.said)
