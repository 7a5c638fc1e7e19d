//! The whole order as its screen needs it, made from its rows.

use crate::Error;
use crate::customers::CustomerRow;
use crate::desk_fields::OrderChangeRow;
use crate::findings::FindingRow;
use crate::fit_checks::FitCheckRow;
use crate::instruments::InstrumentRow;
use crate::letters::LetterLine;
use crate::operations::OperationRow;
use crate::order_facts::ids;
use crate::order_rows::OrderRows;
use crate::quotes::QuoteRow;
use crate::small_things::{HoldRow, PaymentRow, TestRow};
use crate::views::{
    CounterMark, Customer, CustomerRef, Decision, Ending, Finding, FitCheck, Hold, Instrument, Letter, Link, Minutes, NameRef, Note,
    OpenQuestion, Operation, OrderChange, OrderMoney, Payment, PersonRef, PossibleMove, Quote, RequiredTest, Running, StageChange,
    SuggestionView, Test, WorkOrder,
};
use crate::work_orders::StageChangeRow;
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use trade::rules::authority::may_start;
use trade::rules::dispositions::suggest;
use trade::rules::facts::{OrderFacts, Who};
use trade::rules::stages::{MOVES, may_ask, words_of};
use trade::rules::turns::waits_for;
use trade::words::claim_number::ClaimNumber;
use trade::words::ids::{CustomerId, DecisionId, FindingId, FitCheckId, HoldId, InstrumentId, LetterId, LinkId, OperationId, PersonId, QuoteId, TestId, WorkOrderId};
use trade::words::instrument::OperationState;
use trade::words::money::Money;
use trade::words::paperwork::{Answer, QuoteState};
use trade::words::stage::{Because, Stage, WaitsFor};
use uuid::Uuid;

/// A claim number in full, from the count.
///
/// # Errors
/// [`Error::Unreadable`] for a count that no claim number has.
pub fn claim_number(count: i64) -> Result<String, Error> {
    u32::try_from(count)
        .ok()
        .and_then(|count| ClaimNumber::make(count).ok())
        .map(|number| number.to_string())
        .ok_or_else(|| Error::Unreadable(format!("claim count {count}")))
}

/// An amount of this shop.
///
/// # Errors
/// [`Error::Unreadable`] when it is finer than the currency's minor unit.
pub fn money(amount: Decimal, currency: trade::words::money::Currency) -> Result<Money, Error> {
    Money::new(amount, currency).map_err(|fault| Error::Unreadable(format!("{amount} {currency}: {fault:?}")))
}

/// An instrument in a few words: family, maker, number.
#[must_use]
pub fn instrument_words(family: &str, maker: Option<&str>, serial_number: Option<&str>) -> String {
    let mut words = family.replace('_', " ");
    if let Some(maker) = maker.filter(|m| !m.is_empty()) {
        words.push_str(", ");
        words.push_str(maker);
    }
    if let Some(serial) = serial_number.filter(|s| !s.is_empty()) {
        words.push(' ');
        words.push_str(serial);
    }
    words
}

impl CustomerRow {
    /// As an order shows it.
    #[must_use]
    pub fn short(&self) -> CustomerRef {
        CustomerRef {
            id: CustomerId(self.id),
            kind: self.kind.0,
            name: self.name.clone(),
            email: self.email.clone(),
            phone: self.phone.clone(),
            language: self.language.clone(),
            mail_wanted: self.mail_wanted.0,
        }
    }

    /// As a list shows it.
    #[must_use]
    pub fn view(&self, visits_count: i64, matched: Option<String>) -> Customer {
        Customer {
            id: CustomerId(self.id),
            version: self.version,
            kind: self.kind.0,
            name: self.name.clone(),
            email: self.email.clone(),
            phone: self.phone.clone(),
            language: self.language.clone(),
            mail_wanted: self.mail_wanted.0,
            note: self.note.clone(),
            visits_count,
            matched,
        }
    }
}

