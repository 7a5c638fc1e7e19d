//! The owner's answer to one exact quote version (rule 3), and calling it a mistake.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::letter_facts::write_letters;
use mail::LetterKind;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::decisions::{self, DecisionRow, DisputeRow};
use store::findings;
use store::order_facts::ids;
use store::order_rows::OrderRows;
use store::quotes;
use store::views::Decision;
use store::work_orders;
use store::{Once, Tx, Word};
use trade::rules::facts::By;
use trade::rules::stages::Act;
use trade::words::ids::{DecisionId, OperationId, QuoteId, WorkOrderId};
use trade::words::instrument::{Disposition, OperationState};
use trade::words::paperwork::{Answer, AnswerHow, QuoteState};
use trade::words::stage::{Because, Stage};
use utoipa::ToSchema;
use uuid::Uuid;

/// What the owner said.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewDecision {
    /// Which version, by its number.
    pub quote_version: i32,
    /// Its exact content.
    pub content_hash: String,
    /// Yes, no, or a question.
    pub answer: Answer,
    /// Optional lines that were ticked.
    #[serde(default)]
    pub chosen_lines: Vec<Uuid>,
    /// Operations accepted by name because they cannot be undone; ticking their line says the same.
    #[serde(default)]
    pub accepted_by_name: Vec<OperationId>,
    /// How it reached the shop: by telephone or in person. By link is the owner's own form.
    pub how: AnswerHow,
    /// The name typed or told.
    pub typed_name: String,
    /// The question.
    #[serde(default)]
    pub question: Option<String>,
}

/// "This was a mistake."
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewDispute {
    /// The name typed or told.
    pub typed_name: String,
    /// What was meant.
    #[serde(default)]
    pub reason: Option<String>,
}

