//! Why an order is likely late, and the one thing that would help.

use super::{OpenStep, OrderAtWork, Recomputed};
use crate::bench::promise_date::Causes;
use crate::words::business_time::Calendar;
use crate::words::spelling::spelt;
use crate::words::stage::{HoldReason, Stage};
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

spelt! {
    /// The one thing that would help an order most.
    HelpKind {
        /// Ring the owner, who has not answered.
        RingOwner = "ring_owner",
        /// Answer the owner's question.
        AnswerOwner = "answer_owner",
        /// Ask the supplier.
        AskSupplier = "ask_supplier",
        /// Ring the customer about the hold.
        RingCustomer = "ring_customer",
        /// Examine it and ask the owner.
        Examine = "examine",
        /// Send the quote that is written, or ask anew.
        SendQuote = "send_quote",
        /// Look whether the hold can be lifted.
        LiftHold = "lift_hold",
        /// Hand it to somebody else at the bench.
        HandToAnother = "hand_to_another",
        /// Tell the customer a later date: nothing else makes it ready earlier.
        TellCustomer = "tell_customer",
        /// Do the next step.
        NextStep = "next_step",
        /// Move it on to the leak test, or test it.
        Test = "test",
        /// Put together what is apart and confirm the end.
        PutTogether = "put_together",
    }
}

/// Why an order is likely late, and what would help.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
pub struct Help {
    /// What to do.
    pub kind: HelpKind,
    /// What holds it up, in words.
    pub why: String,
    /// What would help, in words.
    pub helps: String,
    /// What becomes of the date then, in words: the whole forecast made again with that done. Only for
    /// the most pressing.
    pub then: Option<String>,
}

/// What would help this order most: what it waits for first decides.
///
/// * `causes`: of its forecast.
/// * `tried`: what was found to help it most, with the name of whoever it would be handed to.
/// * `claimer`: the name of whoever has claimed it.
#[must_use]
pub fn help(
    order: &OrderAtWork,
    causes: &Causes,
    tried: Option<(&Recomputed, Option<&str>)>,
    claimer: Option<&str>,
    calendar: &Calendar,
    now: DateTime<Utc>,
) -> Help {
    let Help { kind, why, helps, .. } = by_what_it_waits_for(order, causes, claimer, calendar, now);
    match tried {
        // A question is answered and a quote sent, whatever becomes of the date: nothing goes on without.
        Some((tried, _)) if matches!(kind, HelpKind::AnswerOwner | HelpKind::SendQuote) && tried.kind != kind => {
            let then = (tried.kind == HelpKind::TellCustomer).then(|| then_words(order, tried, calendar.local_date(now)));
            Help { kind, why, helps, then }
        }
        Some((tried, hand_to)) => {
            let helps = if tried.kind == kind { helps } else { helps_words(tried.kind, order, hand_to) };
            Help { kind: tried.kind, why, helps, then: Some(then_words(order, tried, calendar.local_date(now))) }
        }
        None => Help { kind, why, helps, then: None },
    }
}

/// What would help, in words, where that is not what it waits for first.
fn helps_words(kind: HelpKind, order: &OrderAtWork, hand_to: Option<&str>) -> String {
    match kind {
        HelpKind::RingOwner => "Ring the owner.".to_owned(),
        HelpKind::AnswerOwner => "Answer the owner.".to_owned(),
        HelpKind::AskSupplier => "Ask the supplier.".to_owned(),
        HelpKind::RingCustomer => "Ring the customer.".to_owned(),
        HelpKind::Examine => "Examine it and ask the owner.".to_owned(),
        HelpKind::SendQuote => "Send the quote.".to_owned(),
        HelpKind::LiftHold => "Look whether the hold can be lifted.".to_owned(),
        HelpKind::HandToAnother => hand_to.map_or_else(|| "Hand it to somebody else.".to_owned(), |name| format!("Hand it to {name}.")),
        HelpKind::TellCustomer => "Tell the customer a later date.".to_owned(),
        HelpKind::NextStep => order.steps.first().map_or_else(|| "Do the next step.".to_owned(), next_words),
        HelpKind::Test => "Test it.".to_owned(),
        HelpKind::PutTogether => "Put it together and confirm.".to_owned(),
    }
}

