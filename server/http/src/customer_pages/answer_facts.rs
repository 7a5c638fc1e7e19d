//! The answer page's facts, from an order's rows: which version the link leads to, what it
//! asks, and what was answered.

use super::link::Opened;
use super::order_facts::{money, order};
use super::status_facts::is_mistake;
use crate::pages::facts::{
    AcceptedBefore, AnswerNotice, AnswerPage, Answered, AnsweredBy, AnsweredPage, Decision, Found, IfDeclined, Line, MistakeForm,
    NotAnswerable, NotAnswerablePage, Proposal, Quote, Typed,
};
use acts::decide::may_be_a_mistake;
use acts::finding_words;
use rust_decimal::Decimal;
use store::Error;
use store::decisions::DecisionRow;
use store::order_facts::ids;
use store::order_rows::OrderRows;
use store::quotes::QuoteRow;
use trade::calculation::Refused;
use trade::words::instrument::{Disposition, Leaks, OperationState};
use trade::words::paperwork::{Answer, AnswerHow, QuoteState};
use trade::words::quote::{ContentLine, QuoteContent};
use trade::words::stage::Stage;

/// Where a link of an order leads now.
#[derive(Debug, Clone)]
pub(super) enum Standing {
    /// This version may be answered.
    Open(QuoteRow),
    /// This version was answered.
    Answered(QuoteRow, DecisionRow),
    /// This version cannot be answered any more.
    Not(QuoteRow, NotAnswerable),
}

/// Where the link leads: to the version that is out, whichever it was issued for, else to what
/// became of its own, or of the newest that replaced it.
///
/// # Errors
/// [`Error::Unreadable`] when the link's version is missing.
pub(super) fn standing(opened: &Opened) -> Result<Standing, Error> {
    let rows = &opened.rows;
    let is_asked = rows.order.stage.0 == Stage::Approval && rows.order.ending_because.is_none();
    if let Some(sent) = rows.sent().filter(|_| is_asked) {
        return Ok(if sent.expires_on < opened.today {
            Standing::Not(sent.clone(), NotAnswerable::Expired(sent.expires_on))
        } else {
            Standing::Open(sent.clone())
        });
    }
    let mut row = rows
        .quotes
        .iter()
        .find(|quote| Some(quote.id) == opened.link.quote_id)
        .ok_or_else(|| Error::Unreadable(format!("link {} names no quote of its order", opened.link.id)))?;
    while row.state.0 == QuoteState::Superseded {
        match rows.quotes.iter().find(|later| later.number > row.number && later.sent_at.is_some()) {
            Some(later) => row = later,
            None => break,
        }
    }
    if matches!(row.state.0, QuoteState::Answered | QuoteState::Sent)
        && let Some(decision) = rows.decision_of(row.id)
    {
        return Ok(Standing::Answered(row.clone(), decision.clone()));
    }
    let has_ended = rows.order.ending_because.is_some() || matches!(rows.order.stage.0, Stage::Pickup | Stage::Closed);
    let because = match row.state.0 {
        _ if has_ended => NotAnswerable::Ended,
        QuoteState::Expired => NotAnswerable::Expired(row.expires_on),
        QuoteState::Struck | QuoteState::Draft | QuoteState::Sent | QuoteState::Answered | QuoteState::Superseded => NotAnswerable::TakenBack,
    };
    Ok(Standing::Not(row.clone(), because))
}

/// The page of a version that may be answered; `seen` is the version the reader had before them,
/// when that was another.
///
/// # Errors
/// [`Error::Unreadable`].
pub(super) fn answer_page(opened: &Opened, current: &QuoteRow, seen: Option<&QuoteRow>) -> Result<AnswerPage, Error> {
    let rows = &opened.rows;
    let superseded = seen.filter(|seen| seen.id != current.id && seen.state.0 == QuoteState::Superseded);
    Ok(AnswerPage {
        order: order(opened)?,
        owner_name: rows.owner.name.clone(),
        action: opened.page("answer"),
        quote: quote(rows, current)?,
        if_declined: if_declined(rows)?,
        typed: Typed::default(),
        errors: Vec::new(),
        superseded: superseded.map(|seen| quote(rows, seen)).transpose()?,
        notice: notice(rows, current),
        // An answer link opens no status page; that link stands in the same e-mail.
        status_url: None,
    })
}

