//! What a shop may promise: the forecast of ready dates over all its open orders.
//!
//! * `mod.rs`: what is known of a shop at work, and [`forecast`].
//! * `assembly`: how an order as it stands becomes remaining work for the computation.
//! * `history`: what closed orders say: waits for an answer, tests, minutes, costs, reach.
//! * `typical`: the figures that stand in until a shop has its own.
//! * `looking_back`: what would have been told, and what came.
//! * `recomputed`: what the forecast would be with one thing done.
//! * `helps`: why an order is likely late, and the one thing that would help.
//!
//! The computation itself is [`crate::bench::promise_date`]. Nothing here asks the clock.

mod assembly;
#[cfg(test)]
mod examples;
mod helps;
mod history;
mod recomputed;
pub mod looking_back;
pub mod typical;

pub use crate::words::own_or_typical::Kind;
pub use helps::{Help, HelpKind, help};
pub use recomputed::{Recomputed, recomputed};
pub use history::{
    AskedOf, Asking, ClosedOrder, CostRange, History, HistoryRows, Reach, SPREAD_STEPS, Spread, Stands, StepDone,
    Wait, quantile_of_days,
};

use crate::bench::promise_date::{self, Absence, CannotForecast, Kept, ReadyDates};
use crate::words::business_time::Calendar;
use crate::words::ids::{PersonId, WorkOrderId};
use crate::words::instrument::{Family, OperationKind};
use crate::words::stage::{HoldReason, Stage};
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use std::num::NonZeroUsize;
use uuid::Uuid;

/// Closed orders, or whatever else is counted, below which typical figures stand in.
pub const ENOUGH: usize = 20;

/// What somebody can do at the bench; a list left out means all.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Skills {
    /// Families of instruments.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub families: Option<Vec<Family>>,
    /// Methods of the shop's list. What is entered freely anybody can do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub methods: Option<Vec<Uuid>>,
}

/// Somebody who works at the bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BenchPerson {
    /// Who.
    pub id: PersonId,
    /// What they can do.
    pub skills: Skills,
    /// Hours a week at the bench; none: [`typical::BENCH_SHARE`] of the opening hours.
    pub weekly_bench_hours: Option<i32>,
    /// When they are away.
    pub absent: Vec<Absence>,
}

/// A step that is still to be done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OpenStep {
    /// What it is called.
    pub title: String,
    /// Work, take apart or put together.
    pub kind: OperationKind,
    /// From the shop's list; none: entered freely.
    pub method: Option<Uuid>,
    /// Low, typical and high minutes, rising.
    pub minutes: [i32; 3],
    /// Minutes it has taken so far.
    pub taken_minutes: i32,
    /// Whose it is.
    pub claimed_by: Option<PersonId>,
}

/// A hold that lies on an order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct OpenHold {
    /// Why.
    pub reason: HoldReason,
    /// When to look again.
    pub look_again_on: Option<NaiveDate>,
}

/// An order that is not ready yet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderAtWork {
    /// Which.
    pub id: WorkOrderId,
    /// When it came in.
    pub arrived_at: DateTime<Utc>,
    /// The promise; none for one that may come.
    pub promised_on: Option<NaiveDate>,
    /// Where it stands: intake, diagnosis, approval, bench or leak test.
    pub stage: Stage,
    /// Since when.
    pub stage_since: DateTime<Utc>,
    /// What it is.
    pub family: Family,
    /// Who has claimed it.
    pub claimed_by: Option<PersonId>,
    /// Steps planned and not done, in order; without those that the owner left out.
    pub steps: Vec<OpenStep>,
    /// Since when the owner has been asked, if an answer is awaited.
    pub asked_at: Option<DateTime<Utc>>,
    /// Whether the owner has opened the page of what was asked.
    pub was_seen: bool,
    /// Whether the last version that went out ran out unanswered.
    #[serde(default)]
    pub has_run_out: bool,
    /// What was authorised at the counter.
    pub may_cost: Option<Decimal>,
    /// What the version being written comes to, if there is one.
    pub drafted: Option<Decimal>,
    /// The hold that counts.
    pub hold: Option<OpenHold>,
    /// Whether the owner has a question that waits for the shop.
    pub has_question: bool,
    /// Whether it is to end without being finished.
    pub is_ending: bool,
    /// Not in the shop before this date; for one that may come.
    pub available_on: Option<NaiveDate>,
    /// Whether it is taken up now, before all others; only for what is considered.
    #[serde(default)]
    pub is_taken_up: bool,
}

