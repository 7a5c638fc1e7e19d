//! Whom to telephone and why, and the notes of calls. A call is only ever added; what was noted of it
//! can be struck.

use crate::order_view::{claim_number, instrument_words};
use crate::schema::{call_words, calls as table};
use crate::views::PersonRef;
use crate::{Error, Tx, Word};
use chrono::{DateTime, NaiveDate, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::{Array, BigInt, Bool, Date, Integer, Jsonb, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use trade::words::ids::{CustomerId, LetterId, PersonId, WorkOrderId};
use trade::words::instrument::Family;
use trade::words::paperwork::{CallOutcome, LetterState};
use trade::words::stage::Stage;
use utoipa::ToSchema;
use uuid::Uuid;

/// One call as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::calls, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct CallRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub customer_id: Uuid,
    pub outcome: Word<CallOutcome>,
    pub called_by: Uuid,
    pub called_at: DateTime<Utc>,
}

/// What was noted of a call, as stored; once struck, without the words.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::call_words, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct CallWordsRow {
    pub shop_id: Uuid,
    pub call_id: Uuid,
    pub words: Option<String>,
    pub struck_reason: Option<String>,
    pub struck_by: Option<Uuid>,
    pub struck_at: Option<DateTime<Utc>>,
}

/// A telephone call about an order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Call {
    /// Which.
    pub id: Uuid,
    /// Who was rung.
    pub customer_id: CustomerId,
    /// By name.
    pub customer_name: String,
    /// How it went.
    pub outcome: CallOutcome,
    /// In words; none when nothing was noted, or it was struck.
    pub words: Option<String>,
    /// Why the words were struck; they are gone.
    pub words_struck_reason: Option<String>,
    /// When they were struck.
    pub words_struck_at: Option<DateTime<Utc>>,
    /// Who rang.
    pub by: PersonRef,
    /// When.
    pub at: DateTime<Utc>,
}

/// A letter that reached nobody.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct UnheardLetter {
    /// Which; its words can be read aloud.
    pub letter_id: LetterId,
    /// Why it was written, as letters name it: `quote_sent`.
    pub kind: String,
    /// Its subject.
    pub subject: String,
    /// `not_wanted` where there is no address, `bounced`, `given_up`.
    pub state: LetterState,
    /// When it was written.
    pub queued_at: DateTime<Utc>,
}

/// Somebody to be telephoned about one order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct RingLine {
    /// About which order.
    pub work_order_id: WorkOrderId,
    /// Its claim number.
    pub claim_number: String,
    /// Its version.
    pub order_version: i32,
    /// Where it stands.
    pub stage: Stage,
    /// The promise, as a date of the shop.
    pub promised_on: NaiveDate,
    /// The instrument in a few words.
    pub instrument_words: String,
    /// Whom.
    pub customer_id: CustomerId,
    /// By name.
    pub customer_name: String,
    /// Under which number; none: it has to be found out.
    pub customer_phone: Option<String>,
    /// Whether that is who pays and decides.
    pub is_owner: bool,
    /// Since when somebody there should have heard.
    pub since: DateTime<Utc>,
    /// What is to be told, newest first.
    pub letters: Vec<UnheardLetter>,
    /// Calls since then in which nobody was spoken with.
    pub calls_count: u32,
    /// The last of them.
    pub last_call: Option<Call>,
}

/// Everybody to be telephoned, most pressing first: where an answer is waited for, then what is
/// ready to be fetched, then whoever waits longest to hear.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct RingList {
    /// One line for each order and person.
    pub lines: Vec<RingLine>,
}

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = SqlUuid)]
    work_order_id: Uuid,
    #[diesel(sql_type = BigInt)]
    claim_count: i64,
    #[diesel(sql_type = Integer)]
    version: i32,
    #[diesel(sql_type = Text)]
    stage: Word<Stage>,
    #[diesel(sql_type = Date)]
    promised_on: NaiveDate,
    #[diesel(sql_type = SqlUuid)]
    customer_id: Uuid,
    #[diesel(sql_type = Text)]
    customer_name: String,
    #[diesel(sql_type = Nullable<Text>)]
    customer_phone: Option<String>,
    #[diesel(sql_type = Bool)]
    is_owner: bool,
    #[diesel(sql_type = Text)]
    family: Word<Family>,
    #[diesel(sql_type = Nullable<Text>)]
    maker: Option<String>,
    #[diesel(sql_type = Nullable<Text>)]
    serial_number: Option<String>,
    #[diesel(sql_type = Timestamptz)]
    since: DateTime<Utc>,
    #[diesel(sql_type = Jsonb)]
    letters: Value,
    #[diesel(sql_type = Integer)]
    calls_count: i32,
    #[diesel(sql_type = Nullable<Jsonb>)]
    last: Option<Value>,
}

