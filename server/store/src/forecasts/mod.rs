//! Forecasts: what they rest on, read from the records, and what came out of them.

mod view;

pub use view::view;

use crate::schema::{forecasts as table, order_forecasts};
use crate::{Error, Tx, Word, people, shops};
use chrono::{DateTime, NaiveDate, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::{
    Array, BigInt, Bool, Date, Double, Integer, Jsonb, Nullable, Numeric, Text, Timestamptz, Uuid as SqlUuid,
};
use rust_decimal::Decimal;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::HashMap;
use trade::rules::promises::looking_back::OrderRecord;
use trade::rules::promises::{
    ForecastBasis, BenchPerson, ClosedOrder, History, HistoryRows, OpenHold, OpenStep, OrderAtWork, Reach, Recomputed, ShopAtWork, StepDone, Wait,
};
use trade::words::business_time::Calendar;
use trade::words::ids::{PersonId, WorkOrderId};
use trade::words::instrument::{Family, OperationKind};
use trade::words::spelling::Spelt;
use trade::words::stage::{HoldReason, Role, Stage};
use uuid::Uuid;

/// The kind of the event that tells of a forecast.
pub const EVENT: &str = "forecast";

/// What is known of the latest forecast without reading it.
#[derive(Debug, Clone, PartialEq, Queryable)]
pub struct Latest {
    /// Raised whenever something that is shown came out otherwise.
    pub number: i64,
    /// From when it looks ahead.
    pub as_of: DateTime<Utc>,
    /// The last event it knows of.
    pub last_event: i64,
    /// As [`settings`] gave it.
    pub settings: String,
    /// When the closed orders were looked at.
    pub history_as_of: DateTime<Utc>,
}

/// The latest forecast of the shop, without its orders.
#[derive(Debug, Clone, PartialEq)]
pub struct Stored {
    /// Raised whenever something that is shown came out otherwise.
    pub number: i64,
    /// What it rests on.
    pub at_work: ShopAtWork,
    /// In figures.
    pub basis: ForecastBasis,
}

/// The chance of keeping a promise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
pub struct Chance {
    /// Of 20 cases it is ready in so many on that date or before, rounded.
    pub of_twenty: u32,
    /// Of 100 cases, rounded.
    pub of_hundred: u32,
    /// Lower end of the 95 % interval of `of_hundred` for the number of draws (Wilson), rounded down.
    pub low_of_hundred: u32,
    /// Upper end, rounded up.
    pub high_of_hundred: u32,
}

/// Something an order waits for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
pub struct Cause {
    /// `approval`, `parts` or `bench`.
    pub cause: String,
    /// Mean hours from now, closed ones too; for the bench, from when it can be worked on.
    pub mean_hours: i64,
}

/// What is said of one order beyond its dates.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Said {
    /// Twenty equally likely dates, rising.
    pub twenty: Vec<NaiveDate>,
    /// The chance of keeping the promise.
    pub kept: Option<Chance>,
    /// What it waits for, the longest first.
    pub largest_causes: Vec<Cause>,
    /// 17 of 20, if the owner said yes now; none while no answer is awaited, or nobody can say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ready_if_answered: Option<NaiveDate>,
    /// What would help it most, for the most pressing of the likely late.
    #[serde(default)]
    pub helps: Option<Recomputed>,
}

/// The forecast of one order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderSaid {
    /// Which.
    pub work_order_id: Uuid,
    /// 10 of 20.
    pub ready_p50: NaiveDate,
    /// 17 of 20.
    pub ready_p85: NaiveDate,
    /// 19 of 20.
    pub ready_p95: NaiveDate,
    /// Working days from the promise to `ready_p85`; 0: not likely late.
    pub likely_days_late: i32,
    /// The rest.
    pub said: Said,
}

fn read<T: DeserializeOwned>(value: Value, what: &str) -> Result<T, Error> {
    serde_json::from_value(value).map_err(|e| Error::Unreadable(format!("{what} of the forecast: {e}")))
}