/// Everything that a forecast rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShopAtWork {
    /// From when it looks ahead.
    pub now: DateTime<Utc>,
    /// When the shop is open.
    pub calendar: Calendar,
    /// Who works at the bench.
    pub people: Vec<BenchPerson>,
    /// Every order that is not ready yet.
    pub orders: Vec<OrderAtWork>,
    /// What closed orders say.
    pub history: History,
}

/// The forecast of one order.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderForecast {
    /// Which.
    pub id: WorkOrderId,
    /// When it will be ready.
    pub ready: ReadyDates,
    /// How likely its promise is kept, if it has one.
    pub kept: Option<Kept>,
    /// Working days of the shop from the promise to the date with 17 of 20; 0 when that date is
    /// not after the promise, or nothing is promised.
    pub likely_days_late: usize,
}

/// What a forecast rests on, in figures.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
pub struct ForecastBasis {
    /// Typical, until the shop has closed [`ENOUGH`] orders.
    pub kind: Kind,
    /// Closed orders that it rests on.
    pub closed_orders_count: usize,
    /// Open orders that are in it.
    pub open_orders_count: usize,
    /// People at the bench who are in it.
    pub people_count: usize,
    /// Answers of owners that the wait for an answer rests on.
    pub answers_count: usize,
    /// Leak tests that the chance of failing rests on.
    pub tests_count: usize,
    /// Finished steps that the bench minutes rest on.
    pub steps_count: usize,
    /// Closed orders among them that were held on their way: a hold yet to come is in every date, as
    /// often and as long as it was.
    #[serde(default)]
    pub held_orders_count: usize,
    /// Closed orders among them whose owner was asked again, for extra work or with a new quote: that
    /// is in every date as well.
    #[serde(default)]
    pub asked_again_count: usize,
    /// Figures that are typical and not this shop's: `answers`, `tests`, `minutes`,
    /// `bench_hours`, `remaining_work`.
    pub typical: Vec<String>,
    /// Draws made.
    pub draws_count: u32,
}

/// A forecast of a whole shop.
#[derive(Debug, Clone, PartialEq)]
pub struct ShopForecast {
    /// For every order that somebody at the bench can work on, in the order given.
    pub orders: Vec<OrderForecast>,
    /// Orders that nobody at the bench can finish, with what is missing.
    pub nobody_can: Vec<WorkOrderId>,
    /// What it rests on.
    pub basis: ForecastBasis,
}

/// Draws for so many orders: as many as take about as long as 600,000 orders drawn once, at least
/// 2,000 and at most 10,000 (COMPUTATIONS.md, section 4).
#[must_use]
pub fn draws_for(orders: usize) -> u32 {
    let draws = 600_000 / orders.max(1);
    u32::try_from(draws).unwrap_or(u32::MAX).clamp(2_000, promise_date::USUAL_DRAWS)
}

/// Forecasts every order of a shop. The seed is fixed, and an order's luck hangs on its id: what
/// has not changed comes out the same again.
///
/// # Errors
/// [`CannotForecast::NeverOpen`], [`CannotForecast::TooLarge`].
pub fn forecast(
    shop: &ShopAtWork,
    draws: u32,
    threads: NonZeroUsize,
) -> Result<ShopForecast, CannotForecast> {
    let mut orders: Vec<&OrderAtWork> = shop.orders.iter().collect();
    let mut nobody_can = Vec::new();
    loop {
        let question = assembly::question(shop, &orders, draws);
        match promise_date::forecast(&question, threads) {
            Ok(done) => {
                let orders = orders
                    .iter()
                    .zip(done.orders)
                    .map(|(order, ready)| of_order(shop, order, ready))
                    .collect();
                let basis = basis(shop, done.draws);
                return Ok(ShopForecast { orders, nobody_can, basis });
            }
            // The others are worked on all the same.
            Err(CannotForecast::NobodyCan(parts)) => {
                let mut at = 0;
                orders.retain(|order| {
                    let stays = !parts.iter().any(|(index, _)| *index == at);
                    if !stays {
                        nobody_can.push(order.id);
                    }
                    at += 1;
                    stays
                });
            }
            Err(other) => return Err(other),
        }
    }
}