/// Everybody to be telephoned. `told_at_counter` are kinds of letters that somebody was told
/// across the counter, `only_tell` those that ask nothing. One statement.
///
/// # Errors
/// When the database refuses, or something stored cannot be read.
pub fn ring_list(conn: &mut PgConnection, told_at_counter: &[&str], only_tell: &[&str]) -> Result<RingList, Error> {
    let rows: Vec<Line> = diesel::sql_query(include_str!("ring_list.sql"))
        .bind::<Array<Text>, _>(told_at_counter)
        .bind::<Array<Text>, _>(only_tell)
        .load(conn)?;
    let unreadable = |what: &str, error: serde_json::Error| Error::Unreadable(format!("{what}: {error}"));
    let lines = rows
        .into_iter()
        .map(|row| {
            Ok(RingLine {
                work_order_id: WorkOrderId(row.work_order_id),
                claim_number: claim_number(row.claim_count)?,
                order_version: row.version,
                stage: row.stage.0,
                promised_on: row.promised_on,
                instrument_words: instrument_words(&row.family.0.to_string(), row.maker.as_deref(), row.serial_number.as_deref()),
                customer_id: CustomerId(row.customer_id),
                customer_name: row.customer_name,
                customer_phone: row.customer_phone,
                is_owner: row.is_owner,
                since: row.since,
                letters: serde_json::from_value(row.letters).map_err(|error| unreadable("letters of the ring list", error))?,
                calls_count: u32::try_from(row.calls_count).unwrap_or(0),
                last_call: row.last.map(serde_json::from_value).transpose().map_err(|error| unreadable("a call", error))?,
            })
        })
        .collect::<Result<Vec<_>, Error>>()?;
    Ok(RingList { lines })
}

/// Notes a call.
///
/// # Errors
/// When the database refuses.
pub fn add_call(tx: &mut Tx<'_>, row: &CallRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// Keeps what was noted of a call.
///
/// # Errors
/// When the database refuses.
pub fn add_words(tx: &mut Tx<'_>, row: &CallWordsRow) -> Result<(), Error> {
    diesel::insert_into(call_words::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// Writes back what was noted of a call: struck, the words are gone.
///
/// # Errors
/// When the database refuses.
pub fn save_words(tx: &mut Tx<'_>, row: &CallWordsRow) -> Result<(), Error> {
    diesel::update(call_words::table.filter(call_words::call_id.eq(row.call_id))).set(row).execute(tx.conn())?;
    Ok(())
}

/// A call with what was noted of it. One statement.
///
/// # Errors
/// When the database refuses.
pub fn call(conn: &mut PgConnection, id: Uuid) -> Result<Option<(CallRow, Option<CallWordsRow>)>, Error> {
    Ok(table::table
        .left_join(call_words::table.on(call_words::call_id.eq(table::id)))
        .filter(table::id.eq(id))
        .select((CallRow::as_select(), Option::<CallWordsRow>::as_select()))
        .first(conn)
        .optional()?)
}

/// The calls about an order, oldest first. One statement.
///
/// # Errors
/// When the database refuses.
pub fn calls_of(conn: &mut PgConnection, order: WorkOrderId) -> Result<Vec<Call>, Error> {
    use crate::schema::{customers, people};
    let rows: Vec<(CallRow, Option<CallWordsRow>, String, String, String)> = table::table
        .left_join(call_words::table.on(call_words::call_id.eq(table::id)))
        .inner_join(customers::table.on(customers::id.eq(table::customer_id)))
        .inner_join(people::table.on(people::id.eq(table::called_by)))
        .filter(table::work_order_id.eq(order.0))
        .order((table::called_at, table::id))
        .select((CallRow::as_select(), Option::<CallWordsRow>::as_select(), customers::name, people::name, people::initials))
        .load(conn)?;
    Ok(rows.into_iter().map(|(row, words, customer, name, initials)| row.told(words.as_ref(), customer, PersonRef { id: PersonId(row.called_by), name, initials })).collect())
}

impl CallRow {
    /// As it is shown.
    #[must_use]
    pub fn told(&self, words: Option<&CallWordsRow>, customer_name: String, by: PersonRef) -> Call {
        Call {
            id: self.id,
            customer_id: CustomerId(self.customer_id),
            customer_name,
            outcome: self.outcome.0,
            words: words.and_then(|noted| noted.words.clone()),
            words_struck_reason: words.and_then(|noted| noted.struck_reason.clone()),
            words_struck_at: words.and_then(|noted| noted.struck_at),
            by,
            at: self.called_at,
        }
    }
}
