//! Choosing a way round a heat conflict: what the way needs is written down, and the plan follows.

use crate::desk::{Actor, Acts, Desk, Halt};
use crate::operations::{NewOperation, comes_after};
use crate::plans::{plan_of, shop_bench};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::operations::OperationRow;
use store::order_facts::ids;
use store::order_rows::OrderRows;
use store::views::{Minutes, Operation};
use store::{Once, Tx, Word, lists};
use trade::bench::plan::{ChosenWay, HeatConflict, NoWay, PlanJoint, Way, WayHow, joints_named, minutes_around};
use trade::maps::JointKind;
use trade::rules::facts::By;
use trade::words::ids::{OperationId, WorkOrderId};
use trade::words::instrument::{Heat, OperationKind, OperationState};
use utoipa::ToSchema;
use uuid::Uuid;

/// A way round a heat conflict, as the plan told it.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewWay {
    /// The step that is too hot for the joint.
    pub operation_id: OperationId,
    /// The joint or brace, as the plan names it.
    pub joint: String,
    /// Which way round.
    pub how: WayHow,
    /// The other method, where that is the way.
    #[serde(default)]
    pub method_id: Option<Uuid>,
}

impl Acts {
    /// Does it this way: taking apart and putting together become steps, what saves the joint is
    /// kept on the step, or the step gets the other method. A price that an owner was told stays. Gives the
    /// step; the plan follows.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`]; [`Halt::Invalid`] for what the plan does not name;
    /// `way-not-allowed` where heat-reach does not call the joint safe with it; `begun` for another
    /// method of a step that was begun; `not-yours`, `closed`.
    pub async fn choose_way(&self, actor: &Actor, order: WorkOrderId, seen: i32, new: NewWay, once: Once) -> Result<Operation, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, Some(seen))?;
                desk.choose_way(tx, &mut rows, &new)?;
                desk.recorded(tx, &mut rows, "way_chosen", "a way round the heat was chosen")?;
                let facts = rows.facts(desk.today(&rows)?)?;
                let row = rows.operations.iter().find(|row| row.id == new.operation_id.0).ok_or(Halt::Absent)?;
                Ok(rows.operation(row, &facts, desk.now)?)
            })
            .await
    }
}

impl Desk {
    fn choose_way(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, new: &NewWay) -> Result<(), Halt> {
        self.actor.must_be(&[By::Technician])?;
        self.may_plan(rows)?;
        let at = rows
            .operations
            .iter()
            .position(|row| row.id == new.operation_id.0)
            .ok_or_else(|| Halt::invalid("/operation_id", "is no operation of this order"))?;
        if (new.how == WayHow::OtherMethod) != new.method_id.is_some() {
            return Err(Halt::invalid("/method_id", "goes with another method as the way, and only with that"));
        }
        match rows.operations[at].state.0 {
            OperationState::Struck => return Err(Halt::refused("struck", "This step was struck.")),
            OperationState::Done => return Err(Halt::refused("done", "This step is done.")),
            OperationState::Planned | OperationState::Running | OperationState::Paused => {}
        }
        let told = plan_of(tx.conn(), rows)?.plan;
        let conflict = conflict_of(rows, &told.conflicts, new).ok_or_else(|| Halt::invalid("/joint", "is not in the heat of this step"))?;
        let way = way_of(conflict, new)
            .ok_or_else(|| Halt::invalid(if new.method_id.is_some() { "/method_id" } else { "/how" }, "is no way round here"))?;
        if !way.allowed {
            return Err(not_allowed(Some(way)));
        }
        match new.how {
            WayHow::TakeApart => self.take_apart_for(tx, rows, at, &conflict.joint)?,
            WayHow::HeatSink | WayHow::Water | WayHow::WetRag => self.save_by(tx, rows, at, &conflict.joint, new.how)?,
            WayHow::OtherMethod => return self.do_otherwise(tx, rows, at, &conflict.joint, new.method_id),
        }
        // Asked together with everything else that was chosen: what does not hold then is not kept.
        let then = plan_of(tx.conn(), rows)?.plan;
        let now = conflict_of(rows, &then.conflicts, new);
        let way = now.and_then(|conflict| way_of(conflict, new));
        let holds = match rows.operations[at].kind.0 {
            OperationKind::Work => way.is_some_and(|way| way.allowed && way.chosen),
            // A joint that this order has apart by then needs no saving: the choice stands for when
            // it has not. What comes apart with the joint worked on is in its heat no more.
            OperationKind::TakeApart | OperationKind::PutTogether => {
                let stands = now.is_none() || way.is_some_and(|way| way.allowed && way.wanted);
                let is_known = |one: &NoWay| told.impossible.iter().any(|known| known.operation_id == one.operation_id && known.joint == one.joint);
                stands && then.total_minutes.is_some() && then.impossible.iter().all(is_known)
            }
        };
        if holds { Ok(()) } else { Err(not_allowed(way)) }
    }

