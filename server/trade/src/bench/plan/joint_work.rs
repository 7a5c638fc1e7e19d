//! The torch of taking soldered joints apart and of putting them together again: what it would melt
//! beside them, and what saves that meanwhile.

use super::answer::Protection;
use super::grouping::Group;
use super::saving::Saved;
use super::torches::{Heated, solder_torch_c};
use super::working::{Reckoned, Working};
use crate::maps::JointKind;
use std::collections::{BTreeMap, BTreeSet};

/// The torch work on the soldered joints of one group.
#[derive(Debug, Default)]
pub(super) struct JointWork {
    pub(super) heated: Heated,
    /// Neighbours that nothing in the plan takes apart, with what saves them at each such step.
    pub(super) beside: Vec<Beside>,
}

/// Joints that are saved whenever a group is soldered.
#[derive(Debug)]
pub(super) struct Beside {
    pub(super) joints: BTreeSet<usize>,
    pub(super) saved: Saved,
}

impl JointWork {
    /// Minutes of saving what is never apart, once.
    pub(super) fn beside_minutes(&self) -> u32 {
        self.beside.iter().map(|beside| beside.saved.minutes).sum()
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
            if let Ok(barer) = self.heat.run(&torch, &[], &others) {
                let more = self.heat.risks(&torch, &barer).into_iter().filter(|risk| !risks.iter().any(|known| known.joint == risk.joint));
                risks.extend(more.collect::<Vec<_>>());
            }
            work.heated.torches.push((torch, run, risks));
        }
        let of_no_group = |joint: &usize| !groups.iter().any(|group| group.all().contains(joint));
        let units: BTreeSet<BTreeSet<usize>> = work.heated.in_heat().into_iter().filter(of_no_group).map(|joint| self.metal.unit(joint)).collect();
        if units.is_empty() {
            return work;
        }
        let all: BTreeSet<usize> = units.iter().flatten().copied().collect();
        let cheapest = |joints: BTreeSet<usize>| self.cheapest(&work.heated, &joints, &others).map(|saved| Beside { joints, saved });
        work.beside = cheapest(all).map_or_else(|| units.into_iter().filter_map(cheapest).collect(), |beside| vec![beside]);
        work
    }

    /// What saves these joints in the fewest minutes, whether the others are together or apart.
    fn cheapest(&self, heated: &Heated, joints: &BTreeSet<usize>, others: &BTreeSet<usize>) -> Option<Saved> {
        let mut ways: Vec<Saved> = self.saved(heated, joints).into_iter().filter(|saved| saved.safe).collect();
        ways.sort_by_key(|saved| saved.minutes);
        ways.into_iter().find(|saved| {
            heated.torches.iter().zip(&saved.zones).all(|((torch, ..), zones)| {
                let run = self.heat.run(torch, zones.as_deref().unwrap_or_default(), others);
                run.is_ok_and(|run| self.heat.risks(torch, &run).iter().all(|risk| !joints.contains(&risk.joint)))
            })
        })
    }

    /// The other groups in the heat of the work on one, and the minutes of saving those that can be saved.
    pub(super) fn melted_at_work(&self, reckoned: &Reckoned<'_>, group: usize) -> (Vec<usize>, BTreeMap<usize, u32>) {
        let in_heat = reckoned.works[group].heated.in_heat();
        let melts: Vec<usize> = (0..reckoned.groups.len()).filter(|other| *other != group && !in_heat.is_disjoint(&reckoned.groups[*other].all())).collect();
        let protect = melts.iter().filter_map(|other| Some((*other, self.saving_at_work(reckoned, group, *other)?.minutes))).collect();
        (melts, protect)
    }

    /// What saves another group while one is soldered, in the fewest minutes.
    pub(super) fn saving_at_work<'r>(&self, reckoned: &'r Reckoned<'_>, group: usize, other: usize) -> Option<&'r Saved> {
        let safe = reckoned.saved_at_work.get(&(group, other)).into_iter().flatten().filter(|saved| saved.safe);
        safe.min_by_key(|saved| saved.minutes)
    }

    /// What is saved at a step on a group, beside the groups that the order of work saves.
    pub(super) fn beside(&self, reckoned: &Reckoned<'_>, group: usize) -> impl Iterator<Item = Protection> {
        reckoned.works[group].beside.iter().map(|beside| Protection {
            joint: self.named(&beside.joints, &beside.joints),
            how: beside.saved.how,
            minutes: beside.saved.minutes,
        })
    }

    /// The joints that soldering at a group endangers while these groups are saved and these joints are apart.
    pub(super) fn molten_at_work(&self, reckoned: &Reckoned<'_>, group: usize, saved: &[usize], without: &BTreeSet<usize>) -> BTreeSet<usize> {
        let work = &reckoned.works[group];
        let mut molten = BTreeSet::new();
        for (at, (torch, ..)) in work.heated.torches.iter().enumerate() {
            let of_groups = saved.iter().filter_map(|other| self.saving_at_work(reckoned, group, *other));
            let zones = of_groups.chain(work.beside.iter().map(|beside| &beside.saved)).filter_map(|saved| saved.zones.get(at).cloned().flatten()).flatten();
            match self.heat.run(torch, &zones.collect::<Vec<_>>(), without) {
                Ok(run) => molten.extend(self.heat.risks(torch, &run).iter().map(|risk| risk.joint)),
                // Two ways of saving that stand on one another: not both.
                Err(_) => molten.extend(saved.iter().filter_map(|other| reckoned.groups[*other].asked.first())),
            }
        }
        molten
    }
}
