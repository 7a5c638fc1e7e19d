//! The order of the bench steps, and for each heat conflict the way round it, with the least minutes.
//!
//! * `problem`: what is to be ordered, and how it is read.
//! * `replay`: what an order of steps costs, and which rule it breaks where; also for the order
//!   that a technician fixed. Shares nothing with the search.
//! * `work`, `bound`, `search`: the search for the best plan, with its lower bound.
//! * `ways_round`: the conflicts of a plan and their next best ways.
//! * `no_way`: what stands in the way when there is no plan.

pub mod problem;
pub mod replay;
pub mod ways_round;

mod bound;
mod no_way;
mod search;
mod work;

use crate::calculation::Refused;
use no_way::AnyPlan;
use problem::Problem;
use replay::{Replay, Step, replay};
use search::{Effort, Found, search};
use serde_json::{Value, json};
use ways_round::{Conflict, NextBest, conflicts};
use work::Work;

/// Up to here the plan is the best and proven so. Work of a bench needs about a thousand states;
/// the worst that could be thought up (16 operations in any order, each with several methods, at
/// twelve stations where detours pay) needed 35 million, 14 s and half a gigabyte.
const SMALL: Effort = Effort { exact_states: 40_000_000, beam_width: 50 };
const SMALL_OPERATIONS: usize = 16;
const SMALL_JOINTS: usize = 4;
/// Beyond it: about 200 ms.
const LARGE: Effort = Effort { exact_states: 250_000, beam_width: 50 };
/// What another choice would cost: asked many times for one plan, a few milliseconds each at most.
const ANOTHER: Effort = Effort { exact_states: 10_000, beam_width: 10 };

/// A plan of the work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// Its steps, each with what it costs; no rule is broken.
    pub replay: Replay,
    /// Whether no other plan takes fewer minutes.
    pub proven_optimal: bool,
    /// Minutes that no plan can do without.
    pub lower_bound: u32,
    /// The heat conflicts, in the order of the steps.
    pub conflicts: Vec<Conflict>,
}

/// The plan with the least minutes; beyond 16 operations or 4 joints a good one with a lower
/// bound where that takes too long. The same problem always has the same plan.
///
/// # Errors
/// `no-feasible-plan`, naming each demand (operation and joint) whose giving up, alone, would
/// let the work be done.
/// Source: COMPUTATIONS.md, order of work.
pub fn plan(problem: &Problem) -> Result<Plan, Refused> {
    let work = Work::of(problem);
    let is_small =
        problem.operations.len() <= SMALL_OPERATIONS && problem.joints.len() <= SMALL_JOINTS;
    let outcome = search(&work, if is_small { SMALL } else { LARGE });
    let is_certain = outcome.is_proven();
    let mut best = match outcome.best {
        Some(found) => found,
        None if is_certain => return Err(no_way::refusal(problem)),
        None => rough_plan(problem, &work)?,
    };
    let conflicts = loop {
        match conflicts(&work, &best) {
            Ok(conflicts) => break conflicts,
            // Each turn saves a minute or more, and few are ever taken: this was not proven best.
            Err(better) => best = better,
        }
    };
    Ok(Plan {
        replay: replay(problem, &steps_of(&work, &best)),
        proven_optimal: best.total_minutes <= outcome.lower_bound,
        lower_bound: outcome.lower_bound.min(best.total_minutes),
        conflicts,
    })
}

/// The fewest minutes that were found for this work, without the plan itself; none where there is
/// no plan. For asking what another choice would cost.
#[must_use]
pub fn least_minutes(problem: &Problem) -> Option<u32> {
    search(&Work::of(problem), ANOTHER).best.map(|found| found.total_minutes)
}

/// Any plan, where the search for a good one came to none.
fn rough_plan(problem: &Problem, work: &Work) -> Result<Found, Refused> {
    match no_way::any_plan(work) {
        AnyPlan::Found(steps) => {
            let mut found = Found { steps, total_minutes: 0 };
            let total = replay(problem, &steps_of(work, &found)).total_minutes;
            found.total_minutes = u32::try_from(total).expect("96 steps of at most 180,000 minutes");
            Ok(found)
        }
        AnyPlan::None => Err(no_way::refusal(problem)),
        AnyPlan::Unknown => Err(Refused::new("no-feasible-plan")
            .at("/operations", "no plan was found with the effort allowed, though there may be one; plan part of the work")),
    }
}

fn steps_of(work: &Work, found: &Found) -> Vec<Step> {
    found.steps.iter().map(|&(element, way)| work.step(element, way)).collect()
}

impl Plan {
    /// The plan as the service answers it.
    #[must_use]
    pub fn to_json(&self, problem: &Problem) -> Value {
        let steps = self.replay.steps_json(problem);
        let conflicts: Vec<Value> = self
            .conflicts
            .iter()
            .map(|conflict| {
                let step = &steps[conflict.step];
                let mut entry = json!({
                    "step": conflict.step,
                    "kind": step["kind"],
                    "id": step["id"],
                    "joint": problem.joints[conflict.joint].id,
                    "resolved": conflict.resolved,
                });
                match conflict.next_best {
                    NextBest::Costs { resolved, total_minutes, proven_optimal } => {
                        entry["next_best"] = json!({
                            "resolved": resolved,
                            "total_minutes": total_minutes,
                            "extra_minutes": u64::from(total_minutes).saturating_sub(self.replay.total_minutes),
                            "proven_optimal": proven_optimal,
                        });
                    }
                    NextBest::None => entry["next_best"] = Value::Null,
                    // Left out: null would say that there is none.
                    NextBest::NotSought => {}
                }
                entry
            })
            .collect();
        let mut answer = json!({
            "total_minutes": self.replay.total_minutes,
            "steps": steps,
            "proven_optimal": self.proven_optimal,
            "conflicts": conflicts,
        });
        if !self.proven_optimal {
            answer["lower_bound"] = json!(self.lower_bound);
        }
        answer
    }
}

/// Answers `/calculations/order-of-work`.
///
/// # Errors
/// `invalid-input`, `precedence-cycle` or `no-feasible-plan`.
pub fn compute(input: &Value) -> Result<Value, Refused> {
    let problem = Problem::read(input)?;
    let mut answer = plan(&problem)?.to_json(&problem);
    // Nothing here has a typical value: every minute is the shop's.
    answer["defaulted"] = json!([]);
    Ok(answer)
}
