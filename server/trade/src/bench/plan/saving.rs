//! What saves a joint from the heat of a step, and whether it still does in a whole order of work.

use super::answer::{HeatCurve, WayHow};
use super::torches::Heated;
use super::Task;
use super::working::{Reckoned, Working};
use crate::bench::heat_reach::{PartZone, Verdict};
use crate::bench::order_of_work::problem::{Action, Problem};
use crate::bench::order_of_work::replay::{Replay, Step};
use std::collections::BTreeSet;

/// What saves a group from a method's heat, with minutes; and how hot it gets then.
#[derive(Debug, Clone)]
pub(super) struct Saved {
    pub(super) how: WayHow,
    pub(super) safe: bool,
    pub(super) minutes: u32,
    pub(super) zones: Vec<Option<Vec<PartZone>>>,
    pub(super) temperature_c: f64,
    pub(super) temperature_high_c: f64,
    pub(super) curve: Option<HeatCurve>,
}

impl Working<'_> {
    /// What saves these joints from a method's heat: heat sink, water and wet rag, each asked of heat-reach.
    pub(super) fn saved(&self, heated: &Heated, joints: &BTreeSet<usize>) -> Vec<Saved> {
        let settings = &self.bench.settings.protect_minutes;
        [(WayHow::HeatSink, settings.heat_sink), (WayHow::Water, settings.water), (WayHow::WetRag, settings.wet_rag)]
            .into_iter()
            .map(|(how, minutes)| {
                let mut saved = Saved { how, safe: true, minutes: 0, zones: Vec::new(), temperature_c: f64::MIN, temperature_high_c: f64::MIN, curve: None };
                for (torch, base, risks) in &heated.torches {
                    let endangered: BTreeSet<usize> = risks.iter().map(|risk| risk.joint).filter(|joint| joints.contains(joint)).collect();
                    if endangered.is_empty() {
                        saved.zones.push(Some(Vec::new()));
                        continue;
                    }
                    let zones = self.heat.cover(torch, &base.reached, &endangered, how);
                    let run = zones.as_ref().and_then(|zones| self.heat.run(torch, zones, &BTreeSet::new()).ok());
                    match (&zones, run) {
                        (Some(zones), Some(run)) => {
                            for reach in endangered.iter().filter_map(|joint| self.heat.on_joint(&run, *joint)) {
                                saved.safe &= reach.verdict == Verdict::Safe;
                                saved.temperature_c = saved.temperature_c.max(reach.temperature_c);
                                saved.temperature_high_c = saved.temperature_high_c.max(reach.temperature_high_c);
                            }
                            let count = u32::try_from(zones.len()).unwrap_or(u32::MAX);
                            saved.minutes += minutes * if how == WayHow::Water { 1 } else { count };
                            let nearest = risks.iter().map(|risk| risk.joint).find(|joint| endangered.contains(joint));
                            saved.curve = saved.curve.or_else(|| self.heat.curve(torch, &run, &run.reached, nearest?, zones));
                        }
                        _ => saved.safe = false,
                    }
                    saved.zones.push(zones);
                }
                saved
            })
            .collect()
    }

    /// What an order of work saves a group with: what was chosen for it as long as that is safe,
    /// else what takes the fewest minutes.
    pub(super) fn saving<'r>(&self, reckoned: &'r Reckoned<'_>, task: usize, method: usize, group: usize) -> Option<&'r Saved> {
        let safe = || reckoned.saved.get(&(task, method, group)).into_iter().flatten().filter(|saved| saved.safe);
        let wanted = self.wanted(reckoned, task, group).filter(|_| method == 0);
        safe().find(|saved| Some(saved.how) == wanted).or_else(|| safe().min_by_key(|saved| saved.minutes))
    }

    /// What a step of an order of work saves a group with.
    pub(super) fn saving_at<'r>(&self, reckoned: &'r Reckoned<'_>, step: Step, group: usize) -> Option<&'r Saved> {
        match step {
            Step::Operation { operation, method } => self.saving(reckoned, operation, method, group),
            Step::TakeApart { .. } | Step::PutTogether { .. } => self.saving_at_work(reckoned, step, group),
        }
    }

    /// What a technician chose to save a group from the heat of a task's own method.
    pub(super) fn wanted(&self, reckoned: &Reckoned<'_>, task: usize, group: usize) -> Option<WayHow> {
        self.wanted_by(reckoned.tasks[task], &reckoned.groups[group].all())
    }

    /// What a technician chose to save these joints from the heat of a task.
    pub(super) fn wanted_by(&self, task: &Task, joints: &BTreeSet<usize>) -> Option<WayHow> {
        let chosen = task.chosen.iter().find(|one| !self.metal.joints_named(&one.joint).is_disjoint(joints));
        chosen.map(|one| one.how)
    }

    /// What is not safe in an order of work after all, though each way round was asked alone: what
    /// is apart lets more heat through to the rest, and what saves one joint may stand on another's.
    pub(super) fn failed_checks(&self, reckoned: &Reckoned<'_>, order: &Replay) -> Vec<Failed> {
        let mut apart: BTreeSet<usize> = (0..reckoned.groups.len()).filter(|group| reckoned.apart_at_start[*group]).collect();
        let mut failed = Vec::new();
        for (at, step) in order.steps.iter().enumerate() {
            // What is being soldered together is together by the time it is hot.
            if let Step::PutTogether { joint } = step.step {
                apart.remove(&joint);
            }
            let without: BTreeSet<usize> = apart.iter().flat_map(|group| reckoned.groups[*group].all()).collect();
            let saved: Vec<usize> = step.protections.iter().map(|(group, _)| *group).collect();
            let molten = match step.step {
                // Alone in its heat or untouched by others, it was asked in just this state before.
                Step::Operation { .. } if without.is_empty() && saved.len() < 2 => BTreeSet::new(),
                Step::Operation { operation, method } => self.molten(reckoned, (operation, method), &saved, &without),
                Step::TakeApart { .. } | Step::PutTogether { .. } => self.molten_at_work(reckoned, step.step, &saved, &without),
            };
            for joint in molten {
                let group = reckoned.groups.iter().position(|group| group.all().contains(&joint));
                if group.is_none_or(|group| !apart.contains(&group)) {
                    failed.push(Failed { step: at, at: step.step, group, joint });
                }
            }
            if let Step::TakeApart { joint } = step.step {
                apart.insert(joint);
            }
        }
        failed
    }

    /// The joints that a method endangers while these groups are saved and these joints are apart.
    fn molten(&self, reckoned: &Reckoned<'_>, (task, method): (usize, usize), saved: &[usize], without: &BTreeSet<usize>) -> BTreeSet<usize> {
        let mut molten = BTreeSet::new();
        for (at, (torch, ..)) in reckoned.methods[task][method].1.torches.iter().enumerate() {
            let zones_of = |group: &usize| self.saving(reckoned, task, method, *group)?.zones.get(at).cloned().flatten();
            let zones: Vec<PartZone> = saved.iter().filter_map(zones_of).flatten().collect();
            match self.heat.run(torch, &zones, without) {
                Ok(run) => molten.extend(self.heat.risks(torch, &run).iter().map(|risk| risk.joint)),
                // Two ways of saving that stand on one another: not both.
                Err(_) => molten.extend(saved.iter().skip(1).filter_map(|group| reckoned.groups[*group].asked.first())),
            }
        }
        molten
    }

    /// A failed check in words for the bench.
    pub(super) fn failed_words(&self, reckoned: &Reckoned<'_>, failed: Failed, order: &Replay) -> String {
        let Failed { step, at, group, joint } = failed;
        let name = group.map_or_else(|| self.bench.map.joints[joint].name.clone(), |group| self.group_of(reckoned, group).name);
        let title = self.title_of(reckoned, at);
        let is_saved = |group: &usize| order.steps[step].protections.iter().any(|(one, _)| one == group);
        let saved = group.filter(is_saved).and_then(|group| self.saving_at(reckoned, at, group));
        match saved {
            Some(saved) => {
                let by = match saved.how {
                    WayHow::Water => "water",
                    WayHow::WetRag => "a wet rag",
                    WayHow::HeatSink | WayHow::TakeApart | WayHow::OtherMethod => "a heat sink",
                };
                format!("{name} may melt during {title}: {by} saves it alone, but not together with what else this order does")
            }
            None => format!("{name} may melt during {title}: what is apart by then lets more heat through to it"),
        }
    }
}

