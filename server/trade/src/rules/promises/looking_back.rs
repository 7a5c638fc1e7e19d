//! Looking back: what would have been forecast on an order's first day, and what came.
//!
//! The shop is set back to that instant from what is recorded with an instant of its own: moves,
//! clocks, quotes, holds, tests. Three things have none and are taken as they are now: who worked
//! here, the opening hours, and which steps an order that was on the bench then had, so that steps
//! found later on other orders are in it too early.

use super::{
    BenchPerson, ClosedOrder, History, HistoryRows, OpenHold, OpenStep, OrderAtWork, ShopAtWork, StepDone, Wait, forecast,
};
use crate::words::business_time::Calendar;
use crate::words::ids::WorkOrderId;
use crate::words::instrument::{Family, OperationKind};
use crate::words::stage::{HoldReason, Stage};
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use serde::Deserialize;
use std::num::NonZeroUsize;
use uuid::Uuid;

/// A step with its clocks.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct StepRecord {
    /// What it is called.
    pub title: String,
    /// Work, take apart or put together.
    pub kind: OperationKind,
    /// From the shop's list.
    pub method: Option<Uuid>,
    /// Low, typical and high minutes.
    pub minutes: [i32; 3],
    /// From when to when somebody worked on it.
    pub clocks: Vec<(DateTime<Utc>, DateTime<Utc>)>,
    /// Whether it was done in the end.
    pub is_done: bool,
    /// Whether a failed test brought it back.
    pub was_done_again: bool,
}

/// A quote that went out.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
pub struct AskRecord {
    /// When it went out.
    pub sent_at: DateTime<Utc>,
    /// When the wait for its answer ended, if it did.
    pub ended_at: Option<DateTime<Utc>>,
    /// Whether with a yes or a no.
    pub is_answered: bool,
}

/// A hold from its beginning to its end.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
pub struct HoldRecord {
    /// Why.
    pub reason: HoldReason,
    /// When to look again.
    pub look_again_on: Option<NaiveDate>,
    /// When it was set.
    pub set_at: DateTime<Utc>,
    /// When it was lifted, if it was.
    pub lifted_at: Option<DateTime<Utc>>,
}

/// Everything that is recorded of one order with an instant.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct OrderRecord {
    /// Which.
    pub id: WorkOrderId,
    /// What it is.
    pub family: Family,
    /// What was promised.
    pub promised_on: NaiveDate,
    /// What was authorised at the counter.
    pub may_cost: Option<Decimal>,
    /// Every arrival at a stage, oldest first; the check-in is the first.
    pub moves: Vec<(Stage, DateTime<Utc>)>,
    /// Whether its work was finished: tested, or let go without.
    pub is_finished: bool,
    /// Its steps, in order, without those struck.
    pub steps: Vec<StepRecord>,
    /// Its quotes.
    pub asks: Vec<AskRecord>,
    /// Its holds.
    pub holds: Vec<HoldRecord>,
    /// Its leak tests: when, and whether it passed.
    pub tests: Vec<(DateTime<Utc>, bool)>,
    /// What was paid, if anything.
    pub paid: Option<Decimal>,
}

/// What would have been told on the first day, and what came.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// Which order.
    pub id: WorkOrderId,
    /// Closed orders that the forecast rested on.
    pub closed_orders_count: usize,
    /// In 10 of 20.
    pub ready_p50: NaiveDate,
    /// In 17 of 20.
    pub ready_p85: NaiveDate,
    /// In 19 of 20.
    pub ready_p95: NaiveDate,
    /// When it was ready.
    pub ready_on: NaiveDate,
}

impl OrderRecord {
    fn arrived_at(&self) -> Option<DateTime<Utc>> {
        self.moves.first().map(|(_, at)| *at)
    }

    fn ready_at(&self) -> Option<DateTime<Utc>> {
        self.moves.iter().find(|(stage, _)| *stage == Stage::Pickup).map(|(_, at)| *at)
    }

    fn closed_at(&self) -> Option<DateTime<Utc>> {
        self.moves.iter().find(|(stage, _)| *stage == Stage::Closed).map(|(_, at)| *at)
    }

    /// Whether the whole visit was one act at the counter.
    fn was_at_counter(&self) -> bool {
        let begun = self.moves.iter().find(|(stage, _)| *stage == Stage::Diagnosis).map(|(_, at)| *at);
        begun.is_none() || begun == self.ready_at()
    }

    /// As the history takes it; none unless it was finished and closed by then.
    fn closed_by(&self, then: DateTime<Utc>) -> Option<ClosedOrder> {
        let ready_at = self.ready_at()?;
        if !self.is_finished || self.was_at_counter() || self.closed_at()? > then {
            return None;
        }
        let worked: i64 = self.steps.iter().flat_map(|step| &step.clocks).map(|(from, to)| (*to - *from).num_seconds()).sum();
        Some(ClosedOrder {
            family: self.family,
            moves: self.moves.iter().copied().filter(|(_, at)| *at < ready_at).collect(),
            ready_at,
            begun_at: self.steps.iter().flat_map(|step| &step.clocks).map(|(from, _)| *from).min(),
            may_cost: self.may_cost,
            holds: self.holds.iter().map(|hold| (hold.set_at, hold.lifted_at.unwrap_or(ready_at))).collect(),
            planned_minutes: self.steps.iter().filter(|step| step.is_done).map(|step| step.minutes[1]).sum(),
            worked_minutes: worked as f64 / 60.0,
            cost: self.paid,
        })
    }

