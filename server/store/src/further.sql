-- The youngest closed orders that were examined and worked on, with the cracks and open joints found
-- before the quote and after it.
SELECT i.family::text AS family, i.age_text, extract(year FROM w.checked_in_at)::integer AS year,
       EXISTS (SELECT 1 FROM part_maps m, jsonb_array_elements(m.map -> 'parts') AS part
                WHERE m.shop_id = w.shop_id AND m.instrument_id = w.instrument_id
                  AND part @> '{"seam": "lengthwise", "seam_seen": true}' AND part ->> 'struck_reason' IS NULL) AS is_seamed,
       -- Seen before the quote: on this visit or an earlier one, never on the bench after it.
       f.has_earlier_repair OR EXISTS (
         SELECT 1 FROM work_orders e JOIN findings t ON t.shop_id = e.shop_id AND t.work_order_id = e.id
          WHERE e.shop_id = w.shop_id AND e.instrument_id = w.instrument_id AND e.claim_count < w.claim_count
            AND t.kind = 'earlier_repair' AND t.struck_reason IS NULL) AS has_earlier_repair,
       f.was_taken_apart, f.found_first::integer AS found_first, f.found_later::integer AS found_later
  FROM work_orders w
  JOIN instruments i ON i.shop_id = w.shop_id AND i.id = w.instrument_id
  CROSS JOIN LATERAL (
       SELECT bool_or(kind = 'earlier_repair' AND found_when IN ('first_examination', 'taken_apart')) AS has_earlier_repair, bool_or(found_when = 'taken_apart') AS was_taken_apart,
              count(*) FILTER (WHERE kind IN ('crack', 'open_joint', 'wood_crack') AND found_when IN ('first_examination', 'taken_apart')) AS found_first,
              count(*) FILTER (WHERE kind IN ('crack', 'open_joint', 'wood_crack') AND found_when IN ('on_the_bench', 'at_the_test')) AS found_later
         FROM findings WHERE shop_id = w.shop_id AND work_order_id = w.id AND struck_reason IS NULL) f
 WHERE w.stage = 'closed' AND f.has_earlier_repair IS NOT NULL
   AND EXISTS (SELECT 1 FROM stage_changes b WHERE b.shop_id = w.shop_id AND b.work_order_id = w.id AND b.because = 'bench_done')
 ORDER BY w.claim_count DESC
 LIMIT 1000
