//! The steps on the bench: planning them, and the clock that runs while one is done.

use crate::checks::{Checks, LINE, TEXT, tidy};
use crate::desk::{Actor, Acts, Desk, Halt};
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::collections::BTreeSet;
use store::lists;
use store::operations::{self, OperationRow, TimeRow};
use store::order_facts::ids;
use store::order_rows::OrderRows;
use store::views::{Minutes, Operation};
use store::{Once, Tx, Word, work_orders};
use trade::rules::authority::may_start;
use trade::rules::facts::{By, OrderFacts};
use trade::words::ids::{FindingId, OperationId, PersonId, WorkOrderId};
use trade::words::instrument::{Heat, OperationKind, OperationState};
use trade::words::money::Money;
use trade::words::stage::Stage;
use utoipa::ToSchema;
use uuid::Uuid;

/// A step to be done. With a method of the shop's list, what is left out comes from the method.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewOperation {
    /// What it is called; the method's name if left out.
    #[serde(default)]
    pub title: Option<String>,
    /// Work, take apart or put together; work if left out.
    #[serde(default)]
    pub kind: Option<OperationKind>,
    /// From the shop's list.
    #[serde(default)]
    pub method_id: Option<Uuid>,
    /// How hot it gets.
    #[serde(default)]
    pub heat: Option<Heat>,
    /// Whether it cannot be undone.
    #[serde(default)]
    pub irreversible: Option<bool>,
    /// Which findings it answers.
    #[serde(default)]
    pub finding_ids: Vec<FindingId>,
    /// Which operations come before it.
    #[serde(default)]
    pub after: Vec<OperationId>,
    /// For taking apart and putting together: the joint, brace or part, as the instrument's map knows it.
    #[serde(default)]
    pub joint: Option<String>,
    /// Joints and braces that must be apart for it, as the instrument's map knows them.
    #[serde(default)]
    pub needs_apart: Vec<String>,
    /// How long it takes; left out, the shop's own minutes of the method once there are enough, else those of its list.
    #[serde(default)]
    pub minutes: Option<Minutes>,
    /// Its price; by the hour's rate and the typical minutes if left out.
    #[serde(default)]
    pub price: Option<Money>,
    /// One of the shop's tax classes; the first if left out.
    #[serde(default)]
    pub tax_class: Option<String>,
}

/// What can be amended; what is left out stays. `struck_reason` strikes the operation.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OperationChange {
    /// What it is called.
    #[serde(default)]
    pub title: Option<String>,
    /// Which findings it answers.
    #[serde(default)]
    pub finding_ids: Option<Vec<FindingId>>,
    /// Which operations come before it.
    #[serde(default)]
    pub after: Option<Vec<OperationId>>,
    /// Joints and braces that must be apart for it, as the instrument's map knows them.
    #[serde(default)]
    pub needs_apart: Option<Vec<String>>,
    /// How long it takes.
    #[serde(default)]
    pub minutes: Option<Minutes>,
    /// Its price, while it is on no accepted quote and not begun.
    #[serde(default)]
    pub price: Option<Money>,
    /// Whether it waits for an answer that is out.
    #[serde(default)]
    pub waits_for_answer: Option<bool>,
    /// Strikes the operation, for this reason.
    #[serde(default)]
    pub struck_reason: Option<String>,
}

/// What the clock is to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ClockAction {
    /// Start, or go on.
    Start,
    /// Stop for now.
    Stop,
    /// Stop, and the step is done.
    Done,
}

/// Starts or stops the clock on an operation.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ClockAsk {
    /// What to do.
    pub action: ClockAction,
    /// Whether a clock that runs for this person elsewhere is stopped first.
    #[serde(default)]
    pub stop_other: bool,
}

pub(crate) fn check_minutes(checks: &mut Checks, minutes: Option<&Minutes>) {
    if let Some(m) = minutes
        && !(0 <= m.low && m.low <= m.typical && m.typical <= m.high && m.high <= 10_000)
    {
        checks.fault("/minutes", "must rise from low over typical to high, between 0 and 10000");
    }
}

