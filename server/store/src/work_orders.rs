//! Work orders: one visit of one instrument.

use chrono::{DateTime, NaiveDate, Utc};
use crate::schema::{stage_changes, work_orders as table};
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use rust_decimal::Decimal;
use serde_json::Value;
use trade::words::ids::{InstrumentId, WorkOrderId};
use trade::words::stage::{Stage, Because};
use uuid::Uuid;

/// One work order as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::work_orders, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct WorkOrderRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub claim_count: i64,
    pub customer_id: Uuid,
    pub owner_id: Uuid,
    pub instrument_id: Uuid,
    pub stage: Word<Stage>,
    pub stage_since: DateTime<Utc>,
    pub complaint: String,
    pub condition_note: Option<String>,
    pub keep_as_is: Option<String>,
    pub accessories: Value,
    pub may_cost: Option<Decimal>,
    pub examination_fee: Option<Decimal>,
    pub promised_on: NaiveDate,
    pub place: Option<String>,
    pub terms: String,
    pub checked_in_at: DateTime<Utc>,
    pub checked_in_by: Uuid,
    pub claimed_by: Option<Uuid>,
    pub claimed_at: Option<DateTime<Utc>>,
    pub ending_because: Option<Word<Because>>,
    pub ending_reason: Option<String>,
    pub ending_by: Option<String>,
    pub ending_at: Option<DateTime<Utc>>,
    pub question: Option<String>,
    pub question_by: Option<String>,
    pub question_at: Option<DateTime<Utc>>,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
    pub promise_reason: Option<String>,
}

/// One move of an order as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::stage_changes, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct StageChangeRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub number: i32,
    pub from_stage: Option<Word<Stage>>,
    pub to_stage: Word<Stage>,
    pub because: Word<Because>,
    pub reason: Option<String>,
    pub by_person: Option<Uuid>,
    pub by_words: String,
    pub changed_at: DateTime<Utc>,
}

/// Adds a work order.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, row: &WorkOrderRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// One workorder. One statement.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: WorkOrderId) -> Result<Option<WorkOrderRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(WorkOrderRow::as_select()).first(conn).optional()?)
}

/// One order, locked until the end of the transaction: whoever changes it takes this first.
///
/// # Errors
/// When the database refuses.
pub fn lock(tx: &mut Tx<'_>, id: WorkOrderId) -> Result<Option<WorkOrderRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(WorkOrderRow::as_select()).for_update().first(tx.conn()).optional()?)
}

/// Writes a locked order back and raises its version. A stage changed on the way is refused
/// at commit: only [`move_to`] also writes the stage change that PostgreSQL asks for.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, row: &mut WorkOrderRow, by: &str, at: DateTime<Utc>) -> Result<(), Error> {
    row.version += 1;
    row.changed_by = by.to_owned();
    row.changed_at = at;
    diesel::update(table::table.filter(table::id.eq(row.id))).set(&*row).execute(tx.conn())?;
    Ok(())
}

/// Raises the version of a locked order of which something was written.
///
/// # Errors
/// When the database refuses.
pub fn touch(tx: &mut Tx<'_>, row: &mut WorkOrderRow, by: &str, at: DateTime<Utc>) -> Result<(), Error> {
    row.version += 1;
    row.changed_by = by.to_owned();
    row.changed_at = at;
    diesel::update(table::table.filter(table::id.eq(row.id)))
        .set((table::version.eq(row.version), table::changed_by.eq(by), table::changed_at.eq(at)))
        .execute(tx.conn())?;
    Ok(())
}

/// Writes the stage of a locked order with its stage-change row. The one place that does.
///
/// # Errors
/// When the database refuses.
pub fn move_to(tx: &mut Tx<'_>, row: &mut WorkOrderRow, change: &StageChangeRow) -> Result<(), Error> {
    row.stage = change.to_stage;
    row.stage_since = change.changed_at;
    row.version += 1;
    row.changed_by.clone_from(&change.by_words);
    row.changed_at = change.changed_at;
    diesel::update(table::table.filter(table::id.eq(row.id)))
        .set((
            table::stage.eq(row.stage),
            table::stage_since.eq(row.stage_since),
            table::version.eq(row.version),
            table::changed_by.eq(&row.changed_by),
            table::changed_at.eq(row.changed_at),
        ))
        .execute(tx.conn())?;
    add_stage_change(tx, change)
}

/// Appends a stage change; the check-in writes its first one with it.
///
/// # Errors
/// When the database refuses.
pub fn add_stage_change(tx: &mut Tx<'_>, change: &StageChangeRow) -> Result<(), Error> {
    diesel::insert_into(stage_changes::table).values(change).execute(tx.conn())?;
    Ok(())
}

/// The order with this claim count. One statement.
///
/// # Errors
/// When the database refuses.
pub fn id_by_claim_count(conn: &mut PgConnection, count: i64) -> Result<Option<WorkOrderId>, Error> {
    Ok(table::table.filter(table::claim_count.eq(count)).select(table::id).first(conn).optional()?.map(WorkOrderId))
}

/// Every visit of one instrument, newest first. One statement.
///
/// # Errors
/// When the database refuses.
pub fn of_instrument(conn: &mut PgConnection, instrument: InstrumentId) -> Result<Vec<WorkOrderRow>, Error> {
    Ok(table::table
        .filter(table::instrument_id.eq(instrument.0))
        .order(table::claim_count.desc())
        .select(WorkOrderRow::as_select())
        .load(conn)?)
}

/// When orders were closed. One statement.
///
/// # Errors
/// When the database refuses.
pub fn closed_at(conn: &mut PgConnection, orders: &[Uuid]) -> Result<std::collections::HashMap<Uuid, DateTime<Utc>>, Error> {
    let closed: Vec<(Uuid, DateTime<Utc>)> = stage_changes::table
        .filter(stage_changes::work_order_id.eq_any(orders))
        .filter(stage_changes::to_stage.eq(Word(Stage::Closed)))
        .select((stage_changes::work_order_id, stage_changes::changed_at))
        .load(conn)?;
    Ok(closed.into_iter().collect())
}

/// One order that nobody is changing now, held so that an event can name it; none otherwise.
///
/// # Errors
/// When the database refuses.
pub fn find_at_rest(tx: &mut Tx<'_>, id: WorkOrderId) -> Result<Option<WorkOrderRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(WorkOrderRow::as_select()).for_key_share().skip_locked().first(tx.conn()).optional()?)
}

/// Orders that have stood in one of these stages since before this instant. One statement.
///
/// # Errors
/// When the database refuses.
pub fn waiting_since_before(conn: &mut PgConnection, stages: &[Stage], before: DateTime<Utc>) -> Result<Vec<WorkOrderId>, Error> {
    let stages: Vec<Word<Stage>> = stages.iter().copied().map(Word).collect();
    let ids: Vec<Uuid> = table::table
        .filter(table::stage.eq_any(stages))
        .filter(table::stage_since.lt(before))
        .order(table::claim_count)
        .select(table::id)
        .load(conn)?;
    Ok(ids.into_iter().map(WorkOrderId).collect())
}
