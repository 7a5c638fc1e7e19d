//! Done at the counter: one act that makes every move with its rows, one test, one letter.

use crate::checks::{Checks, LINE};
use crate::claim::ClaimWish;
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::hand_over::NewHandover;
use crate::operations::{ClockAction, ClockAsk, NewOperation};
use crate::quotes::{NewQuote, NewQuoteLine};
use crate::record_test::NewTest;
use crate::change_stage::NewStageChange;
use mail::LetterKind;
use serde::{Deserialize, Serialize};
use store::order_rows::OrderRows;
use store::views::WorkOrder;
use store::{Once, Tx, work_orders};
use trade::rules::facts::By;
use trade::words::ids::{OperationId, WorkOrderId};
use trade::words::instrument::Verdict;
use trade::words::paperwork::LineKind;
use trade::words::stage::{Because, Stage};
use utoipa::ToSchema;

/// The whole visit: what was done, the test, the handover.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DoneAtCounter {
    /// What was done; nothing irreversible.
    pub operations: Vec<NewOperation>,
    /// The test, which passed.
    pub test: NewTest,
    /// The handover. A payment made now counts as the owner's word for its amount.
    pub handover: NewHandover,
}

impl Desk {
    /// The whole visit on a locked order in intake.
    pub fn done_at_counter(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, visit: &DoneAtCounter) -> Result<(), Halt> {
        self.actor.must_be(&[By::FrontDesk])?;
        self.actor.must_be(&[By::Technician])?;
        let mut checks = Checks::default();
        if visit.operations.is_empty() || visit.operations.len() > 20 {
            checks.fault("/operations", "must be 1 to 20 steps: what was done");
        }
        for (index, operation) in visit.operations.iter().enumerate() {
            checks.short(&format!("/operations/{index}/title"), operation.title.as_deref(), LINE);
        }
        let is_computed = visit.test.verdict.is_none() && visit.test.pressure.is_some();
        if visit.test.verdict != Some(Verdict::Passed) && !is_computed {
            checks.fault("/test/verdict", "must be passed; what fails its test is not done at the counter");
        }
        let paid_now = visit.handover.payment.as_ref().map(|payment| payment.amount);
        let paid_now = checks.amount("/handover/payment/amount", paid_now, rows.shop.currency()?).unwrap_or_default();
        checks.done()?;
        if rows.order.stage.0 != Stage::Intake {
            return Err(Halt::refused("not-at-the-counter", "Only an order that was just checked in is done at the counter."));
        }
        // One letter tells of all; the other changes record why they have none of their own.
        let quiet = Desk { mute: self.mute.or(Some("done at the counter: one e-mail tells of the whole visit")), ..self.clone() };
        quiet.claim(tx, rows, &ClaimWish::default())?;
        let ask = |to, because| NewStageChange { to, because, reason: None, due: None };
        quiet.change_stage(tx, rows, &ask(Stage::Diagnosis, Because::ExaminationBegins))?;
        let mut lines = Vec::new();
        let mut steps = Vec::new();
        for (index, new) in visit.operations.iter().enumerate() {
            let row = quiet.add_operation(tx, rows, new).map_err(|halt| halt.below(&format!("/operations/{index}")))?;
            if row.irreversible {
                return Err(Halt::refused(
                    "irreversible-needs-name",
                    format!("\"{}\" cannot be undone; it needs the owner's acceptance by name. Send a quote.", row.title),
                ));
            }
            // What was said to have taken so long is recorded so; what was not said took no time that anybody knows.
            let taken = new.minutes.as_ref().map_or(0, |minutes| minutes.typical);
            steps.push((OperationId(row.id), chrono::Duration::minutes(i64::from(taken))));
            lines.push(NewQuoteLine {
                id: None,
                kind: LineKind::Labour,
                text: None,
                quantity: None,
                unit_price: None,
                tax_class: None,
                discount_percent: None,
                optional: false,
                operation_id: Some(OperationId(row.id)),
            });
        }
        let quote = NewQuote { message: None, lines, discount: None, limit: None, expires_on: None };
        let total = quiet.draft_quote(tx, rows, &quote)?.total;
        if paid_now + rows.paid() >= total && rows.order.may_cost.unwrap_or_default() < total {
            rows.order.may_cost = Some(total);
            work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
        }
        quiet.change_stage(tx, rows, &ask(Stage::Bench, Because::CoveredBeforehand))?;
        // One after the other, the last one ending now.
        let mut at = self.now - steps.iter().map(|(_, taken)| *taken).sum::<chrono::Duration>();
        for (id, taken) in steps {
            let begins = Desk { now: at, ..quiet.clone() };
            begins.clock(tx, rows, id, &ClockAsk { action: ClockAction::Start, stop_other: false })?;
            at += taken;
            let ends = Desk { now: at, ..quiet.clone() };
            ends.clock(tx, rows, id, &ClockAsk { action: ClockAction::Done, stop_other: false })?;
        }
        quiet.change_stage(tx, rows, &ask(Stage::LeakTest, Because::BenchDone))?;
        quiet.record_test(tx, rows, &visit.test).map_err(|halt| halt.below("/test"))?;
        if rows.order.stage.0 != Stage::Pickup {
            return Err(Halt::refused("test-missing", "The test recorded is not the one that must pass; record a leak test."));
        }
        self.hand_over(tx, rows, &visit.handover, Some(LetterKind::DoneAtCounter)).map_err(|halt| halt.below("/handover"))
    }
}

impl Acts {
    /// Makes the whole visit in one act.
    ///
    /// # Errors
    /// As each of the acts it is made of; nothing is kept of a visit that halts half-way.
    pub async fn done_at_counter(
        &self,
        actor: &Actor,
        order: WorkOrderId,
        seen: i32,
        visit: DoneAtCounter,
        once: Once,
    ) -> Result<WorkOrder, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, Some(seen))?;
                desk.done_at_counter(tx, &mut rows, &visit)?;
                Ok(rows.view(&desk.actor.who, desk.now)?)
            })
            .await
    }
}