fn notice(rows: &OrderRows, current: &QuoteRow) -> Option<AnswerNotice> {
    if is_mistake(rows) {
        return Some(AnswerNotice::MistakeTakenBack);
    }
    let last = rows.decisions.iter().rev().find(|decision| decision.quote_id == current.id)?;
    (last.answer.0 == Answer::Questions && rows.order.question.is_some()).then_some(AnswerNotice::QuestionWithUs(last.decided_at))
}

/// The page of a version that was answered.
///
/// # Errors
/// [`Error::Unreadable`].
pub(super) fn answered_page(opened: &Opened, row: &QuoteRow, answer: &DecisionRow, just_now: bool) -> Result<AnsweredPage, Error> {
    let rows = &opened.rows;
    // The table of moves takes a mistake back from the bench only.
    let may_be = rows.order.stage.0 == Stage::Bench && may_be_a_mistake(rows, answer).is_ok();
    Ok(AnsweredPage {
        order: order(opened)?,
        decision: decision(rows, row, answer)?,
        just_now,
        too_late: false,
        mistake: may_be.then(|| MistakeForm {
            action: format!("{}/mistake", opened.page("answer")),
            decision_id: answer.id.to_string(),
            name: String::new(),
            reason: String::new(),
            errors: Vec::new(),
        }),
        status_url: None,
    })
}

/// The page of a version that cannot be answered any more.
///
/// # Errors
/// [`Error::Unreadable`].
pub(super) fn not_answerable_page(opened: &Opened, row: &QuoteRow, because: NotAnswerable) -> Result<NotAnswerablePage, Error> {
    Ok(NotAnswerablePage { order: order(opened)?, because, quote: Some(quote(&opened.rows, row)?), status_url: None })
}

/// An answer as recorded.
///
/// # Errors
/// [`Error::Unreadable`].
pub(super) fn decision(rows: &OrderRows, row: &QuoteRow, decision: &DecisionRow) -> Result<Decision, Error> {
    let chosen = ids(&decision.chosen_lines)?;
    let by_name = ids(&decision.accepted_by_name)?;
    let ticked = row.content()?.lines.into_iter().filter(|line| {
        chosen.contains(&line.id) || (line.irreversible && line.is_new && line.operation_id.is_some_and(|operation| by_name.contains(&operation.0)))
    });
    Ok(Decision {
        answer: match decision.answer.0 {
            Answer::Accepted => Answered::Accepted,
            Answer::Declined => Answered::Declined,
            Answer::Questions => Answered::Questions,
        },
        how: match decision.how.0 {
            AnswerHow::Link => AnsweredBy::Link,
            AnswerHow::Phone => AnsweredBy::Phone,
            AnswerHow::InPerson => AnsweredBy::InPerson,
            AnswerHow::Beforehand => AnsweredBy::Beforehand,
        },
        name: decision.typed_name.clone(),
        at: decision.decided_at,
        quote_number: u32::try_from(row.number).unwrap_or(0),
        is_extra: row.is_extra,
        allowed: (decision.answer.0 == Answer::Accepted).then(|| money(rows, row.limit_amount)),
        ticked: ticked.map(|line| line.text).collect(),
        question: decision.question.clone(),
    })
}

fn unreadable(row: &QuoteRow) -> impl Fn(Refused) -> Error {
    let id = row.id;
    move |refused| Error::Unreadable(format!("quote {id}: {refused:?}"))
}

/// What declining means: the work accepted before goes on, or it is collected as it is.
fn if_declined(rows: &OrderRows) -> Result<IfDeclined, Error> {
    let Some(accepted) = rows.acceptances()?.pop() else {
        return Ok(IfDeclined::Collect { fee: rows.order.examination_fee.filter(|fee| *fee > Decimal::ZERO).map(|fee| money(rows, fee)) });
    };
    let is_struck = |line: &ContentLine| {
        line.operation_id.is_some_and(|id| rows.operations.iter().any(|o| o.id == id.0 && o.state.0 == OperationState::Struck))
    };
    let rest = accepted
        .content
        .total_of(|line| accepted.counted.contains(&line.id) && !is_struck(line))
        .map_err(|refused| Error::Unreadable(format!("accepted quote {}: {refused:?}", accepted.number)))?;
    Ok(IfDeclined::RestGoesOn { amount: money(rows, rest) })
}

/// What is told of some lines: sums that add up, row by row, to what the version says.
struct Sums {
    total: Decimal,
    tax: Decimal,
    discount: Decimal,
}

