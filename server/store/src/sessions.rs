//! Sign-ins and the turns of their refresh tokens, judged by the database's clock.

use crate::{Error, Tx};
use crate::schema::session_families as table;
use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::{Integer, Uuid as SqlUuid};
use std::collections::HashSet;
use trade::words::ids::{PersonId, ShopId};
use uuid::Uuid;

/// One sign-in.
#[derive(Debug, Clone, Queryable, Selectable, QueryableByName)]
#[diesel(table_name = crate::schema::session_families, check_for_backend(diesel::pg::Pg))]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct SessionRow {
    pub id: Uuid,
    pub shop_id: Uuid,
    pub person_id: Uuid,
    pub turn: i32,
    pub turned_at: DateTime<Utc>,
    pub begun_at: DateTime<Utc>,
    pub device: String,
    pub ended_at: Option<DateTime<Utc>>,
}

/// What came of showing a refresh token.
#[derive(Debug, Clone)]
pub enum Turned {
    /// Turned on, or turned already within the last ten seconds: the token of this turn is due.
    To(SessionRow),
    /// An old token was shown again: the whole session is ended.
    Reused,
    /// Ended, too old, or never begun.
    Over,
}

/// Begins a session.
///
/// # Errors
/// When the database refuses.
pub fn begin(conn: &mut PgConnection, shop: ShopId, person: PersonId, device: &str) -> Result<SessionRow, Error> {
    Ok(diesel::sql_query(
        "INSERT INTO session_families (id, shop_id, person_id, turn, turned_at, begun_at, device) \
         VALUES ($1, $2, $3, 0, now(), now(), $4) RETURNING *",
    )
    .bind::<SqlUuid, _>(Uuid::now_v7())
    .bind::<SqlUuid, _>(shop.0)
    .bind::<SqlUuid, _>(person.0)
    .bind::<diesel::sql_types::Text, _>(device)
    .get_result(conn)?)
}

#[derive(QueryableByName)]
struct Age {
    #[diesel(sql_type = diesel::sql_types::Bool)]
    just_turned: bool,
    #[diesel(sql_type = diesel::sql_types::Bool)]
    alive: bool,
}

/// Turns a session on from the token of `turn`.
///
/// The immediate predecessor within ten seconds gets the same successor again, so that a tablet
/// that lost one answer stays signed in; any older one ends the session.
///
/// # Errors
/// When the database refuses.
pub fn turn(conn: &mut PgConnection, id: Uuid, turn: i32, idle_days: i32, longest_days: i32) -> Result<Turned, Error> {
    let session: Option<SessionRow> =
        table::table.filter(table::id.eq(id)).select(SessionRow::as_select()).for_update().first(conn).optional()?;
    let Some(mut session) = session else { return Ok(Turned::Over) };
    let age: Age = diesel::sql_query(
        "SELECT turned_at > now() - interval '10 seconds' AS just_turned, \
                ended_at IS NULL AND turned_at > now() - make_interval(days => $2) \
                AND begun_at > now() - make_interval(days => $3) AS alive \
         FROM session_families WHERE id = $1",
    )
    .bind::<SqlUuid, _>(id)
    .bind::<Integer, _>(idle_days)
    .bind::<Integer, _>(longest_days)
    .get_result(conn)?;
    if !age.alive {
        return Ok(Turned::Over);
    }
    if turn == session.turn {
        diesel::sql_query("UPDATE session_families SET turn = turn + 1, turned_at = now() WHERE id = $1")
            .bind::<SqlUuid, _>(id)
            .execute(conn)?;
        session.turn += 1;
        return Ok(Turned::To(session));
    }
    if turn + 1 == session.turn && age.just_turned {
        return Ok(Turned::To(session));
    }
    end(conn, id)?;
    Ok(Turned::Reused)
}

/// Ends a session; ending it twice is harmless.
///
/// # Errors
/// When the database refuses.
pub fn end(conn: &mut PgConnection, id: Uuid) -> Result<bool, Error> {
    let ended = diesel::sql_query("UPDATE session_families SET ended_at = now() WHERE id = $1 AND ended_at IS NULL")
        .bind::<SqlUuid, _>(id)
        .execute(conn)?;
    Ok(ended > 0)
}

/// Ends every session of somebody in this shop.
///
/// # Errors
/// When the database refuses.
pub fn end_all(tx: &mut Tx<'_>, person: PersonId) -> Result<(), Error> {
    diesel::sql_query("UPDATE session_families SET ended_at = now() WHERE shop_id = $1 AND person_id = $2 AND ended_at IS NULL")
        .bind::<SqlUuid, _>(tx.shop().0)
        .bind::<SqlUuid, _>(person.0)
        .execute(tx.conn())?;
    Ok(())
}

/// Ends every session that was begun with the password of somebody in this shop, but for the one
/// that goes on.
///
/// # Errors
/// When the database refuses.
pub fn end_with_password(tx: &mut Tx<'_>, person: PersonId, but: Option<Uuid>) -> Result<(), Error> {
    let shop = tx.shop();
    diesel::sql_query(
        "UPDATE session_families SET ended_at = now() FROM memberships own JOIN memberships m ON m.identity_id = own.identity_id \
          WHERE own.shop_id = $1 AND own.person_id = $2 AND session_families.shop_id = m.shop_id \
            AND session_families.person_id = m.person_id AND ended_at IS NULL AND session_families.id IS DISTINCT FROM $3",
    )
    .bind::<SqlUuid, _>(shop.0)
    .bind::<SqlUuid, _>(person.0)
    .bind::<diesel::sql_types::Nullable<SqlUuid>, _>(but)
    .execute(tx.conn())?;
    Ok(())
}

/// The sessions that ended within the last eleven minutes: an access token is good for ten.
///
/// # Errors
/// When the database refuses.
pub fn ended_of_late(conn: &mut PgConnection) -> Result<HashSet<Uuid>, Error> {
    let recent = diesel::dsl::sql::<diesel::sql_types::Bool>("ended_at > now() - interval '11 minutes'");
    Ok(table::table.filter(recent).select(table::id).load(conn)?.into_iter().collect())
}

/// Whether a session still runs. One statement.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: Uuid) -> Result<Option<SessionRow>, Error> {
    Ok(table::table.filter(table::id.eq(id)).select(SessionRow::as_select()).first(conn).optional()?)
}

/// The running sessions of one person, newest first.
///
/// # Errors
/// When the database refuses.
pub fn of_person(conn: &mut PgConnection, shop: ShopId, person: PersonId) -> Result<Vec<SessionRow>, Error> {
    Ok(table::table
        .filter(table::shop_id.eq(shop.0))
        .filter(table::person_id.eq(person.0))
        .filter(table::ended_at.is_null())
        .order((table::begun_at.desc(), table::id))
        .select(SessionRow::as_select())
        .load(conn)?)
}