/// By which date each order that waits for its owner's answer would be ready in 17 of 20 cases if
/// all of them said yes now: what a quote's page tells. All at once, because the same benches
/// wait for them; so no date is earlier than the shop can hold for everybody.
///
/// An order without planned steps is left out: nobody can say what a yes would set going.
///
/// # Errors
/// As [`forecast`].
pub fn if_answered_now(
    shop: &ShopAtWork,
    draws: u32,
    threads: NonZeroUsize,
) -> Result<Vec<(WorkOrderId, NaiveDate)>, CannotForecast> {
    let waits = |order: &OrderAtWork| {
        order.stage == Stage::Approval && order.asked_at.is_some() && !order.is_ending && !order.steps.is_empty()
    };
    let asked: Vec<WorkOrderId> = shop.orders.iter().filter(|order| waits(order)).map(|order| order.id).collect();
    if asked.is_empty() {
        return Ok(Vec::new());
    }
    let mut answered = shop.clone();
    for order in answered.orders.iter_mut().filter(|order| asked.contains(&order.id)) {
        (order.stage, order.stage_since, order.asked_at) = (Stage::Bench, shop.now, None);
    }
    let done = forecast(&answered, draws, threads)?;
    let of_asked = done.orders.iter().filter(|order| asked.contains(&order.id));
    Ok(of_asked.map(|order| (order.id, order.ready.ready_by(85))).collect())
}

fn of_order(shop: &ShopAtWork, order: &OrderAtWork, ready: ReadyDates) -> OrderForecast {
    OrderForecast {
        id: order.id,
        kept: order.promised_on.map(|promised| ready.kept(promised)),
        likely_days_late: order
            .promised_on
            .map_or(0, |promised| days_late(&shop.calendar, promised, ready.ready_by(85))),
        ready,
    }
}

/// Working days of the shop by which `ready` lies after `promised`; 0 when it does not.
#[must_use]
pub fn days_late(calendar: &Calendar, promised: NaiveDate, ready: NaiveDate) -> usize {
    if ready <= promised {
        return 0;
    }
    // An instrument becomes ready on a working day, so there is one at least.
    calendar.open_days_between(promised, ready).max(1)
}

fn basis(shop: &ShopAtWork, draws: u32) -> ForecastBasis {
    let history = &shop.history;
    let mut typical = Vec::new();
    let mut say = |is_typical: bool, what: &str| {
        if is_typical {
            typical.push(what.to_owned());
        }
    };
    say(!history.has_own_waits(), "answers");
    say(history.tests_count() < ENOUGH, "tests");
    say(history.estimate_ratio.is_none(), "minutes");
    say(shop.people.iter().any(|person| person.weekly_bench_hours.is_none()), "bench_hours");
    say(history.closed_orders_count < ENOUGH, "remaining_work");
    ForecastBasis {
        kind: if history.closed_orders_count < ENOUGH { Kind::Typical } else { Kind::Own },
        closed_orders_count: history.closed_orders_count,
        open_orders_count: shop.orders.len(),
        people_count: shop.people.len(),
        answers_count: history.answers_count(),
        tests_count: history.tests_count(),
        steps_count: history.steps_count,
        held_orders_count: history.held_orders_count,
        asked_again_count: history.asked_again_count,
        typical,
        draws_count: draws,
    }
}

#[cfg(test)]
mod tests {
    use super::examples::{calendar, closed, instant, march, on_the_bench, person, shop, step};
    use super::*;

    fn run(shop: &ShopAtWork) -> ShopForecast {
        forecast(shop, 2_000, NonZeroUsize::MIN).expect("a forecast")
    }

    #[test]
    fn working_days_late_leave_closed_days_out() {
        // Friday the 13th to Monday the 16th: one working day.
        assert_eq!(days_late(&calendar(), march(13), march(16)), 1);
        assert_eq!(days_late(&calendar(), march(13), march(13)), 0);
        assert_eq!(days_late(&calendar(), march(16), march(13)), 0);
        assert_eq!(days_late(&calendar(), march(6), march(16)), 6);
    }

    #[test]
    fn an_order_with_a_days_work_is_ready_when_somebody_has_done_it() {
        let done = run(&shop(vec![on_the_bench(7, vec![step(420)])]));
        assert_eq!(done.orders[0].ready.ready_by(50), march(9));
        assert_eq!(done.orders[0].likely_days_late, 0);
        // Half the hours at the bench: it takes until the next day.
        let mut slower = shop(vec![on_the_bench(7, vec![step(420)])]);
        slower.people[0].weekly_bench_hours = Some(20);
        assert_eq!(run(&slower).orders[0].ready.ready_by(50), march(10));
        // Away on the first day.
        let mut away = shop(vec![on_the_bench(7, vec![step(420)])]);
        away.people[0].absent = vec![Absence { from: march(9), to: march(9) }];
        assert_eq!(run(&away).orders[0].ready.ready_by(50), march(10));
    }

