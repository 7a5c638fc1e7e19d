//! What a letter may know, taken from an order's rows, and its way into the outbox.

use crate::desk::{Desk, Halt};
use crate::links::Opens;
use crate::opening_hours::hours_in_words;
use crate::quote_told::{asked_anew, quote_told};
use chrono::{DateTime, NaiveDate, Utc};
use mail::facts::{
    AcceptedBefore, AnsweredBy, Became, Decision, Finding, Handover, Instrument, LetterFacts, Line, Links, Money, Noted, Quote,
    Reader, Shop, Tests,
};
use mail::kinds::{Verdict as Wanted, Wish, readers, verdict};
use mail::{LetterKind, compose};
use rust_decimal::Decimal;
use store::customers::CustomerRow;
use store::findings::FindingRow;
use store::letters::{self, LetterRow};
use store::order_facts::{allowed_by, ids};
use store::order_rows::OrderRows;
use store::order_view::claim_number;
use store::quotes::QuoteRow;
use store::work_orders::StageChangeRow;
use store::{Tx, Word};
use store::small_things::TestRow;
use trade::bench::leak_rate::LeakVerdict;
use trade::bench::pressure_test::PressureAnswer;
use trade::words::ids::{QuoteId, WorkOrderId};
use trade::words::instrument::{Disposition, Leaks, OperationKind, OperationState, TestKind, Verdict};
use trade::words::paperwork::{Answer, AnswerHow, LetterState, MailWanted, QuoteState};
use trade::words::stage::{Because, Stage};
use uuid::Uuid;

/// A finding in the customer's words, without whether it leaks: "crack, bottom bow, 22 mm".
#[must_use]
pub fn finding_words(finding: &FindingRow) -> String {
    let mut words = format!("{}, {}", finding.kind.0.words(), finding.part);
    if let Some(size) = finding.size_mm {
        words.push_str(&format!(", {} mm", size.normalize()));
    }
    words
}

/// A finding in the customer's words: "crack, bottom bow, 22 mm, leaks".
#[must_use]
pub fn customer_words(finding: &FindingRow) -> String {
    let mut words = finding_words(finding);
    if finding.leaks.0 == Leaks::Yes {
        words.push_str(", leaks");
    }
    words
}

/// The promised date as it was before, and why it moves, as the customer is told.
pub(crate) struct MovedDate {
    pub before: NaiveDate,
    pub because: Option<String>,
}

/// Writes the letters of one change: one for each reader, or the reason why none is sent.
pub(crate) fn write_letters(
    desk: &Desk,
    tx: &mut Tx<'_>,
    rows: &OrderRows,
    kind: LetterKind,
    change: Option<&StageChangeRow>,
) -> Result<(), Halt> {
    write(desk, tx, rows, kind, change, None)
}

/// Writes that the promised date of these rows is another one now.
pub(crate) fn write_date_moved(desk: &Desk, tx: &mut Tx<'_>, rows: &OrderRows, moved: MovedDate) -> Result<(), Halt> {
    write(desk, tx, rows, LetterKind::DateMoved, None, Some(moved))
}

