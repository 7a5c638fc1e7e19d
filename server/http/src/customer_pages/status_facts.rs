//! The status page's facts, from an order's rows. Nothing for staff only has a way in here:
//! findings count when they are shared and not struck, notes and prices of single steps never.

use super::link::Opened;
use super::order_facts::{money, order};
use crate::pages::facts::{Done, Event, Happened, HeldFor, Noted, Now, Ready, StatusPage, WishForm};
use acts::finding_words;
use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};
use rust_decimal::Decimal;
use store::Error;
use store::customers::CustomerRow;
use store::findings::FindingRow;
use store::order_facts::ids;
use store::order_rows::OrderRows;
use store::quotes::QuoteRow;
use store::small_things::TestRow;
use trade::words::instrument::{Disposition, OperationKind, OperationState, TestKind, Verdict};
use trade::words::paperwork::{Answer, MailWanted, QuoteState};
use trade::words::stage::{Because, HoldReason, Stage};
use uuid::Uuid;

/// Everything the page of this link says.
pub(super) fn status_page(opened: &Opened, wish_just_changed: bool) -> Result<StatusPage, Error> {
    let rows = &opened.rows;
    let stage = rows.order.stage.0;
    let has_ended = rows.order.ending_because.is_some() || matches!(stage, Stage::Pickup | Stage::Closed);
    let (now, since) = now(rows, opened.today)?;
    let authorised = rows.facts(opened.today)?.authorised;
    let (left_on_purpose, to_look_at) = if was_told(rows) { left(rows) } else { (Vec::new(), Vec::new()) };
    Ok(StatusPage {
        order: order(opened)?,
        ready: ready(rows),
        past: past(rows)?,
        now,
        now_since: since,
        allowed: (!has_ended && authorised > Decimal::ZERO).then(|| money(rows, authorised)),
        amount_due: (stage == Stage::Pickup).then(|| rows.due().map(|due| money(rows, due))).transpose()?,
        // A status link opens no answer page: each link has one purpose, and the secret of the
        // owner's own is stored nowhere.
        answer_url: None,
        done: done(rows)?,
        left_on_purpose,
        to_look_at,
        calendar_url: ready_day(rows, opened.today)?.map(|_| format!("{}/ready.ics", opened.page("status"))),
        wish: reader(opened).filter(|reader| reader.email.is_some()).map(|reader| WishForm {
            action: format!("{}/mail", opened.page("status")),
            every_change: reader.mail_wanted.0 == MailWanted::EveryChange,
        }),
        wish_just_changed,
    })
}

/// Whose link it is, if they still stand on the order.
pub(super) fn reader(opened: &Opened) -> Option<&CustomerRow> {
    [&opened.rows.owner, &opened.rows.customer].into_iter().find(|person| person.id == opened.link.customer_id)
}

/// The day for the customer's calendar and whether it is ready then; none when none lies ahead.
pub(super) fn ready_day(rows: &OrderRows, today: NaiveDate) -> Result<Option<(NaiveDate, bool)>, Error> {
    Ok(match (rows.order.stage.0, ready(rows)) {
        (Stage::Pickup, _) => Some((rows.shop.date_at(rows.order.stage_since)?, true)),
        (_, Ready::PlannedFor(day)) if day >= today => Some((day, false)),
        _ => None,
    })
}

fn ready(rows: &OrderRows) -> Ready {
    match rows.order.stage.0 {
        Stage::Closed => Ready::Gone,
        Stage::Pickup => Ready::ReadyNow,
        // The promise was for the repair, which is not to be.
        _ if rows.order.ending_because.is_some() => Ready::NotSaid,
        Stage::Intake | Stage::Diagnosis | Stage::Approval | Stage::Bench | Stage::LeakTest => Ready::PlannedFor(rows.order.promised_on),
    }
}

fn shared(rows: &OrderRows) -> impl Iterator<Item = &FindingRow> {
    rows.findings.iter().filter(|finding| finding.shared && finding.struck_reason.is_none())
}

fn number(number: i32) -> u32 {
    u32::try_from(number).unwrap_or(0)
}

