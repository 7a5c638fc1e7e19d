//! The board: every open order in one answer.

use crate::forecasts::ForecastLine;
use crate::order_view::{claim_number, instrument_words, waiting_words};
use crate::people::ShortPerson;
use crate::rows::{List, ListOf, Listed, text_of};
use crate::views::{Board, BoardOrder, BoardStage, PersonRef};
use crate::{Error, Word, shops};
use chrono::{DateTime, NaiveDate, Utc};
use diesel::pg::{Pg, PgConnection};
use diesel::prelude::*;
use diesel::query_builder::{AstPass, Query, QueryFragment, QueryId};
use diesel::sql_types::{Array, BigInt, Bool, Date, Integer, Jsonb, Nullable, Record, Text, Timestamptz, Uuid as SqlUuid};
use serde_json::Value;
use trade::rules::facts::{HoldFacts, OrderFacts, QuoteFacts, Reminders};
use trade::rules::turns::waits_for;
use trade::words::business_time::Calendar;
use trade::words::ids::{PersonId, WorkOrderId};
use trade::words::instrument::Family;
use trade::words::spelling::Spelt;
use trade::words::stage::{Because, HoldReason, Stage};
use uuid::Uuid;

/// Open orders with what the board shows; the sent quote and the earliest hold ride along.
#[derive(Queryable)]
struct Row {
    id: Uuid,
    claim_count: i64,
    version: i32,
    stage: Word<Stage>,
    stage_since: DateTime<Utc>,
    promised_on: NaiveDate,
    claimed_by: Option<Uuid>,
    place: Option<String>,
    ending_because: Option<Word<Because>>,
    question_at: Option<DateTime<Utc>>,
    customer_name: String,
    customer_phone: Option<String>,
    family: Word<Family>,
    maker: Option<String>,
    sent_expires_on: Option<NaiveDate>,
    is_held: bool,
    hold_reason: Option<Word<HoldReason>>,
    hold_look_again_on: Option<NaiveDate>,
    hold_set_at: Option<DateTime<Utc>>,
    ready_p50: Option<NaiveDate>,
    ready_p85: Option<NaiveDate>,
    ready_p95: Option<NaiveDate>,
    likely_days_late: Option<i32>,
}

/// The columns of a [`Row`], as `board.sql` has them.
type RowColumns = (
    SqlUuid,
    BigInt,
    Integer,
    Text,
    Timestamptz,
    Date,
    Nullable<SqlUuid>,
    Nullable<Text>,
    Nullable<Text>,
    Nullable<Timestamptz>,
    Text,
    Nullable<Text>,
    Text,
    Nullable<Text>,
    Nullable<Date>,
    Bool,
    Nullable<Text>,
    Nullable<Date>,
    Nullable<Timestamptz>,
    Nullable<Date>,
    Nullable<Date>,
    Nullable<Date>,
    Nullable<Integer>,
);

/// The one statement: what the shop is, how far its events have come, its forecast, its people,
/// and its open orders.
struct Whole {
    people: List<ShortPerson>,
    forecast: List<ForecastLine>,
}

impl QueryFragment<Pg> for Whole {
    fn walk_ast<'b>(&'b self, mut out: AstPass<'_, 'b, Pg>) -> QueryResult<()> {
        out.push_sql("SELECT time_zone, calendar, (SELECT last_number FROM event_counters), ");
        self.forecast.walk_ast(out.reborrow())?;
        out.push_sql(", ");
        self.people.walk_ast(out.reborrow())?;
        out.push_sql(concat!(", ARRAY(SELECT ROW(o.*) FROM (", include_str!("board.sql"), ") o ORDER BY o.claim_count) FROM shops"));
        Ok(())
    }
}

impl QueryId for Whole {
    // The text is always the same: it is prepared once for each connection.
    type QueryId = Self;
    const HAS_STATIC_QUERY_ID: bool = true;
}

impl Query for Whole {
    type SqlType = (Text, Jsonb, Nullable<BigInt>, ListOf<ForecastLine>, ListOf<ShortPerson>, Array<Record<RowColumns>>);
}

impl RunQueryDsl<PgConnection> for Whole {}

fn whole() -> Whole {
    Whole { people: List::from("FROM people ORDER BY people.name, people.id"), forecast: List::from("FROM forecasts") }
}

/// The statement of [`board`]: for measuring it on its own.
///
/// # Errors
/// When it cannot be written down.
pub fn statement() -> Result<String, Error> {
    Ok(text_of(&whole())?)
}

