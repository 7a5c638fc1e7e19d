//! Fits that were measured: rows that are only added.

use crate::schema::fit_checks as table;
use crate::{Error, Tx, Word};
use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use serde_json::Value;
use trade::bench::fit_check::FitAnswer;
use trade::bench::shop_limits::FitKind;
use uuid::Uuid;

/// One fit check as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::fit_checks, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct FitCheckRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub fit_kind: Word<FitKind>,
    pub part: String,
    pub measured: Value,
    pub answer: Value,
    pub finding_id: Option<Uuid>,
    pub note: Option<String>,
    pub checked_by: Uuid,
    pub checked_at: DateTime<Utc>,
}

impl FitCheckRow {
    /// What it said.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn answer(&self) -> Result<FitAnswer, Error> {
        serde_json::from_value(self.answer.clone()).map_err(|e| Error::Unreadable(format!("fit check {}: {e}", self.id)))
    }
}

/// Adds a fit check.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, row: &FitCheckRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// The fit checks of several orders, by order, oldest first. One statement.
///
/// # Errors
/// When the database refuses.
pub fn of_orders(conn: &mut PgConnection, orders: &[Uuid]) -> Result<Vec<FitCheckRow>, Error> {
    Ok(table::table
        .filter(table::work_order_id.eq_any(orders))
        .order((table::work_order_id, table::id))
        .select(FitCheckRow::as_select())
        .load(conn)?)
}
