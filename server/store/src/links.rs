//! Customers' links, and the directory by which they are found.

use chrono::{DateTime, Utc};
use crate::schema::{link_directory as directory, links as table};
use crate::{Error, Tx, Word};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use trade::words::ids::{LinkId, ShopId};
use trade::words::paperwork::{LinkPurpose};
use uuid::Uuid;

/// One link as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = crate::schema::links, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct LinkRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub work_order_id: Uuid,
    pub purpose: Word<LinkPurpose>,
    pub quote_id: Option<Uuid>,
    pub issued_at: DateTime<Utc>,
    pub expires_at: Option<DateTime<Utc>>,
    pub withdrawn_at: Option<DateTime<Utc>>,
    pub customer_id: Uuid,
}

/// Adds a link whose secret has this SHA-256.
///
/// # Errors
/// When the database refuses.
pub fn add(tx: &mut Tx<'_>, row: &LinkRow, token_hash: &[u8]) -> Result<(), Error> {
    diesel::insert_into(table::table).values(row).execute(tx.conn())?;
    diesel::insert_into(directory::table)
        .values((directory::token_hash.eq(token_hash), directory::shop_id.eq(row.shop_id), directory::link_id.eq(row.id)))
        .execute(tx.conn())?;
    Ok(())
}

/// Where a secret leads. One statement, on the directory.
///
/// # Errors
/// When the database refuses.
pub fn lookup(conn: &mut PgConnection, token_hash: &[u8]) -> Result<Option<(ShopId, LinkId)>, Error> {
    let found: Option<(Uuid, Uuid)> = directory::table
        .filter(directory::token_hash.eq(token_hash))
        .select((directory::shop_id, directory::link_id))
        .first(conn)
        .optional()?;
    Ok(found.map(|(shop, link)| (ShopId(shop), LinkId(link))))
}

/// One link. One statement.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: LinkId) -> Result<Option<LinkRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(LinkRow::as_select()).first(conn).optional()?)
}

/// Withdraws a link.
///
/// # Errors
/// When the database refuses.
pub fn withdraw(tx: &mut Tx<'_>, id: LinkId, at: DateTime<Utc>) -> Result<(), Error> {
    diesel::update(table::table.filter(table::id.eq(id.0)).filter(table::withdrawn_at.is_null()))
        .set(table::withdrawn_at.eq(Some(at)))
        .execute(tx.conn())?;
    Ok(())
}