impl InstrumentRow {
    /// As a list shows it.
    #[must_use]
    pub fn view(&self, owner_name: &str, last_here_on: Option<NaiveDate>) -> Instrument {
        Instrument {
            id: InstrumentId(self.id),
            version: self.version,
            owner: NameRef { id: CustomerId(self.owner_id), name: owner_name.to_owned() },
            family: self.family.0,
            maker: self.maker.clone(),
            model: self.model.clone(),
            serial_number: self.serial_number.clone(),
            age_text: self.age_text.clone(),
            finish: self.finish.clone(),
            owners_number: self.owners_number.clone(),
            last_here_on,
        }
    }
}

impl LetterLine {
    /// As a list shows it, without its words.
    #[must_use]
    pub fn view(&self) -> Letter {
        Letter {
            id: LetterId(self.id),
            kind: self.kind.clone(),
            subject: self.subject.clone(),
            to_name: self.to_name.clone(),
            to_email: self.to_email.clone(),
            state: self.state.0,
            state_reason: self.state_reason.clone(),
            queued_at: self.queued_at,
            sent_at: self.sent_at,
            attempts: self.attempts,
            next_try_at: self.next_try_at,
            last_trouble: self.last_trouble.clone(),
        }
    }
}

impl HoldRow {
    /// As an order shows it.
    #[must_use]
    pub fn view(&self, order_version: i32) -> Hold {
        Hold {
            id: HoldId(self.id),
            reason: self.reason.0,
            waits_for: self.reason.0.waits_for(),
            look_again_on: self.look_again_on,
            supplier: self.supplier.clone(),
            order_number: self.order_number.clone(),
            expected_on: self.expected_on,
            note: self.note.clone(),
            set_at: self.set_at,
            lifted_at: self.lifted_at,
            order_version,
        }
    }
}

impl OrderRows {
    /// Somebody by id; the schema promises that everyone named is there.
    #[must_use]
    pub fn person(&self, id: Uuid) -> PersonRef {
        self.people.get(&id).cloned().unwrap_or_else(|| PersonRef { id: PersonId(id), name: String::new(), initials: String::new() })
    }

    /// One finding as its screen shows it.
    #[must_use]
    pub fn finding(&self, row: &FindingRow) -> Finding {
        let suggestion = suggest(row.kind.0, row.leaks.0, row.likely_to_spread);
        Finding {
            id: FindingId(row.id),
            number: row.number,
            version: row.version,
            order_version: self.order.version,
            kind: row.kind.0,
            part: row.part.clone(),
            pinned_to: self.part_map.pinned_to(&row.part),
            side: row.side.clone(),
            position_mm: row.position_mm,
            size_mm: row.size_mm,
            leaks: row.leaks.0,
            likely_to_spread: row.likely_to_spread,
            found_when: row.found_when.0,
            disposition: row.disposition.0,
            disposition_reason: row.disposition_reason.clone(),
            note: row.note.clone(),
            shared: row.shared,
            struck_reason: row.struck_reason.clone(),
            found_by: self.person(row.found_by),
            found_at: row.found_at,
            suggestion: SuggestionView { disposition: suggestion.disposition, reason: suggestion.reason.to_owned() },
            overruled: row.overruled.as_ref().map(|word| word.0),
        }
    }

