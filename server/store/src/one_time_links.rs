//! Links that may be used once, such as the one that makes the first proprietor.

use crate::schema::{memberships, one_time_links as table};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use crate::{Error, Tx};
use chrono::{DateTime, Utc};
use diesel::sql_types::{Bytea, Integer, Text, Uuid as SqlUuid};
use std::collections::HashMap;
use trade::words::ids::{PersonId, ShopId};
use uuid::Uuid;

/// What a link to somebody of the staff is good for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// A first password, for somebody new.
    Invitation,
    /// Another password, for somebody who forgot theirs.
    PasswordReset,
}

impl Purpose {
    /// As the database spells it.
    #[must_use]
    pub fn spelling(self) -> &'static str {
        match self {
            Self::Invitation => "invitation",
            Self::PasswordReset => "password_reset",
        }
    }
}

/// A link that can be used, and by whom.
#[derive(Debug, Clone, Copy)]
pub struct PersonLink {
    /// The shop they work in.
    pub shop: ShopId,
    /// Who.
    pub person: PersonId,
    /// What for.
    pub purpose: Purpose,
}

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

/// Issues a link to somebody of this shop, known by the hash of its secret, for so many hours.
///
/// # Errors
/// When the database refuses.
pub fn issue_to(tx: &mut Tx<'_>, hash: &[u8], purpose: Purpose, person: PersonId, hours: i32) -> Result<(), Error> {
    let shop = tx.shop();
    diesel::sql_query(
        "INSERT INTO one_time_links (token_hash, purpose, shop_id, person_id, expires_at) \
         VALUES ($1, $2, $3, $4, now() + make_interval(hours => $5))",
    )
    .bind::<Bytea, _>(hash)
    .bind::<Text, _>(purpose.spelling())
    .bind::<SqlUuid, _>(shop.0)
    .bind::<SqlUuid, _>(person.0)
    .bind::<Integer, _>(hours)
    .execute(tx.conn())?;
    Ok(())
}

/// Forgets the unused links of somebody of this shop for `purpose`.
///
/// # Errors
/// When the database refuses.
pub fn forget_unused_of(tx: &mut Tx<'_>, purpose: Purpose, person: PersonId) -> Result<(), Error> {
    let shop = tx.shop();
    diesel::delete(
        table::table
            .filter(table::purpose.eq(purpose.spelling()))
            .filter(table::shop_id.eq(shop.0))
            .filter(table::person_id.eq(person.0))
            .filter(table::used_at.is_null()),
    )
    .execute(tx.conn())?;
    Ok(())
}

/// For whom a link is that can still be used, and what for.
///
/// # Errors
/// When the database refuses.
pub fn of_person(conn: &mut PgConnection, hash: &[u8]) -> Result<Option<PersonLink>, Error> {
    let found: Option<(Option<Uuid>, Option<Uuid>, String)> = table::table
        .filter(table::token_hash.eq(hash))
        .filter(table::used_at.is_null())
        .filter(table::expires_at.gt(diesel::dsl::now))
        .select((table::shop_id, table::person_id, table::purpose))
        .first(conn)
        .optional()?;
    let Some((Some(shop), Some(person), purpose)) = found else { return Ok(None) };
    let purpose = [Purpose::Invitation, Purpose::PasswordReset].into_iter().find(|one| one.spelling() == purpose);
    Ok(purpose.map(|purpose| PersonLink { shop: ShopId(shop), person: PersonId(person), purpose }))
}

/// Who of a shop was invited and has not chosen a password yet, and until when each can. One
/// statement.
///
/// # Errors
/// When the database refuses.
pub fn invited_until(conn: &mut PgConnection, shop: ShopId) -> Result<HashMap<Uuid, DateTime<Utc>>, Error> {
    let found: Vec<(Option<Uuid>, DateTime<Utc>)> = table::table
        .filter(table::shop_id.eq(shop.0))
        .filter(table::purpose.eq(Purpose::Invitation.spelling()))
        .filter(table::used_at.is_null())
        .select((table::person_id, table::expires_at))
        .load(conn)?;
    Ok(found.into_iter().filter_map(|(person, until)| Some((person?, until))).collect())
}

/// Whether anybody can sign in anywhere yet.
///
/// # Errors
/// When the database refuses.
pub fn anybody_signs_in(conn: &mut PgConnection) -> Result<bool, Error> {
    let count: i64 = memberships::table.count().get_result(conn)?;
    Ok(count > 0)
}
