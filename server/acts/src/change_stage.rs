//! Moves that are asked for by themselves.

use crate::checks::{Checks, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::small_things::NewPayment;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use store::decisions::{self, DecisionRow};
use store::order_rows::OrderRows;
use store::order_view::money;
use store::quotes;
use store::small_things::{self, WaiverRow};
use store::views::StageChange;
use store::work_orders::{self, StageChangeRow};
use store::{Once, Tx, Word};
use trade::words::ids::WorkOrderId;
use trade::words::paperwork::{Answer, AnswerHow, PaymentHow, PaymentKind, QuoteState};
use trade::words::stage::{Because, Stage};
use utoipa::ToSchema;
use uuid::Uuid;

/// Where to, because of what, and a reason where the move asks for one.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewStageChange {
    /// Where to.
    pub to: Stage,
    /// Because of what.
    pub because: Because,
    /// In words.
    #[serde(default)]
    pub reason: Option<String>,
    /// What becomes of an amount that is still due, where an order is otherwise settled.
    #[serde(default)]
    pub due: Option<DueBecomes>,
}

/// What becomes of an amount that is still due when nobody collects.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum DueBecomes {
    /// The proprietor lets it go, for the move's reason.
    Waived,
    /// It is charged to the customer's account.
    ChargedToAccount,
}

impl Desk {
    /// Makes a move that is asked for by itself, with what belongs to it: an acceptance for what
    /// was covered beforehand, the strike of a recalled version, a wish to end that is over.
    pub fn change_stage(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, wanted: &NewStageChange) -> Result<StageChangeRow, Halt> {
        let mut checks = Checks::default();
        checks.short("/reason", wanted.reason.as_deref(), TEXT);
        if wanted.due.is_some() && wanted.because != Because::OtherwiseSettled {
            checks.fault("/due", "goes with otherwise_settled alone; at the counter it stands in the handover");
        }
        checks.done()?;
        let reason = wanted.reason.as_deref();
        let step = self.may_move(rows, wanted.to, wanted.because, reason, None)?;
        match wanted.because {
            Because::CoveredBeforehand => self.accept_beforehand(tx, rows)?,
            Because::Recalled => {
                self.strike_sent(tx, rows, reason.unwrap_or_default())?;
                self.free_waiting_operations(tx, rows, true)?;
            }
            Because::SentBack | Because::Reopened => self.clear_ending(tx, rows)?,
            Because::OtherwiseSettled => {
                self.set_aside_quotes(tx, rows, "the order ended")?;
                self.settle_due(tx, rows, wanted.due, reason.unwrap_or_default())?;
            }
            Because::EnteredByMistake | Because::NothingToDo => {
                self.set_aside_quotes(tx, rows, "the order ended")?;
            }
            _ => {}
        }
        self.make(tx, rows, step, reason)
    }

    /// Records what becomes of an amount that is due, so that nothing is left hanging on a closed order.
    fn settle_due(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, becomes: Option<DueBecomes>, reason: &str) -> Result<(), Halt> {
        let due = rows.due()?;
        if due <= Decimal::ZERO {
            return Ok(());
        }
        let currency = rows.shop.currency()?;
        match becomes {
            None => Err(Halt::refused(
                "amount-due",
                format!("{} is still due. Say whether it is waived or charged to the account, or take the payment first.", money(due, currency)?),
            )),
            Some(DueBecomes::Waived) => {
                let row = WaiverRow {
                    shop_id: self.actor.shop.0,
                    id: Uuid::now_v7(),
                    work_order_id: rows.order.id,
                    amount: due,
                    reason: reason.trim().to_owned(),
                    waived_by: self.actor.person()?.0,
                    waived_at: self.now,
                };
                small_things::add_waiver(tx, &row)?;
                rows.waivers.push(row);
                Ok(())
            }
            Some(DueBecomes::ChargedToAccount) => {
                let payment = NewPayment {
                    amount: money(due, currency)?,
                    kind: PaymentKind::Account,
                    how: PaymentHow::Account,
                    note: tidy(Some(reason)),
                    more_than_due: false,
                };
                self.take_payment(tx, rows, &payment, "/due")?;
                Ok(())
            }
        }
    }