    /// One operation as its screen shows it.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn operation(&self, row: &OperationRow, facts: &OrderFacts, now: DateTime<Utc>) -> Result<Operation, Error> {
        let place = self.operations.iter().position(|o| o.id == row.id);
        let own = place.and_then(|place| facts.operations.get(place));
        let refusal = own.and_then(|own| may_start(facts, own).err());
        let times: Vec<_> = self.times.iter().filter(|t| t.operation_id == row.id).collect();
        let seconds: i64 = times.iter().map(|t| (t.stopped_at.unwrap_or(now) - t.started_at).num_seconds().max(0)).sum();
        Ok(Operation {
            id: OperationId(row.id),
            number: row.number,
            version: row.version,
            order_version: self.order.version,
            title: row.title.clone(),
            kind: row.kind.0,
            method_id: row.method_id,
            heat: row.heat.0,
            irreversible: row.irreversible,
            finding_ids: ids(&row.finding_ids)?.into_iter().map(FindingId).collect(),
            after: ids(&row.after_ids)?.into_iter().map(OperationId).collect(),
            joint: row.joint.clone(),
            needs_apart: serde_json::from_value(row.needs_apart.clone()).map_err(|e| Error::Unreadable(format!("what must be apart: {e}")))?,
            chosen_ways: row.chosen_ways()?,
            quoted_otherwise: self.is_quoted_otherwise(row)?,
            left_out: own.is_some_and(|own| own.is_left_out),
            minutes: Minutes { low: row.low_minutes, typical: row.typical_minutes, high: row.high_minutes },
            price: money(row.price, self.shop.currency()?)?,
            tax_class: row.tax_class.clone(),
            state: row.state.0,
            may_start: refusal.is_none() && row.state.0 != OperationState::Running,
            why_not: refusal.filter(|_| !matches!(row.state.0, OperationState::Done | OperationState::Struck)).map(|r| r.words),
            accepted: own.is_some_and(|own| own.is_accepted),
            actual_minutes: seconds / 60,
            running: times
                .iter()
                .find(|t| t.stopped_at.is_none())
                .map(|t| Running { by: self.person(t.person_id), since: t.started_at }),
            claimed_by: row.claimed_by.map(|id| self.person(id)),
            rework_count: row.rework_count,
            waits_for_answer: row.waits_for_answer,
            to_check: times.iter().any(|t| t.to_check),
            struck_reason: row.struck_reason.clone(),
        })
    }

    /// Whether another method was chosen for a step since it last went out on a quote.
    fn is_quoted_otherwise(&self, row: &OperationRow) -> Result<bool, Error> {
        let Some(changed_at) = row.method_changed_at else { return Ok(false) };
        Ok(self.last_quoted_at(row)?.is_some_and(|sent_at| sent_at <= changed_at))
    }

    /// Whether an owner was ever told of a step on a quote.
    ///
    /// # Errors
    /// [`Error::Unreadable`] when a stored quote cannot be read.
    pub fn is_on_a_sent_quote(&self, row: &OperationRow) -> Result<bool, Error> {
        Ok(self.last_quoted_at(row)?.is_some())
    }

    fn last_quoted_at(&self, row: &OperationRow) -> Result<Option<DateTime<Utc>>, Error> {
        let mut last = None;
        for quote in self.quotes.iter().filter(|quote| quote.sent_at.is_some()) {
            if quote.content()?.lines.iter().any(|line| line.operation_id.is_some_and(|id| id.0 == row.id)) {
                last = last.max(quote.sent_at);
            }
        }
        Ok(last)
    }

    /// One decision as its screen shows it.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn decision(&self, row: &crate::decisions::DecisionRow) -> Result<Decision, Error> {
        Ok(Decision {
            id: DecisionId(row.id),
            order_version: self.order.version,
            quote_number: self.quotes.iter().find(|q| q.id == row.quote_id).map_or(0, |q| q.number),
            answer: row.answer.0,
            how: row.how.0,
            typed_name: row.typed_name.clone(),
            recorded_by: row.recorded_by.map(|id| self.person(id)),
            decided_at: row.decided_at,
            chosen_lines: ids(&row.chosen_lines)?,
            accepted_by_name: ids(&row.accepted_by_name)?.into_iter().map(OperationId).collect(),
            question: row.question.clone(),
            disputed_at: self.disputes.iter().find(|d| d.decision_id == row.id).map(|d| d.disputed_at),
        })
    }

    /// The decision that answered a version: the last yes or no, else the last question.
    #[must_use]
    pub fn decision_of(&self, quote: Uuid) -> Option<&crate::decisions::DecisionRow> {
        let of_quote = || self.decisions.iter().rev().filter(move |d| d.quote_id == quote);
        of_quote().find(|d| d.answer.0 != Answer::Questions).or_else(|| of_quote().next())
    }

    /// One quote version as its screen shows it.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn quote(&self, row: &QuoteRow) -> Result<Quote, Error> {
        let content = row.content()?;
        let unreadable = |refused| Error::Unreadable(format!("quote {}: {refused:?}", row.id));
        let totals = if content.lines.iter().any(|l| !l.optional) {
            content.totals(|l| !l.optional).ok()
        } else {
            None
        };
        let with_optional = content.total_of(|_| true).map_err(unreadable)?;
        Ok(Quote {
            id: QuoteId(row.id),
            version: row.version,
            order_version: self.order.version,
            number: row.number,
            state: row.state.0,
            is_extra: row.is_extra,
            message: content.message.clone(),
            totals,
            total_with_optional: money(with_optional, content.currency)?,
            limit: money(row.limit_amount, content.currency)?,
            suggested_limit: content
                .range
                .as_ref()
                .filter(|range| row.state.0 == QuoteState::Draft && range.cost_p85 > Decimal::ZERO)
                .map(|range| money(with_optional + range.cost_p85, content.currency))
                .transpose()?,
            expires_on: row.expires_on,
            range: content.range,
            lines: content.lines,
            discount: content.discount,
            content_hash: row.content_hash.clone(),
            sent_at: row.sent_at,
            sent_by: row.sent_by.map(|id| self.person(id)),
            seen_at: row.seen_at,
            struck_reason: row.struck_reason.clone(),
            decision: self.decision_of(row.id).map(|d| self.decision(d)).transpose()?,
        })
    }

    /// One test as its screen shows it.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn test(&self, row: &TestRow) -> Result<Test, Error> {
        Ok(Test {
            id: TestId(row.id),
            order_version: self.order.version,
            kind: row.kind.0,
            method: row.method.as_ref().map(|m| m.0),
            scope: row.scope.clone(),
            of_whole_instrument: row.is_of_whole_instrument(),
            verdict: row.verdict.as_ref().map(|v| v.0),
            overruled_because: row.overruled_because.clone(),
            where_words: row.where_words.clone(),
            spots: serde_json::from_value(row.spots.clone()).map_err(|e| Error::Unreadable(format!("test {}: {e}", row.id)))?,
            finding_id: row.finding_id.map(FindingId),
            apart_from: ids(&row.apart_from)?.into_iter().map(FindingId).collect(),
            note: row.note.clone(),
            cautions: row.method.as_ref().map(|m| m.0.cautions()).unwrap_or_default().iter().map(|c| (*c).to_owned()).collect(),
            pressure: self.pressure_answers.get(&row.id).cloned(),
            by: self.person(row.tested_by),
            at: row.tested_at,
        })
    }

    /// What must pass before pickup, and what of it has.
    #[must_use]
    pub fn still_required(&self) -> Vec<RequiredTest> {
        self.required_tests().into_iter().map(|kind| RequiredTest { kind, passed: self.has_passed(kind) }).collect()
    }

    /// One fit check as its screen shows it.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn fit_check(&self, row: &FitCheckRow) -> Result<FitCheck, Error> {
        Ok(FitCheck {
            id: FitCheckId(row.id),
            order_version: self.order.version,
            fit_kind: row.fit_kind.0,
            part: row.part.clone(),
            measured: serde_json::from_value(row.measured.clone())
                .map_err(|e| Error::Unreadable(format!("fit check {}: {e}", row.id)))?,
            answer: row.answer()?,
            finding_id: row.finding_id.map(FindingId),
            note: row.note.clone(),
            by: self.person(row.checked_by),
            at: row.checked_at,
        })
    }

    /// One move as the history shows it.
    #[must_use]
    pub fn stage_change(&self, row: &StageChangeRow) -> StageChange {
        let from = row.from_stage.as_ref().map(|s| s.0);
        StageChange {
            id: row.id,
            order_version: self.order.version,
            from,
            to: row.to_stage.0,
            because: row.because.0,
            words: words_of(from, row.to_stage.0, row.because.0).to_owned(),
            reason: row.reason.clone(),
            at: row.changed_at,
            by: row.by_words.clone(),
        }
    }

    /// One payment as its screen shows it.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn payment(&self, row: &PaymentRow) -> Result<Payment, Error> {
        let struck = self.struck_payments.iter().find(|struck| struck.payment_id == row.id);
        Ok(Payment {
            id: row.id,
            order_version: self.order.version,
            amount: money(row.amount, self.shop.currency()?)?,
            kind: row.kind.0,
            how: row.how.0,
            note: row.note.clone(),
            at: row.taken_at,
            by: self.person(row.taken_by),
            struck_reason: struck.map(|struck| struck.reason.clone()),
            struck_by: struck.map(|struck| self.person(struck.struck_by)),
            struck_at: struck.map(|struck| struck.struck_at),
        })
    }

    /// What was put right at one time as the history shows it.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn order_change(&self, row: &OrderChangeRow) -> Result<OrderChange, Error> {
        Ok(OrderChange {
            id: row.id,
            changes: serde_json::from_value(row.changes.clone()).map_err(|e| Error::Unreadable(format!("change {}: {e}", row.id)))?,
            reason: row.reason.clone(),
            at: row.changed_at,
            by: row.by_words.clone(),
        })
    }

    /// The instrument in a few words.
    #[must_use]
    pub fn instrument_words(&self) -> String {
        let i = &self.instrument;
        instrument_words(&i.family.0.to_string(), i.maker.as_deref(), i.serial_number.as_deref())
    }

    /// Why it waits, in words.
    #[must_use]
    pub fn waiting_words(&self, facts: &OrderFacts) -> String {
        waiting_words(facts, self.order.question.is_some(), self.order.claimed_by.map(|id| self.person(id).name).as_deref())
    }

    /// The moves from here, and what is in the way of each when `who` asks.
    fn moves(&self, facts: &OrderFacts, who: &Who) -> Vec<PossibleMove> {
        MOVES
            .iter()
            .filter(|row| row.from.contains(&self.order.stage.0))
            .filter(|row| !matches!(row.because, Because::Expired))
            .map(|row| {
                let refusal = may_ask(facts, row, who).err();
                PossibleMove {
                    to: row.to,
                    because: row.because,
                    words: row.words.to_owned(),
                    may: refusal.is_none(),
                    why_not: refusal.map(|r| r.words),
                    act: row.act,
                    needs_reason: row.needs_reason,
                }
            })
            .collect()
    }

    /// Everything, as `who` sees it at `now`.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn view(&self, who: &Who, now: DateTime<Utc>) -> Result<WorkOrder, Error> {
        let today = self.shop.date_at(now)?;
        let facts = self.facts(today)?;
        let currency = self.shop.currency()?;
        let order = &self.order;
        let charged = self.charged()?;
        let is_open = order.stage.0 != Stage::Closed;
        let last_here_on = self.last_here.map(|at| self.shop.date_at(at)).transpose()?;
        Ok(WorkOrder {
            id: WorkOrderId(order.id),
            claim_number: claim_number(order.claim_count)?,
            version: order.version,
            stage: order.stage.0,
            stage_since: order.stage_since,
            waits_for: is_open.then(|| waits_for(&facts)),
            waiting_words: if is_open { self.waiting_words(&facts) } else { String::new() },
            promised_on: order.promised_on,
            promise_reason: order.promise_reason.clone(),
            complaint: order.complaint.clone(),
            condition_note: order.condition_note.clone(),
            keep_as_is: order.keep_as_is.clone(),
            accessories: self.accessories()?,
            counter_marks: self
                .counter_marks
                .iter()
                .map(|m| CounterMark { id: m.id, part: m.part.clone(), kind: m.kind.0, side: m.side.clone(), position_mm: m.position_mm })
                .collect(),
            may_cost: order.may_cost.map(|a| money(a, currency)).transpose()?,
            examination_fee: order.examination_fee.map(|a| money(a, currency)).transpose()?,
            authorised: money(facts.authorised, currency)?,
            place: order.place.clone(),
            loaner_number: self.desk_fields.loaner_number.clone(),
            loaner_back_at: self.desk_fields.loaner_back_at,
            old_parts_back: self.desk_fields.old_parts_back,
            checked_in_at: order.checked_in_at,
            checked_in_by: self.person(order.checked_in_by),
            customer: self.customer.short(),
            owner: self.owner.short(),
            instrument: self.instrument.view(&self.owner.name, last_here_on),
            claimed_by: order.claimed_by.map(|id| self.person(id)),
            claimed_at: order.claimed_at,
            ending: match (&order.ending_because, order.ending_at) {
                (Some(because), Some(at)) => Some(Ending {
                    because: because.0,
                    reason: order.ending_reason.clone(),
                    by: order.ending_by.clone().unwrap_or_default(),
                    at,
                    awaits_confirmation: !matches!(order.stage.0, Stage::Pickup | Stage::Closed),
                }),
                _ => None,
            },
            open_question: match (&order.question, order.question_at) {
                (Some(text), Some(asked_at)) => {
                    Some(OpenQuestion { text: text.clone(), asked_by: order.question_by.clone().unwrap_or_default(), asked_at })
                }
                _ => None,
            },
            holds: self.holds.iter().map(|row| row.view(order.version)).collect(),
            findings: self.findings.iter().map(|row| self.finding(row)).collect(),
            photos: self.photos.iter().map(|row| self.photo(row)).collect(),
            operations: self.operations.iter().map(|row| self.operation(row, &facts, now)).collect::<Result<_, _>>()?,
            quotes: self.quotes.iter().map(|row| self.quote(row)).collect::<Result<_, _>>()?,
            tests: self.tests.iter().map(|row| self.test(row)).collect::<Result<_, _>>()?,
            required_tests: self.still_required(),
            fit_checks: self.fit_checks.iter().map(|row| self.fit_check(row)).collect::<Result<_, _>>()?,
            stage_changes: self.stage_changes.iter().map(|row| self.stage_change(row)).collect(),
            changes: self.changes.iter().map(|row| self.order_change(row)).collect::<Result<_, _>>()?,
            letters: self.letters.iter().map(LetterLine::view).collect(),
            links: self
                .links
                .iter()
                .map(|l| Link {
                    id: LinkId(l.id),
                    purpose: l.purpose.0,
                    issued_at: l.issued_at,
                    expires_at: l.expires_at,
                    withdrawn_at: l.withdrawn_at,
                    url: None,
                    order_version: order.version,
                })
                .collect(),
            notes: self.notes.iter().map(|n| Note { id: n.id, text: n.text.clone(), by: self.person(n.written_by), at: n.written_at }).collect(),
            payments: self
                .payments
                .iter()
                .map(|row| self.payment(row))
                .collect::<Result<_, Error>>()?,
            money: OrderMoney {
                total: charged,
                examination_fee: self.fee_charged()?.map(|fee| money(fee, currency)).transpose()?,
                paid: money(self.paid(), currency)?,
                waived: money(self.waived(), currency)?,
                due: money(self.due()?, currency)?,
            },
            moves: self.moves(&facts, who),
        })
    }
}