/// What is now, and since which day.
fn now(rows: &OrderRows, today: NaiveDate) -> Result<(Now, NaiveDate), Error> {
    let order = &rows.order;
    let on = |at: DateTime<Utc>| rows.shop.date_at(at);
    let stage_since = on(order.stage_since)?;
    if let Some(at) = [Stage::Pickup, Stage::Closed].iter().find(|stage| **stage == order.stage.0) {
        return Ok((if *at == Stage::Pickup { Now::ReadyToCollect } else { Now::Closed }, stage_since));
    }
    // Of several holds the one looked at first speaks, then the oldest (DOMAIN.md).
    let held = rows
        .holds
        .iter()
        .filter(|hold| hold.lifted_at.is_none())
        .min_by_key(|hold| (hold.look_again_on.unwrap_or(NaiveDate::MAX), hold.set_at));
    if let Some(hold) = held {
        let (held_for, until) = match hold.reason.0 {
            // The day to look again is the shop's own reminder, not the supplier's word; told as
            // the day on which parts come it would be a promise that nobody gave.
            HoldReason::Parts => (HeldFor::Parts, None),
            HoldReason::OutsideWork => (HeldFor::OutsideWork, None),
            HoldReason::Customer => (HeldFor::Customer, hold.look_again_on),
            HoldReason::SchoolCalendar => (HeldFor::SchoolCalendar, hold.look_again_on),
            HoldReason::Other => (HeldFor::Other, hold.look_again_on),
        };
        return Ok((Now::Held { held_for, until }, on(hold.set_at)?));
    }
    if order.ending_because.is_some() {
        return Ok((Now::PutBackTogether, on(order.ending_at.unwrap_or(order.stage_since))?));
    }
    if order.question.is_some() && matches!(order.stage.0, Stage::Diagnosis | Stage::Approval) && !is_mistake(rows) {
        return Ok((Now::QuestionWithUs, on(order.question_at.unwrap_or(order.stage_since))?));
    }
    Ok(match order.stage.0 {
        Stage::Intake => (Now::WaitsToBeExamined, stage_since),
        Stage::Diagnosis => (Now::BeingExamined, stage_since),
        Stage::Approval => match rows.sent() {
            Some(sent) if sent.expires_on >= today => {
                let since = sent.sent_at.unwrap_or(order.stage_since).max(order.stage_since);
                let other_work_goes_on = goes_on(rows)?;
                (Now::WaitsForAnswer { until: Some(sent.expires_on), other_work_goes_on }, on(since)?)
            }
            _ => {
                let over = rows.quotes.iter().rev().find(|quote| quote.sent_at.is_some()).map(|quote| quote.expires_on + Days::new(1));
                (Now::AnswerOverdue, over.unwrap_or(stage_since))
            }
        },
        Stage::Bench => (Now::WorkedOn, stage_since),
        Stage::LeakTest => (Now::Tested { put_right: put_right(rows) }, stage_since),
        Stage::Pickup => (Now::ReadyToCollect, stage_since),
        Stage::Closed => (Now::Closed, stage_since),
    })
}

/// Whether the answer to the version that is out was called a mistake: what the order then keeps
/// as a question is that, and the quote waits for the owner again.
pub(super) fn is_mistake(rows: &OrderRows) -> bool {
    let Some(sent) = rows.sent() else { return false };
    let last = rows.decisions.iter().rev().find(|decision| decision.quote_id == sent.id);
    last.is_some_and(|last| rows.disputes.iter().any(|dispute| dispute.decision_id == last.id))
}

/// Whether a step accepted before is still to be done and does not wait for the answer.
fn goes_on(rows: &OrderRows) -> Result<bool, Error> {
    let accepted: Vec<Uuid> = rows
        .acceptances()?
        .iter()
        .flat_map(|a| a.content.lines.iter().filter(|line| a.counted.contains(&line.id)).filter_map(|line| line.operation_id.map(|o| o.0)))
        .collect();
    Ok(rows.operations.iter().any(|operation| {
        accepted.contains(&operation.id)
            && !operation.waits_for_answer
            && !matches!(operation.state.0, OperationState::Done | OperationState::Struck)
    }))
}