fn check_ids(checks: &mut Checks, rows: &OrderRows, findings: &[FindingId], after: &[OperationId], own: Option<Uuid>) {
    for (index, id) in findings.iter().enumerate() {
        if !rows.findings.iter().any(|f| f.id == id.0) {
            checks.fault(format!("/finding_ids/{index}"), "is no finding of this order");
        }
    }
    for (index, id) in after.iter().enumerate() {
        let known = rows.operations.iter().any(|o| o.id == id.0);
        if !known || Some(id.0) == own {
            checks.fault(format!("/after/{index}"), "is no other operation of this order");
        } else if own.is_some_and(|own| comes_after(rows, id.0, own)) {
            checks.fault(format!("/after/{index}"), "would come after itself");
        }
    }
}

fn check_places(checks: &mut Checks, rows: &OrderRows, joint: Option<&str>, needs_apart: &[String]) {
    let known = |word: &str| rows.part_map.map.resolve(word).is_some();
    if joint.is_some_and(|word| !known(word)) {
        checks.fault("/joint", "is neither joint nor part of this instrument's map");
    }
    if needs_apart.len() > 16 {
        checks.fault("/needs_apart", "at most 16 joints");
    }
    for (at, _) in needs_apart.iter().enumerate().filter(|(_, word)| !known(word)) {
        checks.fault(format!("/needs_apart/{at}"), "is neither joint nor part of this instrument's map");
    }
}

/// Whether `one` comes after `other`, directly or through others.
pub(crate) fn comes_after(rows: &OrderRows, one: Uuid, other: Uuid) -> bool {
    let (mut seen, mut next) = (BTreeSet::from([one]), vec![one]);
    while let Some(id) = next.pop() {
        let Some(row) = rows.operations.iter().find(|o| o.id == id) else { continue };
        let after = ids(&row.after_ids).unwrap_or_default();
        if after.contains(&other) {
            return true;
        }
        // Each step once: many that come after many have more ways between them than can be walked.
        next.extend(after.into_iter().filter(|id| seen.insert(*id)));
    }
    false
}

impl Desk {
    /// Adds a step to a locked order; raising the version and telling of it is the caller's.
    pub fn add_operation(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, new: &NewOperation) -> Result<OperationRow, Halt> {
        self.actor.must_be(&[By::Technician])?;
        self.may_plan(rows)?;
        let method = match new.method_id {
            None => None,
            Some(id) => Some(
                lists::methods(tx.conn())?
                    .into_iter()
                    .find(|m| m.id == id)
                    .filter(|m| m.is_offered)
                    .ok_or_else(|| Halt::invalid("/method_id", "is no method of this shop, or is not offered any more"))?,
            ),
        };
        let currency = rows.shop.currency()?;
        let classes = rows.shop.tax_classes()?;
        let title = tidy(new.title.as_deref()).or_else(|| method.as_ref().map(|m| m.name.clone())).unwrap_or_default();
        let mut checks = Checks::default();
        checks.said("/title", &title, LINE);
        check_minutes(&mut checks, new.minutes.as_ref());
        check_ids(&mut checks, rows, &new.finding_ids, &new.after, None);
        let joint = tidy(new.joint.as_deref());
        check_places(&mut checks, rows, joint.as_deref(), &new.needs_apart);
        if joint.is_some() && new.kind.unwrap_or(OperationKind::Work) == OperationKind::Work {
            checks.fault("/joint", "is for taking apart and putting together; for work, say what must be apart");
        }
        let price = checks.amount("/price", new.price, currency);
        let tax_class = new.tax_class.clone().or_else(|| classes.first().map(|c| c.id.clone())).unwrap_or_default();
        if !classes.iter().any(|class| class.id == tax_class) {
            checks.fault("/tax_class", "is none of the shop's tax classes");
        }
        checks.done()?;
        let minutes = match (&new.minutes, &method) {
            (Some(said), _) => said.clone(),
            (None, Some(method)) => lists::minutes(method, &lists::minutes_taken(tx.conn(), &[method.id])?).0,
            (None, None) => Minutes { low: 15, typical: 30, high: 60 },
        };
        let by_the_hour = || {
            let amount = rows.shop.labour_rate * rust_decimal::Decimal::from(minutes.typical) / rust_decimal::Decimal::from(60);
            amount.round_dp_with_strategy(currency.places(), rust_decimal::RoundingStrategy::MidpointAwayFromZero)
        };
        let kind = new.kind.unwrap_or(OperationKind::Work);
        let row = OperationRow {
            shop_id: self.actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: rows.order.id,
            number: i32::try_from(rows.operations.len()).unwrap_or(i32::MAX) + 1,
            title,
            kind: Word(kind),
            method_id: new.method_id,
            heat: Word(new.heat.or(method.as_ref().map(|m| m.heat.0)).unwrap_or(Heat::None)),
            // What the method cannot undo, no step by it can.
            irreversible: new.irreversible.unwrap_or(false) || method.as_ref().is_some_and(|m| m.irreversible),
            finding_ids: json!(new.finding_ids),
            after_ids: json!(new.after),
            low_minutes: minutes.low,
            typical_minutes: minutes.typical,
            high_minutes: minutes.high,
            // Taking apart and putting together come with the work that needs them.
            price: price
                .or_else(|| method.as_ref().map(|m| m.price))
                .unwrap_or_else(|| if kind == OperationKind::Work { by_the_hour() } else { rust_decimal::Decimal::ZERO }),
            tax_class,
            state: Word(OperationState::Planned),
            begun_at: None,
            claimed_by: None,
            claimed_at: None,
            rework_count: 0,
            waits_for_answer: false,
            struck_reason: None,
            version: 1,
            changed_by: self.actor.words.clone(),
            changed_at: self.now,
            joint,
            needs_apart: json!(new.needs_apart),
            chosen_ways: json!([]),
            method_changed_at: None,
        };
        operations::add(tx, &row)?;
        rows.operations.push(row.clone());
        Ok(row)
    }

