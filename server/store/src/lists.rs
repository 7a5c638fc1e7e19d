//! The shop's own lists: methods and places.

use crate::schema::{methods, places};
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use rust_decimal::Decimal;
use serde_json::Value;
use std::collections::HashMap;
use trade::words::instrument::{Heat};
use uuid::Uuid;

/// One method as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::methods, check_for_backend(diesel::pg::Pg))]
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

#[derive(QueryableByName)]
struct Taken {
    #[diesel(sql_type = diesel::sql_types::Uuid)]
    method_id: Uuid,
    #[diesel(sql_type = diesel::sql_types::Integer)]
    minutes: i32,
}

/// Minutes that done operations of each method took, of the newest five thousand; clocks that are
/// still to be checked do not count. One statement.
///
/// # Errors
/// When the database refuses.
pub fn minutes_taken(conn: &mut PgConnection) -> Result<HashMap<Uuid, Vec<u32>>, Error> {
    let rows: Vec<Taken> = diesel::sql_query(include_str!("minutes_taken.sql")).load(conn)?;
    let mut taken: HashMap<Uuid, Vec<u32>> = HashMap::new();
    for row in rows {
        taken.entry(row.method_id).or_default().push(u32::try_from(row.minutes).unwrap_or_default());
    }
    Ok(taken)
}

/// The shop's places, by name. One statement.
///
/// # Errors
/// When the database refuses.
pub fn places(conn: &mut PgConnection) -> Result<Vec<PlaceRow>, Error> {
    Ok(places::table.order((places::name, places::id)).select(PlaceRow::as_select()).load(conn)?)
}

/// Adds a method.
///
/// # Errors
/// When the database refuses.
pub fn add_method(tx: &mut Tx<'_>, row: &MethodRow) -> Result<(), Error> {
    diesel::insert_into(methods::table).values(row).execute(tx.conn())?;
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