/// What becomes of the date: never how likely a promise is kept that is past already.
fn then_words(order: &OrderAtWork, tried: &Recomputed, today: NaiveDate) -> String {
    let if_done = match tried.kind {
        HelpKind::RingOwner | HelpKind::AnswerOwner => "With a yes now",
        HelpKind::AskSupplier => "If it is here now",
        HelpKind::RingCustomer | HelpKind::LiftHold => "Without the hold",
        HelpKind::Examine => "Examined next",
        HelpKind::SendQuote => "Sent now",
        HelpKind::HandToAnother => "Taken up next by them",
        HelpKind::NextStep => "Taken up next",
        HelpKind::Test => "Tested next",
        HelpKind::PutTogether => "Put together now",
        HelpKind::TellCustomer => return format!("Nothing now makes it earlier than {}.", tried.ready_p85.format("%-d %B")),
    };
    let safe = tried.ready_p85.format("%-d %B");
    match order.promised_on.filter(|promised| *promised >= today) {
        None => format!("{if_done}: ready by {safe}."),
        Some(_) if tried.of_twenty == 0 => format!("{if_done}: ready by {safe}, too late for the promise."),
        Some(promised) if tried.ready_p85 <= promised => format!("{if_done}: ready by {safe}, on time in {} of 20.", tried.of_twenty),
        // The date is the safe one, 17 of 20, and so lies behind a promise that is kept less often.
        Some(promised) => {
            format!("{if_done}: by {} in {} of 20, by {safe} in 17 of 20.", promised.format("%-d %B"), tried.of_twenty.min(16))
        }
    }
}

fn by_what_it_waits_for(
    order: &OrderAtWork,
    causes: &Causes,
    claimer: Option<&str>,
    calendar: &Calendar,
    now: DateTime<Utc>,
) -> Help {
    let said = |kind, why: String, helps: String| Help { kind, why, helps, then: None };
    if order.is_ending {
        return said(
            HelpKind::PutTogether,
            "it is to go back and something is apart".to_owned(),
            "Put it together and confirm.".to_owned(),
        );
    }
    if order.has_question {
        return said(
            HelpKind::AnswerOwner,
            "the owner asked something and nobody has answered".to_owned(),
            "Answer the owner.".to_owned(),
        );
    }
    // Whatever the bench takes after it, a hold comes first; an answer is waited for beside it.
    if let Some(hold) = order.hold.filter(|_| causes.parts_days >= causes.approval_days) {
        let until = hold.look_again_on.map_or_else(String::new, |day| format!(", to be looked at on {}", day.format("%-d %B")));
        return match hold.reason {
            HoldReason::Parts => said(HelpKind::AskSupplier, format!("parts are awaited{until}"), "Ask the supplier when they come.".to_owned()),
            HoldReason::OutsideWork => said(HelpKind::AskSupplier, format!("it is away for outside work{until}"), "Ask when it comes back.".to_owned()),
            HoldReason::Customer => said(HelpKind::RingCustomer, format!("the customer asked to wait{until}"), "Ring the customer.".to_owned()),
            HoldReason::SchoolCalendar => said(HelpKind::RingCustomer, format!("the school's calendar holds it{until}"), "Ring the school.".to_owned()),
            HoldReason::Other => said(HelpKind::LiftHold, format!("it is held{until}"), "Look whether the hold can be lifted.".to_owned()),
        };
    }
    match order.stage {
        Stage::Approval => match order.asked_at {
            Some(asked_at) => {
                let days = days_since(calendar, asked_at, now);
                let asked = if order.was_seen { "the quote was opened and not answered" } else { "no answer" };
                said(HelpKind::RingOwner, format!("{asked}{}", for_days(days)), "Ring the owner.".to_owned())
            }
            None if order.has_run_out => ran_out(),
            None => said(HelpKind::SendQuote, "no quote is out".to_owned(), "Ask the owner anew.".to_owned()),
        },
        Stage::Intake | Stage::Diagnosis if order.drafted.is_some() => {
            said(HelpKind::SendQuote, "the quote is written and not sent".to_owned(), "Send the quote.".to_owned())
        }
        Stage::Intake | Stage::Diagnosis if order.has_run_out => ran_out(),
        Stage::Intake | Stage::Diagnosis => {
            let why = match (claimer, order.stage) {
                (None, _) => "nobody has claimed it".to_owned(),
                (Some(name), Stage::Diagnosis) => format!("{name} is examining it and the owner is not asked yet"),
                (Some(name), _) => format!("{name} has it and it is not examined yet"),
            };
            said(HelpKind::Examine, why, "Examine it and ask the owner.".to_owned())
        }
        Stage::Bench => match order.steps.first() {
            Some(next) => {
                let why = format!("{} left{}", steps(order.steps.len()), claimer.map_or_else(|| ", nobody has claimed it".to_owned(), |name| format!(", {name} has it")));
                said(HelpKind::NextStep, why, next_words(next))
            }
            None => said(HelpKind::Test, "all steps are done".to_owned(), "Move it on to the leak test.".to_owned()),
        },
        Stage::LeakTest | Stage::Pickup | Stage::Closed => {
            said(HelpKind::Test, "it waits for its tests".to_owned(), "Test it.".to_owned())
        }
    }
}

/// A quote that ran out is asked anew; another date alone leaves the owner without anything to accept.
fn ran_out() -> Help {
    Help {
        kind: HelpKind::SendQuote,
        why: "the quote ran out and was not answered".to_owned(),
        helps: "Send a new quote.".to_owned(),
        then: None,
    }
}

