//! What owners said, and what they called a mistake.

use chrono::{DateTime, Utc};
use crate::schema::{decisions as table, disputes};
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use serde_json::Value;
use trade::words::ids::DecisionId;
use trade::words::paperwork::{Answer, AnswerHow};
use uuid::Uuid;

/// One decision as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::decisions, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct DecisionRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub quote_id: Uuid,
    pub content_hash: String,
    pub answer: Word<Answer>,
    pub how: Word<AnswerHow>,
    pub typed_name: String,
    pub recorded_by: Option<Uuid>,
    pub chosen_lines: Value,
    pub accepted_by_name: Value,
    pub question: Option<String>,
    pub decided_at: DateTime<Utc>,
}
/// One dispute as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::disputes, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct DisputeRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub decision_id: Uuid,
    pub typed_name: String,
    pub reason: Option<String>,
    pub recorded_by: Option<Uuid>,
    pub disputed_at: DateTime<Utc>,
}

/// Adds a decision.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, row: &DecisionRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// One decision. One statement.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: DecisionId) -> Result<Option<DecisionRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(DecisionRow::as_select()).first(conn).optional()?)
}

/// Revokes a decision.
///
/// # Errors
/// With the constraint `disputes_once` when it was disputed already.
pub fn dispute(tx: &mut Tx<'_>, row: &DisputeRow) -> Result<(), Error> {
    diesel::insert_into(disputes::table).values(row).execute(tx.conn())?;
    Ok(())
}
