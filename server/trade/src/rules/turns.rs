//! Whose turn it is, derived from how an order stands.

use super::facts::OrderFacts;
use crate::words::stage::{Stage, WaitsFor};
use chrono::NaiveDate;

/// Whom an open order waits for: an open hold says (of several, the earliest look-again date,
/// then the oldest); else an open question or an end to be confirmed means the shop; else an
/// unanswered quote or pickup the customer; else the shop.
#[must_use]
pub fn waits_for(order: &OrderFacts) -> WaitsFor {
    let hold = order.holds.iter().min_by_key(|hold| (hold.look_again_on.unwrap_or(NaiveDate::MAX), hold.set_at));
    if let Some(hold) = hold {
        return hold.reason.waits_for();
    }
    if order.has_open_question || (order.ending.is_some() && order.stage != Some(Stage::Pickup)) {
        return WaitsFor::Shop;
    }
    match order.stage {
        Some(Stage::Approval) if order.sent.as_ref().is_some_and(|sent| !sent.is_past) => WaitsFor::Customer,
        Some(Stage::Pickup) => WaitsFor::Customer,
        _ => WaitsFor::Shop,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::facts::HoldFacts;
    use crate::rules::facts::examples::{order, quote};
    use crate::words::spelling::Spelt;
    use crate::words::stage::{Because, HoldReason};
    use chrono::{TimeZone, Utc};

    fn hold(reason: HoldReason, look_again_on: Option<(i32, u32, u32)>, day_set: u32) -> HoldFacts {
        HoldFacts {
            reason,
            look_again_on: look_again_on.and_then(|(year, month, day)| NaiveDate::from_ymd_opt(year, month, day)),
            set_at: Utc.with_ymd_and_hms(2026, 3, day_set, 9, 0, 0).unwrap(),
        }
    }

    #[test]
    fn an_unanswered_quote_waits_for_the_customer_and_one_that_ran_out_for_the_shop() {
        let mut asked = order(Some(Stage::Approval));
        asked.sent = Some(quote(80));
        assert_eq!(waits_for(&asked), WaitsFor::Customer);
        asked.sent = Some(crate::rules::facts::QuoteFacts { is_past: true, ..quote(80) });
        assert_eq!(waits_for(&asked), WaitsFor::Shop);
        // Run out with work accepted before: the order stays in approval and waits for the shop.
        asked.sent = None;
        asked.accepted_before = true;
        assert_eq!(waits_for(&asked), WaitsFor::Shop);
    }

    #[test]
    fn a_question_and_an_end_to_be_confirmed_are_the_shops_turn() {
        let mut asked = order(Some(Stage::Approval));
        asked.sent = Some(quote(80));
        asked.has_open_question = true;
        assert_eq!(waits_for(&asked), WaitsFor::Shop);
        let mut ending = order(Some(Stage::Approval));
        ending.sent = Some(quote(80));
        ending.ending = Some(Because::Withdrawn);
        assert_eq!(waits_for(&ending), WaitsFor::Shop);
        ending.stage = Some(Stage::Pickup);
        assert_eq!(waits_for(&ending), WaitsFor::Customer);
    }

    #[test]
    fn of_several_holds_the_earliest_date_speaks_then_the_oldest() {
        let mut held = order(Some(Stage::Bench));
        held.has_open_question = true;
        held.holds = vec![hold(HoldReason::Other, None, 1), hold(HoldReason::Parts, Some((2026, 4, 2)), 9)];
        assert_eq!(waits_for(&held), WaitsFor::Supplier);
        held.holds.push(hold(HoldReason::Customer, Some((2026, 4, 1)), 10));
        assert_eq!(waits_for(&held), WaitsFor::Customer);
        held.holds = vec![hold(HoldReason::OutsideWork, None, 5), hold(HoldReason::SchoolCalendar, None, 4)];
        assert_eq!(waits_for(&held), WaitsFor::Customer);
    }

    #[test]
    fn every_other_stage_waits_for_the_shop() {
        for stage in Stage::ALL.iter().copied().filter(|stage| !matches!(stage, Stage::Pickup)) {
            assert_eq!(waits_for(&order(Some(stage))), WaitsFor::Shop, "{stage}");
        }
    }
}
