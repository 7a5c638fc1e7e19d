//! The answer page's facts, from an order's rows: which version the link leads to, what it
//! asks, and what was answered.

use super::link::Opened;
use super::order_facts::{money, order};
use super::photos::shared_photos;
use super::status_facts::is_mistake;
use crate::pages::facts::{
    AcceptedBefore, AnswerNotice, AnswerPage, Answered, AnsweredBy, AnsweredPage, Decision, Found,
    IfDeclined, Line, MistakeForm, NotAnswerable, NotAnswerablePage, Proposal, Quote, Typed,
};
use acts::decide::may_be_a_mistake;
use acts::drawn_map::customers_map;
use acts::{asked_anew, customers_number, finding_words, quote_told, rest_goes_on};
use rust_decimal::Decimal;
use store::Error;
use store::decisions::DecisionRow;
use store::findings::FindingRow;
use store::order_facts::{allowed_by, ids};
use store::order_rows::OrderRows;
use store::quotes::QuoteRow;
use trade::words::instrument::{Disposition, Leaks};
use trade::words::paperwork::{Answer, AnswerHow, QuoteState};
use trade::words::stage::Stage;

/// Where a link of an order leads now.
#[derive(Debug, Clone)]
pub(super) enum Standing {
    /// This version may be answered.
    Open(QuoteRow),
    /// This version was answered.
    Answered(QuoteRow, Box<DecisionRow>),
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
    let mut row =
        rows.quotes.iter().find(|quote| Some(quote.id) == opened.link.quote_id).ok_or_else(
            || Error::Unreadable(format!("link {} names no quote of its order", opened.link.id)),
        )?;
    while row.state.0 == QuoteState::Superseded {
        match rows.quotes.iter().find(|later| later.number > row.number && later.sent_at.is_some())
        {
            Some(later) => row = later,
            None => break,
        }
    }
    if matches!(row.state.0, QuoteState::Answered | QuoteState::Sent)
        && let Some(decision) = rows.decision_of(row.id)
    {
        return Ok(Standing::Answered(row.clone(), Box::new(decision.clone())));
    }
    let has_ended = rows.order.ending_because.is_some()
        || matches!(rows.order.stage.0, Stage::Pickup | Stage::Closed);
    let because = match row.state.0 {
        _ if has_ended => NotAnswerable::Ended,
        QuoteState::Expired => NotAnswerable::Expired(row.expires_on),
        QuoteState::Struck
        | QuoteState::Draft
        | QuoteState::Sent
        | QuoteState::Answered
        | QuoteState::Superseded => NotAnswerable::TakenBack,
    };
    Ok(Standing::Not(row.clone(), because))
}