fn written<T: Serialize>(value: &T, what: &str) -> Result<Value, Error> {
    serde_json::to_value(value).map_err(|e| Error::Unreadable(format!("{what} of the forecast: {e}")))
}

/// What is known of the latest forecast; none before the first. One statement.
///
/// # Errors
/// When the database refuses.
pub fn latest(conn: &mut PgConnection) -> Result<Option<Latest>, Error> {
    Ok(table::table
        .select((table::number, table::as_of, table::last_event, table::settings, table::history_as_of))
        .first(conn)
        .optional()?)
}

/// Whether anything but a forecast was told since this event. One statement.
///
/// # Errors
/// When the database refuses.
pub fn has_news(conn: &mut PgConnection, after: i64) -> Result<bool, Error> {
    use crate::schema::events;
    let found = events::table.filter(events::number.gt(after)).filter(events::kind.ne_all([EVENT, "letter"]));
    Ok(diesel::select(diesel::dsl::exists(found)).get_result(conn)?)
}

/// The versions of the shop and its people in one word: it changes when a setting does. One
/// statement.
///
/// # Errors
/// When the database refuses.
pub fn settings(conn: &mut PgConnection) -> Result<String, Error> {
    #[derive(QueryableByName)]
    struct Settings {
        #[diesel(sql_type = Text)]
        word: String,
    }
    let found: Settings = diesel::sql_query(
        "SELECT s.version || '-' || count(p.id) || '-' || coalesce(sum(p.version), 0) AS word \
           FROM shops s LEFT JOIN people p ON p.shop_id = s.shop_id GROUP BY s.version",
    )
    .get_result(conn)?;
    Ok(found.word)
}

/// The latest forecast with what it rests on; none before the first. One statement.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn stored(conn: &mut PgConnection) -> Result<Option<Stored>, Error> {
    let found: Option<(i64, Value, Value)> =
        table::table.select((table::number, table::at_work, table::basis)).first(conn).optional()?;
    found
        .map(|(number, at_work, basis)| {
            Ok(Stored { number, at_work: read(at_work, "the orders")?, basis: read(basis, "the basis")? })
        })
        .transpose()
}

/// Which forecast is the latest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Which {
    /// Raised whenever something that is shown came out otherwise.
    pub number: i64,
    /// From when it looks ahead.
    pub as_of: DateTime<Utc>,
}

/// Which forecast it is and how far ahead the stages reach, as stored.
#[derive(Queryable, Selectable)]
#[diesel(table_name = crate::schema::forecasts, check_for_backend(diesel::pg::Pg))]
pub(crate) struct ForecastLine {
    number: i64,
    as_of: DateTime<Utc>,
    stages: Value,
}

impl ForecastLine {
    /// Both as others read them.
    pub fn read(self) -> Result<(Which, Vec<Reach>), Error> {
        Ok((Which { number: self.number, as_of: self.as_of }, read(self.stages, "the stages")?))
    }
}

/// The latest forecast and how far each stage reaches; none before the first. One statement.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn stages(conn: &mut PgConnection) -> Result<Option<(Which, Vec<Reach>)>, Error> {
    table::table.select(ForecastLine::as_select()).first(conn).optional()?.map(ForecastLine::read).transpose()
}

/// The forecasts that are still ahead, by order. One statement.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn of_orders(conn: &mut PgConnection) -> Result<HashMap<Uuid, OrderSaid>, Error> {
    let rows: Vec<(Uuid, NaiveDate, NaiveDate, NaiveDate, i32, Value)> = order_forecasts::table
        .filter(order_forecasts::is_current)
        .select((
            order_forecasts::work_order_id,
            order_forecasts::ready_p50,
            order_forecasts::ready_p85,
            order_forecasts::ready_p95,
            order_forecasts::likely_days_late,
            order_forecasts::said,
        ))
        .load(conn)?;
    rows.into_iter()
        .map(|(work_order_id, ready_p50, ready_p85, ready_p95, likely_days_late, said)| {
            let said = read(said, "an order")?;
            Ok((work_order_id, OrderSaid { work_order_id, ready_p50, ready_p85, ready_p95, likely_days_late, said }))
        })
        .collect()
}