    /// Plans the steps of taking apart and of putting together, unless they are there.
    fn take_apart_for(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, at: usize, joint: &PlanJoint) -> Result<(), Halt> {
        let settings = shop_bench(tx.conn())?.settings;
        let (taking, putting) = minutes_around(&rows.part_map.map, &settings, &joint.joint_ids);
        let (takes, puts) = (steps_around(rows, joint, OperationKind::TakeApart), steps_around(rows, joint, OperationKind::PutTogether));
        let put_again = puts.iter().filter(|put| rows.operations[**put].state.0 == OperationState::Done).count();
        let work = rows.operations[at].id;
        let take = match takes.get(put_again) {
            Some(take) => *take,
            None => self.add_around(tx, rows, joint, OperationKind::TakeApart, taking, Vec::new())?,
        };
        let take_id = rows.operations[take].id;
        let put = match puts.get(put_again) {
            Some(put) => *put,
            None => self.add_around(tx, rows, joint, OperationKind::PutTogether, putting, vec![OperationId(take_id)])?,
        };
        if comes_after(rows, take_id, work) || comes_after(rows, work, rows.operations[put].id) {
            return Err(Halt::refused("order-of-steps", "The steps stand in another order: this one would have to come before itself. Change what comes after what first."));
        }
        let is_of_it = |word: &str| is_of(rows, joint, word);
        let mut chosen: Vec<ChosenWay> = rows.operations[at].chosen_ways()?.into_iter().filter(|way| !is_of_it(&way.joint)).collect();
        // Work finds its joint apart by the steps that it comes after; a step on another joint keeps
        // it as its choice, or the shortest order would save this one and take it apart later.
        if rows.operations[at].kind.0 != OperationKind::Work {
            chosen.push(ChosenWay { joint: joint.id.clone(), how: WayHow::TakeApart });
        }
        let (work_after, put_after) = (with(&rows.operations[at], take_id)?, with(&rows.operations[put], work)?);
        self.amend_step(tx, rows, at, |row| {
            row.chosen_ways = json!(chosen);
            row.after_ids = json!(work_after);
        })?;
        self.amend_step(tx, rows, put, |row| row.after_ids = json!(put_after))
    }

    fn add_around(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, joint: &PlanJoint, kind: OperationKind, minutes: u32, after: Vec<OperationId>) -> Result<usize, Halt> {
        let minutes = i32::try_from(minutes).unwrap_or(i32::MAX);
        let name: String = joint.name.chars().take(MOST_OF_A_NAME).collect();
        let title = if kind == OperationKind::TakeApart { format!("Take {name} apart") } else { format!("Put {name} together") };
        let soldered = rows.part_map.map.joints.iter().any(|one| joint.joint_ids.contains(&one.id) && one.held == JointKind::SoftSoldered);
        let new = NewOperation {
            title: Some(title),
            kind: Some(kind),
            heat: Some(if soldered { Heat::Solder } else { Heat::None }),
            after,
            joint: Some(joint.id.clone()),
            minutes: Some(Minutes { low: minutes, typical: minutes, high: minutes }),
            ..NewOperation::default()
        };
        self.add_operation(tx, rows, &new)?;
        Ok(rows.operations.len() - 1)
    }

