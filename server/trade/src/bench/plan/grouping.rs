//! Joints that come apart together, and what they are called.

use super::answer::{PlanJoint, WayHow};
use super::torches::{Heated, solder_torch_c};
use super::working::{Reckoned, Working};
use super::Task;
use crate::bench::heat_reach::Verdict;
use crate::bench::order_of_work::problem::MOST_JOINTS;
use crate::maps::{JointKind, Pinned};
use std::collections::BTreeSet;

/// Joints that come apart together.
#[derive(Debug, Clone, Default)]
pub(super) struct Group {
    /// Those asked about.
    pub(super) asked: BTreeSet<usize>,
    /// Everything that comes apart for them; none where they cannot.
    pub(super) pieces: Option<BTreeSet<usize>>,
}

impl Group {
    pub(super) fn all(&self) -> BTreeSet<usize> {
        self.pieces.as_ref().map_or_else(|| self.asked.clone(), |pieces| pieces | &self.asked)
    }
}

impl Working<'_> {
    /// Groups of joints that come apart together: those whose pieces overlap are one.
    pub(super) fn grouped(&self, asked: Vec<BTreeSet<usize>>, work: &[&Task], heated: &[Heated]) -> Vec<Group> {
        let mut groups: Vec<Group> = Vec::new();
        for joints in asked {
            merge(&mut groups, Group { asked: joints, pieces: None });
        }
        // What one kind of saving keeps safe needs no taking apart, so it draws no others in.
        let must: Vec<bool> = groups
            .iter()
            .map(|group| {
                let needed = work.iter().any(|task| self.needed_apart(task).iter().any(|joints| !joints.is_disjoint(&group.asked)));
                needed
                    || heated.iter().any(|one| {
                        !one.in_heat().is_disjoint(&group.asked) && !self.saved(one, &group.asked).iter().any(|saved| saved.safe)
                    })
            })
            .collect();
        let mut merged: Vec<Group> = Vec::new();
        for (group, must) in groups.iter().zip(&must) {
            let pieces = self.metal.coming_apart(&group.asked, self.bench.settings).map(|pieces| self.with_molten(pieces));
            let draws_others = pieces.as_ref().is_some_and(|pieces| pieces.len() > group.asked.len());
            let pieces = pieces.filter(|_| *must || !draws_others);
            merge(&mut merged, Group { asked: group.asked.clone(), pieces });
        }
        // A name adds nothing to a group that comes apart anyway: an order fixed by hand has the
        // groups of the order it was made from.
        let has_pieces = |merged: &[Group], joints: &BTreeSet<usize>| merged.iter().any(|group| group.pieces.is_some() && !group.all().is_disjoint(joints));
        for joints in self.meant_apart() {
            if !has_pieces(&merged, &joints) {
                let pieces = self.metal.coming_apart(&joints, self.bench.settings).map(|pieces| self.with_molten(pieces));
                merge(&mut merged, Group { asked: joints, pieces });
            }
        }
        // What is apart needs nothing more to come apart.
        for joints in self.bench.apart.iter().map(|word| self.metal.joints_named(word)).filter(|joints| !joints.is_empty()) {
            if !has_pieces(&merged, &joints) {
                merge(&mut merged, Group { pieces: Some(joints.clone()), asked: joints });
            }
        }
        merged.truncate(MOST_JOINTS);
        merged
    }

    /// Joints that somebody means to take apart: in the order fixed by hand, or by a step of its own.
    fn meant_apart(&self) -> Vec<BTreeSet<usize>> {
        let fixed = self.bench.fixed.iter().flat_map(|(steps, _)| steps).filter_map(|step| step.joint.as_ref());
        let planned = self.bench.tasks.iter().filter(|task| Self::is_of_a_group(task)).filter_map(|task| task.joint.as_ref());
        fixed.chain(planned).map(|word| self.metal.joints_named(word)).filter(|joints| !joints.is_empty()).collect()
    }

    /// Soldering at these pieces melts what nothing can save beside them: that comes apart too, and
    /// what nothing can save beside that.
    fn with_molten(&self, pieces: BTreeSet<usize>) -> BTreeSet<usize> {
        let is_solder = |joint: usize| self.bench.map.joints[joint].held == JointKind::SoftSoldered;
        let mut open: Vec<usize> = pieces.iter().copied().collect();
        let mut all = pieces;
        while let Some(joint) = open.pop() {
            if !is_solder(joint) {
                continue;
            }
            let Some(torch) = self.torch_on_joint(joint, solder_torch_c(self.metal.filler(joint)), &all) else { continue };
            let Ok(run) = self.heat.run(&torch, &[], &BTreeSet::new()) else { continue };
            for risk in self.heat.risks(&torch, &run) {
                let near = BTreeSet::from([risk.joint]);
                let saves = |how| {
                    let zones = self.heat.cover(&torch, &run.reached, &near, how)?;
                    let run = self.heat.run(&torch, &zones, &BTreeSet::new()).ok()?;
                    self.heat.on_joint(&run, risk.joint).map(|reach| reach.verdict == Verdict::Safe)
                };
                if is_solder(risk.joint) && ![WayHow::HeatSink, WayHow::Water, WayHow::WetRag].into_iter().any(|how| saves(how) == Some(true)) {
                    open.extend(self.metal.unit(risk.joint).into_iter().filter(|joint| all.insert(*joint)));
                }
            }
        }
        all
    }

    pub(super) fn needed_apart(&self, task: &Task) -> Vec<BTreeSet<usize>> {
        let mut needed: Vec<BTreeSet<usize>> = task.needs_apart.iter().map(|word| self.metal.joints_named(word)).collect();
        for spot in &task.spots {
            if let Some(Pinned::Part(part)) = self.bench.map.resolve(&spot.word) {
                let of_kind = self.metal.joints_of(&part.id).into_iter().filter(|joint| task.method.needs_apart.contains(&self.bench.map.joints[*joint].held));
                needed.extend(of_kind.map(|joint| self.metal.unit(joint)));
            }
        }
        needed.retain(|joints| !joints.is_empty());
        needed
    }

    pub(super) fn group_of(&self, reckoned: &Reckoned<'_>, group: usize) -> PlanJoint {
        self.named(&reckoned.groups[group].asked, &reckoned.groups[group].all())
    }

    /// These joints by their names, those asked about first.
    pub(super) fn named(&self, asked: &BTreeSet<usize>, all: &BTreeSet<usize>) -> PlanJoint {
        let joints = &self.bench.map.joints;
        let mut names: Vec<String> = Vec::new();
        let mut id = None;
        for joint in asked.iter().chain(all) {
            let (own_id, name) =
                self.metal.brace_of(*joint).map_or((&joints[*joint].id, &joints[*joint].name), |brace| (&brace.id, &brace.name));
            id = id.or(Some(own_id));
            if !names.contains(name) {
                names.push(name.clone());
            }
        }
        PlanJoint {
            id: id.cloned().unwrap_or_default(),
            name: names.join(", "),
            joint_ids: all.iter().map(|joint| joints[*joint].id.clone()).collect(),
        }
    }

    pub(super) fn why_not_apart(&self, asked: &BTreeSet<usize>) -> String {
        if asked.iter().any(|joint| self.bench.map.joints[*joint].held == JointKind::Brazed) {
            return "it is brazed".to_owned();
        }
        let names: Vec<String> = self
            .metal
            .coming_apart(asked, self.bench.settings)
            .map(|pieces| pieces.difference(asked).map(|joint| self.bench.map.joints[*joint].name.clone()).collect())
            .unwrap_or_default();
        if names.is_empty() { "what it holds is one piece with the rest".to_owned() } else { format!("it is also held by {}, which would have to come apart with it", names.join(", ")) }
    }
}

/// Adds a group, one with those that it overlaps.
fn merge(groups: &mut Vec<Group>, mut new: Group) {
    while let Some(at) = groups.iter().position(|group| !group.all().is_disjoint(&new.all())) {
        let old = groups.remove(at);
        let both = old.pieces.is_some() || new.pieces.is_some();
        new = Group {
            pieces: both.then(|| &old.all() | &new.all()),
            asked: &old.asked | &new.asked,
        };
    }
    groups.push(new);
}
