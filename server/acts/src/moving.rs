//! Moving an order: the only function that changes a stage (domain rule 1).

use crate::desk::{Desk, Halt};
use crate::letter_facts::write_letters;
use mail::LetterKind;
use serde_json::json;
use store::order_rows::OrderRows;
use store::order_view::claim_number;
use store::work_orders::{self, StageChangeRow};
use store::{Tx, Word, audit, events};
use trade::rules::stages::{Act, Move, decide_move};
use trade::words::ids::WorkOrderId;
use trade::words::spelling::Spelt;
use trade::words::stage::{Because, Stage};
use uuid::Uuid;

impl Desk {
    /// Asks the table of moves; nothing is written. What belongs to the move (a sealed quote, a
    /// decision) is written between this and [`Desk::make`], so that the letter can tell of it.
    pub fn may_move(
        &self,
        rows: &OrderRows,
        to: Stage,
        because: Because,
        reason: Option<&str>,
        through: Option<Act>,
    ) -> Result<Move, Halt> {
        let facts = rows.facts(self.today(rows)?)?;
        Ok(decide_move(&facts, to, because, reason, &self.actor.who, through)?)
    }

    /// Makes a move that the table allowed. The stage, the history row, the letter, the live
    /// event and the audit share this transaction: all of them happen or none does.
    pub fn make(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, step: Move, reason: Option<&str>) -> Result<StageChangeRow, Halt> {
        let is_extra = rows.quotes.iter().rfind(|q| q.sent_at.is_some()).is_some_and(|q| q.is_extra);
        let kind = LetterKind::for_move(step.because.spelling(), is_extra)
            .ok_or_else(|| store::Error::Unreadable(format!("no letter tells of {}", step.because)))?;
        self.make_telling(tx, rows, step, reason, kind)
    }

    /// [`Desk::make`] with another letter than the move's own.
    pub fn make_telling(
        &self,
        tx: &mut Tx<'_>,
        rows: &mut OrderRows,
        step: Move,
        reason: Option<&str>,
        kind: LetterKind,
    ) -> Result<StageChangeRow, Halt> {
        // Whatever else moves the order is the shop's or the owner's answer to what was asked.
        let asks = matches!(step.because, Because::Questions | Because::AcceptanceDisputed | Because::Expired);
        if rows.order.question.is_some() && !asks {
            rows.order.question = None;
            rows.order.question_by = None;
            rows.order.question_at = None;
            work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
        }
        let change = self.append(rows, step, reason);
        work_orders::move_to(tx, &mut rows.order, &change)?;
        rows.stage_changes.push(change.clone());
        write_letters(self, tx, rows, kind, Some(&change))?;
        self.tell(tx, rows, "stage_changed", step.words)?;
        Ok(change)
    }

    /// The row of a move, not yet written.
    pub fn append(&self, rows: &OrderRows, step: Move, reason: Option<&str>) -> StageChangeRow {
        StageChangeRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: rows.order.id,
            number: i32::try_from(rows.stage_changes.len()).unwrap_or(i32::MAX) + 1,
            from_stage: step.from.map(Word),
            to_stage: Word(step.to),
            because: Word(step.because),
            reason: crate::checks::tidy(reason),
            by_person: self.actor.who.person().map(|person| person.0),
            by_words: self.actor.words.clone(),
            changed_at: self.now,
        }
    }

    /// Writes the live event and the audit line of what was just done.
    pub fn tell(&self, tx: &mut Tx<'_>, rows: &OrderRows, kind: &str, words: &str) -> Result<(), Halt> {
        let order = WorkOrderId(rows.order.id);
        let data = json!({
            "kind": kind,
            "work_order_id": order,
            "claim_number": claim_number(rows.order.claim_count)?,
            "version": rows.order.version,
            "stage": rows.order.stage.0,
            "words": words,
            "by": self.actor.told_as(),
            "at": self.now,
        });
        events::write(tx, kind, order, &data, self.now)?;
        audit::write(tx, kind, Some(order), self.actor.who.person(), &self.actor.words, self.now)?;
        Ok(())
    }

    /// Raises the version of an order on which something was recorded, and tells of it.
    pub fn recorded(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, kind: &str, words: &str) -> Result<(), Halt> {
        work_orders::touch(tx, &mut rows.order, &self.actor.words, self.now)?;
        self.tell(tx, rows, kind, words)
    }
}