/// Why an open order waits, in words for the shop.
#[must_use]
pub fn waiting_words(facts: &OrderFacts, has_question: bool, claimed_by: Option<&str>) -> String {
    if let Some(hold) = facts.holds.iter().min_by_key(|h| (h.look_again_on.unwrap_or(NaiveDate::MAX), h.set_at)) {
        return match hold.reason.waits_for() {
            WaitsFor::Supplier => "Held: waits for a supplier".to_owned(),
            WaitsFor::Customer => "Held: the customer asked to wait".to_owned(),
            WaitsFor::Shop => "Held".to_owned(),
        };
    }
    if has_question {
        return "The owner asked a question".to_owned();
    }
    if facts.ending.is_some() && !matches!(facts.stage, Some(Stage::Pickup | Stage::Closed)) {
        return "To end: put together and confirm".to_owned();
    }
    match facts.stage {
        Some(Stage::Intake) => claimed_by.map_or("To be claimed".to_owned(), |name| format!("{name} will examine it")),
        Some(Stage::Diagnosis) => "Being examined".to_owned(),
        Some(Stage::Approval) => match &facts.sent {
            Some(sent) if !sent.is_past => "The owner has not answered".to_owned(),
            _ => "The quote ran out; write a new one".to_owned(),
        },
        Some(Stage::Bench) => "On the bench".to_owned(),
        Some(Stage::LeakTest) => "To be tested for leaks".to_owned(),
        Some(Stage::Pickup) => "To be collected".to_owned(),
        Some(Stage::Closed) | None => String::new(),
    }
}
