//! The torch of taking soldered joints apart and of putting them together again: what it would melt
//! beside them, and what saves that meanwhile.

use super::answer::{Protection, WayHow};
use super::grouping::Group;
use super::saving::Saved;
use super::heat::{Risk, Run};
use super::torches::{Heated, solder_torch_c};
use super::working::{Reckoned, Working};
use crate::bench::order_of_work::replay::Step;
use crate::maps::JointKind;
use std::collections::{BTreeMap, BTreeSet};

/// The torch work on the soldered joints of one group.
#[derive(Debug, Default)]
pub(super) struct JointWork {
    pub(super) heated: Heated,
    /// For each torch the run with everything else apart that can come apart.
    pub(super) barer: Vec<Option<Run>>,
    /// Neighbours that nothing in the plan takes apart, with what saves them at each such step.
    pub(super) beside: Vec<Beside>,
}

/// Joints that are saved whenever a group is soldered.
#[derive(Debug)]
pub(super) struct Beside {
    pub(super) joints: BTreeSet<usize>,
    /// Heat sink, water and wet rag; at least one of them is safe.
    pub(super) ways: Vec<Saved>,
}

impl Beside {
    fn cheapest(&self) -> Option<&Saved> {
        self.ways.iter().filter(|saved| saved.safe).min_by_key(|saved| saved.minutes)
    }
}

/// The group that a step takes apart or puts together.
fn joint_of(step: Step) -> Option<usize> {
    match step {
        Step::Operation { .. } => None,
        Step::TakeApart { joint } | Step::PutTogether { joint } => Some(joint),
    }
}

