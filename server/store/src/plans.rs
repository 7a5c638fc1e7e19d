//! The bench's settings, and the orders of work that technicians fixed.

use crate::schema::{bench_settings, plans};
use crate::{Error, Tx};
use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use serde_json::Value;
use trade::bench::plan::{BenchSettings, FixedStep};
use trade::words::ids::WorkOrderId;
use uuid::Uuid;

/// The bench's settings as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::bench_settings, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct BenchSettingsRow {
    pub shop_id: Uuid,
    pub settings: Value,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
}

impl BenchSettingsRow {
    /// The settings.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn settings(&self) -> Result<BenchSettings, Error> {
        serde_json::from_value(self.settings.clone()).map_err(|e| Error::Unreadable(format!("bench settings: {e}")))
    }
}

/// A fixed order of work as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::plans, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct PlanRow {
    pub shop_id: Uuid,
    pub work_order_id: Uuid,
    pub steps: Value,
    pub reason: Option<String>,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
}

impl PlanRow {
    /// Its steps.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn fixed(&self) -> Result<Vec<FixedStep>, Error> {
        serde_json::from_value(self.steps.clone()).map_err(|e| Error::Unreadable(format!("plan of {}: {e}", self.work_order_id)))
    }
}

/// The bench's settings; none while the typical ones count. One statement.
///
/// # Errors
/// When the database refuses.
pub fn settings(conn: &mut PgConnection) -> Result<Option<BenchSettingsRow>, Error> {
    Ok(bench_settings::table.select(BenchSettingsRow::as_select()).first(conn).optional()?)
}

/// Writes the bench's settings; the shop is locked by the caller.
///
/// # Errors
/// When the database refuses.
pub fn save_settings(tx: &mut Tx<'_>, row: &BenchSettingsRow) -> Result<(), Error> {
    diesel::insert_into(bench_settings::table)
        .values(row)
        .on_conflict(bench_settings::shop_id)
        .do_update()
        .set(row)
        .execute(tx.conn())?;
    Ok(())
}

/// The order of work that somebody fixed. One statement.
///
/// # Errors
/// When the database refuses.
pub fn of_order(conn: &mut PgConnection, order: WorkOrderId) -> Result<Option<PlanRow>, Error> {
    Ok(plans::table.filter(plans::work_order_id.eq(order.0)).select(PlanRow::as_select()).first(conn).optional()?)
}

/// Writes the order of work that somebody fixed; the work order is locked by the caller.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, row: &PlanRow) -> Result<(), Error> {
    diesel::insert_into(plans::table)
        .values(row)
        .on_conflict((plans::shop_id, plans::work_order_id))
        .do_update()
        .set(row)
        .execute(tx.conn())?;
    Ok(())
}