fn write(
    desk: &Desk,
    tx: &mut Tx<'_>,
    rows: &OrderRows,
    kind: LetterKind,
    change: Option<&StageChangeRow>,
    moved: Option<MovedDate>,
) -> Result<(), Halt> {
    let order = WorkOrderId(rows.order.id);
    for (customer, reader) in readers(kind, rows.customer.id, rows.owner.id) {
        let customer = if customer == rows.owner.id { &rows.owner } else { &rows.customer };
        let wish = match customer.mail_wanted.0 {
            MailWanted::EveryChange => Wish::EveryChange,
            MailWanted::OnlyWhenAsked => Wish::OnlyWhenAsked,
        };
        let kept_back = match verdict(kind, wish, customer.email.is_some()) {
            Wanted::Send => desk.mute,
            Wanted::NotWanted(why) => Some(why),
        };
        let mut facts = facts(desk, rows, customer, reader, change)?;
        if let Some(moved) = &moved {
            facts.planned_before = Some(moved.before);
            facts.reason.clone_from(&moved.because);
        }
        if kept_back.is_none() {
            facts.links.status = Some(desk.issue_link(tx, order, Opens::Status, customer.id)?.1);
            if let Some(quote) = answered_on(rows, kind) {
                facts.links.answer = Some(desk.issue_link(tx, order, Opens::Answer(QuoteId(quote)), customer.id)?.1);
            }
        }
        let letter = compose(kind, &facts);
        let id = Uuid::now_v7();
        let domain = message_domain(&rows.shop.email);
        letters::queue(
            tx,
            &LetterRow {
                shop_id: desk.actor.shop.0,
                id,
                work_order_id: Some(rows.order.id),
                stage_change_id: change.map(|change| change.id),
                kind: kind.spelling().to_owned(),
                state: Word(if kept_back.is_some() { LetterState::NotWanted } else { LetterState::Waiting }),
                state_reason: kept_back.map(ToOwned::to_owned),
                to_customer_id: Some(customer.id),
                to_name: customer.name.clone(),
                to_email: customer.email.clone(),
                message_id: format!("{id}@{domain}"),
                subject: letter.subject,
                text: letter.text,
                html: letter.html,
                queued_at: desk.now,
                sent_at: None,
                attempts: 0,
                next_try_at: None,
                last_trouble: None,
                to_person_id: None,
            },
        )?;
    }
    Ok(())
}

/// The version whose answer page a letter of this kind leads to: the one that is out where an
/// answer is asked for, or can still be given beside a question; else the one that was answered.
fn answered_on(rows: &OrderRows, kind: LetterKind) -> Option<Uuid> {
    if kind.tells_of_an_answer() {
        return rows.decisions.last().map(|decision| decision.quote_id);
    }
    let is_out = kind.asks_for_an_answer() || (kind == LetterKind::Questions && rows.order.stage.0 == Stage::Approval);
    rows.sent().filter(|_| is_out).map(|quote| quote.id)
}

/// The right side of a Message-ID: the shop's own domain, where it is one in plain letters.
pub(crate) fn message_domain(shop_email: &str) -> &str {
    let own = shop_email.split_once('@').map(|(_, domain)| domain);
    own.filter(|domain| !domain.is_empty() && domain.len() < 120 && domain.bytes().all(|b| b.is_ascii_alphanumeric() || b".-".contains(&b)))
        .unwrap_or("bellbrace.example")
}