/// The sums of the lines for which `counts` is true; zeros for no lines.
fn sums(content: &QuoteContent, counts: impl Fn(&ContentLine) -> bool) -> Result<Sums, Refused> {
    if !content.lines.iter().any(&counts) {
        return Ok(Sums { total: Decimal::ZERO, tax: Decimal::ZERO, discount: Decimal::ZERO });
    }
    let totals = content.totals(counts)?;
    Ok(Sums {
        total: totals.total.amount(),
        tax: totals.tax.amount(),
        discount: totals.lines.iter().map(|line| line.quote_discount.amount()).sum(),
    })
}

/// A version as its reader sees it.
///
/// # Errors
/// [`Error::Unreadable`] when the stored version does not add up.
pub(super) fn quote(rows: &OrderRows, row: &QuoteRow) -> Result<Quote, Error> {
    let content = row.content()?;
    let sent_at = row.sent_at.ok_or_else(|| Error::Unreadable(format!("quote {} was never sent", row.id)))?;
    let before = rows.acceptances()?.into_iter().rfind(|accepted| accepted.number < row.number);
    let is_shown = |line: &&ContentLine| before.is_none() || line.is_new;
    let mut lines = Vec::new();
    for line in content.lines.iter().filter(is_shown) {
        // Alone and without the discount on the whole, which is told in a row of its own.
        let alone = QuoteContent { discount: None, ..content.clone() };
        let totals = alone.totals(|other| other.id == line.id).map_err(unreadable(row))?;
        let amount = totals.lines.iter().map(|l| l.amount.amount() - l.line_discount.amount()).sum();
        lines.push(Line {
            id: line.id.to_string(),
            text: line.text.clone(),
            amount: money(rows, amount),
            is_new: line.is_new,
            optional: line.optional,
            irreversible: line.irreversible,
            irreversible_why: None,
        });
    }
    let all = sums(&content, |line| !line.optional).map_err(unreadable(row))?;
    // What was accepted before is told as one sum with its tax; the rows below it hold only what
    // is new, so their tax and discount are the difference.
    let (told_before, tax, discount) = match &before {
        None => (None, all.tax, all.discount),
        Some(accepted) => {
            let old = sums(&content, |line| !line.optional && !line.is_new).map_err(unreadable(row))?;
            let on = rows.shop.date_at(accepted.at)?;
            (Some(AcceptedBefore { on, amount: money(rows, old.total) }), all.tax - old.tax, all.discount - old.discount)
        }
    };
    let has_optional = content.lines.iter().any(|line| line.optional);
    let with_optional = content.total_of(|_| true).map_err(unreadable(row))?;
    let known_since = before.as_ref().and_then(|accepted| rows.quotes.iter().find(|q| q.number == accepted.number)).and_then(|q| q.sent_at);
    Ok(Quote {
        number: u32::try_from(row.number).unwrap_or(0),
        content_hash: row.content_hash.clone().unwrap_or_default(),
        sent_on: rows.shop.date_at(sent_at)?,
        message: content.message.clone(),
        findings: rows
            .findings
            .iter()
            .filter(|finding| finding.shared && finding.struck_reason.is_none() && finding.found_at <= sent_at)
            .filter_map(|finding| {
                let proposal = match finding.disposition.0 {
                    // Not thought through yet, so not part of what is asked.
                    Disposition::Undecided => return None,
                    Disposition::Repair => Proposal::Repair,
                    Disposition::LeaveAndWatch => Proposal::LeaveAndWatch,
                    Disposition::AnotherVisit => Proposal::AnotherVisit,
                    Disposition::Declined => Proposal::Declined,
                };
                Some(Found {
                    number: u32::try_from(finding.number).unwrap_or(0),
                    words: finding_words(finding),
                    leaks: match finding.leaks.0 {
                        Leaks::Yes => Some(true),
                        Leaks::No => Some(false),
                        Leaks::NotTested => None,
                    },
                    proposal,
                    reason: finding.disposition_reason.clone(),
                    is_new: known_since.is_some_and(|at| finding.found_at > at),
                })
            })
            .collect(),
        photos: Vec::new(),
        accepted_before: told_before,
        lines,
        discount: (discount > Decimal::ZERO).then(|| money(rows, discount)),
        tax: (!content.prices_include_tax && tax > Decimal::ZERO).then(|| money(rows, tax)),
        total: money(rows, all.total),
        total_with_optional: has_optional.then(|| money(rows, with_optional)),
        limit: money(rows, row.limit_amount),
        expires_on: Some(row.expires_on),
        // No forecast is at hand here; a date without one would be a promise.
        ready_if_answered_today: None,
        planned_for: Some(rows.order.promised_on),
    })
}
