ALTER TABLE holds DROP COLUMN supplier;
ALTER TABLE holds DROP COLUMN order_number;
ALTER TABLE holds DROP COLUMN expected_on;