    /// A step of taking apart or putting together that came to the plan by itself: work that needs the
    /// joint apart comes after the one and before the other, as if the way had been chosen.
    ///
    /// # Errors
    /// When the records are out of reach or unreadable.
    pub fn stands_around(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, id: Uuid) -> Result<(), Halt> {
        let Some(own) = rows.operations.iter().find(|row| row.id == id) else { return Ok(()) };
        let kind = own.kind.0;
        let (Some(word), true) = (own.joint.clone(), kind != OperationKind::Work) else { return Ok(()) };
        let joints = joints_named(&rows.part_map.map, &word);
        let is_here = |other: &str| joints_named(&rows.part_map.map, other).iter().any(|id| joints.contains(id));
        let comes_apart = |conflict: &HeatConflict| conflict.ways.iter().any(|way| way.how == WayHow::TakeApart && way.chosen);
        let mut works = Vec::new();
        for conflict in plan_of(tx.conn(), rows)?.plan.conflicts {
            if comes_apart(&conflict) && conflict.joint.joint_ids.iter().any(|id| joints.contains(id)) {
                works.extend(rows.operations.iter().position(|row| row.id.to_string() == conflict.operation_id));
            }
        }
        let around = |kind: OperationKind| {
            let fits = move |row: &&OperationRow| row.kind.0 == kind && !is_over(row) && row.joint.as_deref().is_some_and(is_here);
            rows.operations.iter().filter(fits).map(|row| row.id).next_back()
        };
        let (take, put) = (around(OperationKind::TakeApart), around(OperationKind::PutTogether));
        for (at, row) in rows.operations.iter().enumerate() {
            if !is_over(row) && needs_apart(row)?.iter().any(|other| is_here(other)) {
                works.push(at);
            }
        }
        let works: Vec<Uuid> = works.into_iter().map(|at| rows.operations[at].id).filter(|work| *work != id).collect();
        let mut pairs: Vec<(Uuid, Uuid)> = works.into_iter().map(|work| if kind == OperationKind::TakeApart { (id, work) } else { (work, id) }).collect();
        pairs.extend(take.zip(put));
        for (first, last) in pairs {
            let Some(at) = rows.operations.iter().position(|row| row.id == last) else { continue };
            if !comes_after(rows, first, last) {
                let after = with(&rows.operations[at], first)?;
                self.amend_step(tx, rows, at, |row| row.after_ids = json!(after))?;
            }
        }
        Ok(())
    }

    /// Keeps what saves the joint on the step; what was planned to take it apart for this step alone goes.
    fn save_by(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, at: usize, joint: &PlanJoint, how: WayHow) -> Result<(), Halt> {
        let mut ways = rows.operations[at].chosen_ways()?;
        ways.retain(|way| !is_of(rows, joint, &way.joint));
        ways.push(ChosenWay { joint: joint.id.clone(), how });
        let needs: Vec<String> = needs_apart(&rows.operations[at])?.into_iter().filter(|word| !is_of(rows, joint, word)).collect();
        self.amend_step(tx, rows, at, |row| {
            row.chosen_ways = json!(ways);
            row.needs_apart = json!(needs);
        })?;
        self.leave_together(tx, rows, at, joint)
    }

    /// Gives the step the other method with its minutes, heat and price. A price that an owner was
    /// told stays: to ask again is the technician's.
    fn do_otherwise(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, at: usize, joint: &PlanJoint, method: Option<Uuid>) -> Result<(), Halt> {
        if rows.operations[at].begun_at.is_some() {
            return Err(Halt::refused("begun", "This step was begun as it is. Finish or strike it, and plan the other way as a step of its own."));
        }
        let methods = lists::methods(tx.conn())?;
        let find = |id: Option<Uuid>| methods.iter().find(|method| Some(method.id) == id);
        let chosen = find(method).ok_or_else(|| Halt::invalid("/method_id", "is no method of this shop"))?;
        let (minutes, _) = lists::minutes(chosen, &lists::minutes_taken(tx.conn(), &[chosen.id])?);
        let was_told = rows.is_on_a_sent_quote(&rows.operations[at])?;
        let was_named_so = find(rows.operations[at].method_id).is_some_and(|old| old.name == rows.operations[at].title);
        self.amend_step(tx, rows, at, |row| {
            if was_named_so {
                row.title.clone_from(&chosen.name);
            }
            row.method_id = Some(chosen.id);
            row.heat = Word(chosen.heat.0);
            row.irreversible = chosen.irreversible;
            if !was_told {
                row.price = chosen.price;
            }
            (row.low_minutes, row.typical_minutes, row.high_minutes) = (minutes.low, minutes.typical, minutes.high);
            row.chosen_ways = json!([]);
            row.method_changed_at = Some(self.now);
        })?;
        self.leave_together(tx, rows, at, joint)
    }

