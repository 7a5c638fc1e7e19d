//! The joints in the heat of taking others apart and of putting them together again, and the ways
//! round. Only of steps that are on the plan: a choice is kept on its step.

use super::answer::{HeatConflict, PlanJoint, Way, WayHow};
use super::chosen::{ChosenWay, minutes_around};
use super::conflicts::{Hottest, Sought, least_with, signed};
use super::heat::Heat;
use super::joint_work::{Beside, JointWork};
use super::saving::action_at;
use super::working::Working;
use super::{Bench, Task, TaskMethod};
use crate::bench::heat_reach::Verdict;
use crate::bench::order_of_work::problem::Problem;
use crate::bench::order_of_work::replay::Step;
use crate::words::instrument::{Heat as HeatLevel, OperationKind};
use std::collections::BTreeSet;

/// A planned step of taking a group apart or of putting it together.
#[derive(Clone, Copy)]
struct AtWork<'r> {
    step: Step,
    group: usize,
    task: &'r Task,
}

impl JointWork {
    /// The worst of these joints, in the run that endangers it.
    fn hottest<'r>(&'r self, heat: &Heat<'_>, joints: &BTreeSet<usize>) -> Option<Hottest<'r>> {
        let mut hottest = Hottest::of(&self.heated, joints)?;
        let is_safe = heat.on_joint(hottest.run, hottest.risk.joint).is_none_or(|reach| reach.verdict == Verdict::Safe);
        if let (true, Some(barer)) = (is_safe, &self.barer[hottest.at]) {
            hottest.run = barer;
        }
        Some(hottest)
    }
}

