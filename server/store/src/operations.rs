//! The steps on the bench and their clocks.

use chrono::{DateTime, Utc};
use crate::schema::{operations as table, time_entries as time};
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use rust_decimal::Decimal;
use serde_json::Value;
use trade::bench::plan::ChosenWay;
use trade::words::ids::{OperationId, PersonId};
use trade::words::instrument::{OperationKind, Heat, OperationState};
use uuid::Uuid;

/// One operation as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::operations, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct OperationRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub number: i32,
    pub title: String,
    pub kind: Word<OperationKind>,
    pub method_id: Option<Uuid>,
    pub heat: Word<Heat>,
    pub irreversible: bool,
    pub finding_ids: Value,
    pub after_ids: Value,
    pub low_minutes: i32,
    pub typical_minutes: i32,
    pub high_minutes: i32,
    pub price: Decimal,
    pub tax_class: String,
    pub state: Word<OperationState>,
    pub begun_at: Option<DateTime<Utc>>,
    pub claimed_by: Option<Uuid>,
    pub claimed_at: Option<DateTime<Utc>>,
    pub rework_count: i32,
    pub waits_for_answer: bool,
    pub struck_reason: Option<String>,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
    pub joint: Option<String>,
    pub needs_apart: Value,
    pub chosen_ways: Value,
    pub method_changed_at: Option<DateTime<Utc>>,
}

impl OperationRow {
    /// What is to save joints from its heat.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn chosen_ways(&self) -> Result<Vec<ChosenWay>, Error> {
        serde_json::from_value(self.chosen_ways.clone()).map_err(|e| Error::Unreadable(format!("chosen ways of {}: {e}", self.id)))
    }
}
/// When a clock ran, as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::time_entries, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct TimeRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub operation_id: Uuid,
    pub person_id: Uuid,
    pub started_at: DateTime<Utc>,
    pub stopped_at: Option<DateTime<Utc>>,
    pub to_check: bool,
}

/// Adds an operation.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, row: &OperationRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// One operation. One statement.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: OperationId) -> Result<Option<OperationRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(OperationRow::as_select()).first(conn).optional()?)
}

/// Writes an operation back.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, row: &OperationRow) -> Result<(), Error> {
    diesel::update(table::table.filter(table::id.eq(row.id))).set(row).execute(tx.conn())?;
    Ok(())
}

/// The clock that runs for a person, if one does. One statement.
///
/// # Errors
/// When the database refuses.
pub fn running_clock(conn: &mut PgConnection, person: PersonId) -> Result<Option<TimeRow>, Error> {
    Ok(time::table
        .filter(time::person_id.eq(person.0))
        .filter(time::stopped_at.is_null())
        .select(TimeRow::as_select())
        .first(conn)
        .optional()?)
}

/// Every running clock of the shop. One statement.
///
/// # Errors
/// When the database refuses.
pub fn running_clocks(conn: &mut PgConnection) -> Result<Vec<TimeRow>, Error> {
    Ok(time::table.filter(time::stopped_at.is_null()).order(time::id).select(TimeRow::as_select()).load(conn)?)
}

/// Starts a clock.
///
/// # Errors
/// With the constraint `time_entries_one_clock_per_person` or `…_per_operation` when one runs.
pub fn start_clock(tx: &mut Tx<'_>, row: &TimeRow) -> Result<(), Error> {
    diesel::insert_into(time::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// Stops a clock.
///
/// # Errors
/// When the database refuses.
pub fn stop_clock(tx: &mut Tx<'_>, id: Uuid, at: DateTime<Utc>, to_check: bool) -> Result<(), Error> {
    diesel::update(time::table.filter(time::id.eq(id)))
        .set((time::stopped_at.eq(Some(at)), time::to_check.eq(to_check)))
        .execute(tx.conn())?;
    Ok(())
}