/// The page of a version that may be answered; `seen` is the version the reader had before them,
/// when that was another.
///
/// # Errors
/// [`Error::Unreadable`].
pub(super) fn answer_page(
    opened: &Opened,
    current: &QuoteRow,
    seen: Option<&QuoteRow>,
) -> Result<AnswerPage, Error> {
    let rows = &opened.rows;
    let superseded =
        seen.filter(|seen| seen.id != current.id && seen.state.0 == QuoteState::Superseded);
    Ok(AnswerPage {
        order: order(opened)?,
        owner_name: rows.owner.name.clone(),
        action: opened.page("answer"),
        quote: Quote { ready_if_answered_today: opened.ready_if_answered, ..quote(rows, current, &opened.page("answer"))? },
        if_declined: if_declined(rows)?,
        typed: Typed::default(),
        errors: Vec::new(),
        superseded: superseded.map(|seen| quote(rows, seen, &opened.page("answer"))).transpose()?,
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
    (last.answer.0 == Answer::Questions && rows.order.question.is_some())
        .then(|| AnswerNotice::QuestionWithUs { at: last.decided_at, question: last.question.clone() })
}

/// The page of a version that was answered.
///
/// # Errors
/// [`Error::Unreadable`].
pub(super) fn answered_page(
    opened: &Opened,
    row: &QuoteRow,
    answer: &DecisionRow,
    just_now: bool,
) -> Result<AnsweredPage, Error> {
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
pub(super) fn not_answerable_page(
    opened: &Opened,
    row: &QuoteRow,
    because: NotAnswerable,
) -> Result<NotAnswerablePage, Error> {
    Ok(NotAnswerablePage {
        order: order(opened)?,
        because,
        quote: Some(quote(&opened.rows, row, &opened.page("answer"))?),
        status_url: None,
    })
}

/// An answer as recorded.
///
/// # Errors
/// [`Error::Unreadable`].
pub(super) fn decision(
    rows: &OrderRows,
    row: &QuoteRow,
    decision: &DecisionRow,
) -> Result<Decision, Error> {
    let chosen = ids(&decision.chosen_lines)?;
    let by_name = ids(&decision.accepted_by_name)?;
    let ticked = row.content()?.lines.into_iter().filter(|line| {
        chosen.contains(&line.id)
            || (line.irreversible
                && line.is_new
                && line.operation_id.is_some_and(|operation| by_name.contains(&operation.0)))
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
        allowed: (decision.answer.0 == Answer::Accepted)
            .then(|| allowed_by(row, decision))
            .transpose()?
            .map(|allowed| money(rows, allowed)),
        ticked: ticked.map(|line| line.text).collect(),
        question: decision.question.clone(),
    })
}

/// What declining means: the work accepted before goes on, or it is collected as it is.
fn if_declined(rows: &OrderRows) -> Result<IfDeclined, Error> {
    let fee = rows.order.examination_fee.filter(|fee| *fee > Decimal::ZERO);
    Ok(match rest_goes_on(rows)? {
        Some(rest) => IfDeclined::RestGoesOn { amount: money(rows, rest) },
        None => IfDeclined::Collect { fee: fee.map(|fee| money(rows, fee)) },
    })
}

/// A version as its reader sees it, with the photos below the address of its page.
///
/// # Errors
/// [`Error::Unreadable`] when the stored version does not add up.
pub(super) fn quote(rows: &OrderRows, row: &QuoteRow, page: &str) -> Result<Quote, Error> {
    let told = quote_told(rows, row)?;
    let sent_at =
        row.sent_at.ok_or_else(|| Error::Unreadable(format!("quote {} was never sent", row.id)))?;
    let anew = asked_anew(rows, row)?;
    let is_asked = |finding: &FindingRow| {
        finding.found_at <= sent_at && finding.disposition.0 != Disposition::Undecided
    };
    let is_new = |finding: &FindingRow| anew.contains(&finding.id);
    Ok(Quote {
        number: u32::try_from(row.number).unwrap_or(0),
        content_hash: row.content_hash.clone().unwrap_or_default(),
        sent_on: rows.shop.date_at(sent_at)?,
        message: row.content()?.message,
        findings: rows
            .findings
            .iter()
            .filter(|finding| {
                finding.shared && finding.struck_reason.is_none() && finding.found_at <= sent_at
            })
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
                    number: customers_number(rows, finding),
                    words: finding_words(finding),
                    leaks: match finding.leaks.0 {
                        Leaks::Yes => Some(true),
                        Leaks::No => Some(false),
                        Leaks::NotTested => None,
                    },
                    proposal,
                    reason: finding.disposition_reason.clone(),
                    is_new: is_new(finding),
                    photos: shared_photos(rows, page, |photo| photo.finding_id == Some(finding.id)),
                })
            })
            .collect(),
        // A request for extra work is about what is new, and so is its drawing.
        map: customers_map(rows, |finding| {
            is_asked(finding) && (is_new(finding) || told.accepted_before.is_none())
        }),
        photos: shared_photos(rows, page, |photo| photo.finding_id.is_none()),
        accepted_before: told
            .accepted_before
            .map(|before| AcceptedBefore {
                on: before.on,
                amount: money(rows, before.amount),
                allowed: money(rows, before.allowed),
                lines: before.lines,
            }),
        lines: told
            .lines
            .into_iter()
            .map(|(line, amount)| Line {
                id: line.id.to_string(),
                text: line.text,
                amount: money(rows, amount),
                is_new: line.is_new,
                optional: line.optional,
                irreversible: line.irreversible,
                irreversible_why: None,
            })
            .collect(),
        discount: (told.discount > Decimal::ZERO).then(|| money(rows, told.discount)),
        tax: (told.tax > Decimal::ZERO).then(|| money(rows, told.tax)),
        total: money(rows, told.total),
        total_with_optional: told.total_with_optional.map(|sum| money(rows, sum)),
        limit: money(rows, row.limit_amount),
        further: row.content()?.range.map(|range| range.words(|amount| money(rows, amount).said())),
        expires_on: Some(row.expires_on),
        // Told of the version that is out alone, from the forecast; a date without one would be a
        // promise.
        ready_if_answered_today: None,
        planned_for: Some(rows.order.promised_on),
    })
}

