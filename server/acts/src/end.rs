//! The wish to end an order, and its confirmation once everything is together again.

use crate::checks::{Checks, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use serde::{Deserialize, Serialize};
use store::order_rows::OrderRows;
use store::views::WorkOrder;
use store::{Once, Tx, Word, operations, work_orders};
use trade::rules::Refusal;
use trade::rules::facts::By;
use trade::rules::stages::{may_ask, row, wished_by};
use trade::words::ids::WorkOrderId;
use trade::words::instrument::{OperationKind, OperationState};
use trade::words::stage::{Because, Stage};
use utoipa::ToSchema;

/// The wish to end: `withdrawn`, `unanswered` or `not_repairable`. Declining is a decision.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewEnding {
    /// Why.
    pub because: Because,
    /// In words.
    #[serde(default)]
    pub reason: Option<String>,
}

impl Desk {
    /// Records the wish to end at once; the move to pickup follows at once if nothing is apart.
    pub fn end(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, new: &NewEnding) -> Result<(), Halt> {
        let mut checks = Checks::default();
        checks.short("/reason", new.reason.as_deref(), TEXT);
        if !matches!(new.because, Because::Withdrawn | Because::Unanswered | Because::NotRepairable) {
            checks.fault("/because", "must be withdrawn, unanswered or not_repairable");
        }
        checks.done()?;
        let stage = rows.order.stage.0;
        let Some(move_row) = row(Some(stage), Stage::Pickup, new.because) else {
            return Err(Halt::refused("no-such-move", format!("An order in {stage} does not end as {}.", new.because)));
        };
        match rows.order.ending_because.as_ref().map(|b| b.0) {
            None => {}
            Some(Because::Declined) => {
                return Err(Halt::refused("ending", "The owner declined. A technician puts it together and confirms that end."));
            }
            Some(because) => {
                return Err(Halt::refused("ending", format!("The order is to end already ({because}). Confirm that end, or take the wish back first.")));
            }
        }
        // A technician confirms ends; who wishes them is the row's own column in DOMAIN.md.
        self.actor.must_be(wished_by(new.because))?;
        if move_row.needs_reason && tidy(new.reason.as_deref()).is_none() {
            return Err(Refusal::new("reason-missing", format!("Say why in one short sentence: {}.", move_row.words)).into());
        }
        may_ask(&rows.facts(self.today(rows)?)?, move_row, &self.actor.who)?;
        self.stop_all_clocks(tx, rows)?;
        rows.order.ending_because = Some(Word(new.because));
        rows.order.ending_reason = tidy(new.reason.as_deref());
        rows.order.ending_by = Some(self.actor.words.clone());
        rows.order.ending_at = Some(self.now);
        work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
        self.set_aside_quotes(tx, rows, "the order ended")?;
        self.strike_unbegun(tx, rows)?;
        if rows.facts(self.today(rows)?)?.is_apart() {
            return self.tell(tx, rows, "ending", "to end; to be put together first");
        }
        self.finish(tx, rows)
    }

    /// Makes the move that the recorded wish means.
    fn finish(&self, tx: &mut Tx<'_>, rows: &mut OrderRows) -> Result<(), Halt> {
        let Some(because) = rows.order.ending_because.as_ref().map(|b| b.0) else {
            return Err(Halt::refused("not-ending", "Nobody wished to end this order."));
        };
        let reason = rows.order.ending_reason.clone();
        let through = row(Some(rows.order.stage.0), Stage::Pickup, because).and_then(|row| row.act);
        let step = self.may_move(rows, Stage::Pickup, because, reason.as_deref(), through)?;
        self.make(tx, rows, step, reason.as_deref())?;
        Ok(())
    }

    fn strike_unbegun(&self, tx: &mut Tx<'_>, rows: &mut OrderRows) -> Result<(), Halt> {
        for row in rows
            .operations
            .iter_mut()
            .filter(|o| o.kind.0 != OperationKind::PutTogether && o.begun_at.is_none() && o.state.0 == OperationState::Planned)
        {
            row.state = Word(OperationState::Struck);
            row.struck_reason = Some("the order ended".to_owned());
            row.version += 1;
            operations::save(tx, row)?;
        }
        Ok(())
    }
}

impl Acts {
    /// Records the wish to end.
    ///
    /// # Errors
    /// [`Halt::Stale`], [`Halt::Invalid`]; `no-such-move`; `reason-missing`; `not-yours`.
    pub async fn end(&self, actor: &Actor, order: WorkOrderId, seen: i32, new: NewEnding, once: Once) -> Result<WorkOrder, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, Some(seen))?;
                desk.end(tx, &mut rows, &new)?;
                Ok(rows.view(&desk.actor.who, desk.now)?)
            })
            .await
    }

    /// Takes the wish back, while the instrument is not in pickup yet.
    ///
    /// # Errors
    /// [`Halt::Stale`]; `not-ending`; `declined-stands`.
    pub async fn take_ending_back(&self, actor: &Actor, order: WorkOrderId, seen: i32) -> Result<WorkOrder, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::FrontDesk, By::Technician])?;
                let mut rows = desk.open(tx, order, Some(seen))?;
                match rows.order.ending_because.as_ref().map(|b| b.0) {
                    Some(Because::Declined) => {
                        return Err(Halt::refused("declined-stands", "The owner declined. Confirm the end, then reopen the order."));
                    }
                    Some(_) if matches!(rows.order.stage.0, Stage::Pickup | Stage::Closed) => {
                        return Err(Halt::refused("ended", "The order has ended already. Reopen it instead."));
                    }
                    Some(_) => {}
                    None => return Err(Halt::refused("not-ending", "Nobody wished to end this order.")),
                }
                desk.clear_ending(tx, &mut rows)?;
                desk.tell(tx, &rows, "ending_taken_back", "the wish to end was taken back")?;
                Ok(rows.view(&desk.actor.who, desk.now)?)
            })
            .await
    }

    /// Confirms the end: everything is together again.
    ///
    /// # Errors
    /// [`Halt::Stale`]; `not-ending`; `apart` while something still is; `not-yours`.
    pub async fn confirm_ending(&self, actor: &Actor, order: WorkOrderId, seen: i32, once: Once) -> Result<WorkOrder, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::Technician])?;
                let mut rows = desk.open(tx, order, Some(seen))?;
                desk.finish(tx, &mut rows)?;
                Ok(rows.view(&desk.actor.who, desk.now)?)
            })
            .await
    }
}
