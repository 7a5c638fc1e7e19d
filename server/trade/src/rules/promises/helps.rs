//! Why an order is likely late, and the one thing that would help.

use super::{OpenStep, OrderAtWork};
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
}

/// What would help this order most: what it waits for first decides.
///
/// * `causes`: of its forecast.
/// * `claimer`: the name of whoever has claimed it.
#[must_use]
pub fn help(
    order: &OrderAtWork,
    causes: &Causes,
    claimer: Option<&str>,
    calendar: &Calendar,
    now: DateTime<Utc>,
) -> Help {
    let said = |kind, why: String, helps: String| Help { kind, why, helps };
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
            HoldReason::Other => said(HelpKind::NextStep, format!("it is held{until}"), "Look whether the hold can be lifted.".to_owned()),
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
