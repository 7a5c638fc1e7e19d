//! Outgoing mail and its outbox.

use chrono::{DateTime, Utc};
use crate::schema::{letters as table, outbox};
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::{Integer, Uuid as SqlUuid};
use trade::words::ids::{WorkOrderId, LetterId};
use trade::words::paperwork::{LetterState};
use uuid::Uuid;

/// One letter as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::letters, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct LetterRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Option<Uuid>,
    pub stage_change_id: Option<Uuid>,
    pub kind: String,
    pub state: Word<LetterState>,
    pub state_reason: Option<String>,
    pub to_customer_id: Option<Uuid>,
    pub to_name: String,
    pub to_email: Option<String>,
    pub message_id: String,
    pub subject: String,
    pub text: String,
    pub html: String,
    pub queued_at: DateTime<Utc>,
    pub sent_at: Option<DateTime<Utc>>,
    pub attempts: i32,
    pub next_try_at: Option<DateTime<Utc>>,
    pub last_trouble: Option<String>,
    pub to_person_id: Option<Uuid>,
}

/// One letter without its words, which are most of it.
#[derive(Debug, Clone, Queryable, Selectable)]
#[diesel(table_name = crate::schema::letters, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct LetterLine {
    pub id: Uuid,
    pub kind: String,
    pub state: Word<LetterState>,
    pub state_reason: Option<String>,
    pub to_name: String,
    pub to_email: Option<String>,
    pub subject: String,
    pub queued_at: DateTime<Utc>,
    pub sent_at: Option<DateTime<Utc>>,
    pub attempts: i32,
    pub next_try_at: Option<DateTime<Utc>>,
    pub last_trouble: Option<String>,
}

impl LetterRow {
    /// The same without its words.
    #[must_use]
    pub fn line(&self) -> LetterLine {
        LetterLine {
            id: self.id,
            kind: self.kind.clone(),
            state: self.state,
            state_reason: self.state_reason.clone(),
            to_name: self.to_name.clone(),
            to_email: self.to_email.clone(),
            subject: self.subject.clone(),
            queued_at: self.queued_at,
            sent_at: self.sent_at,
            attempts: self.attempts,
            next_try_at: self.next_try_at,
            last_trouble: self.last_trouble.clone(),
        }
    }
}

/// Writes a letter; one that is to be sent also goes into the outbox, in the same transaction.
///
/// # Errors
/// When the database refuses.
pub fn queue(tx: &mut Tx<'_>, row: &LetterRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    if row.state.0 == LetterState::Waiting {
        diesel::sql_query("INSERT INTO outbox (letter_id, shop_id, due_at) VALUES ($1, $2, now())")
            .bind::<SqlUuid, _>(row.id)
            .bind::<SqlUuid, _>(row.shop_id)
            .execute(tx.conn())?;
        tx.has_letters = true;
    }
    Ok(())
}

/// One letter. One statement.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: LetterId) -> Result<Option<LetterRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(LetterRow::as_select()).first(conn).optional()?)
}

/// Every letter of an order without its words, oldest first. One statement.
///
/// # Errors
/// When the database refuses.
pub fn of_order(conn: &mut PgConnection, order: WorkOrderId) -> Result<Vec<LetterLine>, Error> {
    Ok(table::table.filter(table::work_order_id.eq(order.0)).order(table::id).select(LetterLine::as_select()).load(conn)?)
}

/// A letter leased by one sender.
#[derive(Debug, Clone, QueryableByName)]
pub struct Leased {
    /// Which letter.
    #[diesel(sql_type = SqlUuid)]
    pub letter_id: Uuid,
    /// Of which shop.
    #[diesel(sql_type = SqlUuid)]
    pub shop_id: Uuid,
    /// The lease's number: a sender whose number is no longer current writes nothing.
    #[diesel(sql_type = Integer)]
    pub fence: i32,
}

/// Leases up to `most` letters that are due, one of each shop before the second of any, and
/// passes over those that another sender has. Judged by the database's clock.
///
/// # Errors
/// When the database refuses.
pub fn lease(conn: &mut PgConnection, most: i32, seconds: i32) -> Result<Vec<Leased>, Error> {
    Ok(diesel::sql_query(
        "WITH due AS (SELECT letter_id, row_number() OVER (PARTITION BY shop_id ORDER BY due_at, letter_id) AS turn, due_at \
                      FROM outbox WHERE due_at <= now() AND (leased_until IS NULL OR leased_until < now())), \
         mine AS (SELECT o.letter_id FROM outbox o JOIN due USING (letter_id) \
                  ORDER BY due.turn, due.due_at, o.letter_id LIMIT $1 FOR UPDATE OF o SKIP LOCKED) \
         UPDATE outbox o SET leased_until = now() + make_interval(secs => $2::double precision), fence = o.fence + 1 \
         FROM mine WHERE o.letter_id = mine.letter_id AND o.due_at <= now() AND (o.leased_until IS NULL OR o.leased_until < now()) \
         RETURNING o.letter_id, o.shop_id, o.fence",
    )
    .bind::<Integer, _>(most)
    .bind::<Integer, _>(seconds)
    .load(conn)?)
}

/// Checks that the lease still holds and locks it; false when another sender took over.
///
/// # Errors
/// When the database refuses.
pub fn still_leased(tx: &mut Tx<'_>, lease: &Leased) -> Result<bool, Error> {
    let held: Option<i32> = outbox::table
        .filter(outbox::letter_id.eq(lease.letter_id))
        .filter(outbox::fence.eq(lease.fence))
        .select(outbox::fence)
        .for_update()
        .first(tx.conn())
        .optional()?;
    Ok(held.is_some())
}

/// Takes a letter out of the outbox: it was sent, refused for good, or given up.
///
/// # Errors
/// When the database refuses.
pub fn take_out(tx: &mut Tx<'_>, letter: LetterId) -> Result<(), Error> {
    diesel::delete(outbox::table.filter(outbox::letter_id.eq(letter.0))).execute(tx.conn())?;
    Ok(())
}

/// Puts a leased letter back, due again after so many seconds.
///
/// # Errors
/// When the database refuses.
pub fn put_back(tx: &mut Tx<'_>, letter: LetterId, seconds: i64) -> Result<(), Error> {
    diesel::sql_query("UPDATE outbox SET leased_until = NULL, due_at = now() + make_interval(secs => $2) WHERE letter_id = $1")
        .bind::<SqlUuid, _>(letter.0)
        .bind::<diesel::sql_types::Double, _>(f64::from(i32::try_from(seconds).unwrap_or(i32::MAX)))
        .execute(tx.conn())?;
    Ok(())
}

/// Puts a letter that is not in the outbox in again, due now.
///
/// # Errors
/// When the database refuses.
pub fn put_in(tx: &mut Tx<'_>, letter: LetterId) -> Result<(), Error> {
    let shop = tx.shop();
    diesel::sql_query("INSERT INTO outbox (letter_id, shop_id, due_at) VALUES ($1, $2, now()) ON CONFLICT (letter_id) DO UPDATE SET due_at = now()")
        .bind::<SqlUuid, _>(letter.0)
        .bind::<SqlUuid, _>(shop.0)
        .execute(tx.conn())?;
    tx.has_letters = true;
    Ok(())
}

/// Writes a letter's state back.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, row: &LetterRow) -> Result<(), Error> {
    diesel::update(table::table.filter(table::id.eq(row.id))).set(row).execute(tx.conn())?;
    Ok(())
}