    #[test]
    fn minutes_taken_are_no_longer_ahead() {
        let mut half_done = step(840);
        half_done.taken_minutes = 420;
        let done = run(&shop(vec![on_the_bench(7, vec![half_done])]));
        assert_eq!(done.orders[0].ready.ready_by(50), march(9));
    }

    #[test]
    fn a_hold_lasts_to_the_day_to_look_again() {
        let mut held = on_the_bench(7, vec![step(60)]);
        held.hold = Some(OpenHold { reason: HoldReason::Parts, look_again_on: Some(march(18)) });
        let shop = shop(vec![held]);
        let done = run(&shop);
        assert_eq!(done.orders[0].ready.ready_by(50), march(18));
        assert_eq!(done.orders[0].likely_days_late, 3);
        let causes = &done.orders[0].ready.causes;
        let told = help(&shop.orders[0], causes, None, None, &shop.calendar, shop.now);
        assert_eq!(told.kind, HelpKind::AskSupplier);
        // Also where the bench will take longer than the hold.
        let longer = promise_date::Causes { bench_days: causes.parts_days + 1.0, ..*causes };
        let told = help(&shop.orders[0], &longer, None, None, &shop.calendar, shop.now);
        assert_eq!(told.kind, HelpKind::AskSupplier);
    }

    #[test]
    fn an_unanswered_quote_is_the_owners_wait_and_ringing_helps() {
        let mut asked = on_the_bench(7, vec![step(60)]);
        (asked.stage, asked.asked_at, asked.was_seen) = (Stage::Approval, Some(instant(5, 9)), true);
        let shop = shop(vec![asked]);
        let done = run(&shop);
        let causes = &done.orders[0].ready.causes;
        assert_eq!(causes.largest_first()[0].0, "approval");
        let help = help(&shop.orders[0], causes, None, None, &shop.calendar, shop.now);
        assert_eq!((help.kind, help.why.as_str()), (HelpKind::RingOwner, "the quote was opened and not answered for 4 days"));
        assert!(done.basis.typical.contains(&"answers".to_owned()));
    }

    #[test]
    fn what_nobody_can_do_is_named_and_the_others_are_forecast() {
        let mut shop = shop(vec![on_the_bench(7, vec![step(60)]), on_the_bench(8, vec![step(60)])]);
        shop.people[0].skills.families = Some(vec![Family::Horn]);
        shop.orders[1].family = Family::Oboe;
        let done = run(&shop);
        assert_eq!(done.orders.len(), 1);
        assert_eq!(done.nobody_can, [shop.orders[1].id]);
        // Nobody at all: no dates, and no fault.
        shop.people.clear();
        let done = run(&shop);
        assert_eq!((done.orders.len(), done.nobody_can.len()), (0, 2));
    }

    #[test]
    fn a_method_that_one_person_knows_waits_for_that_person() {
        let method = Uuid::from_u128(99);
        let mut special = step(60);
        special.method = Some(method);
        let mut shop = shop(vec![on_the_bench(7, vec![special])]);
        shop.people[0].skills.methods = Some(Vec::new());
        let mut other = person(2);
        other.absent = vec![Absence { from: march(9), to: march(11) }];
        shop.people.push(other);
        assert_eq!(run(&shop).orders[0].ready.ready_by(50), march(12));
    }

    #[test]
    fn whoever_has_claimed_an_order_can_do_it_and_nobody_else_does() {
        let mut shop = shop(vec![on_the_bench(7, vec![step(60)])]);
        shop.people.push(person(2));
        shop.people[0].skills.families = Some(Vec::new());
        shop.people[0].absent = vec![Absence { from: march(9), to: march(10) }];
        shop.orders[0].claimed_by = Some(shop.people[0].id);
        assert_eq!(run(&shop).orders[0].ready.ready_by(50), march(11));
        // Somebody who does not work here any more has claimed nothing.
        shop.orders[0].claimed_by = Some(PersonId(Uuid::from_u128(3)));
        assert_eq!(run(&shop).orders[0].ready.ready_by(50), march(9));
    }