/// Twenty equally likely dates on which an order will be ready; none while the latest forecast has
/// none for it. One statement.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn twenty_of(conn: &mut PgConnection, order: WorkOrderId) -> Result<Option<Vec<NaiveDate>>, Error> {
    let said: Option<Value> = order_forecasts::table
        .filter(order_forecasts::work_order_id.eq(order.0))
        .filter(order_forecasts::is_current)
        .select(order_forecasts::said)
        .first(conn)
        .optional()?;
    Ok(said.map(|said| read::<Said>(said, "an order")).transpose()?.map(|said| said.twenty).filter(|twenty| !twenty.is_empty()))
}

/// When an order would be ready if its owner said yes, in 17 of 20 cases, and from when that looks
/// ahead; none while the latest forecast does not say. One statement.
///
/// # Errors
/// When the database refuses.
pub fn if_answered(conn: &mut PgConnection, order: WorkOrderId) -> Result<Option<(DateTime<Utc>, NaiveDate)>, Error> {
    #[derive(QueryableByName)]
    struct Row {
        #[diesel(sql_type = Timestamptz)]
        as_of: DateTime<Utc>,
        #[diesel(sql_type = Date)]
        ready: NaiveDate,
    }
    let found: Option<Row> = diesel::sql_query(
        "SELECT f.as_of, (o.said ->> 'ready_if_answered')::date AS ready \
           FROM order_forecasts o JOIN forecasts f ON f.shop_id = o.shop_id \
          WHERE o.work_order_id = $1 AND o.is_current AND o.said ? 'ready_if_answered'",
    )
    .bind::<SqlUuid, _>(order.0)
    .get_result(conn)
    .optional()?;
    Ok(found.map(|row| (row.as_of, row.ready)))
}

#[derive(QueryableByName)]
struct OrderRow {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = Timestamptz)]
    checked_in_at: DateTime<Utc>,
    #[diesel(sql_type = Date)]
    promised_on: NaiveDate,
    #[diesel(sql_type = Text)]
    stage: Word<Stage>,
    #[diesel(sql_type = Timestamptz)]
    stage_since: DateTime<Utc>,
    #[diesel(sql_type = Text)]
    family: Word<Family>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    claimed_by: Option<Uuid>,
    #[diesel(sql_type = Nullable<Numeric>)]
    may_cost: Option<Decimal>,
    #[diesel(sql_type = Bool)]
    is_ending: bool,
    #[diesel(sql_type = Bool)]
    has_question: bool,
    #[diesel(sql_type = Nullable<Timestamptz>)]
    asked_at: Option<DateTime<Utc>>,
    #[diesel(sql_type = Bool)]
    was_seen: bool,
    #[diesel(sql_type = Bool)]
    has_run_out: bool,
    #[diesel(sql_type = Nullable<Numeric>)]
    drafted: Option<Decimal>,
    #[diesel(sql_type = Nullable<Text>)]
    hold_reason: Option<Word<HoldReason>>,
    #[diesel(sql_type = Nullable<Date>)]
    hold_look_again_on: Option<NaiveDate>,
}

#[derive(QueryableByName)]
struct StepRow {
    #[diesel(sql_type = SqlUuid)]
    work_order_id: Uuid,
    #[diesel(sql_type = Text)]
    title: String,
    #[diesel(sql_type = Text)]
    kind: Word<OperationKind>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    method_id: Option<Uuid>,
    #[diesel(sql_type = Integer)]
    low_minutes: i32,
    #[diesel(sql_type = Integer)]
    typical_minutes: i32,
    #[diesel(sql_type = Integer)]
    high_minutes: i32,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    claimed_by: Option<Uuid>,
    #[diesel(sql_type = Integer)]
    taken_minutes: i32,
}

