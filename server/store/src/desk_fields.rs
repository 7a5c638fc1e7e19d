//! What the desk keeps of an order beside the order itself, and what was put right on it.

use crate::schema::{desk_fields as table, order_changes};
use crate::{Error, Tx};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use serde_json::Value;
use uuid::Uuid;

/// The desk's fields of one order as stored.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::desk_fields, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct DeskFieldsRow {
    pub shop_id: Uuid,
    pub work_order_id: Uuid,
    pub loaner_number: Option<String>,
    pub loaner_back_at: Option<DateTime<Utc>>,
    pub old_parts_back: bool,
}

/// What one person put right on an order at one time, as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::order_changes, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct OrderChangeRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub changes: Value,
    pub reason: Option<String>,
    pub by_person: Uuid,
    pub by_words: String,
    pub changed_at: DateTime<Utc>,
}

impl DeskFieldsRow {
    /// Nothing of it, as an order without a row has it.
    #[must_use]
    pub fn none(shop: Uuid, order: Uuid) -> Self {
        Self { shop_id: shop, work_order_id: order, loaner_number: None, loaner_back_at: None, old_parts_back: false }
    }
}

/// Writes the desk's fields of a locked order.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, row: &DeskFieldsRow) -> Result<(), Error> {
    diesel::insert_into(table::table)
        .values(row)
        .on_conflict((table::shop_id, table::work_order_id))
        .do_update()
        .set(row)
        .execute(tx.conn())?;
    Ok(())
}

/// Keeps what was put right.
///
/// # Errors
/// When the database refuses.
pub fn add_change(tx: &mut Tx<'_>, row: &OrderChangeRow) -> Result<(), Error> {
    diesel::insert_into(order_changes::table).values(row).execute(tx.conn())?;
    Ok(())
}
