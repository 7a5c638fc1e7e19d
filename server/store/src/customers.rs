//! Customers: people, schools and dealers.

use chrono::{DateTime, Utc};
use crate::schema::customers as table;
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use trade::words::ids::{CustomerId};
use trade::words::paperwork::{CustomerKind, MailWanted};
use uuid::Uuid;

/// One customer as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::customers, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct CustomerRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub kind: Word<CustomerKind>,
    pub name: String,
    pub email: Option<String>,
    pub phone: Option<String>,
    pub language: String,
    pub mail_wanted: Word<MailWanted>,
    pub note: Option<String>,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
    pub created_at: DateTime<Utc>,
}

/// Adds a customer.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, row: &CustomerRow) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    Ok(())
}

/// One customer. One statement.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: CustomerId) -> Result<Option<CustomerRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(CustomerRow::as_select()).first(conn).optional()?)
}

/// Writes a customer back.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, row: &CustomerRow) -> Result<(), Error> {
    diesel::update(table::table.filter(table::id.eq(row.id))).set(row).execute(tx.conn())?;
    Ok(())
}

/// One customer, locked until the end of the transaction.
///
/// # Errors
/// When the database refuses.
pub fn lock(tx: &mut Tx<'_>, id: CustomerId) -> Result<Option<CustomerRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(CustomerRow::as_select()).for_update().first(tx.conn()).optional()?)
}

/// How many work orders each of these customers brought or owns. One statement.
///
/// # Errors
/// When the database refuses.
pub fn visits(conn: &mut PgConnection, ids: &[Uuid]) -> Result<std::collections::HashMap<Uuid, i64>, Error> {
    use crate::schema::work_orders as orders;
    let counted: Vec<(Uuid, i64)> = orders::table
        .filter(orders::customer_id.eq_any(ids))
        .group_by(orders::customer_id)
        .select((orders::customer_id, diesel::dsl::count_star()))
        .load(conn)?;
    Ok(counted.into_iter().collect())
}
