//! Finding customers, orders, staff, methods and places by what a person remembers of them.

use crate::customers::CustomerRow;
use crate::lists::{MethodRow, PlaceRow};
use crate::people::PersonRow;
use crate::{Error, Word};
use chrono::{DateTime, NaiveDate, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::{Array, BigInt, Date, Float, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use trade::words::claim_number::ClaimNumber;
use trade::words::instrument::Family;
use trade::words::stage::Stage;
use uuid::Uuid;

/// A query as the searches read it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Query {
    /// In lower case, without outer space.
    text: String,
    /// Its digits, when it has at least three.
    digits: Option<String>,
}

impl Query {
    /// Reads what was typed; none for an empty search.
    #[must_use]
    pub fn read(typed: &str) -> Option<Self> {
        let text = typed.trim().to_lowercase();
        if text.is_empty() {
            return None;
        }
        let digits: String = text.chars().filter(char::is_ascii_digit).collect();
        let is_number = text.chars().all(|c| c.is_ascii_digit() || " +-/().#".contains(c));
        Some(Self { digits: (is_number && digits.len() >= 3).then_some(digits), text })
    }

    /// `%` and `_` mean themselves.
    fn like(&self) -> String {
        format!("%{}%", self.text.replace('\\', "\\\\").replace('%', "\\%").replace('_', "\\_"))
    }

    fn digits_like(&self) -> Option<String> {
        self.digits.as_ref().map(|digits| format!("%{digits}%"))
    }
}

/// The place in a list after which the next page begins: rank, then id.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct After {
    /// The rank of the last row shown.
    pub rank: f32,
    /// Its id.
    pub id: Uuid,
}

/// A customer found, with the rank that orders the list and the field that matched.
#[derive(Debug, Clone)]
pub struct FoundCustomer {
    /// The customer.
    pub row: CustomerRow,
    /// 1 for a plain hit, less for a likeness, 0 without a search.
    pub rank: f32,
    /// `phone`, `name` or `email`.
    pub matched: Option<String>,
}

#[derive(QueryableByName)]
struct Ranked {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = Float)]
    rank: f32,
    #[diesel(sql_type = Nullable<Text>)]
    matched: Option<String>,
}

/// Customers by phone digits, name or e-mail, forgiving of typing errors (trigrams); best first,
/// then by id. Without a query all, newest first. Two statements.
///
/// # Errors
/// When the database refuses.
pub fn customers(conn: &mut PgConnection, query: Option<&Query>, after: Option<After>, most: i64) -> Result<Vec<FoundCustomer>, Error> {
    use crate::schema::customers as table;
    let after_rank = after.map_or(f32::MAX, |a| a.rank);
    let after_id = after.map_or(Uuid::max(), |a| a.id);
    let ranked: Vec<Ranked> = match query {
        None => diesel::sql_query(
            "SELECT id, 0::real AS rank, NULL::text AS matched FROM customers WHERE id < $1 ORDER BY id DESC LIMIT $2",
        )
        .bind::<SqlUuid, _>(after_id)
        .bind::<BigInt, _>(most)
        .load(conn)?,
        Some(query) => diesel::sql_query(
            "SELECT id, rank, matched FROM ( \
               SELECT id, CASE WHEN $1::text IS NOT NULL AND phone_digits LIKE $1 THEN 1.2 \
                               WHEN search LIKE $2 THEN 1.0 ELSE word_similarity($3, search) END::real AS rank, \
                      CASE WHEN $1::text IS NOT NULL AND phone_digits LIKE $1 THEN 'phone' \
                           WHEN lower(coalesce(email, '')) LIKE $2 THEN 'email' ELSE 'name' END AS matched \
                 FROM customers) found \
              WHERE rank >= 0.45 AND (rank, id) < ($4, $5) ORDER BY rank DESC, id DESC LIMIT $6",
        )
        .bind::<Nullable<Text>, _>(query.digits_like())
        .bind::<Text, _>(query.like())
        .bind::<Text, _>(&query.text)
        .bind::<Float, _>(after_rank)
        .bind::<SqlUuid, _>(after_id)
        .bind::<BigInt, _>(most)
        .load(conn)?,
    };
    let ids: Vec<Uuid> = ranked.iter().map(|r| r.id).collect();
    let rows: Vec<CustomerRow> = table::table.filter(table::id.eq_any(&ids)).select(CustomerRow::as_select()).load(conn)?;
    let mut by_id: std::collections::HashMap<Uuid, CustomerRow> = rows.into_iter().map(|row| (row.id, row)).collect();
    Ok(ranked
        .into_iter()
        .filter_map(|r| by_id.remove(&r.id).map(|row| FoundCustomer { row, rank: r.rank, matched: r.matched }))
        .collect())
}

/// After which name, and of the same names after which id, the next page of a list by name begins.
pub type AfterName = (String, Uuid);

#[derive(QueryableByName)]
struct Id {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
}

