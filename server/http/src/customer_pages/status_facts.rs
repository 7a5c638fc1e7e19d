//! The status page's facts, from an order's rows. Nothing for staff only has a way in here:
//! findings count when they are shared and not struck, notes and prices of single steps never.

use super::link::Opened;
use super::order_facts::{money, order};
use super::photos::shared_photos;
use crate::pages::facts::{
    Asked, AskedBy, Done, Event, Happened, HeldFor, Noted, Now, Ready, StatusPage, Tested, Tests, WishForm,
};
use acts::drawn_map::customers_map;
use acts::ask_again::asking_letter;
use acts::{
    customers_number, finding_words, left_on_purpose, not_repaired, passed_apart_from, pressure_that_passes, test_found, tested_words,
    tests_passed, to_look_at,
};
use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};
use rust_decimal::Decimal;
use store::Error;
use store::customers::CustomerRow;
use store::findings::FindingRow;
use store::order_facts::ids;
use store::order_rows::OrderRows;
use store::quotes::QuoteRow;
use trade::bench::pressure_test::PressureAnswer;
use trade::words::instrument::{Disposition, OperationKind, OperationState, TestMethod, Verdict};
use trade::words::paperwork::{Answer, LetterState, MailWanted, QuoteState};
use trade::words::stage::{Because, HoldReason, Stage};
use uuid::Uuid;

/// Everything the page of this link says.
pub(super) fn status_page(opened: &Opened, wish_just_changed: bool) -> Result<StatusPage, Error> {
    let rows = &opened.rows;
    let stage = rows.order.stage.0;
    let has_ended =
        rows.order.ending_because.is_some() || matches!(stage, Stage::Pickup | Stage::Closed);
    let (now, since) = now(rows, opened.today)?;
    let authorised = rows.facts(opened.today)?.authorised;
    let asked = match &now {
        Now::WaitsForAnswer { .. } => Some(asked(opened)?),
        _ => None,
    };
    let noted = |findings: Vec<&FindingRow>| findings.into_iter().filter(|_| was_told(rows)).map(|finding| noted(rows, finding)).collect();
    Ok(StatusPage {
        order: order(opened)?,
        ready: ready(rows),
        past: past(rows)?,
        now,
        now_since: since,
        allowed: (!has_ended && authorised > Decimal::ZERO).then(|| money(rows, authorised)),
        amount_due: (stage == Stage::Pickup)
            .then(|| rows.due().map(|due| money(rows, due)))
            .transpose()?,
        examination_fee: (stage == Stage::Pickup)
            .then(|| rows.fee_charged())
            .transpose()?
            .flatten()
            .map(|fee| money(rows, fee)),
        asked,
        asked_again: None,
        not_handed_back: not_handed_back(rows)?,
        done: done(rows)?,
        not_repaired: noted(not_repaired(rows)),
        left_on_purpose: noted(left_on_purpose(rows)),
        to_look_at: noted(to_look_at(rows)),
        tests: if stage == Stage::Pickup || stage == Stage::Closed { tests(rows) } else { Tests::default() },
        map: customers_map(rows, |finding| was_asked_about(rows, finding)),
        photos: shared_photos(rows, &opened.page("status"), |_| true),
        calendar_url: ready_day(rows, opened.today)?
            .map(|_| format!("{}/ready.ics", opened.page("status"))),
        wish: reader(opened).filter(|reader| reader.email.is_some()).map(|reader| WishForm {
            action: format!("{}/mail", opened.page("status")),
            every_change: reader.mail_wanted.0 == MailWanted::EveryChange,
        }),
        wish_just_changed,
    })
}

fn not_handed_back(rows: &OrderRows) -> Result<Vec<Noted>, Error> {
    let lost = rows.accessories()?.into_iter().filter(|thing| thing.lost.is_some());
    Ok(lost.map(|thing| Noted { finding_number: None, what: thing.name, why: thing.lost }).collect())
}

/// Whose link it is, if they still stand on the order.
pub(super) fn reader(opened: &Opened) -> Option<&CustomerRow> {
    [&opened.rows.owner, &opened.rows.customer]
        .into_iter()
        .find(|person| person.id == opened.link.customer_id)
}

/// The day for the customer's calendar and whether it is ready then; none when none lies ahead.
pub(super) fn ready_day(
    rows: &OrderRows,
    today: NaiveDate,
) -> Result<Option<(NaiveDate, bool)>, Error> {
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
        Stage::Intake | Stage::Diagnosis | Stage::Approval | Stage::Bench | Stage::LeakTest => {
            Ready::PlannedFor(rows.order.promised_on)
        }
    }
}