impl Working<'_> {
    /// What soldering at a group heats. A neighbour is in the heat if it is so with everything
    /// together, or with everything else apart that can come apart: less metal leads less heat away.
    pub(super) fn joint_work(&self, groups: &[Group], at: usize) -> JointWork {
        let mut work = JointWork::default();
        let own = groups[at].all();
        let comes_apart = |(other, group): (usize, &Group)| (other != at && group.pieces.is_some()).then(|| group.all());
        let others: BTreeSet<usize> = groups.iter().enumerate().filter_map(comes_apart).flatten().collect();
        for joint in own.iter().filter(|joint| self.bench.map.joints[**joint].held == JointKind::SoftSoldered) {
            let Some(torch) = self.torch_on_joint(*joint, solder_torch_c(self.metal.filler(*joint)), &own) else { continue };
            let Ok(run) = self.heat.run(&torch, &[], &BTreeSet::new()) else { continue };
            let mut risks = self.heat.risks(&torch, &run);
            let barer = self.heat.run(&torch, &[], &others).ok();
            let more = barer.iter().flat_map(|barer| self.heat.risks(&torch, barer)).filter(|risk| !risks.iter().any(|known| known.joint == risk.joint));
            risks.extend(more.collect::<Vec<_>>());
            work.heated.torches.push((torch, run, risks));
            work.barer.push(barer);
        }
        let of_no_group = |joint: &usize| !groups.iter().any(|group| group.all().contains(joint));
        let units: BTreeSet<BTreeSet<usize>> = work.heated.in_heat().into_iter().filter(of_no_group).map(|joint| self.metal.unit(joint)).collect();
        if units.is_empty() {
            return work;
        }
        let all: BTreeSet<usize> = units.iter().flatten().copied().collect();
        let beside = |joints: BTreeSet<usize>| {
            let ways = self.saved_whatever_is_apart(&work.heated, &joints, &others);
            ways.iter().any(|saved| saved.safe).then_some(Beside { joints, ways })
        };
        let each: Vec<Beside> = units.into_iter().filter_map(beside).collect();
        work.beside = if self.hold_together(&work.heated, &each, &others) { each } else { beside(all).map_or(each, |beside| vec![beside]) };
        work
    }

    /// Whether what saves each of these joints in the fewest minutes does so beside what saves the
    /// rest: two clamps may stand on one another, and metal under one leads less heat to the other.
    fn hold_together(&self, heated: &Heated, besides: &[Beside], others: &BTreeSet<usize>) -> bool {
        besides.len() < 2
            || heated.torches.iter().enumerate().all(|(at, (torch, ..))| {
                let zones: Vec<_> = besides.iter().filter_map(|beside| beside.cheapest()?.zones.get(at).cloned().flatten()).flatten().collect();
                let is_safe = |risks: Vec<Risk>| risks.iter().all(|risk| besides.iter().all(|beside| !beside.joints.contains(&risk.joint)));
                [&BTreeSet::new(), others].into_iter().all(|without| self.heat.run(torch, &zones, without).is_ok_and(|run| is_safe(self.heat.risks(torch, &run))))
            })
    }

    /// What saves these joints, safe only where it is so with the others together and with them apart.
    fn saved_whatever_is_apart(&self, heated: &Heated, joints: &BTreeSet<usize>, others: &BTreeSet<usize>) -> Vec<Saved> {
        let mut ways = self.saved(heated, joints);
        for saved in ways.iter_mut().filter(|saved| saved.safe) {
            saved.safe = heated.torches.iter().zip(&saved.zones).all(|((torch, ..), zones)| {
                let run = self.heat.run(torch, zones.as_deref().unwrap_or_default(), others);
                run.is_ok_and(|run| self.heat.risks(torch, &run).iter().all(|risk| !joints.contains(&risk.joint)))
            });
        }
        ways
    }

    /// The other groups in the heat of the work on one, and the minutes of saving those that can be saved.
    pub(super) fn melted_at_work(&self, reckoned: &Reckoned<'_>, step: Step, group: usize) -> (Vec<usize>, BTreeMap<usize, u32>) {
        let in_heat = reckoned.works[group].heated.in_heat();
        let melts: Vec<usize> = (0..reckoned.groups.len()).filter(|other| *other != group && !in_heat.is_disjoint(&reckoned.groups[*other].all())).collect();
        let protect = melts.iter().filter_map(|other| Some((*other, self.saving_at_work(reckoned, step, *other)?.minutes))).collect();
        (melts, protect)
    }

    /// What saves another group while one is taken apart or put together: what was chosen for that
    /// step as long as it is safe, else what takes the fewest minutes; nothing, where it was chosen
    /// that the other comes apart first.
    pub(super) fn saving_at_work<'r>(&self, reckoned: &'r Reckoned<'_>, step: Step, other: usize) -> Option<&'r Saved> {
        let safe = || reckoned.saved_at_work.get(&(joint_of(step)?, other)).map(|ways| ways.iter().filter(|saved| saved.safe));
        let wanted = self.task_of(reckoned, step).and_then(|task| self.wanted_by(task, &reckoned.groups[other].all()));
        if wanted == Some(WayHow::TakeApart) {
            return None;
        }
        safe()?.find(|saved| Some(saved.how) == wanted).or_else(|| safe()?.min_by_key(|saved| saved.minutes))
    }

    /// What saves joints at a step that nothing takes apart: what was chosen for it, else the cheapest.
    pub(super) fn saving_beside<'r>(&self, reckoned: &Reckoned<'_>, step: Step, beside: &'r Beside) -> Option<&'r Saved> {
        let wanted = self.task_of(reckoned, step).and_then(|task| self.wanted_by(task, &beside.joints));
        beside.ways.iter().find(|saved| saved.safe && Some(saved.how) == wanted).or_else(|| beside.cheapest())
    }

    fn saved_beside<'r>(&'r self, reckoned: &'r Reckoned<'_>, step: Step) -> impl Iterator<Item = (&'r Beside, &'r Saved)> {
        let besides = joint_of(step).into_iter().flat_map(|group| &reckoned.works[group].beside);
        besides.filter_map(move |beside| Some((beside, self.saving_beside(reckoned, step, beside)?)))
    }

    /// Minutes of saving at a step what is never apart.
    pub(super) fn beside_minutes(&self, reckoned: &Reckoned<'_>, step: Step) -> u32 {
        self.saved_beside(reckoned, step).map(|(_, saved)| saved.minutes).sum()
    }

    /// What is saved at a step, beside the groups that the order of work saves.
    pub(super) fn beside(&self, reckoned: &Reckoned<'_>, step: Step) -> Vec<Protection> {
        let told = |(beside, saved): (&Beside, &Saved)| Protection { joint: self.named(&beside.joints, &beside.joints), how: saved.how, minutes: saved.minutes };
        self.saved_beside(reckoned, step).map(told).collect()
    }

    /// The joints that a step on a group endangers while these groups are saved and these joints are apart.
    pub(super) fn molten_at_work(&self, reckoned: &Reckoned<'_>, step: Step, saved: &[usize], without: &BTreeSet<usize>) -> BTreeSet<usize> {
        let mut molten = BTreeSet::new();
        let Some(work) = joint_of(step).map(|group| &reckoned.works[group]) else { return molten };
        for (at, (torch, ..)) in work.heated.torches.iter().enumerate() {
            let of_groups = saved.iter().filter_map(|other| self.saving_at_work(reckoned, step, *other));
            let zones = of_groups.chain(self.saved_beside(reckoned, step).map(|(_, saved)| saved)).filter_map(|saved| saved.zones.get(at).cloned().flatten()).flatten();
            match self.heat.run(torch, &zones.collect::<Vec<_>>(), without) {
                Ok(run) => molten.extend(self.heat.risks(torch, &run).iter().map(|risk| risk.joint)),
                // Two ways of saving that stand on one another: not both.
                Err(_) => molten.extend(saved.iter().filter_map(|other| reckoned.groups[*other].asked.first())),
            }
        }
        molten
    }
}