#[cfg(test)]
mod tests {
    /// Where the page under test is.
    const PAGE: &str = "/answer/Vq8cT3mLx2HsY7dK";

    use super::super::sample::*;
    use super::*;
    use crate::pages;
    use store::Word;
    use trade::words::instrument::OperationState;
    use trade::words::quote::{ContentDiscount, ContentLine};
    use trade::words::stage::Because;
    use uuid::Uuid;

    fn asked() -> (OrderRows, Uuid) {
        let mut rows = checked_in();
        moved(&mut rows, at(2, 8), Stage::Diagnosis, Because::ExaminationBegins);
        let finding = crack(&mut rows, at(2, 9), "bottom bow", Disposition::Repair, true);
        let step = step(&mut rows, "Braze the crack", finding, OperationState::Planned);
        let first =
            sent(&mut rows, at(3, 8), vec![line(1, "Braze the crack", "50", Some(step))], None);
        moved(&mut rows, at(3, 8), Stage::Approval, Because::QuoteSent);
        (rows, first)
    }

    fn accepted() -> (OrderRows, Uuid) {
        let (mut rows, first) = asked();
        decided(&mut rows, at(4, 8), Answer::Accepted);
        moved(&mut rows, at(4, 8), Stage::Bench, Because::Accepted);
        (rows, first)
    }

    /// Where a link leads, by the number of the version and in a word.
    fn leads(rows: &OrderRows, day: u32, quote: Uuid) -> (i32, &'static str) {
        match standing(&opened(rows.clone(), day, 11, Some(quote))).unwrap() {
            Standing::Open(row) => (row.number, "open"),
            Standing::Answered(row, _) => (row.number, "answered"),
            Standing::Not(row, NotAnswerable::Expired(_)) => (row.number, "expired"),
            Standing::Not(row, NotAnswerable::TakenBack) => (row.number, "taken back"),
            Standing::Not(row, NotAnswerable::Ended) => (row.number, "ended"),
            Standing::Not(row, NotAnswerable::AlreadyDecided(_)) => (row.number, "decided"),
        }
    }

    #[test]
    fn an_old_link_leads_to_the_version_that_is_out() {
        let (mut rows, first) = asked();
        assert_eq!(leads(&rows, 20, first), (1, "open"));
        assert_eq!(leads(&rows, 21, first), (1, "expired"));
        let second = sent(&mut rows, at(5, 8), vec![line(1, "Braze", "40", None)], None);
        assert_eq!(leads(&rows, 6, first), (2, "open"));
        let opened = opened(rows.clone(), 6, 11, Some(first));
        let page = answer_page(&opened, &rows.quotes[1], rows.quotes.first()).unwrap();
        assert_eq!((page.quote.number, page.superseded.map(|old| old.number)), (2, Some(1)));
        decided(&mut rows, at(6, 8), Answer::Declined);
        moved(&mut rows, at(6, 8), Stage::Pickup, Because::Declined);
        assert_eq!(
            (leads(&rows, 7, first), leads(&rows, 7, second)),
            ((2, "answered"), (2, "answered"))
        );
    }

    #[test]
    fn what_was_taken_back_or_ended_is_told_so() {
        let (mut rows, first) = asked();
        rows.quotes[0].state = Word(QuoteState::Struck);
        moved(&mut rows, at(5, 8), Stage::Diagnosis, Because::Recalled);
        assert_eq!(leads(&rows, 6, first), (1, "taken back"));
        rows.order.ending_because = Some(Word(Because::Withdrawn));
        assert_eq!(leads(&rows, 6, first), (1, "ended"));
        let (mut rows, first) = asked();
        rows.quotes[0].state = Word(QuoteState::Expired);
        moved(&mut rows, at(21, 8), Stage::Diagnosis, Because::Expired);
        assert_eq!(leads(&rows, 22, first), (1, "expired"));
    }

