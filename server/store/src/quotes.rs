//! Numbered quote versions.

use chrono::{DateTime, NaiveDate, Utc};
use crate::schema::quotes as table;
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use rust_decimal::Decimal;
use serde_json::Value;
use trade::words::ids::QuoteId;
use trade::words::paperwork::{QuoteState};
use uuid::Uuid;

/// One quote version as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::quotes, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct QuoteRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub number: i32,
    pub state: Word<QuoteState>,
    pub is_extra: bool,
    pub content: Value,
    pub total: Decimal,
    pub limit_amount: Decimal,
    pub expires_on: NaiveDate,
    pub content_hash: Option<String>,
    pub sent_by: Option<Uuid>,
    pub sent_at: Option<DateTime<Utc>>,
    pub seen_at: Option<DateTime<Utc>>,
    pub struck_reason: Option<String>,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
    pub days_count: Option<i32>,
}

impl QuoteRow {
    /// What it binds to.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn content(&self) -> Result<trade::words::quote::QuoteContent, Error> {
        serde_json::from_value(self.content.clone()).map_err(|e| Error::Unreadable(format!("quote content: {e}")))
    }

    /// Whether its last day is over. The days of a draft begin when it goes out, unless its last day
    /// was chosen.
    #[must_use]
    pub fn is_past(&self, today: NaiveDate) -> bool {
        let has_begun = self.state.0 != QuoteState::Draft || self.days_count.is_none();
        has_begun && self.expires_on < today
    }
}

/// Adds a quote version.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, row: &QuoteRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// One quote. One statement.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: QuoteId) -> Result<Option<QuoteRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(QuoteRow::as_select()).first(conn).optional()?)
}

/// Writes a quote version back.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, row: &QuoteRow) -> Result<(), Error> {
    diesel::update(table::table.filter(table::id.eq(row.id))).set(row).execute(tx.conn())?;
    Ok(())
}

/// Marks a version as opened by the owner, the first time.
///
/// # Errors
/// When the database refuses.
pub fn mark_seen(tx: &mut Tx<'_>, id: QuoteId, at: DateTime<Utc>) -> Result<(), Error> {
    diesel::update(table::table.filter(table::id.eq(id.0)).filter(table::seen_at.is_null()))
        .set(table::seen_at.eq(Some(at)))
        .execute(tx.conn())?;
    Ok(())
}

/// Versions that are out and whose last day lies before `today`. One statement.
///
/// # Errors
/// When the database refuses.
pub fn run_out(conn: &mut PgConnection, today: NaiveDate) -> Result<Vec<QuoteRow>, Error> {
    Ok(table::table
        .filter(table::state.eq(Word(QuoteState::Sent)))
        .filter(table::expires_on.lt(today))
        .order((table::work_order_id, table::number))
        .select(QuoteRow::as_select())
        .load(conn)?)
}
