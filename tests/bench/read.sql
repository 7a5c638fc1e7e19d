SELECT w.id, w.claim_count, w.version, w.stage::text AS stage, w.complaint, w.promised_on, c.name AS customer_name, i.family::text AS family
  FROM work_orders w
  JOIN customers c ON c.shop_id = w.shop_id AND c.id = w.customer_id
  JOIN instruments i ON i.shop_id = w.shop_id AND i.id = w.instrument_id
 WHERE w.id = $1
