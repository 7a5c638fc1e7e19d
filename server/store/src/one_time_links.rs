//! Links that may be used once, such as the one that makes the first proprietor.

use crate::Error;
use crate::schema::{memberships, one_time_links as table};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::{Bytea, Integer, Text};

/// Issues a link for `purpose`, known by the hash of its secret, for so many days.
///
/// # Errors
/// When the database refuses.
pub fn issue(conn: &mut PgConnection, hash: &[u8], purpose: &str, days: i32) -> Result<(), Error> {
    diesel::sql_query(
        "INSERT INTO one_time_links (token_hash, purpose, expires_at) VALUES ($1, $2, now() + make_interval(days => $3))",
    )
    .bind::<Bytea, _>(hash)
    .bind::<Text, _>(purpose)
    .bind::<Integer, _>(days)
    .execute(conn)?;
    Ok(())
}

/// Forgets the unused links for `purpose`, so that only the newest works.
///
/// # Errors
/// When the database refuses.
pub fn forget_unused(conn: &mut PgConnection, purpose: &str) -> Result<(), Error> {
    diesel::delete(table::table.filter(table::purpose.eq(purpose)).filter(table::used_at.is_null())).execute(conn)?;
    Ok(())
}

/// Whether the link can still be used.
///
/// # Errors
/// When the database refuses.
pub fn is_open(conn: &mut PgConnection, hash: &[u8], purpose: &str) -> Result<bool, Error> {
    let open: i64 = table::table
        .filter(table::token_hash.eq(hash))
        .filter(table::purpose.eq(purpose))
        .filter(table::used_at.is_null())
        .filter(table::expires_at.gt(diesel::dsl::now))
        .count()
        .get_result(conn)?;
    Ok(open == 1)
}

/// Uses the link up; false when it was used, ran out, or never was.
///
/// # Errors
/// When the database refuses.
pub fn use_up(conn: &mut PgConnection, hash: &[u8], purpose: &str) -> Result<bool, Error> {
    let used = diesel::sql_query(
        "UPDATE one_time_links SET used_at = now() WHERE token_hash = $1 AND purpose = $2 AND used_at IS NULL AND expires_at > now()",
    )
    .bind::<Bytea, _>(hash)
    .bind::<Text, _>(purpose)
    .execute(conn)?;
    Ok(used == 1)
}

/// Whether anybody can sign in anywhere yet.
///
/// # Errors
/// When the database refuses.
pub fn anybody_signs_in(conn: &mut PgConnection) -> Result<bool, Error> {
    let count: i64 = memberships::table.count().get_result(conn)?;
    Ok(count > 0)
}
