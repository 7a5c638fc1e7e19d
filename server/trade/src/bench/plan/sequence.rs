//! What comes before what: as somebody said, as the heat wants it, and as the trade does it.

use super::{Finishing, Task};
use super::working::{Reckoned, Working};
use crate::maps::JointKind;
use crate::words::instrument::{Heat, OperationKind};
use std::collections::BTreeSet;

/// What a plan says that was put in order by [`befores`]; common practice, no source.
pub(super) const LAST: &str = "Buffing comes after the torch, plating after buffing, lacquer last; what is taken out comes out before the torch and goes back in after it. That is common practice: say \u{201c}comes after\u{201d} on a step, or fix an order of your own, where it is otherwise.";

/// Whether one task comes before another, directly or through others.
fn comes_before(before: &[BTreeSet<usize>], one: usize, other: usize) -> bool {
    let (mut seen, mut next) = (BTreeSet::from([other]), vec![other]);
    while let Some(task) = next.pop() {
        if before[task].contains(&one) {
            return true;
        }
        next.extend(before[task].iter().filter(|task| seen.insert(**task)));
    }
    false
}

/// As somebody said it.
fn said(reckoned: &Reckoned<'_>) -> Vec<BTreeSet<usize>> {
    let place = |id: &String| reckoned.tasks.iter().position(|task| task.id == *id);
    reckoned.tasks.iter().map(|task| task.after.iter().filter_map(place).collect()).collect()
}

fn is_hot(task: &Task) -> bool {
    task.method.heat != Heat::None
}

/// Whether the trade does one before the other whatever the minutes: fresh lacquer and plating do
/// not stand a flame, and scale comes off under the wheel; valves and keys stay out of the fire.
/// Common practice, no source.
fn is_done_before(one: &Task, other: &Task) -> bool {
    let (first, last) = (one.method.finishing(), other.method.finishing());
    let finished_after = last > first && (is_hot(one) || first > Finishing::Nothing);
    let is_cold = |task: &Task, kind: OperationKind| task.kind == kind && !is_hot(task);
    let is_torch_work = |task: &Task| task.kind == OperationKind::Work && is_hot(task);
    finished_after
        || (is_cold(one, OperationKind::TakeApart) && is_torch_work(other))
        || (is_torch_work(one) && is_cold(other, OperationKind::PutTogether))
}

/// Whether the trade's own order matters for this work.
pub(super) fn finishes_last(reckoned: &Reckoned<'_>) -> bool {
    reckoned.tasks.iter().any(|one| reckoned.tasks.iter().any(|other| is_done_before(one, other)))
}

/// For each task those that come before it: as somebody said; where it closes joints that others
/// heat, these others, or such a joint would be melted again; and as the trade does it.
pub(super) fn befores(reckoned: &Reckoned<'_>) -> Vec<BTreeSet<usize>> {
    let mut before = said(reckoned);
    let groups = |joints: &BTreeSet<usize>| -> BTreeSet<usize> {
        (0..reckoned.groups.len()).filter(|group| !reckoned.groups[*group].all().is_disjoint(joints)).collect()
    };
    let own = |task: usize| -> BTreeSet<usize> { reckoned.methods[task][0].1.torches.iter().flat_map(|(torch, ..)| torch.own.iter().copied()).collect() };
    let closes: Vec<BTreeSet<usize>> = (0..before.len()).map(|task| groups(&own(task))).collect();
    let heats: Vec<BTreeSet<usize>> = (0..before.len()).map(|task| groups(&reckoned.methods[task][0].1.in_heat())).collect();
    let by_heat = |first: usize, last: usize| !closes[last].is_disjoint(&heats[first]) && closes[first].is_disjoint(&heats[last]);
    let by_trade = |first: usize, last: usize| is_done_before(reckoned.tasks[first], reckoned.tasks[last]);
    // What somebody said about the order goes before the heat, and that before what is customary.
    for must in [&by_heat as &dyn Fn(usize, usize) -> bool, &by_trade] {
        for last in 0..before.len() {
            for first in 0..before.len() {
                if first != last && must(first, last) && !comes_before(&before, last, first) {
                    before[last].insert(first);
                }
            }
        }
    }
    before
}

impl Working<'_> {
    /// For each task the soldered joints that are together for it: plating and lacquer are laid on
    /// once the torch is done with them, unless work that uses such a joint comes after. `before`: as
    /// of [`befores`].
    pub(super) fn closed_for_finishing(&self, reckoned: &Reckoned<'_>, before: &[BTreeSet<usize>]) -> Vec<BTreeSet<usize>> {
        let soldered = |group: &usize| reckoned.groups[*group].all().iter().any(|joint| self.bench.map.joints[*joint].held == JointKind::SoftSoldered);
        let uses = |task: usize, group: usize| reckoned.needs[task].contains(&group) || !reckoned.methods[task][0].1.in_heat().is_disjoint(&reckoned.groups[group].all());
        let is_free = |task: usize, group: usize| {
            !uses(task, group) && (0..before.len()).all(|other| !(uses(other, group) && comes_before(before, task, other)))
        };
        (0..before.len())
            .map(|task| match reckoned.tasks[task].method.finishing() {
                Finishing::Nothing | Finishing::Buffs => BTreeSet::new(),
                Finishing::Plates | Finishing::Lacquers => (0..reckoned.groups.len()).filter(soldered).filter(|group| is_free(task, *group)).collect(),
            })
            .collect()
    }
}