    /// Whether steps can be planned where the order stands.
    pub fn may_plan(&self, rows: &OrderRows) -> Result<(), Halt> {
        match rows.order.stage.0 {
            Stage::Closed => Err(Halt::refused("closed", "The order is closed.")),
            Stage::Intake => Err(Halt::refused("not-examined", "Begin the examination first.")),
            Stage::Diagnosis | Stage::Approval | Stage::Bench | Stage::LeakTest | Stage::Pickup => Ok(()),
        }
    }

    /// The halt of whoever saw an older version of a step.
    pub fn stale_step(&self, rows: &OrderRows, row: &OperationRow, facts: &OrderFacts) -> Result<Halt, Halt> {
        Ok(Halt::stale(row.version, &row.changed_by, row.changed_at, &rows.operation(row, facts, self.now)?))
    }

    /// Changes a step of a locked order and raises its version.
    pub fn amend_step(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, at: usize, change: impl FnOnce(&mut OperationRow)) -> Result<(), Halt> {
        let row = rows.operations.get_mut(at).ok_or(Halt::Absent)?;
        change(row);
        row.version += 1;
        row.changed_by.clone_from(&self.actor.words);
        row.changed_at = self.now;
        Ok(operations::save(tx, row)?)
    }

    /// Runs the clock of the person asking; raising the version and telling of it is the caller's.
    pub fn clock(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, id: OperationId, ask: &ClockAsk) -> Result<&'static str, Halt> {
        self.actor.must_be(&[By::Technician])?;
        let me = self.actor.person()?;
        let at = rows.operations.iter().position(|o| o.id == id.0).ok_or(Halt::Absent)?;
        let mut row = rows.operations[at].clone();
        let words = match ask.action {
            ClockAction::Start => {
                let facts = rows.facts(self.today(rows)?)?;
                let own = facts.operations.get(at).ok_or(Halt::Absent)?;
                may_start(&facts, own)?;
                if let (Some(by), Some(since)) = (row.claimed_by, row.claimed_at)
                    && by != me.0
                {
                    return Err(Halt::Claimed { by: rows.person(by).name, at: since });
                }
                if let Some(other) = rows.times.iter().find(|t| t.operation_id == id.0 && t.stopped_at.is_none()) {
                    if other.person_id == me.0 {
                        return Ok("the clock runs already");
                    }
                    return Err(Halt::Claimed { by: rows.person(other.person_id).name, at: other.started_at });
                }
                if let Some(running) = operations::running_clock(tx.conn(), me)? {
                    if !ask.stop_other {
                        return Err(Halt::refused("clock-running", "Your clock runs on another step. Stop that one first?"));
                    }
                    self.stop_elsewhere(tx, rows, &running)?;
                }
                let time = TimeRow {
                    shop_id: self.actor.shop.0,
                    id: Uuid::now_v7(),
                    work_order_id: rows.order.id,
                    operation_id: id.0,
                    person_id: me.0,
                    started_at: self.now,
                    stopped_at: None,
                    to_check: false,
                };
                operations::start_clock(tx, &time)?;
                rows.times.push(time);
                row = rows.operations[at].clone();
                row.state = Word(OperationState::Running);
                row.begun_at = row.begun_at.or(Some(self.now));
                "the clock was started"
            }
            ClockAction::Done if matches!(rows.order.stage.0, Stage::Pickup | Stage::Closed) => {
                return Err(Halt::refused("not-on-the-bench", "The work on this order has ended; what is done stands on its bill."));
            }
            ClockAction::Stop | ClockAction::Done => {
                if let Some(time) = rows.times.iter_mut().find(|t| t.operation_id == id.0 && t.stopped_at.is_none()) {
                    if time.person_id != me.0 && !self.actor.who.is(By::Proprietor) {
                        return Err(Halt::refused("not-yours", "Somebody else's clock runs on this step. They stop it, or the proprietor does."));
                    }
                    let stopped = self.now.max(time.started_at);
                    operations::stop_clock(tx, time.id, stopped, false)?;
                    time.stopped_at = Some(stopped);
                }
                match (ask.action, row.state.0) {
                    (_, OperationState::Struck) => return Err(Halt::refused("struck", "This step was struck.")),
                    (ClockAction::Stop, OperationState::Running) => row.state = Word(OperationState::Paused),
                    (ClockAction::Stop, _) => return Ok("no clock runs"),
                    (_, OperationState::Done) => return Ok("it is done already"),
                    (_, OperationState::Planned) => {
                        return Err(Halt::refused("not-begun", "Start the clock first: nothing is done that was never begun."));
                    }
                    (_, OperationState::Running | OperationState::Paused) => row.state = Word(OperationState::Done),
                }
                if ask.action == ClockAction::Done { "a step is done" } else { "the clock was stopped" }
            }
        };
        row.version += 1;
        row.changed_by.clone_from(&self.actor.words);
        row.changed_at = self.now;
        operations::save(tx, &row)?;
        rows.operations[at] = row;
        Ok(words)
    }

    /// Stops a clock that runs on another step, perhaps of another order.
    fn stop_elsewhere(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, running: &TimeRow) -> Result<(), Halt> {
        if running.work_order_id != rows.order.id {
            // Its order is locked and told of, as for whoever looks at it now.
            let mut others = self.open(tx, WorkOrderId(running.work_order_id), None)?;
            self.stop_running(tx, &mut others, running)?;
            return self.recorded(tx, &mut others, "clock", "the clock was stopped");
        }
        self.stop_running(tx, rows, running)
    }

    fn stop_running(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, running: &TimeRow) -> Result<(), Halt> {
        if !rows.times.iter().any(|t| t.id == running.id && t.stopped_at.is_none()) {
            return Ok(());
        }
        operations::stop_clock(tx, running.id, self.now.max(running.started_at), false)?;
        if let Some(time) = rows.times.iter_mut().find(|t| t.id == running.id) {
            time.stopped_at = Some(self.now.max(time.started_at));
        }
        if let Some(mut other) = operations::find(tx.conn(), OperationId(running.operation_id))?
            && other.state.0 == OperationState::Running
        {
            other.state = Word(OperationState::Paused);
            other.version += 1;
            operations::save(tx, &other)?;
            if let Some(own) = rows.operations.iter_mut().find(|o| o.id == other.id) {
                *own = other;
            }
        }
        Ok(())
    }

    /// Stops every clock on this order, to be checked.
    pub(crate) fn stop_all_clocks(&self, tx: &mut Tx<'_>, rows: &mut OrderRows) -> Result<(), Halt> {
        let running: Vec<TimeRow> = rows.times.iter().filter(|t| t.stopped_at.is_none()).cloned().collect();
        for time in running {
            self.stop_to_check(tx, rows, &time, self.now)?;
        }
        Ok(())
    }

    /// Stops the clocks of somebody on this order, to be checked.
    pub(crate) fn stop_clocks_of(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, person: Option<Uuid>) -> Result<(), Halt> {
        let running: Vec<TimeRow> =
            rows.times.iter().filter(|t| t.stopped_at.is_none() && Some(t.person_id) == person).cloned().collect();
        for time in running {
            self.stop_to_check(tx, rows, &time, self.now)?;
        }
        Ok(())
    }

    /// Stops a clock at an instant, marked to be checked.
    pub(crate) fn stop_to_check(
        &self,
        tx: &mut Tx<'_>,
        rows: &mut OrderRows,
        time: &TimeRow,
        at: chrono::DateTime<chrono::Utc>,
    ) -> Result<(), Halt> {
        let stopped = at.max(time.started_at);
        operations::stop_clock(tx, time.id, stopped, true)?;
        if let Some(own) = rows.times.iter_mut().find(|t| t.id == time.id) {
            own.stopped_at = Some(stopped);
            own.to_check = true;
        }
        if let Some(row) = rows.operations.iter_mut().find(|o| o.id == time.operation_id && o.state.0 == OperationState::Running) {
            row.state = Word(OperationState::Paused);
            row.version += 1;
            operations::save(tx, row)?;
        }
        Ok(())
    }

    /// Lets the steps go on that waited for an answer; with `strike`, strikes those that only
    /// the unanswered version would have allowed and that were never begun.
    pub(crate) fn free_waiting_operations(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, strike: bool) -> Result<(), Halt> {
        for row in rows.operations.iter_mut().filter(|o| o.waits_for_answer) {
            row.waits_for_answer = false;
            if strike && row.begun_at.is_none() && row.state.0 == OperationState::Planned {
                row.state = Word(OperationState::Struck);
                row.struck_reason = Some("not wanted by the owner, or taken back".to_owned());
            }
            row.version += 1;
            row.changed_by.clone_from(&self.actor.words);
            row.changed_at = self.now;
            operations::save(tx, row)?;
        }
        Ok(())
    }
}