    #[test]
    fn a_question_is_an_answer_until_the_shop_asks_again() {
        let (mut rows, first) = asked();
        decided(&mut rows, at(4, 8), Answer::Questions);
        moved(&mut rows, at(4, 8), Stage::Diagnosis, Because::Questions);
        assert_eq!(leads(&rows, 5, first), (1, "answered"));
        sent(&mut rows, at(6, 8), vec![line(1, "Braze", "40", None)], None);
        moved(&mut rows, at(6, 8), Stage::Approval, Because::QuoteSent);
        assert_eq!(leads(&rows, 6, first), (2, "open"));
    }

    #[test]
    fn a_question_about_extra_work_is_noted_above_the_open_quote() {
        let (mut rows, first) = accepted();
        sent(
            &mut rows,
            at(5, 8),
            vec![line(1, "Braze", "50", None), line(2, "More", "10", None)],
            None,
        );
        moved(&mut rows, at(5, 8), Stage::Approval, Because::ExtraWork);
        decided(&mut rows, at(6, 8), Answer::Questions);
        assert_eq!(leads(&rows, 6, first), (2, "open"));
        let page =
            answer_page(&opened(rows.clone(), 6, 11, Some(first)), &rows.quotes[1], None).unwrap();
        assert_eq!(page.notice, Some(AnswerNotice::QuestionWithUs { at: at(6, 8), question: rows.decisions[1].question.clone() }));
        assert_eq!(page.superseded, None);
    }

    #[test]
    fn a_mistake_may_be_told_until_a_step_is_begun() {
        let (mut rows, first) = accepted();
        let form = |rows: &OrderRows| {
            let opened = opened(rows.clone(), 5, 11, Some(first));
            answered_page(&opened, &rows.quotes[0], &rows.decisions[0], false).unwrap().mistake
        };
        assert_eq!(form(&rows).unwrap().decision_id, rows.decisions[0].id.to_string());
        rows.operations[0].begun_at = Some(at(5, 8));
        assert_eq!(form(&rows), None);
        rows.operations[0].begun_at = None;
        moved(&mut rows, at(6, 8), Stage::LeakTest, Because::BenchDone);
        assert_eq!(form(&rows), None);
    }

    #[test]
    fn after_a_mistake_the_quote_is_open_again_and_says_why() {
        let (mut rows, first) = accepted();
        let decision = rows.decisions[0].id;
        disputed(&mut rows, at(5, 8), decision);
        assert_eq!(leads(&rows, 5, first), (1, "open"));
        let page =
            answer_page(&opened(rows.clone(), 5, 11, Some(first)), &rows.quotes[0], None).unwrap();
        assert_eq!(page.notice, Some(AnswerNotice::MistakeTakenBack));
    }

    /// The rows of a bill added up, as a careful owner does.
    fn added_up(quote: &Quote) -> Decimal {
        let of = |money: &Option<pages::facts::Money>| {
            money.as_ref().map_or(Decimal::ZERO, |m| m.amount)
        };
        let before =
            quote.accepted_before.as_ref().map_or(Decimal::ZERO, |before| before.amount.amount);
        let lines: Decimal =
            quote.lines.iter().filter(|line| !line.optional).map(|line| line.amount.amount).sum();
        before + lines - of(&quote.discount) + of(&quote.tax)
    }

    #[test]
    fn the_rows_of_extra_work_add_up_with_and_without_tax_and_discount() {
        let discounts = [
            None,
            Some(ContentDiscount::Percent(Decimal::TEN)),
            Some(ContentDiscount::Amount(Decimal::from(15))),
        ];
        for include in [false, true] {
            for first_discount in &discounts {
                for discount in &discounts {
                    let mut rows = checked_in();
                    rows.shop.prices_include_tax = include;
                    sent(
                        &mut rows,
                        at(3, 8),
                        vec![line(1, "Braze", "50", None)],
                        first_discount.clone(),
                    );
                    moved(&mut rows, at(3, 8), Stage::Approval, Because::QuoteSent);
                    decided(&mut rows, at(4, 8), Answer::Accepted);
                    let new = ContentLine { is_new: true, ..line(2, "More", "33.33", None) };
                    let ticked = ContentLine {
                        is_new: true,
                        optional: true,
                        ..line(3, "Buff", "9.50", None)
                    };
                    sent(
                        &mut rows,
                        at(5, 8),
                        vec![line(1, "Braze", "50", None), new, ticked],
                        discount.clone(),
                    );
                    for row in &rows.quotes {
                        let told = quote(&rows, row, PAGE).unwrap();
                        assert_eq!(
                            added_up(&told),
                            told.total.amount,
                            "{include} {first_discount:?} {discount:?} {told:?}"
                        );
                    }
                    let extra = quote(&rows, &rows.quotes[1], PAGE).unwrap();
                    assert_eq!(
                        extra.lines.iter().map(|line| line.text.as_str()).collect::<Vec<_>>(),
                        ["More", "Buff"]
                    );
                    assert!(extra.total_with_optional.unwrap().amount > extra.total.amount);
                }
            }
        }
    }