fn facts(
    desk: &Desk,
    rows: &OrderRows,
    customer: &CustomerRow,
    reader: Reader,
    change: Option<&StageChangeRow>,
) -> Result<LetterFacts, Halt> {
    let currency = rows.shop.currency.as_str();
    let money = |amount: Decimal| Money::new(amount, currency);
    let date = |at: DateTime<Utc>| rows.shop.date_at(at);
    let today = date(desk.now)?;
    let shared = || shared(rows);
    let last_sent = rows.quotes.iter().rev().find(|q| q.sent_at.is_some());
    let anew = last_sent.map(|quote| asked_anew(rows, quote)).transpose()?.unwrap_or_default();
    let family = rows.instrument.family.0.words().to_owned();
    let reason = change.and_then(|change| change.reason.clone());
    let total = rows.charged()?.amount();
    let at_the_end = matches!(rows.order.stage.0, Stage::Pickup | Stage::Closed);
    Ok(LetterFacts {
        shop: Shop {
            name: rows.shop.name.clone(),
            phone: some(&rows.shop.phone),
            address: some(&rows.shop.address),
            email: some(&rows.shop.email),
            hours: hours_in_words(&rows.shop.calendar),
            time_zone: rows.shop.time_zone.clone(),
            language: customer.language.clone(),
        },
        today,
        claim_number: claim_number(rows.order.claim_count)?,
        reader_name: customer.name.clone(),
        reader,
        owner_name: (rows.owner.id != customer.id).then(|| rows.owner.name.clone()),
        instrument: Instrument {
            words: instrument_in_full(rows),
            family,
            owners_number: rows.instrument.owners_number.clone(),
        },
        complaint: Some(rows.order.complaint.clone()),
        accessories: rows.accessories()?.into_iter().map(|a| a.name).collect(),
        not_with_it: Vec::new(),
        counter_marks: rows
            .counter_marks
            .iter()
            .map(|m| format!("{}, {}", m.kind.0.to_string().replace('_', " "), m.part))
            .chain(some(rows.order.condition_note.as_deref().unwrap_or_default()))
            .collect(),
        keep_as_is: rows.order.keep_as_is.clone(),
        planned_for: Some(rows.order.promised_on),
        planned_before: None,
        expected_on: None,
        may_cost: rows.order.may_cost.map(money),
        examination_fee: rows.order.examination_fee.map(money),
        fee_charged: rows.fee_charged()?.map(money),
        findings: shared().map(|f| finding(rows, f, &anew)).collect(),
        quote: last_sent.map(|quote| quote_facts(rows, quote)).transpose()?,
        decision: decision_facts(rows)?,
        reason,
        tests: tests(rows),
        // Taking apart and putting together are means, not what the customer had done.
        done: rows
            .operations
            .iter()
            .filter(|o| o.kind.0 == OperationKind::Work && o.state.0 == OperationState::Done)
            .map(|o| o.title.clone())
            .collect(),
        not_repaired: not_repaired(rows).into_iter().map(noted).collect(),
        left_on_purpose: left_on_purpose(rows).into_iter().map(noted).collect(),
        to_look_at: to_look_at(rows).into_iter().map(noted).collect(),
        care_note: Some(rows.shop.care_notes()?.of(rows.instrument.family.0).words).filter(|words| !words.is_empty()),
        amount_due: at_the_end.then(|| rows.due().map(money)).transpose()?,
        due_words: (at_the_end && rows.is_on_account() && total > Decimal::ZERO).then(|| "charged to your account".to_owned()),
        ready_since: rows
            .stage_changes
            .iter()
            .rev()
            .find(|c| c.to_stage.0 == Stage::Pickup)
            .map(|c| date(c.changed_at))
            .transpose()?,
        uncollected_note: None,
        handover: rows
            .handover
            .as_ref()
            .map(|h| {
                let shipped = rows.stage_changes.last().is_some_and(|c| c.because.0 == Because::Shipped);
                Ok::<_, store::Error>(Handover {
                    on: date(h.handed_at)?,
                    by: (!shipped).then(|| h.collected_by.clone()),
                    carrier: shipped.then(|| h.collected_by.clone()),
                    accessories: rows.accessories()?.into_iter().filter(|a| a.returned).map(|a| a.name).collect(),
                    lost: rows.accessories()?.into_iter().filter_map(|a| Some((a.name, a.lost?))).collect(),
                    paid: (rows.paid() > Decimal::ZERO).then(|| money(rows.paid())),
                })
            })
            .transpose()?,
        signed_by: desk.actor.who.person().map(|_| desk.actor.words.clone()),
        links: Links::default(),
    })
}

fn some(text: &str) -> Option<String> {
    (!text.is_empty()).then(|| text.to_owned())
}

/// The instrument as its owner would name it in full: "baritone, Halvane, no. 4417, about 1925".
#[must_use]
pub fn instrument_in_full(rows: &OrderRows) -> String {
    let i = &rows.instrument;
    let mut words = i.family.0.words().to_owned();
    for part in [i.maker.as_deref(), i.model.as_deref()].into_iter().flatten() {
        words.push_str(", ");
        words.push_str(part);
    }
    if let Some(serial) = &i.serial_number {
        words.push_str(&format!(", no. {serial}"));
    }
    if let Some(age) = &i.age_text {
        words.push_str(&format!(", {age}"));
    }
    words
}

/// Whether a step that answers this finding was done.
fn is_repaired(rows: &OrderRows, row: &FindingRow) -> bool {
    rows.operations.iter().any(|o| {
        o.state.0 == OperationState::Done && ids(&o.finding_ids).is_ok_and(|findings| findings.contains(&row.id))
    })
}

/// What the customer was to have repaired and what nothing was done about when the work ended;
/// nothing while it may still be.
#[must_use]
pub fn not_repaired(rows: &OrderRows) -> Vec<&FindingRow> {
    let has_ended = matches!(rows.order.stage.0, Stage::Pickup | Stage::Closed);
    shared(rows).filter(|f| has_ended && f.disposition.0 == Disposition::Repair && !is_repaired(rows, f)).collect()
}

