//! The heat conflicts of a plan: how each is got round, and what the next best way costs.

use super::search::{Effort, Found, search};
use super::work::{Joints, Work, members};
use serde::Serialize;

/// How a joint is kept from melting under a step that could melt it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WayRound {
    /// The joint is apart while it is done.
    Apart,
    /// The joint is saved from the heat.
    Protected,
    /// It is done by a method that leaves the joint cold.
    OtherMethod,
}

/// The best plan with the chosen way round forbidden.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NextBest {
    /// There is one.
    Costs {
        /// How the conflict is got round then.
        resolved: WayRound,
        /// Minutes of the whole plan.
        total_minutes: u32,
        /// Whether no other plan without the chosen way takes fewer.
        proven_optimal: bool,
    },
    /// There is no plan without the chosen way.
    None,
    /// Not found out: the effort for this was used up on the conflicts before.
    NotSought,
}

/// One heat conflict of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Conflict {
    /// Index of the plan's step.
    pub step: usize,
    /// Index of the joint in the heat.
    pub joint: usize,
    /// How it is got round.
    pub resolved: WayRound,
    /// What the next best way costs.
    pub next_best: NextBest,
}

/// States that all next best ways together, and one of them, may look at.
const ALL_STATES: usize = 80_000;
const ONE_SEARCH: Effort = Effort { exact_states: 30_000, beam_width: 10 };

/// The conflicts of `plan` in the order of its steps.
///
/// # Errors
/// A better plan, when the search for a next best way comes upon one (only where `plan` was not
/// proven the best).
pub(super) fn conflicts(work: &Work, plan: &Found) -> Result<Vec<Conflict>, Found> {
    let mut left = ALL_STATES;
    let mut conflicts = Vec::new();
    for (step, element, joint, resolved) in ways_round(work, plan) {
        let mut next_best = NextBest::NotSought;
        if left > 0 {
            let without = forbid(work, element, joint, resolved);
            let outcome = search(
                &without,
                Effort { exact_states: left.min(ONE_SEARCH.exact_states), ..ONE_SEARCH },
            );
            left = left.saturating_sub(outcome.spent);
            let proven_optimal = outcome.is_proven();
            match outcome.best {
                Some(found) if found.total_minutes < plan.total_minutes => {
                    return Err(as_in(work, &without, found));
                }
                Some(found) => {
                    let resolved = ways_round(&without, &found)
                        .into_iter()
                        .find_map(|(_, e, j, resolved)| {
                            ((e, j) == (element, joint)).then_some(resolved)
                        })
                        // No method that melts the joint is left: what remains is the other way.
                        .unwrap_or(WayRound::OtherMethod);
                    let total_minutes = found.total_minutes;
                    next_best = NextBest::Costs { resolved, total_minutes, proven_optimal };
                }
                None if proven_optimal => next_best = NextBest::None,
                None => {}
            }
        }
        conflicts.push(Conflict { step, joint, resolved, next_best });
    }
    Ok(conflicts)
}

/// (step, element, joint, way round) of every step that some way of doing it would melt.
fn ways_round(work: &Work, plan: &Found) -> Vec<(usize, usize, usize, WayRound)> {
    let mut done = beginning_of(work, plan);
    let mut found = Vec::new();
    for (step, &(element, way)) in plan.steps.iter().enumerate() {
        let ways = &work.elements[element].ways;
        let apart = work.apart(done);
        let in_heat = ways.iter().fold(0, |set: Joints, way| set | way.melts);
        for joint in members(in_heat) {
            let resolved = if ways[way].melts >> joint & 1 == 0 {
                WayRound::OtherMethod
            } else if apart >> joint & 1 == 1 {
                WayRound::Apart
            } else {
                WayRound::Protected
            };
            found.push((step, element, joint, resolved));
        }
        done |= 1 << element;
    }
    found
}

/// What counts as done before a plan's first step: everything that is no step of it.
fn beginning_of(work: &Work, plan: &Found) -> u128 {
    plan.steps.iter().fold(work.all, |done, (element, _)| done & !(1 << element))
}

/// The same work with one way round one conflict forbidden.
fn forbid(work: &Work, element: usize, joint: usize, way_round: WayRound) -> Work {
    let mut work = work.clone();
    let joint: Joints = 1 << joint;
    let ways = &mut work.elements[element].ways;
    if way_round == WayRound::OtherMethod {
        ways.retain(|way| way.melts & joint != 0);
    }
    for way in ways.iter_mut().filter(|way| way.melts & joint != 0) {
        match way_round {
            WayRound::Apart => way.together |= joint,
            WayRound::Protected => {
                way.apart |= joint;
                way.protect.retain(|(saved, _)| *saved != joint);
            }
            WayRound::OtherMethod => {}
        }
    }
    ways.retain(|way| way.apart & way.together == 0);
    work
}

/// A plan of changed work with its ways numbered as in the work itself.
fn as_in(work: &Work, changed: &Work, mut plan: Found) -> Found {
    for (element, way) in &mut plan.steps {
        let method = changed.elements[*element].ways[*way].method;
        let same = work.elements[*element].ways.iter().position(|own| own.method == method);
        *way = same.expect("forbidding only takes ways away");
    }
    plan
}
