//! Live events: written with their change, numbered per shop after the commit by one relay at
//! a time, read in the order of their numbers.

use crate::schema::{event_counters, event_queue, events as table};
use crate::{Error, Tx};
use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::dsl::sql;
use diesel::sql_types::{BigInt, Bool, Integer, Text, Uuid as SqlUuid};
use serde::Deserialize;
use serde_json::Value;
use trade::words::ids::{ShopId, WorkOrderId};
use uuid::Uuid;

/// The channel on which the relay hints that new numbers were given.
pub const CHANNEL: &str = "bellbrace_events";

/// One numbered event.
#[derive(Debug, Clone, PartialEq, Queryable)]
pub struct Event {
    /// Its number in the shop, from 1, without gaps.
    pub number: i64,
    /// What kind of change.
    pub kind: String,
    /// What a screen needs to know.
    pub data: Value,
}

/// Writes an event with its change; the relay numbers it after the commit.
///
/// # Errors
/// When the database refuses.
pub fn write(tx: &mut Tx<'_>, kind: &str, order: WorkOrderId, data: &Value, at: DateTime<Utc>) -> Result<(), Error> {
    write_any(tx, kind, Some(order), data, at)
}

/// As [`write`], for what concerns the shop as a whole.
///
/// # Errors
/// When the database refuses.
pub fn write_of_shop(tx: &mut Tx<'_>, kind: &str, data: &Value, at: DateTime<Utc>) -> Result<(), Error> {
    write_any(tx, kind, None, data, at)
}

fn write_any(tx: &mut Tx<'_>, kind: &str, order: Option<WorkOrderId>, data: &Value, at: DateTime<Utc>) -> Result<(), Error> {
    let shop = tx.shop().0;
    let id = Uuid::now_v7();
    diesel::insert_into(table::table)
        .values((
            table::shop_id.eq(shop),
            table::id.eq(id),
            table::kind.eq(kind),
            table::work_order_id.eq(order.map(|order| order.0)),
            table::data.eq(data),
            table::happened_at.eq(at),
        ))
        .execute(tx.conn())?;
    diesel::insert_into(event_queue::table)
        .values((event_queue::event_id.eq(id), event_queue::shop_id.eq(shop)))
        .execute(tx.conn())?;
    tx.has_events = true;
    Ok(())
}

#[derive(QueryableByName)]
struct Held {
    #[diesel(sql_type = Bool)]
    held: bool,
}

#[derive(QueryableByName)]
struct Queued {
    #[diesel(sql_type = SqlUuid)]
    shop_id: Uuid,
    #[diesel(sql_type = SqlUuid)]
    event_id: Uuid,
}

/// Numbers every committed event that has no number yet, and gives the shops it touched.
///
/// One relay at a time, under an advisory transaction lock: numbers are given only to what has
/// committed, in one order, so no reader can skip a late committer. The notification goes out
/// with the relay's own commit, never with a business transaction.
///
/// # Errors
/// When the database refuses.
pub fn number_committed(conn: &mut PgConnection) -> Result<Vec<ShopId>, Error> {
    let lock: Held = diesel::sql_query("SELECT pg_try_advisory_xact_lock(7216054281) AS held").get_result(conn)?;
    if !lock.held {
        return Ok(Vec::new());
    }
    let mut queued: Vec<Queued> = diesel::sql_query(
        "DELETE FROM event_queue WHERE event_id IN (SELECT event_id FROM event_queue ORDER BY event_id LIMIT 1000) RETURNING shop_id, event_id",
    )
    .load(conn)?;
    queued.sort_by_key(|q| (q.shop_id, q.event_id));
    let mut shops = Vec::new();
    for of_shop in queued.chunk_by(|a, b| a.shop_id == b.shop_id) {
        let Some(first) = of_shop.first() else { continue };
        let ids: Vec<Uuid> = of_shop.iter().map(|q| q.event_id).collect();
        diesel::sql_query("SELECT set_config('bellbrace.shop', $1, true)")
            .bind::<Text, _>(first.shop_id.to_string())
            .execute(conn)?;
        diesel::sql_query(
            "WITH given AS (UPDATE event_counters SET last_number = last_number + $2 RETURNING last_number - $2 AS before), \
             ordered AS (SELECT id, row_number() OVER (ORDER BY id) AS place FROM events WHERE id = ANY($1)) \
             UPDATE events e SET number = given.before + ordered.place FROM given, ordered WHERE e.id = ordered.id",
        )
        .bind::<diesel::sql_types::Array<SqlUuid>, _>(&ids)
        .bind::<BigInt, _>(i64::try_from(ids.len()).unwrap_or(i64::MAX))
        .execute(conn)?;
        shops.push(ShopId(first.shop_id));
    }
    if !shops.is_empty() {
        diesel::sql_query("SELECT pg_notify($1, '')").bind::<Text, _>(CHANNEL).execute(conn)?;
    }
    Ok(shops)
}

