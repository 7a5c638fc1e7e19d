//! What would become of a late order's date if one thing were done: the forecast made again with it.

use super::{HelpKind, OrderAtWork, OrderForecast, ShopAtWork, ShopForecast, forecast};
use crate::words::ids::{PersonId, WorkOrderId};
use crate::words::stage::{HoldReason, Stage};
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use std::num::NonZeroUsize;

/// The date of an order with one thing done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
pub struct Recomputed {
    /// What is done.
    pub kind: HelpKind,
    /// To whom it is handed, where that is what is done.
    #[serde(default)]
    pub hand_to: Option<PersonId>,
    /// Ready by then in 17 of 20 cases.
    pub ready_p85: NaiveDate,
    /// Of 20 cases the promise is kept in so many, rounded.
    pub of_twenty: u32,
}

/// The most pressing late orders that are looked at.
const MOST_LATE: usize = 20;

/// Draws of one order in all that one look may take.
const DRAWS_IN_ALL: usize = 150_000;

/// For the most pressing of the likely late orders the one thing that helps it most, each tried by
/// making the whole forecast again with that thing done now and all else as it is. An order that no
/// such thing makes ready earlier is told a new date: [`HelpKind::TellCustomer`].
#[must_use]
pub fn recomputed(shop: &ShopAtWork, told: &ShopForecast) -> Vec<(WorkOrderId, Recomputed)> {
    let order_of = |id: WorkOrderId| shop.orders.iter().find(|order| order.id == id);
    let mut late: Vec<(&OrderAtWork, &OrderForecast)> = told
        .orders
        .iter()
        .filter(|one| one.likely_days_late > 0)
        .filter_map(|one| order_of(one.id).map(|order| (order, one)))
        .collect();
    late.sort_by_key(|(order, one)| (order.promised_on, std::cmp::Reverse(one.likely_days_late)));
    late.truncate(MOST_LATE);
    let draws = u32::try_from(DRAWS_IN_ALL / shop.orders.len().max(1)).unwrap_or(u32::MAX).clamp(400, 2_000);
    late.into_iter().filter_map(|(order, one)| Some((order.id, best(shop, order, one, draws)?))).collect()
}

/// What can be done for it, each with the order as it is then, the likeliest first.
fn things_to_do(shop: &ShopAtWork, order: &OrderAtWork) -> Vec<(HelpKind, Option<PersonId>, OrderAtWork)> {
    if order.is_ending {
        return Vec::new();
    }
    if let Some(hold) = order.hold {
        let kind = match hold.reason {
            HoldReason::Parts | HoldReason::OutsideWork => HelpKind::AskSupplier,
            HoldReason::Customer | HoldReason::SchoolCalendar => HelpKind::RingCustomer,
            HoldReason::Other => HelpKind::LiftHold,
        };
        // Whoever has it can do nothing before.
        return vec![(kind, None, OrderAtWork { hold: None, stage_since: shop.now, ..order.clone() })];
    }
    if order.has_question {
        // Answered at once, the owner may say yes at once.
        let then = if order.stage == Stage::Approval || !order.steps.is_empty() {
            answered(order.clone(), shop.now)
        } else {
            OrderAtWork { is_taken_up: true, has_question: false, ..order.clone() }
        };
        return vec![(HelpKind::AnswerOwner, None, then)];
    }
    let mut things = Vec::new();
    let mut can = |kind, hand_to, then: OrderAtWork| things.push((kind, hand_to, then));
    let now = order.clone();
    match order.stage {
        Stage::Approval if order.asked_at.is_some() => can(HelpKind::RingOwner, None, answered(now, shop.now)),
        Stage::Approval => can(HelpKind::SendQuote, None, OrderAtWork { asked_at: Some(shop.now), ..now }),
        Stage::Intake | Stage::Diagnosis => {
            let kind = if order.drafted.is_some() || order.has_run_out { HelpKind::SendQuote } else { HelpKind::Examine };
            can(kind, None, OrderAtWork { is_taken_up: true, ..now });
        }
        Stage::Bench | Stage::LeakTest => {
            let is_done = order.stage == Stage::LeakTest || order.steps.is_empty();
            let kind = if is_done { HelpKind::Test } else { HelpKind::NextStep };
            can(kind, None, OrderAtWork { is_taken_up: true, ..now.clone() });
            for person in shop.people.iter().filter(|person| Some(person.id) != order.claimed_by && order.claimed_by.is_some()) {
                can(HelpKind::HandToAnother, Some(person.id), OrderAtWork { claimed_by: Some(person.id), is_taken_up: true, ..now.clone() });
            }
        }
        Stage::Pickup | Stage::Closed => {}
    }
    things
}