impl Working<'_> {
    /// Every conflict of the steps around joints that somebody planned, with the ways round.
    pub(super) fn joint_conflicts(&self, sought: &Sought<'_>) -> Vec<HeatConflict> {
        let reckoned = sought.reckoned;
        let mut conflicts = Vec::new();
        for group in 0..reckoned.groups.len() {
            let joint = &sought.problem.joints[group];
            let around = [(Step::TakeApart { joint: group }, joint.take_apart.is_some()), (Step::PutTogether { joint: group }, joint.put_together.is_some())];
            for (step, _) in around.into_iter().filter(|(_, is_possible)| *is_possible) {
                let Some(task) = self.task_of(reckoned, step) else { continue };
                let at = AtWork { step, group, task };
                let work = &reckoned.works[group];
                for other in (0..reckoned.groups.len()).filter(|other| *other != group) {
                    let Some(hottest) = work.hottest(&self.heat, &reckoned.groups[other].all()) else { continue };
                    let ways = self.ways_at_work(sought, at, other, &hottest);
                    conflicts.extend(self.told(task, self.group_of(reckoned, other), reckoned.apart_at_start[other], &hottest, ways));
                }
                for beside in &work.beside {
                    let Some(hottest) = work.hottest(&self.heat, &beside.joints) else { continue };
                    let joint = self.named(&beside.joints, &beside.joints);
                    let ways = self.ways_beside(sought, at, beside, &joint, &hottest);
                    conflicts.extend(self.told(task, joint, false, &hottest, ways));
                }
            }
        }
        conflicts
    }

    /// The ways round for a group that comes apart in this plan, or could.
    fn ways_at_work(&self, sought: &Sought<'_>, at: AtWork<'_>, other: usize, hottest: &Hottest<'_>) -> Vec<Way> {
        let Sought { reckoned, problem, best } = *sought;
        let all = reckoned.groups[other].all();
        let name = self.group_of(reckoned, other).name;
        let wanted = self.wanted_by(at.task, &all);
        let done = best.and_then(|best| best.steps.iter().find(|costed| costed.step == at.step));
        let is_saved = done.map(|costed| costed.protections.iter().any(|(saved, _)| *saved == other));
        let saving = self.saving_at_work(reckoned, at.step, other).map(|saved| saved.how);
        let apart = least_with(problem, |changed| {
            action_at(changed, at.step).map(|action| action.protect_minutes.remove(&other));
        });
        let why_not = problem.joints[other].put_together.is_none().then(|| self.why_not_apart(&reckoned.groups[other].asked));
        let is_apart = is_saved == Some(false);
        let mut ways = vec![Way {
            minutes: signed(self.minutes_around_group(reckoned, other)),
            chosen: is_apart,
            wanted: wanted == Some(WayHow::TakeApart)
                || (wanted.is_none() && (reckoned.apart_at_start[other] || (is_apart && reckoned.taking[other].1.is_some()))),
            ..self.apart_way(&name, &all, hottest, why_not, apart)
        }];
        for saved in reckoned.saved_at_work.get(&(at.group, other)).into_iter().flatten() {
            let action = action_at(&mut problem.clone(), at.step).map(|action| action.protect_minutes.contains_key(&other));
            // What was chosen to come apart first is saved by nothing, and was not found unsafe by that.
            let holds = action == Some(true) || wanted == Some(WayHow::TakeApart);
            let with_it = |changed: &mut Problem| {
                action_at(changed, at.step).map(|action| action.protect_minutes.insert(other, saved.minutes));
            };
            let total = if saved.safe && holds { least_with(problem, with_it) } else { None };
            ways.push(Way {
                chosen: is_saved == Some(true) && saving == Some(saved.how),
                wanted: wanted == Some(saved.how),
                ..self.saving_way(&name, saved, holds, total, hottest.risk.reach.limit_c)
            });
        }
        ways
    }

    /// The ways round for joints that nothing in this plan takes apart.
    fn ways_beside(&self, sought: &Sought<'_>, at: AtWork<'_>, beside: &Beside, joint: &PlanJoint, hottest: &Hottest<'_>) -> Vec<Way> {
        let Sought { reckoned, best, .. } = *sought;
        let wanted = self.wanted_by(at.task, &beside.joints);
        let saving = self.saving_beside(reckoned, at.step, beside);
        let is_one_piece = beside.joints.first().is_some_and(|joint| self.metal.unit(*joint) == beside.joints);
        let why_not = if !is_one_piece {
            Some("they come apart one by one: plan a step for each".to_owned())
        } else if self.metal.coming_apart(&beside.joints, self.bench.settings).is_none() {
            Some(self.why_not_apart(&beside.joints))
        } else {
            None
        };
        let apart = if why_not.is_none() { self.total_with_apart(at.task, joint) } else { None };
        let (taking, putting) = minutes_around(self.bench.map, self.bench.settings, &joint.joint_ids);
        let mut ways = vec![Way { minutes: signed(taking + putting), ..self.apart_way(&joint.name, &beside.joints, hottest, why_not, apart) }];
        for saved in &beside.ways {
            // Whenever the step is done these minutes are spent, and only then.
            let is_done = best.is_some_and(|best| best.steps.iter().any(|costed| costed.step == at.step));
            let now = saving.filter(|_| is_done).map_or(0, |now| u64::from(now.minutes));
            let then = if is_done { u64::from(saved.minutes) } else { 0 };
            let total = best.and_then(|best| u32::try_from(best.total_minutes - now + then).ok());
            ways.push(Way {
                chosen: is_done && saving.is_some_and(|now| now.how == saved.how),
                wanted: wanted == Some(saved.how),
                ..self.saving_way(&joint.name, saved, true, total, hottest.risk.reach.limit_c)
            });
        }
        ways
    }

    /// Minutes of the whole work if these joints came apart before a step on others and were put
    /// together after it.
    fn total_with_apart(&self, task: &Task, joint: &PlanJoint) -> Option<u32> {
        let (taking, putting) = minutes_around(self.bench.map, self.bench.settings, &joint.joint_ids);
        let around = |kind: OperationKind, minutes: u32| Task {
            id: String::new(),
            title: String::new(),
            kind,
            after: Vec::new(),
            joint: Some(joint.id.clone()),
            needs_apart: Vec::new(),
            chosen: Vec::new(),
            spots: Vec::new(),
            method: TaskMethod::unlisted("", minutes, HeatLevel::Solder),
            others: Vec::new(),
        };
        let mut tasks = self.bench.tasks.clone();
        let own = tasks.iter().position(|own| own.id == task.id)?;
        tasks[own].chosen.retain(|one| one.joint != joint.id);
        tasks[own].chosen.push(ChosenWay { joint: joint.id.clone(), how: WayHow::TakeApart });
        tasks.extend([around(OperationKind::TakeApart, taking), around(OperationKind::PutTogether, putting)]);
        let bench = Bench { tasks, fixed: None, ..self.bench.clone() };
        let working = Working { bench: &bench, heat: Heat { metal: self.metal, settings: self.bench.settings }, metal: self.metal };
        working.least_total().and_then(|total| u32::try_from(total).ok())
    }
}