/// Everything that a forecast at `now` rests on; `history` as it was summed up before, or else
/// from the closed orders. Four statements, and four more without a history.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn at_work(conn: &mut PgConnection, now: DateTime<Utc>, known: Option<History>) -> Result<ShopAtWork, Error> {
    let shop = shops::current(conn)?;
    let calendar: Calendar =
        serde_json::from_value(shop.calendar).map_err(|e| Error::Unreadable(format!("calendar: {e}")))?;
    let mut at_the_bench = Vec::new();
    for person in people::all(conn)? {
        if person.is_active && person.roles()?.contains(&Role::Technician) {
            at_the_bench.push(BenchPerson {
                id: PersonId(person.id),
                skills: person.skills()?,
                weekly_bench_hours: person.weekly_bench_hours,
                absent: person.absent()?,
            });
        }
    }
    let rows: Vec<OrderRow> = diesel::sql_query(include_str!("orders.sql")).load(conn)?;
    let steps: Vec<StepRow> = diesel::sql_query(include_str!("steps.sql")).bind::<Timestamptz, _>(now).load(conn)?;
    let mut steps_of: HashMap<Uuid, Vec<OpenStep>> = HashMap::new();
    for step in steps {
        steps_of.entry(step.work_order_id).or_default().push(OpenStep {
            title: step.title,
            kind: step.kind.0,
            method: step.method_id,
            minutes: [step.low_minutes, step.typical_minutes, step.high_minutes],
            taken_minutes: step.taken_minutes,
            claimed_by: step.claimed_by.map(PersonId),
        });
    }
    let orders = rows.into_iter().map(|row| order(row, &mut steps_of)).collect();
    let history = match known {
        Some(history) => history,
        None => History::of(&history_rows(conn, now)?, &calendar),
    };
    Ok(ShopAtWork { now, calendar, people: at_the_bench, orders, history })
}

fn order(row: OrderRow, steps: &mut HashMap<Uuid, Vec<OpenStep>>) -> OrderAtWork {
    OrderAtWork {
        id: WorkOrderId(row.id),
        arrived_at: row.checked_in_at,
        promised_on: Some(row.promised_on),
        stage: row.stage.0,
        stage_since: row.stage_since,
        family: row.family.0,
        claimed_by: row.claimed_by.map(PersonId),
        steps: steps.remove(&row.id).unwrap_or_default(),
        asked_at: row.asked_at,
        was_seen: row.was_seen,
        has_run_out: row.has_run_out,
        may_cost: row.may_cost,
        drafted: row.drafted,
        hold: row.hold_reason.map(|reason| OpenHold { reason: reason.0, look_again_on: row.hold_look_again_on }),
        has_question: row.has_question,
        is_ending: row.is_ending,
        available_on: None,
        is_taken_up: false,
    }
}