/// With the answer there.
fn answered(order: OrderAtWork, now: DateTime<Utc>) -> OrderAtWork {
    OrderAtWork { stage: Stage::Bench, stage_since: now, asked_at: None, has_question: false, ..order }
}

fn best(shop: &ShopAtWork, order: &OrderAtWork, told: &OrderForecast, draws: u32) -> Option<Recomputed> {
    let with = |then: OrderAtWork| {
        let orders = shop.orders.iter().map(|one| if one.id == then.id { then.clone() } else { one.clone() }).collect();
        let tried = forecast(&ShopAtWork { orders, ..shop.clone() }, draws, NonZeroUsize::MIN).ok()?;
        tried.orders.into_iter().find(|one| one.id == then.id)
    };
    let said = |kind, hand_to, one: &OrderForecast| Recomputed {
        kind,
        hand_to,
        ready_p85: one.ready.ready_by(85),
        of_twenty: one.kept.map_or(0, |kept| (kept.probability * 20.0).round() as u32),
    };
    let tried = things_to_do(shop, order).into_iter().filter_map(|(kind, hand_to, then)| Some(said(kind, hand_to, &with(then)?)));
    let before = told.ready.ready_by(85);
    // Of equal ones the first: it asks the least of the shop.
    let best = tried.filter(|one| one.ready_p85 < before).min_by_key(|one| (one.ready_p85, std::cmp::Reverse(one.of_twenty)));
    Some(best.unwrap_or_else(|| said(HelpKind::TellCustomer, None, told)))
}

#[cfg(test)]
mod tests {
    use super::super::examples::{march, on_the_bench, person, shop, step};
    use super::super::{Kind, OpenHold, SPREAD_STEPS, Stands};
    use super::*;
    use crate::bench::promise_date::Absence;

    /// What helps the only late order of this shop.
    fn helps(shop: &ShopAtWork) -> Recomputed {
        let told = forecast(shop, 2_000, NonZeroUsize::MIN).expect("a forecast");
        let [(_, found)] = recomputed(shop, &told)[..] else { panic!("one is late") };
        found
    }

    #[test]
    fn a_hold_that_makes_it_late_is_asked_about_and_the_date_is_that_without_it() {
        let mut held = on_the_bench(7, vec![step(60)]);
        held.hold = Some(OpenHold { reason: HoldReason::Parts, look_again_on: Some(march(18)) });
        let found = helps(&shop(vec![held]));
        assert_eq!((found.kind, found.ready_p85, found.of_twenty), (HelpKind::AskSupplier, march(9), 20));
    }

    #[test]
    fn what_whoever_has_it_cannot_begin_is_handed_to_somebody_who_can() {
        let mut mine = on_the_bench(7, vec![step(60)]);
        let mut shop = shop(Vec::new());
        shop.people[0].absent = vec![Absence { from: march(9), to: march(20) }];
        shop.people.push(person(2));
        mine.claimed_by = Some(shop.people[0].id);
        shop.orders = vec![mine];
        let found = helps(&shop);
        assert_eq!((found.kind, found.hand_to), (HelpKind::HandToAnother, Some(shop.people[1].id)));
        assert_eq!(found.ready_p85, march(9));
    }

    #[test]
    fn a_question_that_keeps_it_is_answered_wherever_it_stands() {
        for stage in [Stage::Approval, Stage::Diagnosis] {
            let asks = OrderAtWork { stage, has_question: true, asked_at: None, ..on_the_bench(7, vec![step(60)]) };
            let asks = OrderAtWork { promised_on: Some(march(9)), ..asks };
            let found = helps(&shop(vec![asks]));
            assert_eq!(found.kind, HelpKind::AnswerOwner, "{stage}");
            assert_eq!((found.ready_p85, found.of_twenty), (march(9), 20), "{stage}");
        }
    }

    #[test]
    fn what_lies_before_its_bench_is_taken_up_and_what_nothing_helps_gets_another_date() {
        let mut shop = shop(vec![on_the_bench(7, vec![step(60)])]);
        let stands = |hours| vec![hours; SPREAD_STEPS + 1];
        shop.history.stands =
            vec![Stands { stage: Stage::Bench, is_begun: false, hours: stands(80.0), unheld_hours: stands(80.0), kind: Kind::Own }];
        let found = helps(&shop);
        assert_eq!((found.kind, found.ready_p85), (HelpKind::NextStep, march(9)));
        // More work than there is time.
        shop.orders[0].steps = vec![step(4000)];
        shop.history.stands.clear();
        let told = forecast(&shop, 2_000, NonZeroUsize::MIN).expect("a forecast");
        let found = helps(&shop);
        assert_eq!((found.kind, found.ready_p85), (HelpKind::TellCustomer, told.orders[0].ready.ready_by(85)));
    }
}
