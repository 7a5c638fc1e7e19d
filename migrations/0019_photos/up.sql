-- What was found is seen before it is believed: photos of an order. The pictures themselves lie in files beside the database.
CREATE TABLE photos (
    shop_id       uuid        NOT NULL,
    id            uuid        NOT NULL,
    work_order_id uuid        NOT NULL,
    finding_id    uuid,
    caption       text,
    shared        boolean     NOT NULL,
    media_type    text        NOT NULL,
    sha256        text        NOT NULL,
    bytes_count   integer     NOT NULL,
    width_px      integer     NOT NULL,
    height_px     integer     NOT NULL,
    added_by      uuid        NOT NULL,
    added_at      timestamptz NOT NULL,
    struck_reason text,
    struck_by     uuid,
    struck_at     timestamptz,
    version       integer     NOT NULL DEFAULT 1,
    changed_by    text        NOT NULL,
    changed_at    timestamptz NOT NULL,
    CONSTRAINT photos_pkey PRIMARY KEY (shop_id, id),
    CONSTRAINT photos_order_fkey FOREIGN KEY (shop_id, work_order_id) REFERENCES work_orders (shop_id, id),
    CONSTRAINT photos_finding_fkey FOREIGN KEY (shop_id, finding_id) REFERENCES findings (shop_id, id),
    CONSTRAINT photos_added_by_fkey FOREIGN KEY (shop_id, added_by) REFERENCES people (shop_id, id),
    CONSTRAINT photos_struck_by_fkey FOREIGN KEY (shop_id, struck_by) REFERENCES people (shop_id, id),
    CONSTRAINT photos_type_known CHECK (media_type IN ('image/jpeg', 'image/png')),
    CONSTRAINT photos_sha256_in_letters CHECK (sha256 ~ '^[0-9a-f]{64}$'),
    CONSTRAINT photos_has_size CHECK (bytes_count > 0 AND width_px > 0 AND height_px > 0),
    CONSTRAINT photos_struck_in_full CHECK (
        (struck_reason IS NULL AND struck_by IS NULL AND struck_at IS NULL)
        OR (btrim(coalesce(struck_reason, '')) <> '' AND struck_by IS NOT NULL AND struck_at IS NOT NULL))
);
CREATE INDEX photos_order ON photos (shop_id, work_order_id, id);
CREATE INDEX photos_finding ON photos (shop_id, finding_id);
CREATE INDEX photos_added_by ON photos (shop_id, added_by);
CREATE INDEX photos_struck_by ON photos (shop_id, struck_by);
COMMENT ON TABLE photos IS 'Photos of an order. The picture lies in files under shop, id and sha256; struck with a reason, and then the files are gone.';
COMMENT ON COLUMN photos.shop_id IS 'The shop it belongs to.';
COMMENT ON COLUMN photos.id IS 'UUIDv7, made by the server; the name of its files'' folder.';
COMMENT ON COLUMN photos.work_order_id IS 'Of which order.';
COMMENT ON COLUMN photos.finding_id IS 'The finding it is pinned to. Null: none.';
COMMENT ON COLUMN photos.caption IS 'What is on it, in words. Null: not said.';
COMMENT ON COLUMN photos.shared IS 'Whether the customer sees it.';
COMMENT ON COLUMN photos.media_type IS 'Of the original as kept.';
COMMENT ON COLUMN photos.sha256 IS 'Of the original as kept, in small hexadecimal letters.';
COMMENT ON COLUMN photos.bytes_count IS 'Length of the original as kept.';
COMMENT ON COLUMN photos.width_px IS 'Of the original, held upright, in pixels.';
COMMENT ON COLUMN photos.height_px IS 'Of the original, held upright, in pixels.';
COMMENT ON COLUMN photos.added_by IS 'Who added it.';
COMMENT ON COLUMN photos.added_at IS 'When, by the business clock.';
COMMENT ON COLUMN photos.struck_reason IS 'Why it is struck. Null while it counts.';
COMMENT ON COLUMN photos.struck_by IS 'Who struck it. Null while it counts.';
COMMENT ON COLUMN photos.struck_at IS 'When it was struck, by the business clock. Null while it counts.';
COMMENT ON COLUMN photos.version IS 'Raised by one with every change; its ETag.';
COMMENT ON COLUMN photos.changed_by IS 'Who changed it last, as the record shows them.';
COMMENT ON COLUMN photos.changed_at IS 'When it was changed last, by the business clock.';

ALTER TABLE photos ENABLE ROW LEVEL SECURITY;
ALTER TABLE photos FORCE ROW LEVEL SECURITY;
CREATE POLICY photos_of_this_shop ON photos
    USING (shop_id = current_setting('bellbrace.shop')::uuid) WITH CHECK (shop_id = current_setting('bellbrace.shop')::uuid);