impl Acts {
    /// Adds a step to an order.
    ///
    /// # Errors
    /// [`Halt::Invalid`] with every fault; `not-yours`; `closed`.
    pub async fn add_operation(&self, actor: &Actor, order: WorkOrderId, new: NewOperation, once: Once) -> Result<Operation, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, None)?;
                let id = desk.add_operation(tx, &mut rows, &new)?.id;
                // Whoever says nothing of the order means the one that the heat asks for.
                if new.after.is_empty() {
                    desk.stands_around(tx, &mut rows, id)?;
                }
                desk.recorded(tx, &mut rows, "operation_added", "a step was added")?;
                let row = rows.operations.iter().find(|row| row.id == id).ok_or(Halt::Absent)?.clone();
                let facts = rows.facts(desk.today(&rows)?)?;
                Ok(rows.operation(&row, &facts, desk.now)?)
            })
            .await
    }

    /// Amends or strikes a step.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], [`Halt::Invalid`]; `accepted-price` for a price that the
    /// owner accepted or that was begun.
    pub async fn amend_operation(&self, actor: &Actor, id: OperationId, seen: i32, change: OperationChange) -> Result<Operation, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::Technician])?;
                let found = operations::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, WorkOrderId(found.work_order_id), None)?;
                let at = rows.operations.iter().position(|o| o.id == id.0).ok_or(Halt::Absent)?;
                let mut row = rows.operations[at].clone();
                let facts = rows.facts(desk.today(&rows)?)?;
                if row.version != seen {
                    return Err(desk.stale_step(&rows, &row, &facts)?);
                }
                if row.state.0 == OperationState::Struck {
                    return Err(Halt::refused("struck", "This step was struck."));
                }
                if rows.order.stage.0 == Stage::Closed {
                    return Err(Halt::refused("closed", "The order is closed."));
                }
                let mut checks = Checks::default();
                if let Some(title) = &change.title {
                    checks.said("/title", title, LINE);
                    row.title = title.trim().to_owned();
                }
                check_minutes(&mut checks, change.minutes.as_ref());
                check_ids(
                    &mut checks,
                    &rows,
                    change.finding_ids.as_deref().unwrap_or_default(),
                    change.after.as_deref().unwrap_or_default(),
                    Some(row.id),
                );
                check_places(&mut checks, &rows, None, change.needs_apart.as_deref().unwrap_or_default());
                let price = checks.amount("/price", change.price, rows.shop.currency()?);
                checks.short("/struck_reason", change.struck_reason.as_deref(), TEXT);
                if change.struck_reason.as_deref().is_some_and(|reason| reason.trim().is_empty()) {
                    checks.fault("/struck_reason", "must say why the step is struck");
                }
                checks.done()?;
                let own = facts.operations.get(at).ok_or(Halt::Absent)?;
                if own.is_accepted && row.title != rows.operations[at].title {
                    return Err(Halt::refused("accepted-step", "The owner accepted this step by its name. Strike it and plan another one instead."));
                }
                if let Some(findings) = &change.finding_ids
                    && own.was_begun
                    && ids(&row.finding_ids)?.iter().any(|had| !findings.iter().any(|one| one.0 == *had))
                {
                    return Err(Halt::refused("begun-step", "Work on this step was begun for its findings; more can be added, none taken away."));
                }
                if let Some(price) = price {
                    if own.is_accepted || own.was_begun {
                        return Err(Halt::refused(
                            "accepted-price",
                            "The owner accepted this price, or the step was begun. Ask for the extra work instead.",
                        ));
                    }
                    row.price = price;
                }
                if let Some(minutes) = &change.minutes {
                    (row.low_minutes, row.typical_minutes, row.high_minutes) = (minutes.low, minutes.typical, minutes.high);
                }
                if let Some(findings) = &change.finding_ids {
                    row.finding_ids = json!(findings);
                }
                if let Some(after) = &change.after {
                    row.after_ids = json!(after);
                }
                if let Some(needs_apart) = &change.needs_apart {
                    row.needs_apart = json!(needs_apart);
                }
                let is_asked = rows.sent().map(|sent| sent.content()).transpose()?.is_some_and(|content| content.lines.iter().any(|l| l.is_new && l.operation_id == Some(id)));
                if change.waits_for_answer == Some(false) && row.waits_for_answer && is_asked {
                    return Err(Halt::refused("waits-for-answer", "The owner is asked about this step. It goes on when they have answered; take the question back to drop it."));
                }
                row.waits_for_answer = change.waits_for_answer.unwrap_or(row.waits_for_answer);
                if let Some(reason) = tidy(change.struck_reason.as_deref()) {
                    if row.state.0 == OperationState::Running {
                        return Err(Halt::refused("clock-running", "The clock runs on this step. Stop it first."));
                    }
                    if row.state.0 == OperationState::Done {
                        return Err(Halt::refused("done", "This step is done; what was done stays on the record."));
                    }
                    row.state = Word(OperationState::Struck);
                    row.struck_reason = Some(reason);
                }
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                operations::save(tx, &row)?;
                rows.operations[at] = row.clone();
                desk.recorded(tx, &mut rows, "operation_amended", "a step was amended")?;
                let facts = rows.facts(desk.today(&rows)?)?;
                Ok(rows.operation(&row, &facts, desk.now)?)
            })
            .await
    }

    /// Starts or stops the clock on a step.
    ///
    /// # Errors
    /// What is in the way of starting (rules 2 and 14); `clock-running`; [`Halt::Claimed`].
    pub async fn clock(&self, actor: &Actor, id: OperationId, ask: ClockAsk, once: Once) -> Result<Operation, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let found = operations::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                // Two orders are locked in the order of their ids: two people who change over
                // between them at once would wait for each other for ever.
                if ask.stop_other
                    && let Some(running) = operations::running_clock(tx.conn(), desk.actor.person()?)?
                    && running.work_order_id < found.work_order_id
                {
                    work_orders::lock(tx, WorkOrderId(running.work_order_id))?;
                }
                let mut rows = desk.open(tx, WorkOrderId(found.work_order_id), None)?;
                let words = desk.clock(tx, &mut rows, id, &ask)?;
                desk.recorded(tx, &mut rows, "clock", words)?;
                let facts = rows.facts(desk.today(&rows)?)?;
                let row = rows.operations.iter().find(|o| o.id == id.0).ok_or(Halt::Absent)?;
                Ok(rows.operation(row, &facts, desk.now)?)
            })
            .await
    }

    /// The person whose clock runs, if one does: for the head of a screen.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn running_operation(&self, actor: &Actor, person: PersonId) -> Result<Option<(WorkOrderId, OperationId)>, Halt> {
        self.store
            .read(actor.shop, move |conn| {
                Ok(operations::running_clock(conn, person)?.map(|t| (WorkOrderId(t.work_order_id), OperationId(t.operation_id))))
            })
            .await
    }
}