/// The ids of one page of a list by name: of `table`, those in whose `searched` the query is found, or
/// whose name is like it (what an e-mail address shares with all others would be like everything).
/// One statement.
fn by_name(
    conn: &mut PgConnection,
    (table, searched): (&'static str, &'static str),
    query: Option<&Query>,
    after: Option<&AfterName>,
    most: i64,
) -> Result<Vec<Uuid>, Error> {
    let rows: Vec<Id> = diesel::sql_query(format!(
        "SELECT id FROM {table} \
          WHERE ($1::text IS NULL OR {searched} LIKE $1 OR word_similarity($2, lower(name)) >= 0.45) \
            AND ($3::text IS NULL OR (name, id) > ($3, $4)) ORDER BY name, id LIMIT $5"
    ))
    .bind::<Nullable<Text>, _>(query.map(Query::like))
    .bind::<Nullable<Text>, _>(query.map(|query| &query.text))
    .bind::<Nullable<Text>, _>(after.map(|(name, _)| name))
    .bind::<Nullable<SqlUuid>, _>(after.map(|(_, id)| *id))
    .bind::<BigInt, _>(most)
    .load(conn)?;
    Ok(rows.into_iter().map(|row| row.id).collect())
}

/// Staff by name, initials or e-mail; by name, at most `most`. Two statements.
///
/// # Errors
/// When the database refuses.
pub fn people(conn: &mut PgConnection, query: Option<&Query>, after: Option<&AfterName>, most: i64) -> Result<Vec<PersonRow>, Error> {
    use crate::schema::people as table;
    let ids = by_name(conn, ("people", "lower(name || ' ' || initials || ' ' || email)"), query, after, most)?;
    Ok(table::table.filter(table::id.eq_any(ids)).order((table::name, table::id)).select(PersonRow::as_select()).load(conn)?)
}

/// Methods by name, at most `most`. Two statements.
///
/// # Errors
/// When the database refuses.
pub fn methods(conn: &mut PgConnection, query: Option<&Query>, after: Option<&AfterName>, most: i64) -> Result<Vec<MethodRow>, Error> {
    use crate::schema::methods as table;
    let ids = by_name(conn, ("methods", "lower(name)"), query, after, most)?;
    Ok(table::table.filter(table::id.eq_any(ids)).order((table::name, table::id)).select(MethodRow::as_select()).load(conn)?)
}

/// Places by name, at most `most`. Two statements.
///
/// # Errors
/// When the database refuses.
pub fn places(conn: &mut PgConnection, query: Option<&Query>, after: Option<&AfterName>, most: i64) -> Result<Vec<PlaceRow>, Error> {
    use crate::schema::places as table;
    let ids = by_name(conn, ("places", "lower(name)"), query, after, most)?;
    Ok(table::table.filter(table::id.eq_any(ids)).order((table::name, table::id)).select(PlaceRow::as_select()).load(conn)?)
}

/// An order found.
#[derive(Debug, Clone, QueryableByName)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct FoundOrder {
    #[diesel(sql_type = SqlUuid)]
    pub id: Uuid,
    #[diesel(sql_type = BigInt)]
    pub claim_count: i64,
    #[diesel(sql_type = diesel::sql_types::Integer)]
    pub version: i32,
    #[diesel(sql_type = Text)]
    pub stage: Word<Stage>,
    #[diesel(sql_type = Text)]
    pub customer_name: String,
    #[diesel(sql_type = Text)]
    pub family: Word<Family>,
    #[diesel(sql_type = Nullable<Text>)]
    pub maker: Option<String>,
    #[diesel(sql_type = Nullable<Text>)]
    pub serial_number: Option<String>,
    #[diesel(sql_type = Date)]
    pub promised_on: NaiveDate,
    #[diesel(sql_type = Timestamptz)]
    pub checked_in_at: DateTime<Utc>,
    #[diesel(sql_type = Float)]
    pub rank: f32,
}

/// Orders by claim number, customer's or owner's name, e-mail and phone digits, maker or serial
/// number, forgiving of typing errors; best first, then newest. One statement.
///
/// # Errors
/// When the database refuses.
pub fn orders(
    conn: &mut PgConnection,
    query: Option<&Query>,
    stages: &[Stage],
    after: Option<(f32, i64)>,
    most: i64,
) -> Result<Vec<FoundOrder>, Error> {
    let (after_rank, after_count) = after.unwrap_or((f32::MAX, i64::MAX));
    let claim_count: Option<i64> = query.and_then(|q| ClaimNumber::read(&q.text).ok()).map(|n| i64::from(n.number()));
    let text = query.map(|q| q.text.clone());
    let stages: Vec<String> = stages.iter().map(ToString::to_string).collect();
    Ok(diesel::sql_query(include_str!("search_orders.sql"))
        .bind::<Nullable<Text>, _>(text)
        .bind::<Nullable<Text>, _>(query.map(Query::like))
        .bind::<Nullable<Text>, _>(query.and_then(Query::digits_like))
        .bind::<Nullable<BigInt>, _>(claim_count)
        .bind::<Array<Text>, _>(&stages)
        .bind::<Float, _>(after_rank)
        .bind::<BigInt, _>(after_count)
        .bind::<BigInt, _>(most)
        .load(conn)?)
}