/// Whether the owner was told what was found: before that it is still being thought about.
fn was_told(rows: &OrderRows) -> bool {
    rows.quotes.iter().any(|quote| quote.sent_at.is_some()) || matches!(rows.order.stage.0, Stage::Pickup | Stage::Closed)
}

/// Left on purpose, and to be looked at next time. What is left and watched stands in the second
/// list only, so that nothing is told twice.
fn left(rows: &OrderRows) -> (Vec<Noted>, Vec<Noted>) {
    let noted = |finding: &FindingRow| Noted {
        finding_number: Some(number(finding.number)),
        what: finding_words(finding),
        why: finding.disposition_reason.clone(),
    };
    let of = |wanted: &[Disposition]| shared(rows).filter(|finding| wanted.contains(&finding.disposition.0)).map(noted).collect();
    (of(&[Disposition::AnotherVisit, Disposition::Declined]), of(&[Disposition::LeaveAndWatch]))
}

fn done(rows: &OrderRows) -> Result<Vec<Done>, Error> {
    let mut done = Vec::new();
    for operation in rows.operations.iter().filter(|o| o.kind.0 == OperationKind::Work && o.state.0 == OperationState::Done) {
        let answered = ids(&operation.finding_ids)?;
        done.push(Done {
            words: operation.title.clone(),
            finding_numbers: shared(rows).filter(|f| answered.contains(&f.id)).map(|f| number(f.number)).collect(),
        });
    }
    Ok(done)
}

/// What a failed test found, as the customer may know it: `a leak (third slide)`. None when it
/// is pinned to a finding that is not shared.
fn found(rows: &OrderRows, test: &TestRow) -> Option<String> {
    let pinned = test.finding_id.map(|id| shared(rows).find(|finding| finding.id == id));
    let place = match pinned {
        Some(None) => return None,
        Some(Some(finding)) => test.where_words.clone().unwrap_or_else(|| finding_words(finding)),
        None => test.where_words.clone()?,
    };
    let what = match test.kind.0 {
        TestKind::LeakTest => "a leak",
        TestKind::PlayTest => "something to put right",
    };
    let place = place.trim().trim_end_matches('.').to_owned();
    Some(if place.is_empty() { what.to_owned() } else { format!("{what} ({place})") })
}

/// What the last failed test had found, when it went back to the bench and came again.
fn put_right(rows: &OrderRows) -> Option<String> {
    let arrived = rows.arrived_in_leak_test()?;
    let went_back = rows.stage_changes.iter().any(|change| change.because.0 == Because::TestFailed);
    let failed = rows.tests.iter().rev().find(|test| test.verdict.0 == Verdict::Failed && test.tested_at <= arrived)?;
    went_back.then(|| found(rows, failed)).flatten()
}

