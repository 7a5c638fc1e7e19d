//! Photos of orders: their rows. The pictures lie in files, see `photo_files.rs`.

use crate::order_rows::OrderRows;
use crate::photo_files::PhotoKey;
use crate::schema::photos as table;
use crate::views::{Photo, PhotoCopy};
use crate::{Error, Tx};
use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use trade::words::ids::{FindingId, PhotoId, ShopId};
use trade::words::photo::PhotoSize;
use trade::words::spelling::Spelt;
use uuid::Uuid;

/// One photo as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::photos, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct PhotoRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub finding_id: Option<Uuid>,
    pub caption: Option<String>,
    pub shared: bool,
    pub media_type: String,
    pub sha256: String,
    pub bytes_count: i32,
    pub width_px: i32,
    pub height_px: i32,
    pub added_by: Uuid,
    pub added_at: DateTime<Utc>,
    pub struck_reason: Option<String>,
    pub struck_by: Option<Uuid>,
    pub struck_at: Option<DateTime<Utc>>,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
}

impl PhotoRow {
    /// Where its files are.
    #[must_use]
    pub fn key(&self) -> PhotoKey {
        PhotoKey { shop: ShopId(self.shop_id), photo: PhotoId(self.id), sha256: self.sha256.clone() }
    }

    /// Whether it counts: it was not struck.
    #[must_use]
    pub fn counts(&self) -> bool {
        self.struck_at.is_none()
    }

    /// Width and height of one of its sizes, in pixels.
    #[must_use]
    pub fn size_px(&self, size: PhotoSize) -> (u32, u32) {
        size.of(self.width_px.unsigned_abs(), self.height_px.unsigned_abs())
    }

    /// One of its sizes as a screen shows it.
    #[must_use]
    pub fn copy(&self, size: PhotoSize) -> PhotoCopy {
        let (width_px, height_px) = self.size_px(size);
        PhotoCopy { size, width_px, height_px }
    }
}

impl OrderRows {
    /// One photo as its screen shows it.
    #[must_use]
    pub fn photo(&self, row: &PhotoRow) -> Photo {
        Photo {
            id: PhotoId(row.id),
            version: row.version,
            order_version: self.order.version,
            finding_id: row.finding_id.map(FindingId),
            caption: row.caption.clone(),
            shared: row.shared,
            media_type: row.media_type.clone(),
            bytes_count: row.bytes_count,
            sizes: if row.counts() { PhotoSize::ALL.iter().map(|size| row.copy(*size)).collect() } else { Vec::new() },
            at: row.added_at,
            by: self.person(row.added_by),
            struck_reason: row.struck_reason.clone(),
            struck_by: row.struck_by.map(|id| self.person(id)),
            struck_at: row.struck_at,
        }
    }
}

/// Adds a photo.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, row: &PhotoRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// One photo. One statement.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: PhotoId) -> Result<Option<PhotoRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(PhotoRow::as_select()).first(conn).optional()?)
}

/// Writes a photo back.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, row: &PhotoRow) -> Result<(), Error> {
    diesel::update(table::table.filter(table::id.eq(row.id))).set(row).execute(tx.conn())?;
    Ok(())
}

/// The photos of several orders that count, by order, oldest first. One statement.
///
/// # Errors
/// When the database refuses.
pub fn of_orders(conn: &mut PgConnection, orders: &[Uuid]) -> Result<Vec<PhotoRow>, Error> {
    Ok(table::table
        .filter(table::work_order_id.eq_any(orders))
        .filter(table::struck_at.is_null())
        .order((table::work_order_id, table::id))
        .select(PhotoRow::as_select())
        .load(conn)?)
}

/// Of these photos, those that count. One statement.
///
/// # Errors
/// When the database refuses.
pub fn that_count(conn: &mut PgConnection, photos: &[Uuid]) -> Result<Vec<Uuid>, Error> {
    Ok(table::table.filter(table::id.eq_any(photos)).filter(table::struck_at.is_null()).select(table::id).load(conn)?)
}