fn next_words(step: &OpenStep) -> String {
    if step.taken_minutes > 0 { format!("Go on with: {}.", step.title) } else { format!("Next: {}.", step.title) }
}

fn steps(count: usize) -> String {
    match count {
        1 => "one step".to_owned(),
        2 => "two steps".to_owned(),
        3 => "three steps".to_owned(),
        more => format!("{more} steps"),
    }
}

fn for_days(days: i64) -> String {
    match days {
        0 => " since today".to_owned(),
        1 => " since yesterday".to_owned(),
        more => format!(" for {more} days"),
    }
}

fn days_since(calendar: &Calendar, at: DateTime<Utc>, now: DateTime<Utc>) -> i64 {
    let date = |at| -> NaiveDate { calendar.local_date(at) };
    (date(now) - date(at)).num_days()
}

#[cfg(test)]
mod tests {
    use super::super::examples::{calendar, instant, march, on_the_bench, step};
    use super::*;

    fn told(promised: u32, kind: HelpKind, ready: u32, of_twenty: u32) -> String {
        let order = OrderAtWork { promised_on: Some(march(promised)), ..on_the_bench(7, vec![step(60)]) };
        let tried = Recomputed { kind, hand_to: None, ready_p85: march(ready), of_twenty };
        let causes = Causes { approval_days: 0.0, parts_days: 0.0, bench_days: 1.0 };
        // It is the 9th.
        help(&order, &causes, Some((&tried, None)), None, &calendar(), instant(9, 18)).then.unwrap_or_default()
    }

    #[test]
    fn a_promise_that_is_past_is_told_no_chance_and_one_ahead_agrees_with_its_safe_date() {
        assert_eq!(told(6, HelpKind::NextStep, 11, 0), "Taken up next: ready by 11 March.");
        assert_eq!(told(9, HelpKind::NextStep, 11, 0), "Taken up next: ready by 11 March, too late for the promise.");
        assert_eq!(told(16, HelpKind::Examine, 11, 20), "Examined next: ready by 11 March, on time in 20 of 20.");
        assert_eq!(told(16, HelpKind::Examine, 23, 15), "Examined next: by 16 March in 15 of 20, by 23 March in 17 of 20.");
        // 0.84 is 17 of 20 when rounded, and is not 17 of 20 by the promise.
        assert_eq!(told(16, HelpKind::Examine, 17, 17), "Examined next: by 16 March in 16 of 20, by 17 March in 17 of 20.");
        assert_eq!(told(6, HelpKind::TellCustomer, 23, 0), "Nothing now makes it earlier than 23 March.");
    }

    #[test]
    fn a_quote_that_ran_out_is_sent_anew_even_where_no_date_is_won() {
        let causes = Causes { approval_days: 3.0, parts_days: 0.0, bench_days: 1.0 };
        let nothing = Recomputed { kind: HelpKind::TellCustomer, hand_to: None, ready_p85: march(23), of_twenty: 2 };
        for stage in [Stage::Approval, Stage::Diagnosis] {
            let order = OrderAtWork { stage, has_run_out: true, ..on_the_bench(7, vec![step(60)]) };
            for tried in [None, Some((&nothing, None))] {
                let said = help(&order, &causes, tried, None, &calendar(), instant(9, 18));
                assert_eq!((said.kind, said.helps.as_str()), (HelpKind::SendQuote, "Send a new quote."), "{stage}");
                assert_eq!(said.why, "the quote ran out and was not answered");
            }
            // A newer one that is out is waited for, one that is written is sent.
            let out = OrderAtWork { asked_at: Some(instant(8, 9)), ..order.clone() };
            let written = OrderAtWork { drafted: Some(rust_decimal::Decimal::TEN), ..order };
            let of = |order| help(&order, &causes, None, None, &calendar(), instant(9, 18));
            match stage {
                Stage::Approval => assert_eq!(of(out).kind, HelpKind::RingOwner),
                _ => assert_eq!(of(written).helps, "Send the quote."),
            }
        }
    }

    #[test]
    fn a_question_of_the_owners_is_answered_even_where_no_date_is_won() {
        let causes = Causes { approval_days: 3.0, parts_days: 0.0, bench_days: 1.0 };
        for stage in [Stage::Approval, Stage::Diagnosis] {
            let order = OrderAtWork { stage, has_question: true, ..on_the_bench(7, vec![step(60)]) };
            let nothing = Recomputed { kind: HelpKind::TellCustomer, hand_to: None, ready_p85: march(23), of_twenty: 2 };
            let said = help(&order, &causes, Some((&nothing, None)), None, &calendar(), instant(9, 18));
            assert_eq!((said.kind, said.helps.as_str()), (HelpKind::AnswerOwner, "Answer the owner."));
            assert_eq!(said.then.as_deref(), Some("Nothing now makes it earlier than 23 March."));
        }
    }
}
