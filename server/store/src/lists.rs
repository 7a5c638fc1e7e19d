//! The shop's own lists: methods and places.

use crate::schema::{methods, places};
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use rust_decimal::Decimal;
use serde_json::Value;
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