impl Desk {
    /// Records an answer on a locked order and makes the move it means. Deciding twice the same
    /// way is harmless: the decision that stands is given.
    pub fn decide(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, quote: QuoteId, new: &NewDecision) -> Result<DecisionRow, Halt> {
        self.actor.must_be(&[By::Owner, By::FrontDesk])?;
        let by_link = self.actor.who.is(By::Owner);
        let mut checks = Checks::default();
        checks.said("/typed_name", &new.typed_name, LINE);
        checks.short("/question", new.question.as_deref(), TEXT);
        checks.short("/content_hash", Some(&new.content_hash), LINE);
        if new.answer == Answer::Questions && tidy(new.question.as_deref()).is_none() {
            checks.fault("/question", "must say what the owner asks");
        }
        if by_link != (new.how == AnswerHow::Link) || new.how == AnswerHow::Beforehand {
            checks.fault("/how", "must be phone or in_person when the shop records an answer");
        }
        checks.done()?;
        let at = rows.quotes.iter().position(|q| q.id == quote.0).ok_or(Halt::Absent)?;
        let row = rows.quotes[at].clone();
        let content = row.content()?;
        let is_sealed = row.content_hash.as_ref().is_some_and(|sealed| *sealed == new.content_hash && *sealed == content.hash());
        if new.quote_version != row.number || !is_sealed {
            return Err(Halt::refused("quote-altered", "This is not the version that went out. Open the current one and answer that."));
        }
        let mut chosen = new.chosen_lines.clone();
        chosen.sort_unstable();
        chosen.dedup();
        let mut checks = Checks::default();
        for (index, id) in new.chosen_lines.iter().enumerate() {
            if !content.lines.iter().any(|l| l.id == *id && (l.optional || l.irreversible)) {
                checks.fault(format!("/chosen_lines/{index}"), "is no optional line of this version");
            }
        }
        for (index, id) in new.accepted_by_name.iter().enumerate() {
            match content.lines.iter().find(|l| l.irreversible && l.operation_id == Some(*id)) {
                None => checks.fault(format!("/accepted_by_name/{index}"), "is no operation of this version that cannot be undone"),
                Some(line) if !chosen.contains(&line.id) => chosen.push(line.id),
                Some(_) => {}
            }
        }
        checks.done()?;
        // A line carried over from an earlier acceptance was named there; any other is named now.
        let named: Vec<Uuid> = rows.acceptances()?.into_iter().flat_map(|a| a.by_name).collect();
        let by_name: Vec<OperationId> = content
            .lines
            .iter()
            .filter(|l| l.irreversible)
            .filter_map(|l| l.operation_id.filter(|id| chosen.contains(&l.id) || (!l.optional && named.contains(&id.0))))
            .collect();
        if let Some(standing) = self.standing(rows, quote, new, &chosen)? {
            return Ok(standing);
        }
        if row.state.0 == QuoteState::Sent && new.answer == Answer::Accepted && row.expires_on < self.today(rows)? {
            return Err(Halt::refused("quote-expired", format!("Quote {} could be accepted until {}. Ask the shop for a new one.", row.number, row.expires_on)));
        }
        if rows.order.ending_because.is_some() {
            return Err(Halt::refused("ending", "The order is to end; no answer is needed any more."));
        }

        let accepted_before = !rows.acceptances()?.is_empty();
        let (to, because) = match new.answer {
            Answer::Accepted => (Stage::Bench, Because::Accepted),
            Answer::Declined if accepted_before => (Stage::Bench, Because::ExtraDeclined),
            Answer::Declined => (Stage::Pickup, Because::Declined),
            Answer::Questions => (Stage::Diagnosis, Because::Questions),
        };
        // The wish to end stops every start, and what runs; a technician's clock keeps no owner waiting.
        if because == Because::Declined {
            self.stop_all_clocks(tx, rows)?;
        }
        // A question about extra work moves nothing; a decline with something apart moves later.
        let stays = (new.answer == Answer::Questions && accepted_before)
            || (because == Because::Declined && rows.facts(self.today(rows)?)?.is_apart());
        if stays && rows.order.stage.0 != Stage::Approval {
            return Err(Halt::refused("not-asked", "The shop is not waiting for an answer now."));
        }
        let step = if stays { None } else { Some(self.may_move(rows, to, because, None, Some(Act::Decide))?) };

        let decision = DecisionRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: rows.order.id,
            quote_id: quote.0,
            content_hash: new.content_hash.clone(),
            answer: Word(new.answer),
            how: Word(new.how),
            typed_name: new.typed_name.trim().to_owned(),
            recorded_by: self.actor.who.person().map(|p| p.0),
            chosen_lines: json!(if new.answer == Answer::Accepted { chosen } else { Vec::new() }),
            accepted_by_name: json!(if new.answer == Answer::Accepted { by_name } else { Vec::new() }),
            question: tidy(new.question.as_deref()).filter(|_| new.answer == Answer::Questions),
            decided_at: self.now,
        };
        decisions::add(tx, &decision)?;
        rows.decisions.push(decision.clone());
        match new.answer {
            Answer::Questions => {
                rows.order.question.clone_from(&decision.question);
                rows.order.question_by = Some(decision.typed_name.clone());
                rows.order.question_at = Some(self.now);
                work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
            }
            Answer::Accepted | Answer::Declined => {
                let quote = &mut rows.quotes[at];
                quote.state = Word(QuoteState::Answered);
                quote.version += 1;
                quotes::save(tx, quote)?;
                self.free_waiting_operations(tx, rows, new.answer == Answer::Declined)?;
                if rows.order.question.is_some() {
                    rows.order.question = None;
                    rows.order.question_by = None;
                    rows.order.question_at = None;
                    work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
                }
            }
        }
        if new.answer == Answer::Declined {
            self.note_declined_findings(tx, rows)?;
            if because == Because::Declined {
                rows.order.ending_because = Some(Word(Because::Declined));
                rows.order.ending_by = Some(self.actor.words.clone());
                rows.order.ending_at = Some(self.now);
                work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
            }
        }
        match step {
            Some(step) => {
                self.make(tx, rows, step, None)?;
            }
            None => {
                let words = if new.answer == Answer::Questions { "the owner asks about the extra work" } else { "declined; to be put together" };
                self.recorded(tx, rows, "decided", words)?;
                // What moves has its letter from the move; a question that moves nothing is confirmed too.
                if new.answer == Answer::Questions {
                    write_letters(self, tx, rows, LetterKind::Questions, None)?;
                }
            }
        }
        Ok(decision)
    }

    /// The same answer, if it was given before; a refusal, if the version can no longer be answered.
    fn standing(&self, rows: &OrderRows, quote: QuoteId, new: &NewDecision, chosen: &[Uuid]) -> Result<Option<DecisionRow>, Halt> {
        let Some(row) = rows.quotes.iter().find(|q| q.id == quote.0) else { return Ok(None) };
        match row.state.0 {
            QuoteState::Sent if rows.order.stage.0 == Stage::Approval => Ok(None),
            QuoteState::Sent => {
                // A question moved the order back; asking it again is harmless, whatever was said
                // before it and called a mistake.
                match rows.decisions.iter().rfind(|d| d.quote_id == quote.0) {
                    Some(d) if d.answer.0 == new.answer && new.answer == Answer::Questions && d.question == tidy(new.question.as_deref()) => {
                        Ok(Some(d.clone()))
                    }
                    _ => Err(Halt::refused("not-asked", "The shop is not waiting for an answer now; a newer quote may follow.")),
                }
            }
            QuoteState::Answered => {
                let Some(decision) = rows.decision_of(quote.0) else { return Ok(None) };
                let same = decision.answer.0 == new.answer
                    && (new.answer != Answer::Accepted || {
                        let mut given = ids(&decision.chosen_lines)?;
                        let mut now = chosen.to_vec();
                        given.sort_unstable();
                        now.sort_unstable();
                        given == now
                    });
                if same {
                    return Ok(Some(decision.clone()));
                }
                Err(Halt::refused(
                    "already-decided",
                    format!(
                        "{} has {} quote {} already, {}, on {}.",
                        decision.typed_name,
                        match decision.answer.0 {
                            Answer::Accepted => "accepted",
                            Answer::Declined => "declined",
                            Answer::Questions => "asked about",
                        },
                        row.number,
                        match decision.how.0 {
                            AnswerHow::Link => "by the link",
                            AnswerHow::Phone => "by telephone",
                            AnswerHow::InPerson => "at the counter",
                            AnswerHow::Beforehand => "by the amount allowed at check-in",
                        },
                        rows.shop.date_at(decision.decided_at)?,
                    ),
                ))
            }
            QuoteState::Superseded => {
                Err(Halt::refused("quote-superseded", "A newer quote has gone out. Open that one and answer it."))
            }
            QuoteState::Struck => Err(Halt::refused("quote-recalled", "The shop took this quote back.")),
            QuoteState::Expired => Err(Halt::refused("quote-expired", "This quote's time ran out. Ask the shop for a new one.")),
            QuoteState::Draft => Err(Halt::refused("not-sent", "This quote has not gone out yet.")),
        }
    }

    /// Findings that were to be repaired by steps the owner did not want are declined.
    fn note_declined_findings(&self, tx: &mut Tx<'_>, rows: &mut OrderRows) -> Result<(), Halt> {
        let nothing_accepted = rows.acceptances()?.is_empty();
        let mut answered = Vec::new();
        for operation in &rows.operations {
            if operation.state.0 != OperationState::Struck {
                answered.extend(ids(&operation.finding_ids)?);
            }
        }
        let mut struck = Vec::new();
        for operation in rows.operations.iter().filter(|o| o.state.0 == OperationState::Struck) {
            struck.extend(ids(&operation.finding_ids)?);
        }
        for row in rows.findings.iter_mut().filter(|f| f.struck_reason.is_none() && f.disposition.0 == Disposition::Repair) {
            if nothing_accepted || (struck.contains(&row.id) && !answered.contains(&row.id)) {
                row.disposition = Word(Disposition::Declined);
                row.disposition_reason = Some("Not wanted for now.".to_owned());
                row.version += 1;
                findings::save(tx, row)?;
            }
        }
        Ok(())
    }

    /// Calls an acceptance a mistake, until the first step that it allowed is started.
    pub fn dispute(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, id: DecisionId, new: &NewDispute) -> Result<DecisionRow, Halt> {
        self.actor.must_be(&[By::Owner, By::FrontDesk])?;
        let mut checks = Checks::default();
        checks.said("/typed_name", &new.typed_name, LINE);
        checks.short("/reason", new.reason.as_deref(), TEXT);
        checks.done()?;
        let decision = rows.decisions.iter().find(|d| d.id == id.0).cloned().ok_or(Halt::Absent)?;
        if rows.disputes.iter().any(|d| d.decision_id == decision.id) {
            return Ok(decision);
        }
        may_be_a_mistake(rows, &decision)?;
        let step = self.may_move(rows, Stage::Approval, Because::AcceptanceDisputed, None, Some(Act::Dispute))?;
        let row = DisputeRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            decision_id: decision.id,
            typed_name: new.typed_name.trim().to_owned(),
            reason: tidy(new.reason.as_deref()),
            recorded_by: self.actor.who.person().map(|p| p.0),
            disputed_at: self.now,
        };
        decisions::dispute(tx, &row)?;
        rows.disputes.push(row);
        // The same version can be answered again, by its own last day.
        let mut reopened = None;
        if let Some(quote) = rows.quotes.iter_mut().find(|q| q.id == decision.quote_id) {
            quote.state = Word(QuoteState::Sent);
            quote.version += 1;
            quotes::save(tx, quote)?;
            reopened = quote.is_extra.then(|| quote.content()).transpose()?;
        }
        if let Some(content) = reopened {
            self.lock_new_steps(tx, rows, &content)?;
        }
        rows.order.question = tidy(new.reason.as_deref()).or_else(|| Some("This was a mistake.".to_owned()));
        rows.order.question_by = Some(new.typed_name.trim().to_owned());
        rows.order.question_at = Some(self.now);
        work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
        self.make(tx, rows, step, new.reason.as_deref())?;
        Ok(decision)
    }
}