/// A joint that a step of an order of work would endanger, whatever the order does about it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Failed {
    /// The step, from 0.
    pub(super) step: usize,
    /// What it does.
    pub(super) at: Step,
    /// The group it belongs to; none for one that nothing endangers while everything is together.
    pub(super) group: Option<usize>,
    pub(super) joint: usize,
}

/// What a step does in a problem; none for a joint that does not come apart.
pub(super) fn action_at(problem: &mut Problem, step: Step) -> Option<&mut Action> {
    match step {
        Step::Operation { operation, method } => Some(&mut problem.operations[operation].methods[method].action),
        Step::TakeApart { joint } => problem.joints[joint].take_apart.as_mut(),
        Step::PutTogether { joint } => problem.joints[joint].put_together.as_mut(),
    }
}

/// Takes back what was thought to save the groups that failed; says whether that changed anything.
pub(super) fn take_back(problem: &mut Problem, failed: &[Failed]) -> bool {
    let mut changed = false;
    for one in failed {
        let Some(group) = one.group else { continue };
        if let Step::Operation { operation, .. } = one.at {
            problem.operations[operation].needs_together.retain(|other| *other != group);
        }
        let Some(action) = action_at(problem, one.at) else { continue };
        changed |= action.protect_minutes.remove(&group).is_some();
        if !action.melts.contains(&group) {
            action.melts.push(group);
            action.melts.sort_unstable();
            changed = true;
        }
    }
    changed
}
