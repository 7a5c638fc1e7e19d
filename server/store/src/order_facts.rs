//! What the rules look at, taken from an order's rows.

use crate::Error;
use crate::decisions::DecisionRow;
use crate::findings::FindingRow;
use crate::letters::LetterLine;
use crate::operations::OperationRow;
use crate::order_rows::OrderRows;
use crate::quotes::QuoteRow;
use crate::small_things::{PaymentRow, TestRow};
use chrono::{DateTime, Days, NaiveDate, Utc};
use rust_decimal::Decimal;
use serde_json::Value;
use trade::rules::authority::authorised;
use trade::rules::bill::{self, BillFacts, BilledOperation};
use trade::rules::facts::{HoldFacts, OperationFacts, OrderFacts, QuoteFacts, Reminders};
use trade::rules::required_tests::required_tests;
use trade::words::ids::{OperationId, PersonId};
use trade::words::instrument::{Disposition, FindingKind, OperationKind, OperationState, TestKind, Verdict};
use trade::words::money::Money;
use trade::words::paperwork::{Answer, PaymentKind, QuoteState};
use trade::words::quote::{ContentLine, QuoteContent};
use trade::words::stage::{Because, Stage};
use uuid::Uuid;

/// Ids kept as a JSON list.
///
/// # Errors
/// [`Error::Unreadable`].
pub fn ids(list: &Value) -> Result<Vec<Uuid>, Error> {
    serde_json::from_value(list.clone()).map_err(|e| Error::Unreadable(format!("list of ids: {e}")))
}

/// An acceptance that stands.
#[derive(Debug, Clone)]
pub struct Acceptance {
    /// Version number of the quote.
    pub number: i32,
    /// Its content.
    pub content: QuoteContent,
    /// Ids of the lines that count.
    pub counted: Vec<Uuid>,
    /// Operations accepted by name.
    pub by_name: Vec<Uuid>,
    /// The decision.
    pub decision: Uuid,
    /// When it was given.
    pub at: DateTime<Utc>,
    /// The most that it authorises, tax included, in the quote's currency.
    pub allows: Decimal,
}

/// The most that accepting this version so authorises, tax included, in its currency.
///
/// # Errors
/// [`Error::Unreadable`].
pub fn allowed_by(quote: &QuoteRow, decision: &DecisionRow) -> Result<Decimal, Error> {
    let chosen = ids(&decision.chosen_lines)?;
    quote
        .content()?
        .authorises(|line| !line.optional || chosen.contains(&line.id))
        .map_err(|refused| Error::Unreadable(format!("quote {}: {refused:?}", quote.id)))
}

/// Operations on lines of the last of these that count in none of them.
fn left_out_of(acceptances: &[Acceptance]) -> Vec<Uuid> {
    let counts = |line: &ContentLine| acceptances.iter().any(|one| one.counted.contains(&line.id));
    let is_accepted = |id: OperationId| acceptances.iter().flat_map(|one| &one.content.lines).any(|line| line.operation_id == Some(id) && counts(line));
    let last = acceptances.last().into_iter().flat_map(|one| &one.content.lines);
    last.filter_map(|line| line.operation_id).filter(|id| !is_accepted(*id)).map(|id| id.0).collect()
}

