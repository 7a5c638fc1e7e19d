//! What examinations turned up.

use chrono::{DateTime, Utc};
use crate::schema::findings as table;
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use rust_decimal::Decimal;
use trade::words::ids::FindingId;
use trade::words::instrument::{FindingKind, Leaks, FoundWhen, Disposition};
use uuid::Uuid;

/// One finding as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::findings, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct FindingRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub number: i32,
    pub kind: Word<FindingKind>,
    pub part: String,
    pub side: Option<String>,
    pub position_mm: Option<Decimal>,
    pub size_mm: Option<Decimal>,
    pub leaks: Word<Leaks>,
    pub likely_to_spread: bool,
    pub found_when: Word<FoundWhen>,
    pub disposition: Word<Disposition>,
    pub disposition_reason: Option<String>,
    pub note: Option<String>,
    pub shared: bool,
    pub struck_reason: Option<String>,
    pub found_by: Uuid,
    pub found_at: DateTime<Utc>,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
    pub overruled: Option<Word<Disposition>>,
}

/// Adds a finding.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, row: &FindingRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// One finding. One statement.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: FindingId) -> Result<Option<FindingRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(FindingRow::as_select()).first(conn).optional()?)
}

/// Writes a finding back.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, row: &FindingRow) -> Result<(), Error> {
    diesel::update(table::table.filter(table::id.eq(row.id))).set(row).execute(tx.conn())?;
    Ok(())
}

/// The findings of several orders, by order and number. One statement.
///
/// # Errors
/// When the database refuses.
pub fn of_orders(conn: &mut PgConnection, orders: &[Uuid]) -> Result<Vec<FindingRow>, Error> {
    Ok(table::table
        .filter(table::work_order_id.eq_any(orders))
        .order((table::work_order_id, table::number))
        .select(FindingRow::as_select())
        .load(conn)?)
}