    /// A step no longer waits for a joint to come apart; where no step does, those of taking it
    /// apart and putting it together are struck, unless they were begun or somebody pays for them.
    fn leave_together(&self, tx: &mut Tx<'_>, rows: &mut OrderRows, at: usize, joint: &PlanJoint) -> Result<(), Halt> {
        let is_planned = |row: &OperationRow| row.state.0 == OperationState::Planned && row.begun_at.is_none();
        let around = |rows: &OrderRows, kind| -> Vec<usize> { steps_around(rows, joint, kind).into_iter().filter(|one| is_planned(&rows.operations[*one])).collect() };
        let (takes, puts) = (around(rows, OperationKind::TakeApart), around(rows, OperationKind::PutTogether));
        let id_of = |rows: &OrderRows, list: &[usize]| -> Vec<Uuid> { list.iter().map(|one| rows.operations[*one].id).collect() };
        let work = id_of(rows, &[at]);
        let take_ids = id_of(rows, &takes);
        let after = without(&rows.operations[at], &take_ids)?;
        self.amend_step(tx, rows, at, |row| row.after_ids = json!(after))?;
        for put in &puts {
            let after = without(&rows.operations[*put], &work)?;
            self.amend_step(tx, rows, *put, |row| row.after_ids = json!(after))?;
        }
        let is_other = |(one, row): &(usize, &OperationRow)| !takes.contains(one) && !puts.contains(one) && !is_over(row);
        for (_, row) in rows.operations.iter().enumerate().filter(is_other) {
            if ids(&row.after_ids)?.iter().any(|id| take_ids.contains(id)) || needs_apart(row)?.iter().any(|word| is_of(rows, joint, word)) {
                return Ok(());
            }
        }
        let facts = rows.facts(self.today(rows)?)?;
        for step in takes.into_iter().chain(puts) {
            let is_accepted = facts.operations.get(step).is_some_and(|own| own.is_accepted);
            if rows.operations[step].price.is_zero() && !is_accepted {
                self.amend_step(tx, rows, step, |row| {
                    row.state = Word(OperationState::Struck);
                    row.struck_reason = Some("another way round was chosen".to_owned());
                })?;
            }
        }
        Ok(())
    }
}

/// Letters of a joint's name in a title: a bell may come off with all that holds it.
const MOST_OF_A_NAME: usize = 150;

fn is_over(row: &OperationRow) -> bool {
    matches!(row.state.0, OperationState::Done | OperationState::Struck)
}

/// Whether a word of the map names one of these joints.
fn is_of(rows: &OrderRows, joint: &PlanJoint, word: &str) -> bool {
    joints_named(&rows.part_map.map, word).iter().any(|id| joint.joint_ids.contains(id))
}

/// The steps of this kind for these joints, apart from those struck, in their order.
fn steps_around(rows: &OrderRows, joint: &PlanJoint, kind: OperationKind) -> Vec<usize> {
    let fits = |row: &OperationRow| {
        row.kind.0 == kind && row.state.0 != OperationState::Struck && row.joint.as_ref().is_some_and(|word| is_of(rows, joint, word))
    };
    (0..rows.operations.len()).filter(|at| fits(&rows.operations[*at])).collect()
}

fn needs_apart(row: &OperationRow) -> Result<Vec<String>, Halt> {
    serde_json::from_value(row.needs_apart.clone()).map_err(|e| store::Error::Unreadable(format!("needs_apart: {e}")).into())
}

/// What a step comes after, with one more.
fn with(row: &OperationRow, one: Uuid) -> Result<Vec<Uuid>, Halt> {
    let mut after = ids(&row.after_ids)?;
    if !after.contains(&one) {
        after.push(one);
    }
    Ok(after)
}

/// What a step comes after, without these.
fn without(row: &OperationRow, these: &[Uuid]) -> Result<Vec<Uuid>, Halt> {
    Ok(ids(&row.after_ids)?.into_iter().filter(|id| !these.contains(id)).collect())
}

fn conflict_of<'c>(rows: &OrderRows, conflicts: &'c [HeatConflict], new: &NewWay) -> Option<&'c HeatConflict> {
    let id = new.operation_id.to_string();
    conflicts.iter().find(|conflict| conflict.operation_id == id && is_of(rows, &conflict.joint, &new.joint))
}

fn way_of<'c>(conflict: &'c HeatConflict, new: &NewWay) -> Option<&'c Way> {
    let method = new.method_id.map(|id| id.to_string());
    conflict.ways.iter().find(|way| way.how == new.how && way.method_id == method)
}

fn not_allowed(way: Option<&Way>) -> Halt {
    let why = way.and_then(|way| way.why_not.as_deref()).unwrap_or("it does not go together with the rest of the plan");
    Halt::refused("way-not-allowed", format!("Not this way: {why}."))
}