/// The board as it stands at `now`. One statement however many orders there are.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn board(conn: &mut PgConnection, now: DateTime<Utc>) -> Result<Board, Error> {
    let (zone, calendar, last_event, forecast, everyone, rows): (
        String,
        Value,
        Option<i64>,
        Listed<ForecastLine>,
        Listed<ShortPerson>,
        Listed<Row>,
    ) = whole().get_result(conn)?;
    let (forecast, reach) = forecast.only().map(ForecastLine::read).transpose()?.map_or((None, Vec::new()), |(forecast, reach)| (Some(forecast), reach));
    let everyone = everyone.0;
    let today = shops::zone_named(&zone)?.local_date(now);
    let calendar: Calendar = serde_json::from_value(calendar).map_err(|e| Error::Unreadable(format!("calendar: {e}")))?;
    let scale = Scale::new(&calendar, today);
    let short: std::collections::HashMap<Uuid, PersonRef> = everyone.iter().map(|p| (p.id, p.short())).collect();
    let rows = rows.0;
    let orders = rows.into_iter().map(|row| order(row, today, &scale, &short)).collect::<Result<_, Error>>()?;
    Ok(Board {
        as_of: now,
        last_event: last_event.unwrap_or(0),
        forecast_number: forecast.map(|forecast| forecast.number),
        forecast_as_of: forecast.map(|forecast| forecast.as_of),
        today,
        open_days: scale.first_days(),
        stages: Stage::ALL
            .iter()
            .filter(|stage| **stage != Stage::Closed)
            .map(|stage| {
                let reach = reach.iter().find(|reach| reach.stage == *stage);
                BoardStage {
                    stage: *stage,
                    reach_days: reach.map(|reach| reach.reach_days),
                    reach_kind: reach.map(|reach| reach.kind),
                    reach_count: reach.map(|reach| i64::try_from(reach.count).unwrap_or(i64::MAX)),
                }
            })
            .collect(),
        people: everyone.iter().filter(|p| p.is_active).map(ShortPerson::short).collect(),
        orders,
    })
}

fn order(
    row: Row,
    today: NaiveDate,
    scale: &Scale<'_>,
    people: &std::collections::HashMap<Uuid, PersonRef>,
) -> Result<BoardOrder, Error> {
    let hold = row.hold_reason.zip(row.hold_set_at).map(|(reason, set_at)| HoldFacts {
        reason: reason.0,
        look_again_on: row.hold_look_again_on,
        set_at,
    });
    // Only what whose-turn looks at is filled in; the whole order has the rest.
    let facts = OrderFacts {
        stage: Some(row.stage.0),
        claimed_by: row.claimed_by.map(PersonId),
        undecided_count: 0,
        authorised: rust_decimal::Decimal::ZERO,
        accepted_before: false,
        draft: None,
        sent: row.sent_expires_on.map(|last| QuoteFacts {
            number: 0,
            line_count: 0,
            optional_count: 0,
            total: rust_decimal::Decimal::ZERO,
            has_irreversible: false,
            needs_name: false,
            has_left_out: false,
            has_new_optional: false,
            is_outdated: false,
            struck_lines: Vec::new(),
            is_past: last < today,
        }),
        has_open_question: row.question_at.is_some(),
        operations: Vec::new(),
        ending: row.ending_because.map(|b| b.0),
        missing_tests: Vec::new(),
        came_through_tests: false,
        has_records: true,
        due: rust_decimal::Decimal::ZERO,
        accessories_out: Vec::new(),
        loaner_out: None,
        begun_on_acceptance: None,
        failures_open: Vec::new(),
        reminders: Reminders::NothingAsked,
        holds: hold.into_iter().collect(),
    };
    let claimed_by = row.claimed_by.and_then(|id| people.get(&id).cloned());
    Ok(BoardOrder {
        id: WorkOrderId(row.id),
        claim_number: claim_number(row.claim_count)?,
        version: row.version,
        stage: row.stage.0,
        stage_since: row.stage_since,
        promised_on: row.promised_on,
        working_days_left: scale.days_to(row.promised_on),
        waits_for: waits_for(&facts),
        waiting_words: waiting_words(&facts, facts.has_open_question, claimed_by.as_ref().map(|p| p.name.as_str())),
        since: row.hold_set_at.or(row.question_at).unwrap_or(row.stage_since),
        held: row.is_held,
        held_until: row.hold_look_again_on,
        claimed_by,
        place: row.place,
        customer_name: row.customer_name,
        customer_phone: row.customer_phone,
        instrument_words: instrument_words(&row.family.0.to_string(), row.maker.as_deref(), None),
        family: row.family.0,
        likely_days_late: row.likely_days_late.map(i64::from),
        ready_p50: row.ready_p50,
        ready_p85: row.ready_p85,
        ready_p95: row.ready_p95,
    })
}

/// The shop's open days around today, counted once for the whole board.
struct Scale<'c> {
    calendar: &'c Calendar,
    today: NaiveDate,
    ahead: Vec<NaiveDate>,
}

impl<'c> Scale<'c> {
    /// How far the scale counts open days; promises further away stand in its last column.
    const FAR: usize = 90;

    fn new(calendar: &'c Calendar, today: NaiveDate) -> Self {
        let ahead = today.iter_days().take(3 * Self::FAR).filter(|day| calendar.is_open_on(*day)).take(Self::FAR).collect();
        Self { calendar, today, ahead }
    }

    fn first_days(&self) -> Vec<NaiveDate> {
        self.ahead.iter().copied().take(60).collect()
    }

    /// Open days from today to `date`; below zero, counted back, when it is past.
    fn days_to(&self, date: NaiveDate) -> i64 {
        let count = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
        if date >= self.today {
            return count(self.ahead.iter().filter(|day| **day > self.today && **day <= date).count());
        }
        let past = date.iter_days().take_while(|day| *day < self.today).take(3 * Self::FAR);
        -count(past.filter(|day| self.calendar.is_open_on(*day)).count().max(1))
    }
}