    /// As it stood then; none before it came and once it was ready.
    fn open_at(&self, then: DateTime<Utc>) -> Option<OrderAtWork> {
        let arrived_at = self.arrived_at().filter(|at| *at <= then)?;
        let (stage, stage_since) = self.moves.iter().copied().rfind(|(_, at)| *at <= then)?;
        if matches!(stage, Stage::Pickup | Stage::Closed) {
            return None;
        }
        let is_planned = matches!(stage, Stage::Approval | Stage::Bench | Stage::LeakTest);
        let steps = self
            .steps
            .iter()
            .filter(|step| is_planned && !step.was_over_by(then))
            .map(|step| OpenStep {
                title: step.title.clone(),
                kind: step.kind,
                method: step.method,
                minutes: step.minutes,
                taken_minutes: step.taken_by(then),
                claimed_by: None,
            })
            .collect();
        let asked = self.asks.iter().rfind(|ask| ask.sent_at <= then && ask.ended_at.is_none_or(|end| end > then));
        let hold = self.holds.iter().find(|hold| hold.set_at <= then && hold.lifted_at.is_none_or(|to| to > then));
        Some(OrderAtWork {
            id: self.id,
            arrived_at,
            promised_on: Some(self.promised_on),
            stage,
            stage_since,
            family: self.family,
            claimed_by: None,
            steps,
            asked_at: asked.map(|ask| ask.sent_at),
            was_seen: false,
            has_run_out: false,
            may_cost: self.may_cost,
            drafted: None,
            hold: hold.map(|hold| OpenHold { reason: hold.reason, look_again_on: hold.look_again_on }),
            has_question: false,
            is_ending: false,
            available_on: None,
            is_taken_up: false,
        })
    }
}

impl StepRecord {
    fn was_over_by(&self, then: DateTime<Utc>) -> bool {
        self.is_done && self.clocks.iter().map(|(_, to)| *to).max().is_some_and(|last| last <= then)
    }

    fn taken_by(&self, then: DateTime<Utc>) -> i32 {
        let seconds: i64 = self.clocks.iter().map(|(from, to)| ((*to).min(then) - *from).num_seconds().max(0)).sum();
        i32::try_from(seconds / 60).unwrap_or(i32::MAX)
    }

    fn done_by(&self, then: DateTime<Utc>) -> Option<StepDone> {
        let taken: i64 = self.clocks.iter().map(|(from, to)| (*to - *from).num_seconds()).sum();
        (self.was_over_by(then) && !self.was_done_again)
            .then(|| StepDone { minutes: self.minutes, taken_minutes: taken as f64 / 60.0 })
    }
}

/// What was known of the past then.
fn history_at(records: &[OrderRecord], then: DateTime<Utc>, calendar: &Calendar) -> History {
    let asks = records.iter().flat_map(|record| &record.asks).filter(|ask| ask.sent_at < then);
    let waits = asks.map(|ask| {
        let ended = ask.ended_at.filter(|end| *end <= then);
        let days = (ended.unwrap_or(then) - ask.sent_at).num_seconds() as f64 / 86_400.0;
        Wait { days: days.max(0.0), answered: ended.is_some() && ask.is_answered }
    });
    let tests: Vec<bool> =
        records.iter().flat_map(|record| &record.tests).filter(|(at, _)| *at <= then).map(|(_, passed)| *passed).collect();
    let count = |wanted: bool| u32::try_from(tests.iter().filter(|passed| **passed == wanted).count()).unwrap_or(u32::MAX);
    let rows = HistoryRows {
        waits: waits.collect(),
        passed: count(true),
        failed: count(false),
        steps: records.iter().flat_map(|record| &record.steps).filter_map(|step| step.done_by(then)).collect(),
        orders: records.iter().filter_map(|record| record.closed_by(then)).collect(),
    };
    History::of(&rows, calendar)
}

/// For every order whose work was finished, what would have been told at its check-in.
#[must_use]
pub fn told_on_the_first_day(
    records: &[OrderRecord],
    people: &[BenchPerson],
    calendar: &Calendar,
    draws: u32,
) -> Vec<Told> {
    let tellable = records.iter().filter(|record| record.is_finished && !record.was_at_counter());
    tellable
        .filter_map(|record| {
            let (then, ready_at) = (record.arrived_at()?, record.ready_at()?);
            let shop = ShopAtWork {
                now: then,
                calendar: calendar.clone(),
                // Nobody's later absence was known.
                people: people.iter().map(|person| BenchPerson { absent: Vec::new(), ..person.clone() }).collect(),
                orders: records.iter().filter_map(|other| other.open_at(then)).collect(),
                history: history_at(records, then, calendar),
            };
            let done = forecast(&shop, draws, NonZeroUsize::MIN).ok()?;
            let ready = &done.orders.iter().find(|order| order.id == record.id)?.ready;
            Some(Told {
                id: record.id,
                closed_orders_count: shop.history.closed_orders_count,
                ready_p50: ready.ready_by(50),
                ready_p85: ready.ready_by(85),
                ready_p95: ready.ready_by(95),
                ready_on: calendar.local_date(ready_at),
            })
        })
        .collect()
}
