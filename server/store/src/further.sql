-- The youngest closed orders that were examined and worked on, with the cracks and open joints found
-- before the quote and after it.
SELECT i.family::text AS family, i.age_text, extract(year FROM w.checked_in_at)::integer AS year,
       EXISTS (SELECT 1 FROM part_maps m, jsonb_array_elements(m.map -> 'parts') AS part
                WHERE m.shop_id = w.shop_id AND m.instrument_id = w.instrument_id AND part ->> 'seam' = 'lengthwise') AS is_seamed,
       f.has_earlier_repair, f.was_taken_apart, f.found_first::integer AS found_first, f.found_later::integer AS found_later
  FROM work_orders w
  JOIN instruments i ON i.shop_id = w.shop_id AND i.id = w.instrument_id
  CROSS JOIN LATERAL (
       SELECT bool_or(kind = 'earlier_repair') AS has_earlier_repair, bool_or(found_when = 'taken_apart') AS was_taken_apart,
              count(*) FILTER (WHERE kind IN ('crack', 'open_joint', 'wood_crack') AND found_when IN ('first_examination', 'taken_apart')) AS found_first,
              count(*) FILTER (WHERE kind IN ('crack', 'open_joint', 'wood_crack') AND found_when IN ('on_the_bench', 'at_the_test')) AS found_later
         FROM findings WHERE shop_id = w.shop_id AND work_order_id = w.id AND struck_reason IS NULL) f
 WHERE w.stage = 'closed' AND f.has_earlier_repair IS NOT NULL
   AND EXISTS (SELECT 1 FROM stage_changes b WHERE b.shop_id = w.shop_id AND b.work_order_id = w.id AND b.because = 'bench_done')
 ORDER BY w.claim_count DESC
 LIMIT 1000