/// The numbered events of this shop after `after`, at most `most`. One statement.
///
/// # Errors
/// When the database refuses.
pub fn after(conn: &mut PgConnection, after: i64, most: i64) -> Result<Vec<Event>, Error> {
    let rows: Vec<(Option<i64>, String, Value)> = table::table
        .filter(table::number.gt(after))
        .order(table::number)
        .limit(most)
        .select((table::number, table::kind, table::data))
        .load(conn)?;
    Ok(rows.into_iter().filter_map(|(number, kind, data)| number.map(|number| Event { number, kind, data })).collect())
}

/// One thing that was done on an order, with the version that the order had after it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct DoneOnOrder {
    /// What kind of change.
    pub kind: String,
    /// The version after it.
    pub version: i32,
    /// In words.
    pub words: String,
    /// Who did it; older events do not say.
    #[serde(default)]
    pub by: Option<String>,
    /// When.
    pub at: DateTime<Utc>,
}

/// How many changes are told at most to whoever comes second: the last ones.
const MOST_CHANGES: i64 = 50;

/// What raised the version of an order above `version`, oldest first. One statement, by the
/// order's own index.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn on_order_since(conn: &mut PgConnection, order: WorkOrderId, version: i32) -> Result<Vec<DoneOnOrder>, Error> {
    let mut found: Vec<Value> = table::table
        .filter(table::work_order_id.eq(order.0))
        // How a letter fares raises no version.
        .filter(table::kind.ne("letter"))
        .filter(sql::<Bool>("(data->>'version')::integer > ").bind::<Integer, _>(version))
        .order((sql::<Integer>("(data->>'version')::integer DESC"), table::id.desc()))
        .limit(MOST_CHANGES)
        .select(table::data)
        .load(conn)?;
    found.reverse();
    found.into_iter().map(|data| serde_json::from_value(data).map_err(|e| Error::Unreadable(format!("event of order {order}: {e}")))).collect()
}

/// The last number given in this shop. One statement.
///
/// # Errors
/// When the database refuses.
pub fn last_number(conn: &mut PgConnection) -> Result<i64, Error> {
    Ok(event_counters::table.select(event_counters::last_number).first(conn).optional()?.unwrap_or(0))
}

/// Listens on a connection of its own until `is_over`, and calls `heard` for every hint.
///
/// # Errors
/// When the connection breaks.
pub fn listen(url: &str, is_over: impl Fn() -> bool, heard: impl Fn()) -> Result<(), Error> {
    use diesel::Connection;
    let mut conn = PgConnection::establish(url).map_err(|e| Error::Away(e.to_string()))?;
    diesel::sql_query(format!("LISTEN {CHANNEL}")).execute(&mut conn)?;
    let mut quiet_looks = 0_u32;
    while !is_over() {
        let mut any = false;
        for hint in conn.notifications_iter() {
            hint?;
            any = true;
        }
        if any {
            heard();
        }
        // libpq gives no way to wait here through Diesel; ten milliseconds are far below what a
        // person notices and cost next to nothing. A dead connection is only met by a statement.
        std::thread::sleep(std::time::Duration::from_millis(10));
        quiet_looks += 1;
        if quiet_looks >= 3000 {
            quiet_looks = 0;
            diesel::sql_query("SELECT 1").execute(&mut conn)?;
        }
    }
    Ok(())
}