/// Whether this answer may still be called a mistake: it is the last acceptance that stands,
/// and no step that it allowed was begun. Whether the order may move is asked besides.
///
/// # Errors
/// `not-the-last-acceptance`; `work-begun`.
pub fn may_be_a_mistake(rows: &OrderRows, decision: &DecisionRow) -> Result<(), Halt> {
    let standing = rows.acceptances()?;
    if standing.last().is_none_or(|last| last.decision != decision.id) {
        return Err(Halt::refused("not-the-last-acceptance", "Only the last acceptance that stands can be called a mistake."));
    }
    match rows.begun_on_last(&standing) {
        Some(operation) => Err(Halt::refused("work-begun", format!("\"{}\" was begun on this acceptance. Please ring the shop.", operation.title))),
        None => Ok(()),
    }
}

impl Acts {
    /// Records an answer to one exact quote version.
    ///
    /// # Errors
    /// `quote-altered`, `quote-superseded`, `quote-expired`, `quote-recalled`, `already-decided`,
    /// `not-asked`; [`Halt::Invalid`]; what the table of moves says.
    pub async fn decide(&self, actor: &Actor, quote: QuoteId, new: NewDecision, once: Once) -> Result<Decision, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let found = quotes::find(tx.conn(), quote)?.ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, WorkOrderId(found.work_order_id), None)?;
                let decision = desk.decide(tx, &mut rows, quote, &new)?;
                Ok(rows.decision(&decision)?)
            })
            .await
    }

    /// Calls an acceptance a mistake.
    ///
    /// # Errors
    /// [`Halt::Absent`]; `work-begun`; `not-the-last-acceptance`; what the table of moves says.
    pub async fn dispute(&self, actor: &Actor, id: DecisionId, new: NewDispute, once: Once) -> Result<Decision, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let found = decisions::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, WorkOrderId(found.work_order_id), None)?;
                let decision = desk.dispute(tx, &mut rows, id, &new)?;
                Ok(rows.decision(&decision)?)
            })
            .await
    }
}
