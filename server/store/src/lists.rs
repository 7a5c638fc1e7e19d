//! The shop's own lists: methods and places.

use crate::schema::{methods, places};
use crate::views::Minutes;
use crate::{Error, Tx, Word};
use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::{self, Array};
use rust_decimal::Decimal;
use serde_json::Value;
use std::collections::HashMap;
use trade::bench::own_minutes::own_minutes;
use trade::words::instrument::Heat;
use uuid::Uuid;

/// One method as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::methods, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct MethodRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub name: String,
    pub heat: Word<Heat>,
    pub irreversible: bool,
    pub low_minutes: i32,
    pub typical_minutes: i32,
    pub high_minutes: i32,
    pub price: Decimal,
    pub cautions: Value,
    pub station: String,
    pub filler: Option<String>,
    pub heat_c: Option<i32>,
    pub joint_kind: Option<String>,
    pub needs_apart: Value,
    pub answers: Value,
    pub plating_metal: Option<String>,
    pub is_offered: bool,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
}
/// One place as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::places, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct PlaceRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub name: String,
}

/// The shop's methods, by name. One statement.
///
/// # Errors
/// When the database refuses.
pub fn methods(conn: &mut PgConnection) -> Result<Vec<MethodRow>, Error> {
    Ok(methods::table.order((methods::name, methods::id)).select(MethodRow::as_select()).load(conn)?)
}

/// How long a method takes: the shop's own minutes once there are enough, with how many done
/// operations they rest on; else those of the list.
#[must_use]
pub fn minutes(row: &MethodRow, taken: &HashMap<Uuid, Vec<u32>>) -> (Minutes, Option<i64>) {
    let of_own = |minutes: u32| i32::try_from(minutes).unwrap_or(i32::MAX);
    match taken.get(&row.id).and_then(|taken| own_minutes(taken)) {
        Some(own) => (Minutes { low: of_own(own.low), typical: of_own(own.typical), high: of_own(own.high) }, i64::try_from(own.count).ok()),
        None => (Minutes { low: row.low_minutes, typical: row.typical_minutes, high: row.high_minutes }, None),
    }
}

#[derive(QueryableByName)]
struct Taken {
    #[diesel(sql_type = sql_types::Uuid)]
    method_id: Uuid,
    #[diesel(sql_type = sql_types::Integer)]
    minutes: i32,
}

/// Minutes that done operations of each of these methods took, of the newest five thousand; clocks
/// that are still to be checked do not count, nor does what took less than a minute. One statement, none for no methods.
///
/// # Errors
/// When the database refuses.
pub fn minutes_taken(conn: &mut PgConnection, of: &[Uuid]) -> Result<HashMap<Uuid, Vec<u32>>, Error> {
    if of.is_empty() {
        return Ok(HashMap::new());
    }
    let question = diesel::sql_query(include_str!("minutes_taken.sql")).bind::<Array<sql_types::Uuid>, _>(of);
    let rows: Vec<Taken> = question.load(conn)?;
    let mut taken: HashMap<Uuid, Vec<u32>> = HashMap::new();
    for row in rows {
        taken.entry(row.method_id).or_default().push(u32::try_from(row.minutes).unwrap_or_default());
    }
    Ok(taken)
}

/// Adds a method.
///
/// # Errors
/// With the constraint `methods_name_once` where another has its name.
pub fn add_method(tx: &mut Tx<'_>, row: &MethodRow) -> Result<(), Error> {
    diesel::insert_into(methods::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// One method, locked until the transaction ends. One statement.
///
/// # Errors
/// When the database refuses.
pub fn lock_method(tx: &mut Tx<'_>, id: Uuid) -> Result<Option<MethodRow>, Error> {
    Ok(methods::table.filter(methods::id.eq(id)).select(MethodRow::as_select()).for_update().first(tx.conn()).optional()?)
}

/// Writes a method back.
///
/// # Errors
/// With the constraint `methods_name_once` where another has its name.
pub fn save_method(tx: &mut Tx<'_>, row: &MethodRow) -> Result<(), Error> {
    diesel::update(methods::table.filter(methods::id.eq(row.id))).set(row).execute(tx.conn())?;
    Ok(())
}

/// Adds a place.
///
/// # Errors
/// When the database refuses.
pub fn add_place(tx: &mut Tx<'_>, row: &PlaceRow) -> Result<(), Error> {
    diesel::insert_into(places::table).values(row).execute(tx.conn())?;
    Ok(())
}
