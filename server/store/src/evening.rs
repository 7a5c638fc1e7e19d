//! The evening: what the shop's day was beside the board and the forecast, and who looked at the bench.

use crate::order_view::claim_number;
use crate::schema::bench_looks;
use crate::views::{BenchLook, Evening, Flame, LetterBack, PersonRef};
use crate::{Error, Tx};
use chrono::{DateTime, NaiveDate, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Date, Jsonb, Nullable, Timestamptz};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use trade::words::ids::{LetterId, PersonId};
use trade::words::paperwork::LetterState;
use uuid::Uuid;

#[derive(QueryableByName)]
struct DayRow {
    #[diesel(sql_type = Date)]
    date: NaiveDate,
    #[diesel(sql_type = BigInt)]
    came_in_count: i64,
    #[diesel(sql_type = BigInt)]
    left_count: i64,
    #[diesel(sql_type = BigInt)]
    letters_sent_count: i64,
    #[diesel(sql_type = Jsonb)]
    letters_back: Value,
    #[diesel(sql_type = Jsonb)]
    burning: Value,
    #[diesel(sql_type = Nullable<Jsonb>)]
    last_flame: Option<Value>,
    #[diesel(sql_type = Nullable<Jsonb>)]
    bench_look: Option<Value>,
}

#[derive(Deserialize)]
struct BackRow {
    id: LetterId,
    state: LetterState,
    state_reason: Option<String>,
    subject: String,
    to_name: String,
    to_email: Option<String>,
    queued_at: DateTime<Utc>,
    claim_count: i64,
    phone: Option<String>,
}

#[derive(Deserialize)]
struct FlameRow {
    claim_count: i64,
    title: String,
    at: DateTime<Utc>,
    person_id: PersonId,
    name: String,
    initials: String,
    to_check: bool,
}

#[derive(Deserialize)]
struct LookRow {
    at: DateTime<Utc>,
    person_id: PersonId,
    name: String,
    initials: String,
}

fn read<T: DeserializeOwned>(value: Value) -> Result<T, Error> {
    serde_json::from_value(value).map_err(|e| Error::Unreadable(format!("the evening: {e}")))
}

impl FlameRow {
    fn view(self) -> Result<Flame, Error> {
        Ok(Flame {
            claim_number: claim_number(self.claim_count)?,
            step: self.title,
            by: PersonRef { id: self.person_id, name: self.name, initials: self.initials },
            at: self.at,
            to_check: self.to_check,
        })
    }
}

/// The shop's day up to `now`. One statement.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn view(conn: &mut PgConnection, now: DateTime<Utc>) -> Result<Evening, Error> {
    let row: DayRow = diesel::sql_query(include_str!("evening.sql")).bind::<Timestamptz, _>(now).get_result(conn)?;
    let back: Vec<BackRow> = read(row.letters_back)?;
    let burning: Vec<FlameRow> = read(row.burning)?;
    let last_flame: Option<FlameRow> = row.last_flame.map(read).transpose()?;
    let look: Option<LookRow> = row.bench_look.map(read).transpose()?;
    let letters_back = back.into_iter().map(|letter| {
        Ok(LetterBack {
            id: letter.id,
            claim_number: claim_number(letter.claim_count)?,
            subject: letter.subject,
            to_name: letter.to_name,
            to_email: letter.to_email,
            phone: letter.phone,
            state: letter.state,
            state_reason: letter.state_reason,
            queued_at: letter.queued_at,
        })
    });
    Ok(Evening {
        on: row.date,
        came_in_count: row.came_in_count,
        left_count: row.left_count,
        letters_sent_count: row.letters_sent_count,
        letters_back: letters_back.collect::<Result<_, Error>>()?,
        burning: burning.into_iter().map(FlameRow::view).collect::<Result<_, _>>()?,
        last_flame: last_flame.map(FlameRow::view).transpose()?,
        bench_look: look.map(|look| BenchLook {
            by: PersonRef { id: look.person_id, name: look.name, initials: look.initials },
            at: look.at,
        }),
    })
}

/// A look at the bench as stored.
#[derive(Debug, Clone, Insertable)]
#[diesel(table_name = crate::schema::bench_looks)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct BenchLookRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub looked_on: NaiveDate,
    pub looked_at: DateTime<Utc>,
    pub by_person: Uuid,
}

/// Adds a look at the bench.
///
/// # Errors
/// When the database refuses.
pub fn add_look(tx: &mut Tx<'_>, row: &BenchLookRow) -> Result<(), Error> {
    diesel::insert_into(bench_looks::table).values(row).execute(tx.conn())?;
    Ok(())
}
