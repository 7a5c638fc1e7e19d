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