/// What has happened, oldest first: the moves, and the acts that move nothing and that a customer
/// asks about (a newer quote, a question or a no while other work goes on, a quote that ran out).
fn past(rows: &OrderRows) -> Result<Vec<Event>, Error> {
    // Acts that made a move are told by it. Each move takes its own, so that two at one instant
    // are told apart.
    let mut quotes: Vec<&QuoteRow> = rows.quotes.iter().filter(|quote| quote.sent_at.is_some()).collect();
    let mut decisions: Vec<_> = rows.decisions.iter().collect();
    let mut told: Vec<(DateTime<Utc>, Happened)> = Vec::new();
    let mut has_quoted = false;
    let accessories: Vec<String> = rows.accessories()?.into_iter().map(|accessory| accessory.name).collect();
    for change in &rows.stage_changes {
        let at = change.changed_at;
        let reason = change.reason.clone();
        let mut take_quote = || quotes.iter().position(|quote| quote.sent_at == Some(at)).map(|place| quotes.remove(place));
        let mut take_decision = |answer: Answer| {
            let place = decisions.iter().position(|decision| decision.decided_at == at && decision.answer.0 == answer);
            place.map(|place| decisions.remove(place))
        };
        let what = match change.because.0 {
            Because::CheckedIn => Some(Happened::BroughtIn { accessories: accessories.clone() }),
            Because::ExaminationBegins => Some(Happened::ExaminationBegan { by: Some(change.by_words.clone()) }),
            Because::QuoteSent => {
                take_quote();
                let findings_count = shared(rows).filter(|finding| finding.found_at <= at).count();
                Some(if has_quoted { Happened::NewerQuoteSent } else { Happened::QuoteSent { findings_count } })
            }
            Because::CoveredBeforehand => {
                take_quote();
                take_decision(Answer::Accepted);
                Some(Happened::CoveredBeforehand)
            }
            Because::NothingToDo => Some(Happened::NothingToDo { reason }),
            Because::Accepted => {
                let of = take_decision(Answer::Accepted).and_then(|decision| rows.quotes.iter().find(|quote| quote.id == decision.quote_id));
                Some(if of.is_some_and(|quote| quote.is_extra) { Happened::SaidYesToExtra } else { Happened::SaidYes })
            }
            Because::ExtraDeclined => {
                take_decision(Answer::Declined);
                Some(Happened::SaidNoToExtra)
            }
            Because::Recalled => Some(Happened::QuoteTakenBack { is_extra: change.to_stage.0 == Stage::Bench }),
            Because::Questions => {
                take_decision(Answer::Questions);
                Some(Happened::Asked)
            }
            Because::Expired => Some(Happened::QuoteRanOut),
            // When something was apart, the no is older than the move, and is told on its own day.
            Because::Declined => take_decision(Answer::Declined).map(|_| Happened::SaidNo),
            Because::ExtraWork => {
                take_quote();
                Some(Happened::ExtraFound)
            }
            Because::AcceptanceDisputed => Some(Happened::CalledMistake),
            Because::BenchDone => Some(Happened::BenchDone),
            Because::TestFailed => {
                let failed = rows.tests.iter().rev().find(|test| test.verdict.0 == Verdict::Failed && test.tested_at <= at);
                Some(Happened::TestFailed { found: failed.and_then(|test| found(rows, test)) })
            }
            Because::TestsPassed => Some(Happened::TestsPassed),
            Because::Overridden => Some(Happened::Overridden { reason }),
            Because::Withdrawn => Some(Happened::Withdrawn),
            Because::Unanswered => Some(Happened::Unanswered),
            Because::NotRepairable => Some(Happened::NotRepairable { reason }),
            Because::SentBack => Some(Happened::SentBack),
            Because::Reopened => Some(Happened::Reopened),
            Because::Collected => Some(Happened::Collected),
            Because::Shipped => Some(Happened::Shipped { carrier: rows.handover.as_ref().map(|handover| handover.collected_by.clone()) }),
            Because::OtherwiseSettled => Some(Happened::OtherwiseSettled { reason }),
            Because::EnteredByMistake => Some(Happened::EnteredByMistake),
        };
        has_quoted |= matches!(change.because.0, Because::QuoteSent | Because::ExtraWork);
        told.extend(what.map(|what| (at, what)));
    }
    told.extend(quotes.iter().filter_map(|quote| Some((quote.sent_at?, Happened::NewerQuoteSent))));
    told.extend(decisions.iter().filter_map(|decision| {
        let what = match decision.answer.0 {
            Answer::Questions => Happened::Asked,
            Answer::Declined => Happened::SaidNo,
            Answer::Accepted => return None,
        };
        Some((decision.decided_at, what))
    }));
    // A request for extra work runs out without a move; the hour is not kept, the day is.
    for quote in rows.quotes.iter().filter(|quote| quote.state.0 == QuoteState::Expired && quote.is_extra) {
        let midnight = (quote.expires_on + Days::new(1)).and_time(NaiveTime::MIN);
        told.push((rows.shop.zone()?.instant(midnight), Happened::QuoteRanOut));
    }
    told.sort_by_key(|(at, _)| *at);
    told.into_iter().map(|(at, what)| Ok(Event { on: rows.shop.date_at(at)?, what })).collect()
}
