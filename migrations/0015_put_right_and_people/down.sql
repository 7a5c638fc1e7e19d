DELETE FROM one_time_links WHERE purpose <> 'first_proprietor';
ALTER TABLE one_time_links
    DROP CONSTRAINT one_time_links_password_of_somebody,
    DROP CONSTRAINT one_time_links_purpose_known,
    ADD CONSTRAINT one_time_links_purpose_known CHECK (purpose IN ('first_proprietor'));
ALTER TABLE letters NO FORCE ROW LEVEL SECURITY;
DELETE FROM outbox USING letters WHERE letters.id = outbox.letter_id AND letters.to_person_id IS NOT NULL;
DELETE FROM letters WHERE to_person_id IS NOT NULL;
ALTER TABLE letters FORCE ROW LEVEL SECURITY;
DROP INDEX letters_person;
ALTER TABLE letters
    DROP CONSTRAINT letters_about_an_order_or_to_staff,
    DROP CONSTRAINT letters_person_fkey,
    DROP COLUMN to_person_id,
    ALTER COLUMN to_customer_id SET NOT NULL,
    ALTER COLUMN work_order_id SET NOT NULL;
COMMENT ON COLUMN letters.to_customer_id IS 'To whom.';
COMMENT ON COLUMN letters.work_order_id IS 'About which order.';
DROP TABLE struck_payments, order_changes, desk_fields;
ALTER TABLE payments NO FORCE ROW LEVEL SECURITY;
DELETE FROM payments WHERE amount < 0;
ALTER TABLE payments FORCE ROW LEVEL SECURITY;
ALTER TABLE payments
    DROP CONSTRAINT payments_given_back_says_why,
    DROP CONSTRAINT payments_of_something,
    ADD CONSTRAINT payments_positive CHECK (amount > 0);
COMMENT ON COLUMN payments.note IS 'In words. Null: nothing.';
COMMENT ON COLUMN payments.amount IS 'Above zero, in the shop''s currency.';