/// What was left on purpose and is not to be watched, of what the customer may see.
#[must_use]
pub fn left_on_purpose(rows: &OrderRows) -> Vec<&FindingRow> {
    shared(rows).filter(|f| matches!(f.disposition.0, Disposition::AnotherVisit | Disposition::Declined)).collect()
}

/// What was left and is to be looked at next time, of what the customer may see. It stands in
/// this list only, so that nothing is told twice.
#[must_use]
pub fn to_look_at(rows: &OrderRows) -> Vec<&FindingRow> {
    shared(rows).filter(|f| f.disposition.0 == Disposition::LeaveAndWatch).collect()
}

fn finding(rows: &OrderRows, row: &FindingRow, anew: &[Uuid]) -> Finding {
    Finding {
        number: customers_number(rows, row),
        words: customer_words(row),
        became: match row.disposition.0 {
            Disposition::Undecided => Became::Undecided,
            Disposition::Repair if is_repaired(rows, row) => Became::Repaired,
            Disposition::Repair => Became::ToRepair,
            Disposition::LeaveAndWatch => Became::LeftAndWatched,
            Disposition::AnotherVisit => Became::AnotherVisit,
            Disposition::Declined => Became::Declined,
        },
        reason: row.disposition_reason.clone(),
        is_new: anew.contains(&row.id),
    }
}

/// The note of a finding is for the shop and never told.
fn noted(row: &FindingRow) -> Noted {
    Noted { what: customer_words(row), why: row.disposition_reason.clone() }
}

/// The findings that the customer may see.
fn shared(rows: &OrderRows) -> impl Iterator<Item = &FindingRow> {
    rows.findings.iter().filter(|finding| finding.shared && finding.struck_reason.is_none())
}

/// The number by which the customer knows a finding: its place among those they may see, from 1.
/// What was struck or is not shared leaves no gap that they would ask about.
#[must_use]
pub fn customers_number(rows: &OrderRows, finding: &FindingRow) -> u32 {
    u32::try_from(shared(rows).take_while(|other| other.id != finding.id).count()).map_or(0, |before| before + 1)
}

