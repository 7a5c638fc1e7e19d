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
        Some((tried, hand_to)) => {
            let helps = if tried.kind == kind { helps } else { helps_words(tried.kind, order, hand_to) };
            Help { kind: tried.kind, why, helps, then: Some(then_words(tried)) }
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

fn then_words(tried: &Recomputed) -> String {
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
    format!("{if_done}: {}, on time in {} of 20.", tried.ready_p85.format("%-d %B"), tried.of_twenty)
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
            None => said(HelpKind::SendQuote, "no quote is out".to_owned(), "Ask the owner anew.".to_owned()),
        },
        Stage::Intake | Stage::Diagnosis if order.drafted.is_some() => {
            said(HelpKind::SendQuote, "the quote is written and not sent".to_owned(), "Send the quote.".to_owned())
        }
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
