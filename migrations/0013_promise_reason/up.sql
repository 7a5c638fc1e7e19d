-- Why a date was promised by which few such jobs would be ready; it was a note, which nothing could show.
ALTER TABLE work_orders
    ADD COLUMN promise_reason text,
    ADD CONSTRAINT work_orders_promise_reason_not_empty CHECK (btrim(coalesce(promise_reason, 'none')) <> '');
COMMENT ON COLUMN work_orders.promise_reason IS 'Why this date was promised although fewer than 10 of 20 such jobs would be ready by then. Null: nobody was asked.';
