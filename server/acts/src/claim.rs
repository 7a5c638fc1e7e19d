//! Claiming an order or an operation: exactly one wins, the other is told who and when (rule 5).

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use serde::{Deserialize, Serialize};
use store::order_rows::OrderRows;
use store::views::{Operation, WorkOrder};
use store::{Tx, operations, people, work_orders};
use trade::rules::facts::By;
use trade::words::ids::{OperationId, PersonId, WorkOrderId};
use trade::words::instrument::OperationState;
use trade::words::stage::{Role, Stage};
use utoipa::ToSchema;

/// Empty: the person asking claims. Otherwise the proprietor hands it to another.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ClaimWish {
    /// To whom the proprietor hands it.
    #[serde(default, rename = "for")]
    pub for_person: Option<PersonId>,
    /// Why.
    #[serde(default)]
    pub reason: Option<String>,
}

impl Desk {
    /// Claims an order for the person asking, or hands it over.
    pub fn claim(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, wish: &ClaimWish) -> Result<(), Halt> {
        if rows.order.stage.0 == Stage::Closed {
            return Err(Halt::refused("closed", "The order is closed."));
        }
        let words = match wish.for_person {
            None => {
                self.actor.must_be(&[By::Technician])?;
                let me = self.actor.person()?;
                match (rows.order.claimed_by, rows.order.claimed_at) {
                    (Some(by), _) if by == me.0 => return Ok(()),
                    (Some(by), Some(at)) => return Err(Halt::Claimed { by: rows.person(by).name, at }),
                    _ => {}
                }
                rows.order.claimed_by = Some(me.0);
                format!("claimed by {}", self.actor.words)
            }
            Some(other) => {
                self.actor.must_be(&[By::Proprietor])?;
                let mut checks = Checks::default();
                checks.said("/reason", wish.reason.as_deref().unwrap_or_default(), LINE);
                checks.done()?;
                let person = people::find(tx.conn(), other)?
                    .filter(|p| p.is_active)
                    .ok_or_else(|| Halt::invalid("/for", "is nobody who works here"))?;
                let roles = person.roles()?;
                if !roles.contains(&Role::Technician) && !roles.contains(&Role::Proprietor) {
                    return Err(Halt::invalid("/for", "is no technician"));
                }
                self.stop_clocks_of(tx, rows, rows.order.claimed_by)?;
                rows.order.claimed_by = Some(person.id);
                let reason = tidy(wish.reason.as_deref()).unwrap_or_default();
                format!("handed to {}: {reason}", person.name)
            }
        };
        rows.order.claimed_at = Some(self.now);
        work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
        self.tell(tx, rows, "claimed", &words)
    }

    /// Gives a claim back.
    pub fn give_back(&self, tx: &mut Tx<'_>, rows: &mut OrderRows) -> Result<(), Halt> {
        let me = self.actor.person()?;
        match rows.order.claimed_by {
            None => return Ok(()),
            Some(by) if by == me.0 || self.actor.must_be(&[By::Proprietor]).is_ok() => {}
            Some(by) => {
                return Err(Halt::refused(
                    "not-yours",
                    format!("{} has claimed it. They give it back, or the proprietor hands it over.", rows.person(by).name),
                ));
            }
        }
        self.stop_clocks_of(tx, rows, rows.order.claimed_by)?;
        rows.order.claimed_by = None;
        rows.order.claimed_at = None;
        work_orders::save(tx, &mut rows.order, &self.actor.words, self.now)?;
        self.tell(tx, rows, "given_back", "the claim was given back")
    }
}

impl Acts {
    /// Claims an order for the person asking, or hands it to another with a reason.
    ///
    /// # Errors
    /// [`Halt::Claimed`] says who was first and when; [`Halt::Stale`]; `not-yours`.
    pub async fn claim(&self, actor: &Actor, order: WorkOrderId, seen: i32, wish: ClaimWish) -> Result<WorkOrder, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                let mut checks = Checks::default();
                checks.short("/reason", wish.reason.as_deref(), TEXT);
                checks.done()?;
                let mut rows = desk.open(tx, order, None)?;
                // Who lost the race has also seen an older version; who won matters more.
                if wish.for_person.is_none()
                    && let (Some(by), Some(at)) = (rows.order.claimed_by, rows.order.claimed_at)
                    && Some(by) != desk.actor.who.person().map(|p| p.0)
                {
                    return Err(Halt::Claimed { by: rows.person(by).name, at });
                }
                if rows.order.version != seen {
                    return desk.open(tx, order, Some(seen)).map(|_| Err(Halt::Absent))?;
                }
                desk.claim(tx, &mut rows, &wish)?;
                Ok(rows.view(&desk.actor.who, desk.now)?)
            })
            .await
    }

    /// Gives the claim on an order back.
    ///
    /// # Errors
    /// [`Halt::Stale`]; `not-yours` when somebody else has it.
    pub async fn give_back(&self, actor: &Actor, order: WorkOrderId, seen: i32) -> Result<WorkOrder, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                let mut rows = desk.open(tx, order, Some(seen))?;
                desk.give_back(tx, &mut rows)?;
                Ok(rows.view(&desk.actor.who, desk.now)?)
            })
            .await
    }

    /// Claims an operation that was seen in this version of its own, or gives it back. Claiming
    /// one's own again and giving back what nobody has are harmless.
    ///
    /// # Errors
    /// [`Halt::Claimed`] says who was first and when; [`Halt::Stale`]; `closed`, `done`, `struck`;
    /// [`Halt::Absent`]; `not-yours`.
    pub async fn claim_operation(&self, actor: &Actor, id: OperationId, seen: i32, take: bool) -> Result<Operation, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::Technician])?;
                let me = desk.actor.person()?;
                let found = operations::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, WorkOrderId(found.work_order_id), None)?;
                let at = rows.operations.iter().position(|o| o.id == id.0).ok_or(Halt::Absent)?;
                let mut row = rows.operations[at].clone();
                match (row.claimed_by, row.claimed_at) {
                    // Somebody ill gives nothing back: the proprietor does it for them. Who lost the
                    // race has also seen an older version; who won matters more.
                    (Some(by), Some(since)) if by != me.0 && (take || !desk.actor.who.is(By::Proprietor)) => {
                        return Err(Halt::Claimed { by: rows.person(by).name, at: since });
                    }
                    _ => {}
                }
                let facts = rows.facts(desk.today(&rows)?)?;
                if row.version != seen {
                    return Err(desk.stale_step(&rows, &row, &facts)?);
                }
                if rows.order.stage.0 == Stage::Closed {
                    return Err(Halt::refused("closed", "The order is closed."));
                }
                if row.claimed_by == take.then_some(me.0) {
                    return Ok(rows.operation(&row, &facts, desk.now)?);
                }
                match row.state.0 {
                    OperationState::Done if take => return Err(Halt::refused("done", "This step is done; there is nothing left to claim.")),
                    OperationState::Struck if take => return Err(Halt::refused("struck", "This step was struck; there is nothing left to claim.")),
                    _ => {}
                }
                row.claimed_by = take.then_some(me.0);
                row.claimed_at = take.then_some(desk.now);
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                operations::save(tx, &row)?;
                rows.operations[at] = row.clone();
                desk.recorded(tx, &mut rows, "operation_claimed", if take { "an operation was claimed" } else { "an operation was given back" })?;
                let facts = rows.facts(desk.today(&rows)?)?;
                Ok(rows.operation(&row, &facts, desk.now)?)
            })
            .await
    }
}
