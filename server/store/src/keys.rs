//! Answers kept so that a repeated request has one effect (domain rule 7).

use crate::schema::idempotency_keys as table;
use crate::{Error, Tx};
use diesel::prelude::*;
use diesel::sql_types::{Bool, Text};
use serde_json::Value;

#[derive(QueryableByName)]
struct Locked {
    #[diesel(sql_type = Bool)]
    locked: bool,
}

/// Takes the key for this transaction and gives the answer kept under it, if there is one.
///
/// # Errors
/// [`Error::TwinRunning`] when another transaction has the key now; [`Error::KeyReused`] when
/// it was used with another body.
pub fn take(tx: &mut Tx<'_>, actor: &str, key: &str, body_hash: &[u8]) -> Result<Option<Value>, Error> {
    let name = format!("{}/{actor}/{key}", tx.shop());
    let lock: Locked = diesel::sql_query("SELECT pg_try_advisory_xact_lock(hashtextextended($1, 7)) AS locked")
        .bind::<Text, _>(name)
        .get_result(tx.conn())?;
    if !lock.locked {
        return Err(Error::TwinRunning);
    }
    let kept: Option<(Vec<u8>, Value)> = table::table
        .filter(table::actor.eq(actor))
        .filter(table::key.eq(key))
        .select((table::body_hash, table::answer))
        .first(tx.conn())
        .optional()?;
    match kept {
        None => Ok(None),
        Some((hash, answer)) if hash == body_hash => Ok(Some(answer)),
        Some(_) => Err(Error::KeyReused),
    }
}

/// Keeps an answer under its key, in the same transaction as its effect.
///
/// # Errors
/// When the database refuses.
pub fn keep(tx: &mut Tx<'_>, actor: &str, key: &str, body_hash: &[u8], answer: &Value) -> Result<(), Error> {
    let shop = tx.shop().0;
    diesel::insert_into(table::table)
        .values((
            table::shop_id.eq(shop),
            table::actor.eq(actor),
            table::key.eq(key),
            table::body_hash.eq(body_hash),
            table::answer.eq(answer),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Takes a field out of the answers that are kept about one thing; a repeat still has one effect.
///
/// # Errors
/// When the database refuses.
pub fn forget_field(tx: &mut Tx<'_>, about: uuid::Uuid, field: &str) -> Result<(), Error> {
    diesel::sql_query("UPDATE idempotency_keys SET answer = answer || jsonb_build_object($2::text, NULL) WHERE answer ->> 'id' = $1")
        .bind::<Text, _>(about.to_string())
        .bind::<Text, _>(field)
        .execute(tx.conn())?;
    Ok(())
}

/// Forgets keys older than two days by the database's clock (at least 24 hours are promised).
///
/// # Errors
/// When the database refuses.
pub fn forget_old(tx: &mut Tx<'_>) -> Result<usize, Error> {
    Ok(diesel::sql_query("DELETE FROM idempotency_keys WHERE kept_at < now() - interval '2 days'").execute(tx.conn())?)
}