/// What is recorded of the past. Four statements.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn history_rows(conn: &mut PgConnection, now: DateTime<Utc>) -> Result<HistoryRows, Error> {
    #[derive(QueryableByName)]
    struct WaitRow {
        #[diesel(sql_type = Double)]
        days: f64,
        #[diesel(sql_type = Bool)]
        answered: bool,
    }
    #[derive(QueryableByName)]
    struct Tests {
        #[diesel(sql_type = BigInt)]
        passed: i64,
        #[diesel(sql_type = BigInt)]
        failed: i64,
    }
    #[derive(QueryableByName)]
    struct DoneRow {
        #[diesel(sql_type = Integer)]
        low_minutes: i32,
        #[diesel(sql_type = Integer)]
        typical_minutes: i32,
        #[diesel(sql_type = Integer)]
        high_minutes: i32,
        #[diesel(sql_type = Double)]
        taken_minutes: f64,
    }
    let waits: Vec<WaitRow> = diesel::sql_query(include_str!("waits.sql")).bind::<Timestamptz, _>(now).load(conn)?;
    let tests: Tests = diesel::sql_query(
        "SELECT count(*) FILTER (WHERE verdict = 'passed') AS passed, count(*) FILTER (WHERE verdict = 'failed') AS failed \
           FROM (SELECT verdict FROM tests WHERE kind = 'leak_test' ORDER BY id DESC LIMIT 500) youngest",
    )
    .get_result(conn)?;
    let steps: Vec<DoneRow> = diesel::sql_query(include_str!("steps_done.sql")).load(conn)?;
    Ok(HistoryRows {
        waits: waits.into_iter().map(|wait| Wait { days: wait.days, answered: wait.answered }).collect(),
        passed: u32::try_from(tests.passed).unwrap_or(u32::MAX),
        failed: u32::try_from(tests.failed).unwrap_or(u32::MAX),
        steps: steps
            .into_iter()
            .map(|step| StepDone {
                minutes: [step.low_minutes, step.typical_minutes, step.high_minutes],
                taken_minutes: step.taken_minutes,
            })
            .collect(),
        orders: closed_orders(conn)?.into_iter().map(|(_, order)| order).collect(),
    })
}

/// The youngest closed orders whose work was finished, by claim number. One statement.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn closed_orders(conn: &mut PgConnection) -> Result<Vec<(WorkOrderId, ClosedOrder)>, Error> {
    #[derive(QueryableByName)]
    struct ClosedRow {
        #[diesel(sql_type = SqlUuid)]
        id: Uuid,
        #[diesel(sql_type = Text)]
        family: Word<Family>,
        #[diesel(sql_type = Array<Text>)]
        names: Vec<String>,
        #[diesel(sql_type = Array<Timestamptz>)]
        instants: Vec<DateTime<Utc>>,
        #[diesel(sql_type = Timestamptz)]
        ready_at: DateTime<Utc>,
        #[diesel(sql_type = Array<Timestamptz>)]
        held: Vec<DateTime<Utc>>,
        #[diesel(sql_type = Array<Timestamptz>)]
        lifted: Vec<DateTime<Utc>>,
        #[diesel(sql_type = Integer)]
        planned_minutes: i32,
        #[diesel(sql_type = Double)]
        worked_minutes: f64,
        #[diesel(sql_type = Nullable<Timestamptz>)]
        begun_at: Option<DateTime<Utc>>,
        #[diesel(sql_type = Nullable<Numeric>)]
        may_cost: Option<Decimal>,
        #[diesel(sql_type = Nullable<Numeric>)]
        cost: Option<Decimal>,
    }
    let rows: Vec<ClosedRow> = diesel::sql_query(include_str!("closed.sql")).load(conn)?;
    rows.into_iter()
        .map(|row| {
            let moves = row
                .names
                .iter()
                .zip(row.instants)
                .map(|(name, at)| {
                    let stage = Stage::from_spelling(name).ok_or_else(|| Error::Unreadable(format!("stage {name:?}")))?;
                    Ok((stage, at))
                })
                .collect::<Result<_, Error>>()?;
            let order = ClosedOrder {
                family: row.family.0,
                moves,
                ready_at: row.ready_at,
                holds: row.held.into_iter().zip(row.lifted).collect(),
                planned_minutes: row.planned_minutes,
                worked_minutes: row.worked_minutes,
                begun_at: row.begun_at,
                may_cost: row.may_cost,
                cost: row.cost,
            };
            Ok((WorkOrderId(row.id), order))
        })
        .collect()
}

/// Every order of the shop with whatever is recorded of it with an instant, by claim number: for
/// looking back at what would have been forecast. One statement; slow for a large shop.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn records(conn: &mut PgConnection) -> Result<Vec<OrderRecord>, Error> {
    #[derive(QueryableByName)]
    struct Row {
        #[diesel(sql_type = Jsonb)]
        record: Value,
    }
    let rows: Vec<Row> = diesel::sql_query(include_str!("records.sql")).load(conn)?;
    rows.into_iter().map(|row| read(row.record, "a record")).collect()
}