fn shared(rows: &OrderRows) -> impl Iterator<Item = &FindingRow> {
    rows.findings.iter().filter(|finding| finding.shared && finding.struck_reason.is_none())
}

/// What is now, and since which day.
fn now(rows: &OrderRows, today: NaiveDate) -> Result<(Now, NaiveDate), Error> {
    let order = &rows.order;
    let on = |at: DateTime<Utc>| rows.shop.date_at(at);
    let stage_since = on(order.stage_since)?;
    if let Some(at) = [Stage::Pickup, Stage::Closed].iter().find(|stage| **stage == order.stage.0) {
        return Ok((
            if *at == Stage::Pickup { Now::ReadyToCollect } else { Now::Closed },
            stage_since,
        ));
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
    if order.question.is_some()
        && matches!(order.stage.0, Stage::Diagnosis | Stage::Approval)
        && !is_mistake(rows)
    {
        return Ok((Now::QuestionWithUs, on(order.question_at.unwrap_or(order.stage_since))?));
    }
    Ok(match order.stage.0 {
        Stage::Intake => (Now::WaitsToBeExamined, stage_since),
        Stage::Diagnosis => (Now::BeingExamined, stage_since),
        Stage::Approval => match rows.sent() {
            Some(sent) if sent.expires_on >= today => {
                let since = sent.sent_at.unwrap_or(order.stage_since).max(order.stage_since);
                let other_work_goes_on = goes_on(rows)?;
                (
                    Now::WaitsForAnswer { until: Some(sent.expires_on), other_work_goes_on },
                    on(since)?,
                )
            }
            _ => {
                let over = rows
                    .quotes
                    .iter()
                    .rev()
                    .find(|quote| quote.sent_at.is_some())
                    .map(|quote| quote.expires_on + Days::new(1));
                (Now::AnswerOverdue, over.unwrap_or(stage_since))
            }
        },
        Stage::Bench => (Now::WorkedOn, stage_since),
        Stage::LeakTest => (Now::Tested { put_right: put_right(rows)? }, stage_since),
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
        .flat_map(|a| {
            a.content
                .lines
                .iter()
                .filter(|line| a.counted.contains(&line.id))
                .filter_map(|line| line.operation_id.map(|o| o.0))
        })
        .collect();
    Ok(rows.operations.iter().any(|operation| {
        accepted.contains(&operation.id)
            && !operation.waits_for_answer
            && !matches!(operation.state.0, OperationState::Done | OperationState::Struck)
    }))
}

/// Whether the owner was told what was found: before that it is still being thought about.
fn was_told(rows: &OrderRows) -> bool {
    rows.quotes.iter().any(|quote| quote.sent_at.is_some())
        || matches!(rows.order.stage.0, Stage::Pickup | Stage::Closed)
}

/// Whether the owner was told of a finding: by a quote that went out after it was found and
/// thought through, or at the end.
fn was_asked_about(rows: &OrderRows, finding: &FindingRow) -> bool {
    let has_ended = matches!(rows.order.stage.0, Stage::Pickup | Stage::Closed);
    finding.disposition.0 != Disposition::Undecided
        && (has_ended || rows.quotes.iter().any(|quote| quote.sent_at.is_some_and(|at| finding.found_at <= at)))
}

/// The tests it passed before it came to stand ready.
fn tests(rows: &OrderRows) -> Tests {
    let passed = tests_passed(rows).map(|test| Tested {
        what: tested_words(test),
        how: test.method.as_ref().and_then(|method| match method.0 {
            TestMethod::FingerAndBlow => Some("by finger and blowing"),
            TestMethod::Bubbles => Some("by bubbles under water"),
            TestMethod::Smoke => Some("with smoke"),
            TestMethod::LeakLight => Some("with a leak light"),
            TestMethod::Feeler => Some("with a feeler"),
            TestMethod::PressureDecay => Some("by the pressure it holds"),
            TestMethod::Played => None,
        }),
        rate: pressure_that_passes(rows.pressure_answers.get(&test.id)).and_then(PressureAnswer::words_within_limit),
    });
    Tests { passed: passed.collect(), apart_from: passed_apart_from(rows) }
}

fn noted(rows: &OrderRows, finding: &FindingRow) -> Noted {
    Noted {
        finding_number: Some(customers_number(rows, finding)),
        what: finding_words(finding),
        why: finding.disposition_reason.clone(),
    }
}

/// How the owner was asked. A status link opens no answer page: each link has one purpose, and
/// the secret of the owner's own is stored nowhere, so the page says where that letter is.
fn asked(opened: &Opened) -> Result<Asked, Error> {
    let rows = &opened.rows;
    let letter = match asking_letter(rows) {
        Some(letter) => {
            let on = rows.shop.date_at(letter.queued_at)?;
            match letter.state.0 {
                LetterState::Waiting | LetterState::Sending | LetterState::Sent | LetterState::Unknown => {
                    AskedBy::Letter { on, to: letter.to_email.as_deref().map(masked) }
                }
                LetterState::Bounced | LetterState::GivenUp => AskedBy::DidNotArrive { on },
                LetterState::NotWanted if letter.to_email.is_none() => AskedBy::NoAddress,
                LetterState::NotWanted => AskedBy::NoLetter,
            }
        }
        None => AskedBy::NoLetter,
    };
    let again = opened.reader_is_owner() && rows.owner.email.is_some();
    Ok(Asked { letter, again: again.then(|| format!("{}/again", opened.page("status"))) })
}

/// An address as its owner knows it and nobody else learns it: `j…@lund.example`.
fn masked(address: &str) -> String {
    let (name, host) = address.rsplit_once('@').unwrap_or((address, ""));
    let first = name.chars().next().map(String::from).unwrap_or_default();
    if host.is_empty() { format!("{first}…") } else { format!("{first}…@{host}") }
}

fn done(rows: &OrderRows) -> Result<Vec<Done>, Error> {
    let mut done = Vec::new();
    for operation in rows
        .operations
        .iter()
        .filter(|o| o.kind.0 == OperationKind::Work && o.state.0 == OperationState::Done)
    {
        let answered = ids(&operation.finding_ids)?;
        done.push(Done {
            words: operation.title.clone(),
            finding_numbers: shared(rows)
                .filter(|f| answered.contains(&f.id))
                .map(|f| customers_number(rows, f))
                .collect(),
        });
    }
    Ok(done)
}

/// What the last failed test had found, when it went back to the bench and came again, and a
/// step that answers it was done since. Found and left is not put right.
fn put_right(rows: &OrderRows) -> Result<Option<String>, Error> {
    let arrived = rows.arrived_in_leak_test();
    let failed = rows
        .tests
        .iter()
        .rev()
        .find(|test| test.says(Verdict::Failed) && Some(test.tested_at) <= arrived);
    let Some((test, finding)) = failed.and_then(|test| Some((test, test.finding_id?))) else {
        return Ok(None);
    };
    for operation in rows.operations.iter().filter(|o| o.state.0 == OperationState::Done) {
        if ids(&operation.finding_ids)?.contains(&finding) {
            return Ok(test_found(rows, test));
        }
    }
    Ok(None)
}

/// What has happened, oldest first: the moves, and the acts that move nothing and that a customer
/// asks about (a newer quote, a question or a no while other work goes on, a quote that ran out).
fn past(rows: &OrderRows) -> Result<Vec<Event>, Error> {
    // Acts that made a move are told by it. Each move takes its own, so that two at one instant
    // are told apart.
    let mut quotes: Vec<&QuoteRow> =
        rows.quotes.iter().filter(|quote| quote.sent_at.is_some()).collect();
    let mut decisions: Vec<_> = rows.decisions.iter().collect();
    let mut told: Vec<(DateTime<Utc>, Happened)> = Vec::new();
    let mut has_quoted = false;
    let accessories: Vec<String> =
        rows.accessories()?.into_iter().map(|accessory| accessory.name).collect();
    for change in &rows.stage_changes {
        let at = change.changed_at;
        let reason = change.reason.clone();
        let mut take_quote = || {
            quotes
                .iter()
                .position(|quote| quote.sent_at == Some(at))
                .map(|place| quotes.remove(place))
        };
        let mut take_decision = |answer: Answer| {
            let place = decisions
                .iter()
                .position(|decision| decision.decided_at == at && decision.answer.0 == answer);
            place.map(|place| decisions.remove(place))
        };
        let what = match change.because.0 {
            Because::CheckedIn => Some(Happened::BroughtIn { accessories: accessories.clone() }),
            Because::ExaminationBegins => {
                Some(Happened::ExaminationBegan { by: Some(change.by_words.clone()) })
            }
            Because::QuoteSent => {
                take_quote();
                let findings_count = shared(rows).filter(|finding| finding.found_at <= at).count();
                Some(if has_quoted {
                    Happened::NewerQuoteSent
                } else {
                    Happened::QuoteSent { findings_count }
                })
            }
            Because::CoveredBeforehand => {
                take_quote();
                take_decision(Answer::Accepted);
                Some(Happened::CoveredBeforehand)
            }
            Because::NothingToDo => Some(Happened::NothingToDo { reason }),
            Because::Accepted => {
                let of = take_decision(Answer::Accepted).and_then(|decision| {
                    rows.quotes.iter().find(|quote| quote.id == decision.quote_id)
                });
                Some(if of.is_some_and(|quote| quote.is_extra) {
                    Happened::SaidYesToExtra
                } else {
                    Happened::SaidYes
                })
            }
            Because::ExtraDeclined => {
                take_decision(Answer::Declined);
                Some(Happened::SaidNoToExtra)
            }
            Because::Recalled => {
                Some(Happened::QuoteTakenBack { is_extra: change.to_stage.0 == Stage::Bench })
            }
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
                let failed = rows
                    .tests
                    .iter()
                    .rev()
                    .find(|test| test.says(Verdict::Failed) && test.tested_at <= at);
                Some(Happened::TestFailed { found: failed.and_then(|test| test_found(rows, test)) })
            }
            Because::TestsPassed => Some(Happened::TestsPassed),
            Because::Overridden => Some(Happened::Overridden { reason }),
            Because::Withdrawn => Some(Happened::Withdrawn),
            Because::Unanswered => Some(Happened::Unanswered),
            Because::NotRepairable => Some(Happened::NotRepairable { reason }),
            Because::SentBack => Some(Happened::SentBack),
            Because::Reopened => Some(Happened::Reopened),
            Because::Collected => Some(Happened::Collected),
            Because::Shipped => Some(Happened::Shipped {
                carrier: rows.handover.as_ref().map(|handover| handover.collected_by.clone()),
            }),
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
    for quote in
        rows.quotes.iter().filter(|quote| quote.state.0 == QuoteState::Expired && quote.is_extra)
    {
        let midnight = (quote.expires_on + Days::new(1)).and_time(NaiveTime::MIN);
        told.push((rows.shop.zone()?.instant(midnight), Happened::QuoteRanOut));
    }
    told.sort_by_key(|(at, _)| *at);
    told.into_iter().map(|(at, what)| Ok(Event { on: rows.shop.date_at(at)?, what })).collect()
}

#[cfg(test)]
mod tests {
    use super::super::sample::*;
    use super::*;
    use crate::pages;

    fn told(rows: &OrderRows) -> Vec<(u32, Happened)> {
        use chrono::Datelike;
        past(rows).unwrap().into_iter().map(|event| (event.on.day(), event.what)).collect()
    }

    /// Quoted on the 3rd, accepted on the 4th.
    fn accepted() -> OrderRows {
        let mut rows = checked_in();
        moved(&mut rows, at(2, 8), Stage::Diagnosis, Because::ExaminationBegins);
        let finding = crack(&mut rows, at(2, 9), "bottom bow", Disposition::Repair, true);
        let step = step(&mut rows, "Braze the crack", finding, OperationState::Planned);
        sent(&mut rows, at(3, 8), vec![line(1, "Braze the crack", "50", Some(step))], None);
        moved(&mut rows, at(3, 8), Stage::Approval, Because::QuoteSent);
        decided(&mut rows, at(4, 8), Answer::Accepted);
        moved(&mut rows, at(4, 8), Stage::Bench, Because::Accepted);
        rows
    }

    #[test]
    fn every_move_is_told_on_its_day_in_the_shop() {
        let mut rows = accepted();
        // Midnight in Dublin.
        moved(&mut rows, at(8, 23), Stage::LeakTest, Because::BenchDone);
        assert_eq!(
            told(&rows),
            [
                (1, Happened::BroughtIn { accessories: vec!["case".into()] }),
                (2, Happened::ExaminationBegan { by: Some("Mara Voss".into()) }),
                (3, Happened::QuoteSent { findings_count: 1 }),
                (4, Happened::SaidYes),
                (9, Happened::BenchDone),
            ]
        );
    }

    #[test]
    fn acts_that_move_nothing_are_told_too_even_at_one_instant() {
        let mut rows = checked_in();
        moved(&mut rows, at(2, 8), Stage::Diagnosis, Because::ExaminationBegins);
        sent(&mut rows, at(3, 8), vec![line(1, "Braze", "50", None)], None);
        moved(&mut rows, at(3, 8), Stage::Approval, Because::QuoteSent);
        sent(&mut rows, at(3, 8), vec![line(1, "Braze", "40", None)], None);
        decided(&mut rows, at(4, 8), Answer::Accepted);
        moved(&mut rows, at(4, 8), Stage::Bench, Because::Accepted);
        sent(
            &mut rows,
            at(5, 8),
            vec![line(1, "Braze", "40", None), line(2, "More", "10", None)],
            None,
        );
        moved(&mut rows, at(5, 8), Stage::Approval, Because::ExtraWork);
        decided(&mut rows, at(6, 8), Answer::Questions);
        decided(&mut rows, at(7, 8), Answer::Accepted);
        moved(&mut rows, at(7, 8), Stage::Bench, Because::Accepted);
        assert_eq!(
            told(&rows)[2..],
            [
                (3, Happened::QuoteSent { findings_count: 0 }),
                (3, Happened::NewerQuoteSent),
                (4, Happened::SaidYes),
                (5, Happened::ExtraFound),
                (6, Happened::Asked),
                (7, Happened::SaidYesToExtra),
            ]
        );
    }

    #[test]
    fn a_no_with_something_apart_is_told_on_the_day_it_was_said() {
        let mut rows = checked_in();
        moved(&mut rows, at(2, 8), Stage::Diagnosis, Because::ExaminationBegins);
        sent(&mut rows, at(3, 8), vec![line(1, "Braze", "50", None)], None);
        moved(&mut rows, at(3, 8), Stage::Approval, Because::QuoteSent);
        decided(&mut rows, at(4, 8), Answer::Declined);
        rows.order.ending_because = Some(store::Word(Because::Declined));
        rows.order.ending_at = Some(at(4, 8));
        assert_eq!(now(&rows, june(5)).unwrap(), (Now::PutBackTogether, june(4)));
        assert_eq!(ready(&rows), Ready::NotSaid);
        moved(&mut rows, at(6, 8), Stage::Pickup, Because::Declined);
        assert_eq!(told(&rows)[3..], [(4, Happened::SaidNo)]);
        assert_eq!(ready(&rows), Ready::ReadyNow);
    }

    #[test]
    fn a_request_for_extra_work_that_ran_out_is_told_the_day_after_its_last() {
        let mut rows = accepted();
        sent(
            &mut rows,
            at(5, 8),
            vec![line(1, "Braze", "50", None), line(2, "More", "10", None)],
            None,
        );
        moved(&mut rows, at(5, 8), Stage::Approval, Because::ExtraWork);
        assert_eq!(
            now(&rows, june(20)).unwrap(),
            (Now::WaitsForAnswer { until: Some(june(20)), other_work_goes_on: true }, june(5))
        );
        assert_eq!(now(&rows, june(21)).unwrap(), (Now::AnswerOverdue, june(21)));
        rows.quotes[1].state = store::Word(QuoteState::Expired);
        assert_eq!(told(&rows).last(), Some(&(21, Happened::QuoteRanOut)));
        assert_eq!(now(&rows, june(22)).unwrap(), (Now::AnswerOverdue, june(21)));
    }

    #[test]
    fn a_mistake_waits_for_the_owner_and_a_question_for_the_shop() {
        let mut rows = accepted();
        let decision = rows.decisions[0].id;
        disputed(&mut rows, at(5, 8), decision);
        let waits = Now::WaitsForAnswer { until: Some(june(20)), other_work_goes_on: false };
        assert_eq!(now(&rows, june(5)).unwrap(), (waits, june(5)));
        assert_eq!(told(&rows).last(), Some(&(5, Happened::CalledMistake)));
        decided(&mut rows, at(6, 8), Answer::Questions);
        moved(&mut rows, at(6, 8), Stage::Diagnosis, Because::Questions);
        assert_eq!(now(&rows, june(6)).unwrap(), (Now::QuestionWithUs, june(6)));
    }

    #[test]
    fn a_hold_speaks_first_but_no_supplier_is_promised() {
        let mut rows = accepted();
        held(&mut rows, at(6, 8), HoldReason::Other, None);
        held(&mut rows, at(7, 8), HoldReason::Parts, Some(june(12)));
        assert_eq!(
            now(&rows, june(8)).unwrap(),
            (Now::Held { held_for: HeldFor::Parts, until: None }, june(7))
        );
        rows.holds[1].reason = store::Word(HoldReason::SchoolCalendar);
        let school = Now::Held { held_for: HeldFor::SchoolCalendar, until: Some(june(12)) };
        assert_eq!(now(&rows, june(8)).unwrap(), (school, june(7)));
        rows.holds.iter_mut().for_each(|hold| hold.lifted_at = Some(at(8, 8)));
        assert_eq!(now(&rows, june(8)).unwrap(), (Now::WorkedOn, june(4)));
    }

    #[test]
    fn what_a_test_found_is_told_and_called_put_right_only_when_it_was() {
        let mut rows = accepted();
        moved(&mut rows, at(8, 8), Stage::LeakTest, Because::BenchDone);
        let finding = crack(&mut rows, at(8, 9), "third slide", Disposition::Repair, true);
        failed(&mut rows, at(8, 9), Some(finding));
        let leak = Some("a leak (third slide)".to_owned());
        assert_eq!(told(&rows).last(), Some(&(8, Happened::TestFailed { found: leak.clone() })));
        moved(&mut rows, at(9, 8), Stage::LeakTest, Because::BenchDone);
        assert_eq!(now(&rows, june(9)).unwrap().0, Now::Tested { put_right: None });
        step(&mut rows, "Solder it", finding, OperationState::Done);
        assert_eq!(now(&rows, june(9)).unwrap().0, Now::Tested { put_right: leak });
        rows.findings[1].shared = false;
        assert_eq!(now(&rows, june(9)).unwrap().0, Now::Tested { put_right: None });
        assert!(told(&rows).contains(&(8, Happened::TestFailed { found: None })));
    }

    #[test]
    fn left_and_watched_is_told_once_and_nothing_before_the_owner_was_asked() {
        let mut rows = checked_in();
        moved(&mut rows, at(2, 8), Stage::Diagnosis, Because::ExaminationBegins);
        crack(&mut rows, at(2, 9), "bell", Disposition::LeaveAndWatch, true);
        crack(&mut rows, at(2, 9), "bow", Disposition::AnotherVisit, true);
        let page = status_page(&opened(rows.clone(), 2, 10, None), false).unwrap();
        assert_eq!((page.left_on_purpose, page.to_look_at), (vec![], vec![]));
        sent(&mut rows, at(3, 8), vec![line(1, "Braze", "50", None)], None);
        moved(&mut rows, at(3, 8), Stage::Approval, Because::QuoteSent);
        let page = status_page(&opened(rows, 3, 10, None), false).unwrap();
        let noted = |number, what: &str| Noted {
            finding_number: Some(number),
            what: what.into(),
            why: Some("as it is".into()),
        };
        assert_eq!(page.left_on_purpose, [noted(2, "crack, bow, 14 mm")]);
        assert_eq!(page.to_look_at, [noted(1, "crack, bell, 14 mm")]);
    }

    #[test]
    fn the_drawing_shows_what_the_owner_was_told_of_and_nothing_else() {
        let mut rows = checked_in();
        moved(&mut rows, at(2, 8), Stage::Diagnosis, Because::ExaminationBegins);
        crack(&mut rows, at(2, 9), "bottom bow", Disposition::Repair, true);
        crack(&mut rows, at(2, 9), "bell", Disposition::LeaveAndWatch, false);
        crack(&mut rows, at(2, 9), "leadpipe", Disposition::Undecided, true);
        let places = |rows: &OrderRows, day| {
            let page = status_page(&opened(rows.clone(), day, 10, None), false).unwrap();
            page.map.map(|map| map.places)
        };
        assert_eq!(places(&rows, 2), None, "it is still being thought about");
        sent(&mut rows, at(3, 8), vec![line(1, "Braze", "50", None)], None);
        moved(&mut rows, at(3, 8), Stage::Approval, Because::QuoteSent);
        let told = Some(vec![(1, "crack, bottom bow, 14 mm".to_owned())]);
        assert_eq!(places(&rows, 3), told);
        crack(&mut rows, at(5, 9), "inner bow", Disposition::Repair, true);
        assert_eq!(places(&rows, 5), told, "the owner was not asked about it yet");
        let page = status_page(&opened(rows, 5, 10, None), false).unwrap();
        let html = pages::status_page(&page).into_string();
        assert!(html.contains("data-finding=\"1\"") && !html.contains("data-finding=\"2\""));
        assert!(html.contains("id=\"map-desc\">1: crack, bottom bow, 14 mm. Not to scale.</desc>"), "{html}");
    }

    #[test]
    fn nothing_for_staff_only_is_on_the_page() {
        let mut rows = accepted();
        let secret = crack(&mut rows, at(2, 9), "hidden part", Disposition::LeaveAndWatch, false);
        crack(&mut rows, at(2, 9), "struck part", Disposition::LeaveAndWatch, true);
        rows.findings[2].struck_reason = Some("a shadow".into());
        rows.operations[0].state = store::Word(OperationState::Done);
        rows.operations[0].finding_ids = serde_json::json!([secret, rows.findings[0].id]);
        moved(&mut rows, at(8, 8), Stage::LeakTest, Because::BenchDone);
        failed(&mut rows, at(8, 9), Some(secret));
        held(&mut rows, at(9, 8), HoldReason::Parts, None);
        let facts = status_page(&opened(rows, 9, 11, None), false).unwrap();
        assert_eq!(
            facts.done,
            [Done { words: "Braze the crack".into(), finding_numbers: vec![1] }]
        );
        let html = pages::status_page(&facts).into_string();
        for never in ["staff:", "hidden part", "struck part", "a shadow", "third slide"] {
            assert!(!html.contains(never), "{never} is on the page");
        }
    }

    #[test]
    fn money_is_told_as_allowed_while_it_is_worked_on_and_as_due_at_the_end() {
        let mut rows = accepted();
        let euro = |amount: &str| Some(pages::facts::Money::new(amount.parse().unwrap(), "EUR"));
        let page = status_page(&opened(rows.clone(), 5, 11, None), false).unwrap();
        assert_eq!((page.allowed, page.amount_due), (euro("60.00"), None));
        rows.operations[0].state = store::Word(OperationState::Done);
        moved(&mut rows, at(8, 8), Stage::LeakTest, Because::BenchDone);
        moved(&mut rows, at(9, 8), Stage::Pickup, Because::TestsPassed);
        let page = status_page(&opened(rows.clone(), 9, 11, None), false).unwrap();
        assert_eq!((page.allowed, page.amount_due), (None, euro("60.00")));
        moved(&mut rows, at(10, 8), Stage::Closed, Because::Collected);
        let page = status_page(&opened(rows, 10, 11, None), false).unwrap();
        assert_eq!(
            (page.allowed, page.amount_due, page.ready, page.calendar_url),
            (None, None, Ready::Gone, None)
        );
    }

    #[test]
    fn the_wish_is_the_readers_own_and_only_theirs_who_get_mail() {
        let mut rows = checked_in();
        rows.owner.mail_wanted = store::Word(MailWanted::OnlyWhenAsked);
        let wish = |reader| {
            status_page(&opened(rows.clone(), 2, reader, None), false)
                .unwrap()
                .wish
                .map(|wish| wish.every_change)
        };
        assert_eq!((wish(10), wish(11), wish(12)), (Some(true), Some(false), None));
        let mut silent = rows.clone();
        silent.customer.email = None;
        assert_eq!(status_page(&opened(silent, 2, 10, None), false).unwrap().wish, None);
    }

    #[test]
    fn an_address_is_shown_in_full_to_nobody() {
        assert_eq!(masked("jonas@lund.example"), "j…@lund.example");
        assert_eq!(masked("\"a@b\"@lund.example"), "\"…@lund.example");
        assert_eq!(masked("örjan@lund.example"), "ö…@lund.example");
        assert_eq!((masked("nobody"), masked("")), ("n…".to_owned(), "…".to_owned()));
    }

    #[test]
    fn a_date_goes_into_a_calendar_until_it_is_past() {
        let mut rows = checked_in();
        assert_eq!(ready_day(&rows, june(16)).unwrap(), Some((june(16), false)));
        assert_eq!(ready_day(&rows, june(17)).unwrap(), None);
        moved(&mut rows, at(18, 8), Stage::Pickup, Because::NothingToDo);
        assert_eq!(ready_day(&rows, june(25)).unwrap(), Some((june(18), true)));
    }
}