    #[test]
    fn more_load_is_never_earlier_for_one_person_at_the_bench() {
        // One person, everything there from the start: the conditions under which the rule of the
        // design promises it (tests/promise_date.rs has the proof and where it ends).
        for count in 1..8_u128 {
            let orders: Vec<OrderAtWork> = (0..count).map(|n| on_the_bench(n, vec![step(90), step(45)])).collect();
            let with = run(&shop(orders.clone()));
            let without = run(&shop(orders[..orders.len() - 1].to_vec()));
            for (with, without) in with.orders.iter().zip(&without.orders) {
                for of_hundred in 1..=100 {
                    assert!(with.ready.ready_by(of_hundred) >= without.ready.ready_by(of_hundred));
                }
            }
        }
    }

    #[test]
    fn an_amount_given_at_the_counter_that_covers_such_jobs_needs_no_answer() {
        let mut fresh = on_the_bench(7, Vec::new());
        fresh.stage = Stage::Intake;
        let asks = run(&shop(vec![fresh.clone()]));
        fresh.may_cost = Some(Decimal::from(400));
        let covered = run(&shop(vec![fresh]));
        assert!(covered.orders[0].ready.ready_by(85) < asks.orders[0].ready.ready_by(85));
        assert_eq!(covered.orders[0].ready.causes.approval_days, 0.0);
    }

    #[test]
    fn what_stands_in_this_shop_stands_again_and_what_has_lain_stands_less() {
        let mut shop = shop(vec![on_the_bench(7, vec![step(60)])]);
        let stands = |stage, is_begun, hours, unheld| Stands {
            stage,
            is_begun,
            hours: vec![hours; SPREAD_STEPS + 1],
            unheld_hours: vec![unheld; SPREAD_STEPS + 1],
            kind: Kind::Own,
        };
        shop.history.stands = vec![stands(Stage::Bench, false, 30.0, 13.0), stands(Stage::Bench, true, 9.0, 2.0)];
        // On the bench since Friday, nine to five; now is Monday, nine: 22 hours more.
        assert_eq!(run(&shop).orders[0].ready.ready_by(50), march(11));
        // Held until Wednesday, nine: 13 hours more, which no hold is in.
        shop.orders[0].hold = Some(OpenHold { reason: HoldReason::Parts, look_again_on: Some(march(11)) });
        assert_eq!(run(&shop).orders[0].ready.ready_by(50), march(12));
        // Begun: as others stood from their first clock on.
        shop.orders[0].hold = None;
        shop.orders[0].steps[0].taken_minutes = 5;
        assert_eq!(run(&shop).orders[0].ready.ready_by(50), march(10));
    }

    #[test]
    fn a_yes_now_is_ready_no_later_than_a_yes_some_day_and_of_nothing_planned_nobody_can_say() {
        let asked = |number, steps| OrderAtWork {
            stage: Stage::Approval,
            asked_at: Some(instant(9, 8)),
            ..on_the_bench(number, steps)
        };
        let ending = OrderAtWork { is_ending: true, ..asked(4, vec![step(60)]) };
        let shop = shop(vec![on_the_bench(1, vec![step(90)]), asked(2, vec![step(60)]), asked(3, Vec::new()), ending]);
        let usual = run(&shop).orders[1].ready.ready_by(85);
        let answered = if_answered_now(&shop, 500, NonZeroUsize::MIN).expect("a shop that opens");
        assert_eq!(answered.iter().map(|(order, _)| *order).collect::<Vec<_>>(), [shop.orders[1].id]);
        assert!(answered[0].1 < usual, "{} is not before {usual}: the wait for the answer is gone", answered[0].1);
    }

    #[test]
    fn own_figures_take_over_with_twenty_closed_orders() {
        let mut shop = shop(vec![on_the_bench(7, vec![step(60)])]);
        let rows = |count: i32| HistoryRows { orders: (0..count).map(closed).collect(), ..HistoryRows::default() };
        shop.history = History::of(&rows(19), &calendar());
        assert_eq!(run(&shop).basis.kind, Kind::Typical);
        shop.history = History::of(&rows(20), &calendar());
        let basis = run(&shop).basis;
        assert_eq!((basis.kind, basis.closed_orders_count), (Kind::Own, 20));
        assert!(!basis.typical.contains(&"remaining_work".to_owned()));
    }

    #[test]
    fn what_was_kept_reads_back() {
        let mut shop = shop(vec![on_the_bench(7, vec![step(60)])]);
        shop.orders[0].hold = Some(OpenHold { reason: HoldReason::Parts, look_again_on: None });
        let kept = serde_json::to_string(&shop).expect("written");
        assert_eq!(serde_json::from_str::<ShopAtWork>(&kept).expect("read"), shop);
    }
}
