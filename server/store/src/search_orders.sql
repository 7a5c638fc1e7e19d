SELECT * FROM (
    SELECT w.id, w.claim_count, w.version, w.stage::text AS stage, c.name AS customer_name,
           i.family::text AS family, i.maker, i.serial_number, w.promised_on, w.checked_in_at,
           (CASE WHEN $1::text IS NULL THEN 0
                 WHEN w.claim_count = $4 THEN 3
                 WHEN $3::text IS NOT NULL AND w.claim_count::text LIKE $3 THEN 1.5
                 WHEN $3::text IS NOT NULL AND (c.phone_digits LIKE $3 OR o.phone_digits LIKE $3) THEN 1.2
                 WHEN c.search LIKE $2 OR o.search LIKE $2 OR i.search LIKE $2 OR i.family LIKE $2 THEN 1
                 ELSE greatest(word_similarity($1, c.search), word_similarity($1, o.search), word_similarity($1, i.search))
            END)::real AS rank
      FROM work_orders w
      JOIN customers c ON c.shop_id = w.shop_id AND c.id = w.customer_id
      JOIN customers o ON o.shop_id = w.shop_id AND o.id = w.owner_id
      JOIN instruments i ON i.shop_id = w.shop_id AND i.id = w.instrument_id
     WHERE cardinality($5::text[]) = 0 OR w.stage = ANY($5::text[])) found
 WHERE ($1::text IS NULL OR rank >= 0.45) AND (rank, claim_count) < ($6, $7)
 ORDER BY rank DESC, claim_count DESC
 LIMIT $8
