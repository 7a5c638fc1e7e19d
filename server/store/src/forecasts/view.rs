//! The forecast as a reader gets it, with what would help each promise that is in danger.

use super::{Cause, OrderSaid, of_orders, stages, stored};
use crate::schema::{customers, work_orders};
use crate::views::{BoardOrder, Forecast, ForecastOrder, LikelyLate, NameRef};
use crate::{Error, board};
use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use std::collections::HashMap;
use trade::bench::promise_date::Causes;
use trade::rules::promises::{HelpKind, help};
use trade::words::ids::CustomerId;
use uuid::Uuid;

/// The forecast over all open orders. Five statements however many orders there are.
///
/// # Errors
/// When the database refuses; [`Error::Unreadable`].
pub fn view(conn: &mut PgConnection, now: DateTime<Utc>) -> Result<Forecast, Error> {
    let Some(forecast) = stored(conn)? else {
        return Ok(Forecast { as_of: None, number: None, orders: Vec::new(), likely_late: Vec::new(), nobody_can: Vec::new(), basis: None });
    };
    let board = board::board(conn, now)?;
    let people = board.people;
    let mut said = of_orders(conn)?;
    let at_work: HashMap<Uuid, _> = forecast.at_work.orders.iter().map(|order| (order.id.0, order)).collect();
    let (mut orders, mut late, mut nobody_can) = (Vec::new(), Vec::new(), Vec::new());
    for shown in board.orders {
        // Beside what was forecast, and still is not ready.
        let Some(order) = at_work.get(&shown.id.0).filter(|_| !matches!(shown.stage, trade::words::stage::Stage::Pickup)) else { continue };
        let Some(found) = said.remove(&shown.id.0) else {
            nobody_can.push(shown.claim_number);
            continue;
        };
        let helps = found.said.helps;
        let told = told(&shown, found);
        if told.likely_days_late > 0 {
            late.push((shown, *order, told.clone(), helps));
        }
        orders.push(told);
    }
    let ids: Vec<Uuid> = late.iter().map(|(shown, ..)| shown.id.0).collect();
    let mut beside = beside(conn, &ids)?;
    let mut likely_late: Vec<LikelyLate> = late
        .into_iter()
        .map(|(shown, order, told, helps)| {
            let claimer = shown.claimed_by.as_ref().map(|person| person.name.as_str());
            let name_of = |id| people.iter().find(|person| person.id == id).map(|person| person.name.as_str());
            let tried = helps.as_ref().map(|helps| (helps, helps.hand_to.and_then(name_of)));
            let help = help(order, &causes(&told.largest_causes), tried, claimer, &forecast.at_work.calendar, now);
            let (promise_reason, owner, phone) =
                beside.remove(&shown.id.0).map_or((None, None, None), |beside| (beside.promise_reason, Some(beside.owner), beside.phone));
            let (ring, ring_phone) = match help.kind {
                HelpKind::RingOwner | HelpKind::AnswerOwner | HelpKind::RingCustomer | HelpKind::TellCustomer => (owner, phone),
                HelpKind::AskSupplier
                | HelpKind::Examine
                | HelpKind::SendQuote
                | HelpKind::LiftHold
                | HelpKind::HandToAnother
                | HelpKind::NextStep
                | HelpKind::Test
                | HelpKind::PutTogether => (None, None),
            };
            LikelyLate {
                order: told,
                customer_name: shown.customer_name,
                instrument_words: shown.instrument_words,
                waits_for: shown.waits_for,
                claimed_by: shown.claimed_by,
                promise_reason,
                help,
                ring,
                ring_phone,
            }
        })
        .collect();
    likely_late.sort_by_key(|late| (late.order.promised_on, -late.order.likely_days_late));
    let which = stages(conn)?.map(|(which, _)| which);
    Ok(Forecast {
        as_of: which.map(|which| which.as_of),
        number: which.map(|which| which.number),
        orders,
        likely_late,
        nobody_can,
        basis: Some(forecast.basis),
    })
}

fn told(shown: &BoardOrder, found: OrderSaid) -> ForecastOrder {
    ForecastOrder {
        work_order_id: shown.id,
        claim_number: shown.claim_number.clone(),
        stage: shown.stage,
        promised_on: shown.promised_on,
        ready_p50: found.ready_p50,
        ready_p85: found.ready_p85,
        ready_p95: found.ready_p95,
        twenty: found.said.twenty,
        promise: found.said.kept,
        likely_days_late: i64::from(found.likely_days_late),
        largest_causes: found.said.largest_causes,
    }
}

fn causes(list: &[Cause]) -> Causes {
    let days = |name: &str| list.iter().find(|cause| cause.cause == name).map_or(0.0, |cause| cause.mean_hours as f64 / 24.0);
    Causes { approval_days: days("approval"), parts_days: days("parts"), bench_days: days("bench") }
}

/// What the evening says of an order beside its dates.
struct Beside {
    promise_reason: Option<String>,
    owner: NameRef,
    phone: Option<String>,
}

/// Why these orders were promised so early, and their owners with their telephone numbers. One
/// statement.
fn beside(conn: &mut PgConnection, orders: &[Uuid]) -> Result<HashMap<Uuid, Beside>, Error> {
    let rows = work_orders::table
        .inner_join(customers::table.on(customers::shop_id.eq(work_orders::shop_id).and(customers::id.eq(work_orders::owner_id))))
        .filter(work_orders::id.eq_any(orders))
        .select((work_orders::id, work_orders::promise_reason, customers::id, customers::name, customers::phone))
        .load::<(Uuid, Option<String>, Uuid, String, _)>(conn)?;
    Ok(rows
        .into_iter()
        .map(|(order, promise_reason, id, name, phone)| (order, Beside { promise_reason, owner: NameRef { id: CustomerId(id), name }, phone }))
        .collect())
}