/// What a failed test found, as the customer may know it: `a leak (third slide)`. None when it
/// is pinned to a finding that is not shared.
#[must_use]
pub fn test_found(rows: &OrderRows, test: &TestRow) -> Option<String> {
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

/// The tests that passed since the order last came to be tested, oldest first.
pub fn tests_passed(rows: &OrderRows) -> impl Iterator<Item = &TestRow> {
    let arrived = rows.arrived_in_leak_test();
    rows.tests.iter().filter(move |test| test.says(Verdict::Passed) && arrived.is_some_and(|arrived| test.tested_at >= arrived))
}

fn tests(rows: &OrderRows) -> Tests {
    let repair_begun = rows.operations.iter().any(|o| o.kind.0 == OperationKind::Work && o.begun_at.is_some());
    let because = rows.stage_changes.last().map(|c| c.because.0);
    // Rule 4: what was begun and ended early says why it was not tested. An override is told with
    // its own reason.
    let not_tested = match because {
        Some(Because::Withdrawn) if repair_begun => Some("it was withdrawn before the work was finished".to_owned()),
        Some(Because::NotRepairable) if repair_begun => Some("it could not be repaired after all".to_owned()),
        Some(Because::Unanswered) if repair_begun => Some("we had no answer and stopped the work".to_owned()),
        _ => None,
    };
    Tests {
        passed: tests_passed(rows).map(|t| passed_words(t, rows.pressure_answers.get(&t.id))).collect(),
        fails: rows.tests.iter().rev().find(|t| t.says(Verdict::Failed)).and_then(|t| test_found(rows, t)),
        apart_from: passed_apart_from(rows),
        not_tested,
    }
}

/// What the tests passed apart from, of what the customer may see, each once.
#[must_use]
pub fn passed_apart_from(rows: &OrderRows) -> Vec<String> {
    let apart: Vec<Uuid> = tests_passed(rows).flat_map(|test| ids(&test.apart_from).unwrap_or_default()).collect();
    shared(rows).filter(|finding| apart.contains(&finding.id)).map(customer_words).collect()
}

/// A test that passed, as the customer reads it: `leak test of the whole instrument (4.8 ± 1.4 ml
/// of air a minute, within our limit of 5.9)`. The rate is told where the readings themselves pass.
fn passed_words(test: &TestRow, pressure: Option<&PressureAnswer>) -> String {
    let what = tested_words(test);
    match pressure_that_passes(pressure).and_then(PressureAnswer::words_within_limit) {
        Some(rate) => format!("{what} ({rate})"),
        None => what,
    }
}

/// What a test was of: `leak test of the whole instrument`, `play test`.
#[must_use]
pub fn tested_words(test: &TestRow) -> String {
    let kind = test.kind.0.to_string().replace('_', " ");
    if test.kind.0 == TestKind::PlayTest && test.is_of_whole_instrument() {
        kind
    } else {
        format!("{kind} of the {}", test.scope)
    }
}

/// The pressure readings where they themselves pass; a person's verdict against them is told
/// without their figures.
#[must_use]
pub fn pressure_that_passes(pressure: Option<&PressureAnswer>) -> Option<&PressureAnswer> {
    pressure.filter(|answer| answer.rate.verdict == Some(LeakVerdict::Pass))
}

fn quote_facts(rows: &OrderRows, row: &QuoteRow) -> Result<Quote, Halt> {
    let told = quote_told(rows, row)?;
    let money = |amount: Decimal| Money::new(amount, &rows.shop.currency);
    Ok(Quote {
        number: u32::try_from(row.number).unwrap_or(0),
        message: row.content()?.message,
        accepted_before: told.accepted_before.map(|before| AcceptedBefore {
            on: before.on,
            amount: money(before.amount),
            allowed: money(before.allowed),
        }),
        lines: told
            .lines
            .into_iter()
            .map(|(line, amount)| Line {
                text: line.text,
                amount: money(amount),
                is_new: line.is_new,
                optional: line.optional,
                irreversible: line.irreversible,
            })
            .collect(),
        discount: (told.discount > Decimal::ZERO).then(|| money(told.discount)),
        tax: (told.tax > Decimal::ZERO).then(|| money(told.tax)),
        total: money(told.total),
        total_with_optional: told.total_with_optional.map(money),
        limit: money(row.limit_amount),
        further: row.content()?.range.map(|range| range.words(|amount| money(amount).said())),
        expires_on: (row.state.0 == QuoteState::Sent).then_some(row.expires_on),
        ready_if_answered_today: None,
        has_photo: rows.photos.iter().filter(|photo| photo.shared && photo.counts()).any(|photo| {
            // As the page of the answer shows them.
            photo.finding_id.is_none_or(|id| shared(rows).any(|finding| finding.id == id && finding.disposition.0 != Disposition::Undecided))
        }),
    })
}

fn decision_facts(rows: &OrderRows) -> Result<Option<Decision>, Halt> {
    let Some(row) = rows.decisions.last() else { return Ok(None) };
    let quote = rows.quotes.iter().find(|q| q.id == row.quote_id);
    let chosen = ids(&row.chosen_lines)?;
    let by_name = ids(&row.accepted_by_name)?;
    let ticked = match quote {
        None => Vec::new(),
        Some(quote) => quote
            .content()?
            .lines
            .into_iter()
            .filter(|l| chosen.contains(&l.id) || (l.irreversible && l.operation_id.is_some_and(|o| by_name.contains(&o.0))))
            .map(|l| l.text)
            .collect(),
    };
    Ok(Some(Decision {
        how: match row.how.0 {
            AnswerHow::Link => AnsweredBy::Link,
            AnswerHow::Phone => AnsweredBy::Phone,
            AnswerHow::InPerson => AnsweredBy::InPerson,
            AnswerHow::Beforehand => AnsweredBy::Beforehand,
        },
        name: row.typed_name.clone(),
        at: row.decided_at,
        allowed: quote
            .filter(|_| row.answer.0 == Answer::Accepted)
            .map(|quote| Ok::<_, Halt>(Money::new(allowed_by(quote, row)?, &rows.shop.currency)))
            .transpose()?,
        ticked,
        question: row.question.clone(),
    }))
}