    #[test]
    fn a_quote_of_ticks_alone_costs_nothing_until_one_is_ticked() {
        let (mut rows, _) = asked();
        let only = ContentLine {
            optional: true,
            irreversible: true,
            ..line(1, "Strip the lacquer", "240", None)
        };
        sent(&mut rows, at(4, 8), vec![only], None);
        let told = quote(&rows, &rows.quotes[1], PAGE).unwrap();
        assert_eq!((told.total.amount, told.tax, told.discount), (Decimal::ZERO, None, None));
        assert_eq!(told.total_with_optional.unwrap().amount, Decimal::from(288));
    }

    #[test]
    fn only_what_was_found_and_shared_when_it_was_sent_is_part_of_a_quote() {
        let (mut rows, first) = asked();
        crack(&mut rows, at(2, 9), "hidden part", Disposition::Repair, false);
        crack(&mut rows, at(3, 7), "not thought through", Disposition::Undecided, true);
        crack(&mut rows, at(4, 9), "found later", Disposition::Repair, true);
        let page =
            answer_page(&opened(rows.clone(), 5, 11, Some(first)), &rows.quotes[0], None).unwrap();
        assert_eq!(page.quote.findings.iter().map(|found| found.number).collect::<Vec<_>>(), [1]);
        let html = pages::answer_page(&page).into_string();
        for never in ["staff:", "hidden part", "not thought through", "found later"] {
            assert!(!html.contains(never), "{never} is on the page");
        }
    }

    #[test]
    fn the_customer_counts_the_findings_they_see_and_the_drawing_counts_alike() {
        let mut rows = checked_in();
        moved(&mut rows, at(2, 8), Stage::Diagnosis, Because::ExaminationBegins);
        crack(&mut rows, at(2, 9), "bell", Disposition::Repair, true);
        rows.findings[0].struck_reason = Some("a shadow".into());
        crack(&mut rows, at(2, 9), "leadpipe", Disposition::Repair, false);
        crack(&mut rows, at(2, 9), "bottom bow", Disposition::Repair, true);
        crack(&mut rows, at(2, 9), "inner bow", Disposition::LeaveAndWatch, true);
        let first = sent(&mut rows, at(3, 8), vec![line(1, "Braze", "50", None)], None);
        moved(&mut rows, at(3, 8), Stage::Approval, Because::QuoteSent);
        let page = answer_page(&opened(rows.clone(), 3, 11, Some(first)), &rows.quotes[0], None).unwrap();
        assert_eq!(page.quote.findings.iter().map(|found| found.number).collect::<Vec<_>>(), [1, 2]);
        let places = page.quote.map.as_ref().unwrap().places.clone();
        assert_eq!(places.first(), Some(&(1, "crack, bottom bow, 14 mm".to_owned())));
        let html = pages::answer_page(&page).into_string();
        assert!(html.contains("data-finding=\"1\"") && !html.contains("data-finding=\"3\""), "{html}");
        assert!(html.contains("<b>2 · ") && !html.contains("<b>3 · ") && !html.contains("<b>4 · "), "{html}");
    }

    #[test]
    fn declining_means_the_fee_or_the_rest() {
        let (rows, _) = asked();
        let euro = |amount: i64| pages::facts::Money::new(Decimal::from(amount), "EUR");
        assert_eq!(if_declined(&rows).unwrap(), IfDeclined::Collect { fee: Some(euro(25)) });
        let (mut rows, _) = accepted();
        let IfDeclined::RestGoesOn { amount } = if_declined(&rows).unwrap() else {
            panic!("the rest goes on")
        };
        assert_eq!(amount.amount, Decimal::from(60));
        rows.operations[0].state = Word(OperationState::Struck);
        assert_eq!(if_declined(&rows).unwrap(), IfDeclined::RestGoesOn { amount: euro(0) });
    }
}