/// Whether this process may make the forecast of the shop now: one at a time, until the end of
/// the transaction. One statement.
///
/// # Errors
/// When the database refuses.
pub fn take_turn(tx: &mut Tx<'_>) -> Result<bool, Error> {
    #[derive(QueryableByName)]
    struct Held {
        #[diesel(sql_type = Bool)]
        held: bool,
    }
    let shop = tx.shop().to_string();
    let lock: Held = diesel::sql_query("SELECT pg_try_advisory_xact_lock(721605428, hashtext($1)) AS held")
        .bind::<Text, _>(shop)
        .get_result(tx.conn())?;
    Ok(lock.held)
}

/// A forecast to be kept.
#[derive(Debug)]
pub struct NewForecast<'f> {
    /// What it rests on.
    pub at_work: &'f ShopAtWork,
    /// In figures.
    pub basis: &'f ForecastBasis,
    /// Of each order that was forecast.
    pub orders: &'f [OrderSaid],
    /// The last event it knows of.
    pub last_event: i64,
    /// As [`settings`] gave it.
    pub settings: String,
    /// When the closed orders were looked at.
    pub history_as_of: DateTime<Utc>,
}

/// Keeps a forecast, and gives how many orders or stages show something else than before. Five
/// statements.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn save(tx: &mut Tx<'_>, new: &NewForecast<'_>) -> Result<usize, Error> {
    let before = stages(tx.conn())?;
    let shown: HashMap<Uuid, (NaiveDate, NaiveDate, NaiveDate, i32)> = order_forecasts::table
        .filter(order_forecasts::is_current)
        .select((
            order_forecasts::work_order_id,
            (
                order_forecasts::ready_p50,
                order_forecasts::ready_p85,
                order_forecasts::ready_p95,
                order_forecasts::likely_days_late,
            ),
        ))
        .load(tx.conn())?
        .into_iter()
        .collect();
    let ids: Vec<Uuid> = new.orders.iter().map(|order| order.work_order_id).collect();
    let mut changed = new
        .orders
        .iter()
        .filter(|o| shown.get(&o.work_order_id) != Some(&(o.ready_p50, o.ready_p85, o.ready_p95, o.likely_days_late)))
        .count();
    changed += diesel::update(order_forecasts::table)
        .filter(order_forecasts::is_current)
        .filter(diesel::dsl::not(order_forecasts::work_order_id.eq_any(&ids)))
        .set(order_forecasts::is_current.eq(false))
        .execute(tx.conn())?;
    let (number, stages) = before.map_or((0, Vec::new()), |(which, stages)| (which.number, stages));
    changed += usize::from(stages != new.at_work.history.reach);
    let today = new.at_work.calendar.local_date(new.at_work.now);
    let shop = tx.shop().0;
    diesel::sql_query(include_str!("save.sql"))
        .bind::<SqlUuid, _>(shop)
        .bind::<Jsonb, _>(written(&new.orders, "the orders")?)
        .bind::<Date, _>(today)
        .execute(tx.conn())?;
    let values = (
        table::number.eq(number + i64::from(changed > 0)),
        table::as_of.eq(new.at_work.now),
        table::last_event.eq(new.last_event),
        table::settings.eq(&new.settings),
        table::history_as_of.eq(new.history_as_of),
        table::at_work.eq(written(new.at_work, "the orders")?),
        table::basis.eq(written(new.basis, "the basis")?),
        table::stages.eq(written(&new.at_work.history.reach, "the stages")?),
    );
    diesel::insert_into(table::table)
        .values((table::shop_id.eq(shop), values.clone()))
        .on_conflict(table::shop_id)
        .do_update()
        .set(values)
        .execute(tx.conn())?;
    Ok(changed)
}
