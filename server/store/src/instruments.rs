//! Instruments; they outlive their work orders.

use chrono::{DateTime, Utc};
use crate::schema::instruments as table;
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use trade::words::ids::{CustomerId, InstrumentId};
use trade::words::instrument::{Family};
use uuid::Uuid;

/// One instrument as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::instruments, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct InstrumentRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub owner_id: Uuid,
    pub family: Word<Family>,
    pub maker: Option<String>,
    pub model: Option<String>,
    pub serial_number: Option<String>,
    pub age_text: Option<String>,
    pub finish: Option<String>,
    pub owners_number: Option<String>,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
}

/// Adds an instrument.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, row: &InstrumentRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// One instrument. One statement.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: InstrumentId) -> Result<Option<InstrumentRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(InstrumentRow::as_select()).first(conn).optional()?)
}

/// Writes an instrument back.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, row: &InstrumentRow) -> Result<(), Error> {
    diesel::update(table::table.filter(table::id.eq(row.id))).set(row).execute(tx.conn())?;
    Ok(())
}

/// One instrument, locked until the end of the transaction.
///
/// # Errors
/// When the database refuses.
pub fn lock(tx: &mut Tx<'_>, id: InstrumentId) -> Result<Option<InstrumentRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(InstrumentRow::as_select()).for_update().first(tx.conn()).optional()?)
}

/// The instruments of one owner, by family and id. One statement.
///
/// # Errors
/// When the database refuses.
pub fn of_owner(conn: &mut PgConnection, owner: CustomerId) -> Result<Vec<InstrumentRow>, Error> {
    Ok(table::table
        .filter(table::owner_id.eq(owner.0))
        .order((table::family, table::id))
        .select(InstrumentRow::as_select())
        .load(conn)?)
}

/// When each of these instruments was last checked in. One statement.
///
/// # Errors
/// When the database refuses.
pub fn last_here(conn: &mut PgConnection, ids: &[Uuid]) -> Result<std::collections::HashMap<Uuid, DateTime<Utc>>, Error> {
    use crate::schema::work_orders as orders;
    let last: Vec<(Uuid, Option<DateTime<Utc>>)> = orders::table
        .filter(orders::instrument_id.eq_any(ids))
        .group_by(orders::instrument_id)
        .select((orders::instrument_id, diesel::dsl::max(orders::checked_in_at)))
        .load(conn)?;
    Ok(last.into_iter().filter_map(|(id, at)| at.map(|at| (id, at))).collect())
}
