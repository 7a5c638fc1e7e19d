-- How to look after an instrument, in the shop's own words, for the pickup letter.
ALTER TABLE shops
    ADD COLUMN care_notes jsonb NOT NULL DEFAULT '{}',
    ADD CONSTRAINT shops_care_notes_by_family CHECK (jsonb_typeof(care_notes) = 'object');
COMMENT ON COLUMN shops.care_notes IS 'By family: how to look after such an instrument, in the shop''s own words; empty: nothing is said. A family that is not in it has the typical words.';