impl OrderRows {
    /// The acceptances that nobody called a mistake, oldest first.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn acceptances(&self) -> Result<Vec<Acceptance>, Error> {
        let mut standing = Vec::new();
        for decision in &self.decisions {
            if decision.answer.0 != Answer::Accepted || self.disputes.iter().any(|d| d.decision_id == decision.id) {
                continue;
            }
            let Some(quote) = self.quotes.iter().find(|q| q.id == decision.quote_id) else { continue };
            let content = quote.content()?;
            let chosen = ids(&decision.chosen_lines)?;
            let counted = content.lines.iter().filter(|l| !l.optional || chosen.contains(&l.id)).map(|l| l.id).collect();
            standing.push(Acceptance {
                number: quote.number,
                allows: allowed_by(quote, decision)?,
                content,
                counted,
                by_name: ids(&decision.accepted_by_name)?,
                decision: decision.id,
                at: decision.decided_at,
            });
        }
        standing.sort_by_key(|acceptance| acceptance.number);
        Ok(standing)
    }

    /// The version being written.
    #[must_use]
    pub fn draft(&self) -> Option<&QuoteRow> {
        self.quotes.iter().find(|quote| quote.state.0 == QuoteState::Draft)
    }

    /// The version that is out and may be answered.
    #[must_use]
    pub fn sent(&self) -> Option<&QuoteRow> {
        self.quotes.iter().find(|quote| quote.state.0 == QuoteState::Sent)
    }

    /// When the order last arrived in the leak test.
    #[must_use]
    pub fn arrived_in_leak_test(&self) -> Option<DateTime<Utc>> {
        self.stage_changes.iter().rev().find(|c| c.to_stage.0 == Stage::LeakTest).map(|c| c.changed_at)
    }

    /// Which tests must pass before pickup, by the family and by what was repaired.
    #[must_use]
    pub fn required_tests(&self) -> Vec<TestKind> {
        let is_done = |o: &&OperationRow| o.kind.0 == OperationKind::Work && o.state.0 == OperationState::Done;
        let answered: Vec<Uuid> =
            self.operations.iter().filter(is_done).flat_map(|o| ids(&o.finding_ids).unwrap_or_default()).collect();
        let repaired: Vec<FindingKind> =
            self.findings.iter().filter(|f| f.struck_reason.is_none() && answered.contains(&f.id)).map(|f| f.kind.0).collect();
        required_tests(self.instrument.family.0, &repaired)
    }

    /// Whether the last test of this kind of the whole instrument, since the last arrival in the
    /// leak test, passed. A test of one part tells nothing of the rest.
    #[must_use]
    pub fn has_passed(&self, kind: TestKind) -> bool {
        let Some(arrived) = self.arrived_in_leak_test() else { return false };
        let counts = |t: &&TestRow| t.kind.0 == kind && t.tested_at >= arrived && t.is_of_whole_instrument();
        self.tests.iter().rev().find(counts).is_some_and(|t| t.says(Verdict::Passed))
    }

    /// Whether the step that this line pays for was struck.
    fn is_struck(&self, line: &ContentLine) -> bool {
        line.operation_id.is_some_and(|id| self.operations.iter().any(|o| o.id == id.0 && o.state.0 == OperationState::Struck))
    }

    /// Whether this draft carries what is accepted now; one that is out of date would drop
    /// accepted lines, or bring back what was called a mistake.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn draft_stands(&self, draft: &QuoteRow) -> Result<bool, Error> {
        let content = draft.content()?;
        let has = |id: Uuid| content.lines.iter().any(|line| line.id == id);
        // Its line would ask for money that no work stands for.
        if content.lines.iter().any(|line| self.is_struck(line)) {
            return Ok(false);
        }
        Ok(match self.acceptances()?.last() {
            None => !draft.is_extra,
            Some(accepted) => {
                let carried = accepted.content.lines.iter().filter(|line| accepted.counted.contains(&line.id));
                draft.is_extra
                    && carried.filter(|line| !self.is_struck(line)).all(|line| has(line.id))
                    && content.lines.iter().all(|line| line.is_new || accepted.counted.contains(&line.id))
            }
        })
    }

    /// The step that was begun on the last of these acceptances. What an earlier one allows goes
    /// on. Of the rest, what was begun since rests on this one, by its line or by its limit;
    /// taking apart beside it is undone by putting together.
    #[must_use]
    pub fn begun_on_last(&self, standing: &[Acceptance]) -> Option<&OperationRow> {
        let (last, earlier) = standing.split_last()?;
        let names = |a: &Acceptance, id: Uuid| {
            a.content.lines.iter().any(|l| l.operation_id.is_some_and(|o| o.0 == id) && a.counted.contains(&l.id))
        };
        let rests_on_it =
            |o: &OperationRow| !earlier.iter().any(|a| names(a, o.id)) && (o.kind.0 == OperationKind::Work || names(last, o.id));
        self.operations.iter().find(|o| rests_on_it(o) && o.begun_at.is_some_and(|at| at >= last.at))
    }

    /// The findings at which a test failed that are undecided, or to be repaired without a step
    /// for them that is done.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn failures_open(&self) -> Result<Vec<&FindingRow>, Error> {
        let mut worked_on = Vec::new();
        for operation in self.operations.iter().filter(|o| o.state.0 == OperationState::Done) {
            worked_on.extend(ids(&operation.finding_ids)?);
        }
        let pinned = |id: Uuid| self.tests.iter().any(|t| t.verdict.as_ref().is_some_and(|v| v.0 == Verdict::Failed) && t.finding_id == Some(id));
        let is_open = |f: &FindingRow| match f.disposition.0 {
            Disposition::Undecided => true,
            Disposition::Repair => !worked_on.contains(&f.id),
            Disposition::LeaveAndWatch | Disposition::AnotherVisit | Disposition::Declined => false,
        };
        Ok(self.findings.iter().filter(|f| f.struck_reason.is_none() && pinned(f.id) && is_open(f)).collect())
    }

    /// The version that waits for its owner: the last that went out, while nobody answered it or
    /// took it back.
    #[must_use]
    pub fn unanswered(&self) -> Option<&QuoteRow> {
        let last = self.quotes.iter().rfind(|quote| quote.sent_at.is_some())?;
        matches!(last.state.0, QuoteState::Sent | QuoteState::Expired).then_some(last)
    }

    /// How the reminders of an answer stand: on which days of the version's own time they go, and
    /// how many have gone. A day beyond its last one is none.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn reminders(&self, today: NaiveDate) -> Result<Reminders, Error> {
        let Some((quote, sent_at)) = self.unanswered().and_then(|quote| quote.sent_at.map(|at| (quote, at))) else {
            return Ok(Reminders::NothingAsked);
        };
        let sent_on = self.shop.date_at(sent_at)?;
        let days = self.shop.quote_reminder_days()?.into_iter().map(|days| sent_on + Days::new(u64::from(days)));
        let mut left = days.filter(|day| *day <= quote.expires_on).skip(self.letters_since("answer_reminder", sent_at).count());
        Ok(match left.next() {
            // What ran out cannot be answered any more, so nobody is reminded of it.
            Some(day) if quote.state.0 == QuoteState::Sent && quote.expires_on >= today => Reminders::NextOn(day.max(today)),
            _ => Reminders::AllSent,
        })
    }

    /// On which day the owner of an instrument in pickup is written to again; none when all have gone.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn next_pickup_reminder(&self) -> Result<Option<NaiveDate>, Error> {
        let since = self.order.stage_since;
        let ready_on = self.shop.date_at(since)?;
        let gone = self.letters_since("pickup_reminder", since).count();
        Ok(self.shop.pickup_reminder_days()?.into_iter().nth(gone).map(|days| ready_on + Days::new(u64::from(days))))
    }

    /// The letters of this kind since then, oldest first.
    pub fn letters_since(&self, kind: &'static str, since: DateTime<Utc>) -> impl Iterator<Item = &LetterLine> {
        self.letters.iter().filter(move |letter| letter.kind == kind && letter.queued_at >= since)
    }

    /// The payments that were not struck, oldest first.
    pub fn standing_payments(&self) -> impl Iterator<Item = &PaymentRow> {
        self.payments.iter().filter(|payment| !self.struck_payments.iter().any(|struck| struck.payment_id == payment.id))
    }

    /// What was paid or charged to account, less what was given back.
    #[must_use]
    pub fn paid(&self) -> Decimal {
        self.standing_payments().map(|payment| payment.amount).sum()
    }

    /// What the proprietor let go of, at the handover or where there was none.
    #[must_use]
    pub fn waived(&self) -> Decimal {
        self.handover.as_ref().map_or(Decimal::ZERO, |h| h.waived) + self.waivers.iter().map(|w| w.amount).sum::<Decimal>()
    }

    /// Whether any payment went to the account.
    #[must_use]
    pub fn is_on_account(&self) -> bool {
        self.standing_payments().any(|payment| payment.kind.0 == PaymentKind::Account)
    }

    /// What a bill is made from, as things stand.
    fn bill_facts(&self, acceptances: &[Acceptance]) -> Result<BillFacts, Error> {
        Ok(BillFacts {
            accepted: acceptances.last().map(|a| (a.content.clone(), a.counted.clone())),
            operations: self
                .operations
                .iter()
                .map(|o| BilledOperation {
                    id: OperationId(o.id),
                    title: o.title.clone(),
                    kind: o.kind.0,
                    price: o.price,
                    tax_class: o.tax_class.clone(),
                    state: o.state.0,
                    was_begun: o.begun_at.is_some(),
                })
                .collect(),
            is_finished: self.stage_changes.iter().any(|c| c.because.0 == Because::BenchDone),
            examination_fee: self.order.examination_fee.filter(|_| self.owner_decided_against()),
            currency: self.shop.currency()?,
            tax_classes: self.shop.tax_classes()?,
            prices_include_tax: self.shop.prices_include_tax,
        })
    }

    /// Whether the owner decided against the repair that was proposed: said no, or took it back
    /// after a quote had gone out. Silence is no decision, and what cannot be repaired or was
    /// withdrawn before anything was proposed leaves nothing to decide (DOMAIN.md: the examination
    /// fee is charged if the owner declines). Taken up again, it is undecided again.
    #[must_use]
    pub fn owner_decided_against(&self) -> bool {
        let ended = match &self.order.ending_because {
            Some(because) => Some(because.0),
            None if matches!(self.order.stage.0, Stage::Pickup | Stage::Closed) => {
                self.stage_changes.iter().rev().find(|c| c.to_stage.0 == Stage::Pickup).map(|c| c.because.0)
            }
            None => None,
        };
        match ended {
            Some(Because::Declined) => true,
            Some(Because::Withdrawn) => self.quotes.iter().any(|quote| quote.sent_at.is_some()),
            _ => false,
        }
    }

    /// The examination fee where it is charged by itself, or the part of it that the work done
    /// does not reach; none where the owner owes none.
    ///
    /// # Errors
    /// As [`OrderRows::charged`].
    pub fn fee_charged(&self) -> Result<Option<Decimal>, Error> {
        let facts = self.bill_facts(&self.acceptances()?)?;
        bill::fee_charged(&facts).map_err(|refused| Error::Unreadable(format!("bill of {}: {refused:?}", self.order.id)))
    }

    /// What is charged as things stand.
    ///
    /// # Errors
    /// [`Error::Unreadable`] when a stored quote does not add up.
    pub fn charged(&self) -> Result<Money, Error> {
        let facts = self.bill_facts(&self.acceptances()?)?;
        bill::charged(&facts).map_err(|refused| Error::Unreadable(format!("bill of {}: {refused:?}", self.order.id)))
    }

    /// What is still to be paid; less what was waived at the handover.
    ///
    /// # Errors
    /// As [`OrderRows::charged`].
    pub fn due(&self) -> Result<Decimal, Error> {
        Ok((self.charged()?.amount() - self.paid() - self.waived()).max(Decimal::ZERO))
    }

    /// Ids of the operations that the owner left out of the latest accepted version.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn left_out(&self) -> Result<Vec<Uuid>, Error> {
        Ok(left_out_of(&self.acceptances()?))
    }

    /// What the rules look at.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn facts(&self, today: NaiveDate) -> Result<OrderFacts, Error> {
        let acceptances = self.acceptances()?;
        let bill_facts = self.bill_facts(&acceptances)?;
        let unreadable = |refused| Error::Unreadable(format!("bill of {}: {refused:?}", self.order.id));
        let names = |line: &ContentLine, id: Uuid| line.operation_id == Some(OperationId(id));
        let accepted =
            |id: Uuid| acceptances.iter().any(|a| a.content.lines.iter().any(|l| names(l, id) && a.counted.contains(&l.id)));
        let left_out = left_out_of(&acceptances);
        let by_name = |id: Uuid| acceptances.iter().any(|a| a.by_name.contains(&id));
        let mut operations = Vec::with_capacity(self.operations.len());
        for row in &self.operations {
            let after = ids(&row.after_ids)?;
            operations.push(OperationFacts {
                title: row.title.clone(),
                kind: row.kind.0,
                state: row.state.0,
                irreversible: row.irreversible,
                was_begun: row.begun_at.is_some(),
                comes_to: bill::comes_to(&bill_facts, Some(OperationId(row.id))).map_err(unreadable)?,
                is_accepted: accepted(row.id),
                is_left_out: left_out.contains(&row.id),
                is_accepted_by_name: by_name(row.id),
                waits_for_answer: row.waits_for_answer,
                still_before: self
                    .operations
                    .iter()
                    .filter(|o| after.contains(&o.id) && !matches!(o.state.0, OperationState::Done | OperationState::Struck))
                    .map(|o| o.title.clone())
                    .collect(),
            });
        }
        let quote_facts = |row: &QuoteRow| -> Result<QuoteFacts, Error> {
            let content = row.content()?;
            Ok(QuoteFacts {
                number: row.number,
                line_count: content.lines.len(),
                optional_count: content.lines.iter().filter(|line| line.optional).count(),
                total: row.total,
                has_irreversible: content.lines.iter().any(|line| line.irreversible),
                has_left_out: content.lines.iter().any(|line| line.operation_id.is_some_and(|id| left_out.contains(&id.0))),
                needs_name: content.lines.iter().any(|line| line.irreversible && !line.operation_id.is_some_and(|id| by_name(id.0))),
                has_new_optional: content.lines.iter().any(|line| line.optional && line.is_new),
                is_outdated: row.state.0 == QuoteState::Draft && !self.draft_stands(row)?,
                struck_lines: content.lines.iter().filter(|line| self.is_struck(line)).map(|line| line.text.clone()).collect(),
                is_past: row.is_past(today),
            })
        };
        let missing_tests = self.required_tests().into_iter().filter(|kind| !self.has_passed(*kind)).collect();
        let last_into_pickup = self.stage_changes.iter().rev().find(|c| c.to_stage.0 == Stage::Pickup);
        Ok(OrderFacts {
            stage: Some(self.order.stage.0),
            claimed_by: self.order.claimed_by.map(PersonId),
            undecided_count: self
                .findings
                .iter()
                .filter(|f| f.struck_reason.is_none() && f.disposition.0 == Disposition::Undecided)
                .count(),
            authorised: authorised(self.order.may_cost, acceptances.last().map(|a| a.allows)),
            accepted_before: !acceptances.is_empty(),
            draft: self.draft().map(quote_facts).transpose()?,
            sent: self.sent().map(quote_facts).transpose()?,
            has_open_question: self.order.question.is_some(),
            operations,
            ending: self.order.ending_because.as_ref().map(|b| b.0),
            missing_tests,
            came_through_tests: last_into_pickup
                .is_some_and(|c| matches!(c.because.0, Because::TestsPassed | Because::Overridden)),
            has_records: !self.findings.is_empty()
                || !self.operations.is_empty()
                || !self.quotes.is_empty()
                || !self.tests.is_empty()
                || !self.payments.is_empty()
                || !self.holds.is_empty()
                || !self.notes.is_empty(),
            due: self.due()?,
            accessories_out: self
                .accessories()?
                .into_iter()
                .filter(|a| !a.returned && a.lost.is_none())
                .map(|a| a.name)
                .collect(),
            loaner_out: self.desk_fields.loaner_number.clone().filter(|_| self.desk_fields.loaner_back_at.is_none()),
            begun_on_acceptance: self.begun_on_last(&acceptances).map(|o| o.title.clone()),
            failures_open: self.failures_open()?.into_iter().map(|f| format!("{}, {}", f.kind.0.words(), f.part)).collect(),
            reminders: self.reminders(today)?,
            holds: self
                .holds
                .iter()
                .filter(|h| h.lifted_at.is_none())
                .map(|h| HoldFacts { reason: h.reason.0, look_again_on: h.look_again_on, set_at: h.set_at })
                .collect(),
        })
    }

    /// What came with the instrument.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn accessories(&self) -> Result<Vec<crate::views::Accessory>, Error> {
        serde_json::from_value(self.order.accessories.clone()).map_err(|e| Error::Unreadable(format!("accessories: {e}")))
    }
}