    /// Seals the draft and writes its acceptance by what was said at the counter. The cap stays
    /// what the owner said there; optional lines were never asked about.
    fn accept_beforehand(&self, tx: &mut Tx<'_>, rows: &mut OrderRows) -> Result<(), Halt> {
        let authorised = rows.facts(self.today(rows)?)?.authorised;
        // One that the owner asked about is still out; this one takes its place.
        if let Some(old) = rows.quotes.iter_mut().find(|q| q.state.0 == QuoteState::Sent) {
            old.state = Word(QuoteState::Superseded);
            old.version += 1;
            quotes::save(tx, old)?;
        }
        let Some(quote) = rows.quotes.iter_mut().find(|q| q.state.0 == QuoteState::Draft) else {
            return Err(Halt::refused("quote-empty", "The quote has no line yet. Add at least one."));
        };
        let mut content = quote.content()?;
        content.limit = authorised;
        content.lines.retain(|line| !line.optional);
        if content.lines.is_empty() {
            return Err(Halt::refused("quote-empty", "Every line is optional, and nobody ticked one. Send the quote."));
        }
        let hash = content.hash();
        quote.limit_amount = authorised;
        quote.content = serde_json::json!(content);
        quote.content_hash = Some(hash.clone());
        quote.state = Word(QuoteState::Answered);
        quote.sent_at = Some(self.now);
        quote.sent_by = self.actor.who.person().map(|p| p.0);
        quote.version += 1;
        quotes::save(tx, quote)?;
        let decision = DecisionRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: rows.order.id,
            quote_id: quote.id,
            content_hash: hash,
            answer: Word(Answer::Accepted),
            how: Word(AnswerHow::Beforehand),
            typed_name: rows.owner.name.clone(),
            recorded_by: self.actor.who.person().map(|p| p.0),
            chosen_lines: serde_json::json!([]),
            accepted_by_name: serde_json::json!([]),
            question: None,
            decided_at: self.now,
        };
        decisions::add(tx, &decision)?;
        rows.decisions.push(decision);
        Ok(())
    }

    /// Strikes the version that is out, with a reason.
    pub(crate) fn strike_sent(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, reason: &str) -> Result<(), Halt> {
        if let Some(quote) = rows.quotes.iter_mut().find(|q| q.state.0 == QuoteState::Sent) {
            quote.state = Word(QuoteState::Struck);
            quote.struck_reason = Some(reason.to_owned());
            quote.version += 1;
            quotes::save(tx, quote)?;
        }
        Ok(())
    }

    /// Sets aside what is out or being written, because the order ends.
    pub(crate) fn set_aside_quotes(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, reason: &str) -> Result<(), Halt> {
        for quote in rows.quotes.iter_mut().filter(|q| matches!(q.state.0, QuoteState::Sent | QuoteState::Draft)) {
            quote.state = Word(QuoteState::Struck);
            quote.struck_reason = Some(reason.to_owned());
            quote.version += 1;
            quotes::save(tx, quote)?;
        }
        Ok(())
    }

    pub(crate) fn clear_ending(&self, tx: &mut Tx<'_>, rows: &mut OrderRows) -> Result<(), Halt> {
        if rows.order.ending_because.is_some() {
            rows.order.ending_because = None;
            rows.order.ending_reason = None;
            rows.order.ending_by = None;
            rows.order.ending_at = None;
            work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
        }
        Ok(())
    }
}

impl Acts {
    /// Moves an order, once per key.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], what the table of moves says.
    pub async fn change_stage(
        &self,
        actor: &Actor,
        order: WorkOrderId,
        seen: i32,
        wanted: NewStageChange,
        once: Once,
    ) -> Result<StageChange, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, Some(seen))?;
                let change = desk.change_stage(tx, &mut rows, &wanted)?;
                Ok(rows.stage_change(&change))
            })
            .await
    }
}
