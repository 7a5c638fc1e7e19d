//! Joints and operations put to the order of work.

use super::answer::{
    Caution, ComputedPlan, HeatConflict, HeatVerdict, NoWay, OwnOrder, PlanBreach, PlanJoint, PlanStep, Protection, StepKind, Way, WayHow,
};
use super::fixed::FixedStep;
use super::heat::{Heat, Risk, Run, Torch, nearer_end};
use super::metalwork::Metalwork;
use super::small_helps::{filler, filler_of, plating};
use super::{Bench, CAUTIONS, NO_PERMISSION, Spot, Task, TaskMethod};
use crate::bench::heat_reach::{PartZone, Verdict};
use crate::bench::metals::{Filler, Joining};
use crate::bench::order_of_work::problem::{Action, Joint, MOST_JOINTS, MOST_OPERATIONS, Method, Operation, Problem};
use crate::bench::order_of_work::replay::{CostedStep, Replay, Step, replay};
use crate::bench::order_of_work::{self, least_minutes};
use crate::maps::{Basis, JointKind, PartKind, Pinned};
use crate::words::instrument::{FindingKind, Heat as HeatLevel, OperationKind};
use std::collections::{BTreeMap, BTreeSet};

/// How far the torch reaches beyond a crack to either side, mm (from memory).
const BESIDE_MM: f64 = 5.0;
/// How often a plan is made again when its own heat check fails.
const MOST_CHECKS: usize = 4;

/// Joints that come apart together.
#[derive(Debug, Clone, Default)]
struct Group {
    /// Those asked about.
    asked: BTreeSet<usize>,
    /// Everything that comes apart for them; none where they cannot.
    pieces: Option<BTreeSet<usize>>,
}

impl Group {
    fn all(&self) -> BTreeSet<usize> {
        self.pieces.as_ref().map_or_else(|| self.asked.clone(), |pieces| pieces | &self.asked)
    }
}

/// What a method heats on this instrument.
#[derive(Debug, Default)]
struct Heated {
    torches: Vec<(Torch, Run, Vec<Risk>)>,
    /// Why nothing could be reckoned.
    refused: Option<String>,
    /// Whether nobody said where on the instrument it is.
    unplaced: Option<String>,
}

impl Heated {
    fn in_heat(&self) -> BTreeSet<usize> {
        self.torches.iter().flat_map(|(.., risks)| risks.iter().map(|risk| risk.joint)).collect()
    }
}

/// What saves a group from a method's heat, with minutes; and how hot it gets then.
#[derive(Debug, Clone)]
struct Saved {
    how: WayHow,
    safe: bool,
    minutes: u32,
    zones: Vec<Option<Vec<PartZone>>>,
    temperature_c: f64,
    temperature_high_c: f64,
    curve: Option<super::answer::HeatCurve>,
}

/// The plan of the work on one instrument.
#[must_use]
pub fn plan(bench: &Bench<'_>) -> ComputedPlan {
    let metal = Metalwork::of(bench.map);
    let working = Working { bench, heat: Heat { metal: &metal, settings: bench.settings }, metal: &metal };
    working.plan()
}

struct Working<'a> {
    bench: &'a Bench<'a>,
    metal: &'a Metalwork<'a>,
    heat: Heat<'a>,
}

/// Everything reckoned before the order of work: by task, and by task and method.
struct Reckoned<'a> {
    /// Tasks that are operations of the problem.
    tasks: Vec<&'a Task>,
    /// For each task its methods: its own, then others where they are needed.
    methods: Vec<Vec<(&'a TaskMethod, Heated)>>,
    groups: Vec<Group>,
    /// Minutes of taking apart and putting together, and the operation planned for it.
    taking: Vec<(u32, Option<&'a Task>)>,
    putting: Vec<(u32, Option<&'a Task>)>,
    apart_at_start: Vec<bool>,
    /// By (task, method, group): what saves it.
    saved: BTreeMap<(usize, usize, usize), Vec<Saved>>,
    /// Tasks that need a group apart.
    needs: Vec<BTreeSet<usize>>,
}

impl<'a> Working<'a> {
    fn plan(&self) -> ComputedPlan {
        let reckoned = self.reckon();
        let mut impossible = self.refused_methods(&reckoned);
        let mut problem = self.problem(&reckoned, true);
        let mut found = order_of_work::plan(&problem);
        for _ in 0..MOST_CHECKS {
            let Ok(best) = &found else { break };
            // The plan as it stands is asked of heat-reach once more: what is apart and what is
            // saved at once may heat each other's neighbours.
            let failed = self.failed_checks(&reckoned, &best.replay);
            if failed.is_empty() {
                break;
            }
            for (task, group) in failed {
                let action = &mut problem.operations[task].methods[0].action;
                action.protect_minutes.remove(&group);
                if !action.melts.contains(&group) {
                    action.melts.push(group);
                    action.melts.sort_unstable();
                }
            }
            found = order_of_work::plan(&problem);
        }
        let conflicts = self.conflicts(&reckoned, &problem, found.as_ref().ok().map(|best| &best.replay));
        let (mut steps, mut total, mut proven, mut bound) = (Vec::new(), None, false, None);
        match &found {
            Ok(best) => {
                steps = self.steps(&reckoned, &problem, &best.replay);
                total = Some(best.replay.total_minutes);
                proven = best.proven_optimal;
                bound = (!proven).then_some(u64::from(best.lower_bound));
            }
            Err(refused) => impossible.extend(refused.faults.iter().map(|fault| self.no_way(&reckoned, &problem, &fault.pointer, &fault.message))),
        }
        let own = self.own(&reckoned, total);
        let cautions = self.cautions(&steps, &conflicts, own.as_ref());
        let mut notes = vec![
            "Steady heat, the worst case. Left out: hot gas along the tube, flame on a joint itself, poor contact, fillets and collars.".to_owned(),
        ];
        if !cautions.is_empty() {
            notes.push(NO_PERMISSION.to_owned());
        }
        ComputedPlan {
            steps,
            total_minutes: total,
            proven_optimal: proven,
            lower_bound: bound,
            conflicts,
            impossible,
            unplaced: self.unplaced(&reckoned),
            own,
            defaulted: self.defaulted(&reckoned),
            cautions,
            notes,
        }
    }

    fn is_of_a_group(task: &Task) -> bool {
        task.kind != OperationKind::Work && task.joint.is_some()
    }

    /// Heat of every method, the groups in it, and what saves them.
    fn reckon(&self) -> Reckoned<'a> {
        let fixed_methods: BTreeSet<(String, String)> = self
            .bench
            .fixed
            .iter()
            .flat_map(|(steps, _)| steps)
            .filter_map(|step| Some((step.operation_id?.to_string(), step.method_id?.to_string())))
            .collect();
        // A step of taking apart belongs to its joint where that joint matters; else it is work like any other.
        let work: Vec<&Task> = self.bench.tasks.iter().filter(|task| !Self::is_of_a_group(task)).take(MOST_OPERATIONS).collect();
        let own: Vec<Heated> = work.iter().map(|task| self.heated(task, &task.method)).collect();
        let mut asked: Vec<BTreeSet<usize>> = Vec::new();
        let mut needs_asked: Vec<Vec<BTreeSet<usize>>> = Vec::new();
        for (task, heated) in work.iter().zip(&own) {
            asked.extend(heated.in_heat().into_iter().map(|joint| self.metal.unit(joint)));
            let needed = self.needed_apart(task);
            asked.extend(needed.iter().cloned());
            needs_asked.push(needed);
        }
        let groups = self.grouped(asked, &work, &own);
        let mut methods: Vec<Vec<(&TaskMethod, Heated)>> = Vec::new();
        for (task, heated) in work.iter().zip(own) {
            let in_conflict = !heated.in_heat().is_empty() || heated.refused.is_some();
            let mut all = vec![(&task.method, heated)];
            for other in &task.others {
                if in_conflict || fixed_methods.contains(&(task.id.clone(), other.id.clone())) {
                    all.push((other, self.heated(task, other)));
                }
            }
            methods.push(all);
        }
        let mut reckoned = Reckoned {
            methods,
            needs: needs_asked
                .iter()
                .map(|needed| (0..groups.len()).filter(|group| needed.iter().any(|joints| !joints.is_disjoint(&groups[*group].all()))).collect())
                .collect(),
            taking: Vec::new(),
            putting: Vec::new(),
            apart_at_start: Vec::new(),
            saved: BTreeMap::new(),
            tasks: work,
            groups,
        };
        for group in 0..reckoned.groups.len() {
            let all = reckoned.groups[group].all();
            let planned = |kind: OperationKind| {
                self.bench.tasks.iter().find(|task| task.kind == kind && task.joint.as_ref().is_some_and(|word| !self.metal.joints_named(word).is_disjoint(&all)))
            };
            let minutes = |put: bool| {
                let list = if put { &self.bench.settings.put_together_minutes } else { &self.bench.settings.take_apart_minutes };
                all.iter().filter_map(|joint| list.of(self.bench.map.joints[*joint].held)).sum::<u32>()
            };
            let (take, put) = (planned(OperationKind::TakeApart), planned(OperationKind::PutTogether));
            reckoned.taking.push((take.map_or_else(|| minutes(false), |task| task.method.minutes), take));
            reckoned.putting.push((put.map_or_else(|| minutes(true), |task| task.method.minutes), put));
            reckoned.apart_at_start.push(self.bench.apart.iter().any(|word| !self.metal.joints_named(word).is_disjoint(&all)));
            // Whoever planned to take it apart means it for the work that would melt it.
            if take.is_some() {
                for task in 0..reckoned.tasks.len() {
                    if !reckoned.methods[task][0].1.in_heat().is_disjoint(&all) {
                        reckoned.needs[task].insert(group);
                    }
                }
            }
        }
        for task in 0..reckoned.tasks.len() {
            for method in 0..reckoned.methods[task].len() {
                for group in 0..reckoned.groups.len() {
                    let heated = &reckoned.methods[task][method].1;
                    let all = reckoned.groups[group].all();
                    if !heated.in_heat().is_disjoint(&all) {
                        let saved = self.saved(heated, &all);
                        reckoned.saved.insert((task, method, group), saved);
                    }
                }
            }
        }
        reckoned
    }

    /// Groups of joints that come apart together: those whose pieces overlap are one.
    fn grouped(&self, asked: Vec<BTreeSet<usize>>, work: &[&Task], heated: &[Heated]) -> Vec<Group> {
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

    /// Soldering at these pieces melts what nothing can save beside them: that comes apart too.
    fn with_molten(&self, pieces: BTreeSet<usize>) -> BTreeSet<usize> {
        let mut all = pieces.clone();
        for joint in &pieces {
            let Some(torch) = self.torch_on_joint(*joint, solder_torch_c(self.metal.filler(*joint)), &pieces) else { continue };
            let Ok(run) = self.heat.run(&torch, &[], &BTreeSet::new()) else { continue };
            for risk in self.heat.risks(&torch, &run) {
                let near = BTreeSet::from([risk.joint]);
                let saves = |how| {
                    let zones = self.heat.cover(&torch, &run.reached, &near, how)?;
                    let run = self.heat.run(&torch, &zones, &BTreeSet::new()).ok()?;
                    self.heat.on_joint(&run, risk.joint).map(|reach| reach.verdict == Verdict::Safe)
                };
                let is_solder = self.bench.map.joints[risk.joint].held == JointKind::SoftSoldered;
                if is_solder && saves(WayHow::HeatSink) != Some(true) && saves(WayHow::Water) != Some(true) {
                    all.extend(self.metal.unit(risk.joint));
                }
            }
        }
        all
    }

    fn needed_apart(&self, task: &Task) -> Vec<BTreeSet<usize>> {
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

    /// Every torch of a method on the task's spots, each asked of heat-reach.
    fn heated(&self, task: &Task, method: &TaskMethod) -> Heated {
        let mut heated = Heated::default();
        if method.heat == HeatLevel::None {
            return heated;
        }
        let torch_c = method.heat_c.unwrap_or_else(|| torch_c(filler_of(method).and_then(Filler::named)));
        let mut torches = Vec::new();
        for spot in &task.spots {
            match self.torches(spot, torch_c) {
                Ok(found) => torches.extend(found),
                Err(words) => heated.unplaced = Some(words),
            }
        }
        if task.spots.is_empty() {
            heated.unplaced = Some("no finding says where on the instrument it is; pin one to this step".to_owned());
        }
        for torch in torches {
            match self.heat.run(&torch, &[], &BTreeSet::new()) {
                Ok(run) => {
                    let risks = self.heat.risks(&torch, &run);
                    heated.torches.push((torch, run, risks));
                }
                Err(refused) => {
                    let words = refused.faults.first().map(|fault| fault.message.clone()).unwrap_or_default();
                    heated.refused = Some(if refused.slug == "torch-melts-part" {
                        format!("{torch_c} °C would melt the part itself")
                    } else {
                        words
                    });
                }
            }
        }
        heated
    }

    /// Where the torch goes for a finding.
    fn torches(&self, spot: &Spot, torch_c: f64) -> Result<Vec<Torch>, String> {
        let not_metal = |name: &str| format!("{name} is of no metal that the heat computation knows");
        match self.bench.map.resolve(&spot.word) {
            None => Err(format!("the map has no {:?}; pin the finding to a part or joint", spot.word)),
            Some(Pinned::Joint(joint)) => {
                let at = self.metal.position(joint).unwrap_or_default();
                let torch = self.torch_on_joint(at, torch_c, &BTreeSet::from([at]));
                torch.map(|torch| vec![torch]).ok_or_else(|| not_metal(&joint.name))
            }
            Some(Pinned::Part(part)) if part.kind == PartKind::Brace => {
                let feet = self.metal.joints_of(&part.id);
                let torches: Vec<Torch> = feet.iter().filter_map(|foot| self.torch_on_joint(*foot, torch_c, &feet)).collect();
                if torches.is_empty() { Err(not_metal(&part.name)) } else { Ok(torches) }
            }
            Some(Pinned::Part(part)) => {
                let metal = self.metal.heat_part(&part.id).ok_or_else(|| not_metal(&part.name))?;
                let middle = spot.position_mm.unwrap_or(metal.length_mm / 2.0).clamp(0.0, metal.length_mm);
                if spot.kind == FindingKind::OpenJoint
                    && let Some(nearest) = self.nearest_soldered(&part.id, middle)
                {
                    return self.torch_on_joint(nearest, torch_c, &self.metal.unit(nearest)).map(|torch| vec![torch]).ok_or_else(|| not_metal(&part.name));
                }
                let half = spot.size_mm.unwrap_or(0.0) / 2.0 + BESIDE_MM;
                Ok(vec![Torch {
                    part: part.id.clone(),
                    from_mm: (middle - half).max(0.0),
                    to_mm: (middle + half).min(metal.length_mm),
                    temperature_c: torch_c,
                    own: BTreeSet::new(),
                }])
            }
        }
    }

    fn nearest_soldered(&self, part: &str, at_mm: f64) -> Option<usize> {
        let far = |joint: &usize| {
            let places = &self.bench.map.joints[*joint].places;
            places.iter().filter(|place| place.part == part).map(|place| (place.at_mm - at_mm).abs()).fold(f64::INFINITY, f64::min)
        };
        let soldered = self.metal.joints_of(part).into_iter().filter(|joint| self.bench.map.joints[*joint].held == JointKind::SoftSoldered);
        soldered.min_by(|a, b| far(a).total_cmp(&far(b)))
    }

    fn torch_on_joint(&self, joint: usize, torch_c: f64, own: &BTreeSet<usize>) -> Option<Torch> {
        // On the tube rather than on the brace that stands on it.
        let side = usize::from(self.metal.brace_of(joint).is_some_and(|brace| brace.id == self.bench.map.joints[joint].places[0].part));
        let (part, at) = [side, 1 - side].into_iter().map(|side| self.metal.place((joint, side))).find(|(part, _)| self.metal.heat_part(part).is_some())?;
        let length = self.metal.heat_part(part)?.length_mm;
        Some(Torch {
            part: part.to_owned(),
            from_mm: (at - BESIDE_MM).max(0.0),
            to_mm: (at + BESIDE_MM).min(length),
            temperature_c: torch_c,
            own: own.clone(),
        })
    }

    /// What saves these joints from a method's heat: heat sink and water, each asked of heat-reach.
    fn saved(&self, heated: &Heated, joints: &BTreeSet<usize>) -> Vec<Saved> {
        let settings = &self.bench.settings.protect_minutes;
        [(WayHow::HeatSink, settings.heat_sink), (WayHow::Water, settings.water)]
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
                            saved.curve = saved.curve.or_else(|| self.heat.curve(torch, &run, &run.reached, nearest?));
                        }
                        _ => saved.safe = false,
                    }
                    saved.zones.push(zones);
                }
                saved
            })
            .collect()
    }

    fn group_of(&self, reckoned: &Reckoned<'_>, group: usize) -> PlanJoint {
        let all = reckoned.groups[group].all();
        let joints = &self.bench.map.joints;
        let mut names: Vec<String> = Vec::new();
        let mut id = None;
        for joint in reckoned.groups[group].asked.iter().chain(&all) {
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

    /// The problem for order-of-work; with their own methods only, or all of them.
    fn problem(&self, reckoned: &Reckoned<'_>, own_methods_only: bool) -> Problem {
        let settings = self.bench.settings;
        let action = |minutes: u32, group: usize| {
            let soldered = reckoned.groups[group].all().iter().any(|joint| self.bench.map.joints[*joint].held == JointKind::SoftSoldered);
            Action { minutes, station: settings.station(if soldered { "torch" } else { "bench" }), melts: Vec::new(), protect_minutes: BTreeMap::new() }
        };
        let joints = (0..reckoned.groups.len())
            .map(|group| {
                let apart_at_start = reckoned.apart_at_start[group];
                let can = reckoned.groups[group].pieces.is_some();
                Joint {
                    id: self.group_of(reckoned, group).name,
                    apart_at_start,
                    take_apart: (can && !apart_at_start).then(|| action(reckoned.taking[group].0, group)),
                    put_together: (can || apart_at_start).then(|| action(reckoned.putting[group].0, group)),
                }
            })
            .collect();
        let place = |id: &String| reckoned.tasks.iter().position(|task| task.id == *id);
        let operations = reckoned
            .tasks
            .iter()
            .enumerate()
            .map(|(task, own)| Operation {
                id: own.title.clone(),
                after: own.after.iter().filter_map(place).collect::<BTreeSet<_>>().into_iter().collect(),
                needs_apart: reckoned.needs[task].iter().copied().collect(),
                needs_together: Vec::new(),
                methods: reckoned.methods[task]
                    .iter()
                    .enumerate()
                    .take(if own_methods_only { 1 } else { usize::MAX })
                    .map(|(method, (found, heated))| self.method(reckoned, task, method, found, heated))
                    .collect(),
            })
            .collect();
        Problem {
            stations: settings.stations.clone(),
            changeover_minutes: settings.changeover_minutes.clone(),
            start_station: settings.start_station.as_ref().map(|name| settings.station(name)),
            joints,
            operations,
        }
    }

    fn method(&self, reckoned: &Reckoned<'_>, task: usize, method: usize, found: &TaskMethod, heated: &Heated) -> Method {
        let in_heat = heated.in_heat();
        let melts: Vec<usize> = (0..reckoned.groups.len()).filter(|group| !in_heat.is_disjoint(&reckoned.groups[*group].all())).collect();
        let protect = melts.iter().filter_map(|group| Some((*group, self.cheapest(reckoned, task, method, *group)?.minutes)));
        let protect_minutes = protect.collect();
        Method {
            id: found.name.clone(),
            action: Action { minutes: found.minutes, station: self.bench.settings.station(&found.station), melts, protect_minutes },
        }
    }

    fn cheapest<'r>(&self, reckoned: &'r Reckoned<'_>, task: usize, method: usize, group: usize) -> Option<&'r Saved> {
        reckoned.saved.get(&(task, method, group))?.iter().filter(|saved| saved.safe).min_by_key(|saved| saved.minutes)
    }

    /// Steps of a plan whose own configuration is not safe after all: (task, group).
    fn failed_checks(&self, reckoned: &Reckoned<'_>, best: &Replay) -> BTreeSet<(usize, usize)> {
        let mut apart: BTreeSet<usize> = (0..reckoned.groups.len()).filter(|group| reckoned.apart_at_start[*group]).collect();
        let mut failed = BTreeSet::new();
        for step in &best.steps {
            match step.step {
                Step::TakeApart { joint } => drop(apart.insert(joint)),
                Step::PutTogether { joint } => drop(apart.remove(&joint)),
                Step::Operation { operation, method } => {
                    let without: BTreeSet<usize> = apart.iter().flat_map(|group| reckoned.groups[*group].all()).collect();
                    // Alone in its heat or untouched by others, it was asked in just this state before.
                    if without.is_empty() && step.protections.len() < 2 {
                        continue;
                    }
                    for (at, (torch, ..)) in reckoned.methods[operation][method].1.torches.iter().enumerate() {
                        let zones: Vec<PartZone> = step
                            .protections
                            .iter()
                            .filter_map(|(group, _)| self.cheapest(reckoned, operation, method, *group)?.zones.get(at).cloned().flatten())
                            .flatten()
                            .collect();
                        let risks = match self.heat.run(torch, &zones, &without) {
                            Ok(run) => self.heat.risks(torch, &run),
                            // Two ways of saving that stand on one another: not both.
                            Err(_) => {
                                failed.extend(step.protections.iter().skip(1).map(|(group, _)| (operation, *group)));
                                continue;
                            }
                        };
                        for risk in risks {
                            let group = reckoned.groups.iter().position(|group| group.all().contains(&risk.joint));
                            failed.extend(group.filter(|group| !apart.contains(group)).map(|group| (operation, group)));
                        }
                    }
                }
            }
        }
        failed
    }

    /// Every conflict of the operations' own methods, with the ways round.
    fn conflicts(&self, reckoned: &Reckoned<'_>, problem: &Problem, best: Option<&Replay>) -> Vec<HeatConflict> {
        let mut conflicts = Vec::new();
        for task in 0..reckoned.tasks.len() {
            for group in 0..reckoned.groups.len() {
                let heated = &reckoned.methods[task][0].1;
                let all = reckoned.groups[group].all();
                // The worst joint of the group under the worst of the torches.
                let worst = heated
                    .torches
                    .iter()
                    .flat_map(|(torch, run, risks)| risks.iter().filter(|risk| all.contains(&risk.joint)).map(move |risk| (torch, run, risk)))
                    .max_by(|a, b| (a.2.reach.temperature_high_c - a.2.reach.limit_c).total_cmp(&(b.2.reach.temperature_high_c - b.2.reach.limit_c)));
                if let Some((torch, run, risk)) = worst {
                    conflicts.extend(self.conflict(reckoned, problem, best, (task, group), torch, run, risk));
                }
            }
        }
        conflicts
    }

    #[expect(clippy::too_many_arguments, reason = "one conflict is a place in the problem and a run of heat-reach")]
    fn conflict(
        &self,
        reckoned: &Reckoned<'_>,
        problem: &Problem,
        best: Option<&Replay>,
        (task, group): (usize, usize),
        torch: &Torch,
        run: &Run,
        risk: &Risk,
    ) -> Option<HeatConflict> {
        let joint = self.group_of(reckoned, group);
        let filler = self.metal.filler(risk.joint)?;
        let curve = self.heat.curve(torch, run, &run.reached, risk.joint)?;
        let reach = &risk.reach;
        // "Would" only where typical values say so and cautious ones add nothing to doubt.
        let (verdict, verb) = match reach.verdict {
            Verdict::Melts => (HeatVerdict::Melts, "would melt"),
            Verdict::AtRisk | Verdict::Safe => (HeatVerdict::AtRisk, "may melt"),
        };
        let end = nearer_end(&run.reached, risk.joint)?;
        let distance_mm = tenth(run.reached.distance_mm[end.0][end.1]);
        let title = &reckoned.tasks[task].title;
        Some(HeatConflict {
            operation_id: reckoned.tasks[task].id.clone(),
            worst_joint_id: self.bench.map.joints[risk.joint].id.clone(),
            verdict,
            words: format!("{title} {verb} {}: {} °C there, up to {} °C with cautious values.", joint.name, reach.temperature_c.round(), reach.temperature_high_c.round()),
            temperature_c: tenth(reach.temperature_c),
            temperature_high_c: tenth(reach.temperature_high_c),
            melts_at_c: filler.solidus_c,
            limit_c: reach.limit_c,
            filler: filler.slug.to_owned(),
            filler_known: self.metal.filler_is_known(risk.joint),
            torch_c: torch.temperature_c,
            distance_mm,
            curve,
            ways: self.ways(reckoned, problem, best, (task, group), torch, run, risk),
            joint,
        })
    }

    #[expect(clippy::too_many_arguments, reason = "one conflict is a place in the problem and a run of heat-reach")]
    fn ways(
        &self,
        reckoned: &Reckoned<'_>,
        problem: &Problem,
        best: Option<&Replay>,
        (task, group): (usize, usize),
        torch: &Torch,
        run: &Run,
        risk: &Risk,
    ) -> Vec<Way> {
        let mut ways = Vec::new();
        let name = self.group_of(reckoned, group).name;
        let chosen = best.and_then(|best| self.chosen(reckoned, best, task, group));
        let with = |change: &dyn Fn(&mut Problem)| {
            let mut changed = problem.clone();
            change(&mut changed);
            least_minutes(&changed)
        };
        let can = problem.joints[group].put_together.is_some();
        let apart = with(&|changed: &mut Problem| {
            let needs = &mut changed.operations[task].needs_apart;
            if !needs.contains(&group) {
                needs.push(group);
                needs.sort_unstable();
            }
        });
        let all = reckoned.groups[group].all();
        let cold = if can { self.heat.run(torch, &[], &all).ok() } else { None };
        ways.push(Way {
            how: WayHow::TakeApart,
            words: format!("Take {name} apart first and put it together after."),
            allowed: can && apart.is_some(),
            why_not: (!can).then(|| self.why_not_apart(reckoned, group)).or_else(|| apart.is_none().then(|| "no order of work goes with it".to_owned())),
            minutes: reckoned.taking[group].0 + reckoned.putting[group].0,
            plan_minutes: apart,
            chosen: chosen == Some(WayHow::TakeApart),
            method_id: None,
            temperature_c: None,
            temperature_high_c: None,
            curve: cold.and_then(|cold| self.heat.curve(torch, &cold, &run.reached, risk.joint)),
        });
        for saved in reckoned.saved.get(&(task, 0, group)).into_iter().flatten() {
            // Safe by itself, but not with what else the order takes apart or saves: the check said so.
            let holds = best.is_none() || problem.operations[task].methods[0].action.protect_minutes.contains_key(&group);
            let total = (saved.safe && holds).then(|| {
                with(&|changed: &mut Problem| {
                    let operation = &mut changed.operations[task];
                    operation.needs_apart.retain(|needed| *needed != group);
                    operation.needs_together.push(group);
                    operation.methods[0].action.protect_minutes.insert(group, saved.minutes);
                })
            });
            let placed = saved.zones.iter().all(Option::is_some) && saved.temperature_c > f64::MIN;
            let words = match saved.how {
                WayHow::Water => format!("Stand {name} in water, at least 20 mm below the torch, and cover it by 10 mm."),
                WayHow::HeatSink | WayHow::TakeApart | WayHow::OtherMethod => format!("Clamp a heat sink on {name}."),
            };
            ways.push(Way {
                how: saved.how,
                words,
                allowed: saved.safe && total.flatten().is_some(),
                why_not: if !placed {
                    Some("the torch is too near".to_owned())
                } else if saved.safe && !holds {
                    Some("it is not safe together with the other ways round".to_owned())
                } else if saved.safe {
                    total.flatten().is_none().then(|| "no order of work goes with it".to_owned())
                } else {
                    Some(format!("it would still reach {} °C with cautious values; {} °C is the limit", saved.temperature_high_c.round(), risk.reach.limit_c.round()))
                },
                minutes: saved.minutes,
                plan_minutes: total.flatten(),
                chosen: chosen == Some(saved.how),
                method_id: None,
                temperature_c: placed.then(|| tenth(saved.temperature_c)),
                temperature_high_c: placed.then(|| tenth(saved.temperature_high_c)),
                curve: saved.curve.clone(),
            });
        }
        for (at, (other, heated)) in reckoned.methods[task].iter().enumerate().skip(1) {
            let method = self.method(reckoned, task, at, other, heated);
            let usable = heated.refused.is_none() && heated.unplaced.is_none();
            let total = usable.then(|| with(&|changed: &mut Problem| changed.operations[task].methods = vec![method.clone()])).flatten();
            let still = !heated.in_heat().is_disjoint(&all);
            let mut words = format!("{} instead.", other.name);
            if other.heat == HeatLevel::Solder {
                words.push_str(" Solder heat only; can be undone; run the heat check.");
            }
            if other.irreversible {
                words.push_str(" It cannot be undone.");
            }
            if still {
                words.push_str(" This joint must be saved from it as well.");
            }
            ways.push(Way {
                how: WayHow::OtherMethod,
                words,
                allowed: total.is_some(),
                why_not: heated.refused.clone().or_else(|| heated.unplaced.clone()).or_else(|| total.is_none().then(|| "no order of work goes with it".to_owned())),
                minutes: other.minutes,
                plan_minutes: total,
                chosen: false,
                method_id: Some(other.id.clone()),
                temperature_c: None,
                temperature_high_c: None,
                curve: None,
            });
        }
        ways
    }

    fn why_not_apart(&self, reckoned: &Reckoned<'_>, group: usize) -> String {
        let asked = &reckoned.groups[group].asked;
        if asked.iter().any(|joint| self.bench.map.joints[*joint].held == JointKind::Brazed) {
            return "it is brazed".to_owned();
        }
        let names: Vec<String> = self
            .metal
            .coming_apart(asked, self.bench.settings)
            .map(|pieces| pieces.difference(asked).map(|joint| self.bench.map.joints[*joint].name.clone()).collect())
            .unwrap_or_default();
        if names.is_empty() { "what it holds is one piece with the rest".to_owned() } else { format!("it is also held by {}", names.join(", ")) }
    }

    /// How the computed order gets round a conflict.
    fn chosen(&self, reckoned: &Reckoned<'_>, best: &Replay, task: usize, group: usize) -> Option<WayHow> {
        let step = best.steps.iter().find(|step| matches!(step.step, Step::Operation { operation, .. } if operation == task))?;
        Some(if step.protections.iter().any(|(saved, _)| *saved == group) {
            self.cheapest(reckoned, task, 0, group)?.how
        } else {
            WayHow::TakeApart
        })
    }

    fn steps(&self, reckoned: &Reckoned<'_>, problem: &Problem, gone: &Replay) -> Vec<PlanStep> {
        gone.steps.iter().zip(1..).map(|(step, number)| self.step(reckoned, problem, step, number)).collect()
    }

    fn step(&self, reckoned: &Reckoned<'_>, problem: &Problem, costed: &CostedStep, number: u32) -> PlanStep {
        let mut step = PlanStep {
            number,
            kind: StepKind::Operation,
            operation_id: None,
            joint: None,
            method_id: None,
            words: String::new(),
            station: costed.station.map(|at| problem.stations[at].clone()),
            changeover_minutes: costed.changeover_minutes,
            minutes: costed.minutes,
            protections: Vec::new(),
            running_minutes: costed.running_minutes,
            cautions: Vec::new(),
            filler: None,
            plating: None,
        };
        match costed.step {
            Step::Operation { operation, method } => {
                let task = reckoned.tasks[operation];
                let (found, heated) = &reckoned.methods[operation][method];
                step.operation_id = Some(task.id.clone());
                step.method_id = Some(found.id.clone()).filter(|id| !id.is_empty());
                step.words = if method == 0 { task.title.clone() } else { format!("{} ({})", task.title, found.name) };
                for (group, minutes) in &costed.protections {
                    let how = self.cheapest(reckoned, operation, method, *group).map_or(WayHow::HeatSink, |saved| saved.how);
                    step.protections.push(Protection { joint: self.group_of(reckoned, *group), how, minutes: *minutes });
                }
                step.cautions = self.step_cautions(found, heated, task, &step.protections);
                step.filler = task.spots.iter().find_map(|spot| filler(self.metal, found, spot, self.bench.settings.rod_diameter_mm));
                step.plating = task.spots.iter().find_map(|spot| plating(self.metal, found, spot));
            }
            Step::TakeApart { joint } | Step::PutTogether { joint } => {
                let takes = matches!(costed.step, Step::TakeApart { .. });
                let group = self.group_of(reckoned, joint);
                step.kind = if takes { StepKind::TakeApart } else { StepKind::PutTogether };
                step.words = if takes { format!("Take {} apart", group.name) } else { format!("Put {} together", group.name) };
                let planned = if takes { reckoned.taking[joint].1 } else { reckoned.putting[joint].1 };
                step.operation_id = planned.map(|task| task.id.clone());
                if reckoned.groups[joint].all().iter().any(|at| self.bench.map.joints[*at].held == JointKind::SoftSoldered) {
                    step.cautions = vec!["torch".to_owned(), "flux-fume".to_owned(), "lead".to_owned()];
                }
                step.joint = Some(group);
            }
        }
        step
    }

    fn step_cautions(&self, method: &TaskMethod, heated: &Heated, task: &Task, protections: &[Protection]) -> Vec<String> {
        let mut slugs: BTreeSet<&str> = method.cautions.iter().map(String::as_str).collect();
        if method.heat != HeatLevel::None {
            slugs.extend(["torch", "flux-fume"]);
            if let Some(filler) = filler_of(method).and_then(Filler::named) {
                slugs.extend(filler.cautions());
            }
        }
        for (torch, _, risks) in &heated.torches {
            let metal = self.metal.heat_part(&torch.part).map(|part| part.stock.metal);
            if metal.is_some_and(|metal| metal.is_brass() && torch.temperature_c > metal.solidus_c - 100.0) {
                slugs.insert("zinc-fume");
            }
            for filler in risks.iter().filter_map(|risk| self.metal.filler(risk.joint)) {
                slugs.extend(filler.cautions().into_iter().filter(|slug| *slug == "lead" || *slug == "cadmium"));
            }
            if self.metal.part(&torch.part).is_some_and(|part| part.kind == PartKind::Brace) {
                slugs.insert("trapped-water");
            }
        }
        if method.heat != HeatLevel::None && task.spots.iter().any(|spot| spot.kind == FindingKind::EarlierRepair) {
            slugs.insert("trapped-water");
        }
        if protections.iter().any(|one| one.how == WayHow::Water) {
            slugs.insert("quench-steam");
        }
        CAUTIONS.iter().filter(|(slug, _)| slugs.contains(slug)).map(|(slug, _)| (*slug).to_owned()).collect()
    }

    fn cautions(&self, steps: &[PlanStep], conflicts: &[HeatConflict], own: Option<&OwnOrder>) -> Vec<Caution> {
        let in_water = conflicts.iter().flat_map(|conflict| &conflict.ways).any(|way| way.how == WayHow::Water && way.allowed);
        let named = |slug: &str| {
            let of = |step: &PlanStep| step.cautions.iter().any(|one| one == slug);
            steps.iter().any(of) || own.is_some_and(|own| own.steps.iter().any(of)) || (slug == "quench-steam" && in_water)
        };
        CAUTIONS
            .iter()
            .filter(|(slug, _)| named(slug))
            .map(|(slug, words)| Caution { slug: (*slug).to_owned(), words: (*words).to_owned() })
            .collect()
    }

    fn refused_methods(&self, reckoned: &Reckoned<'_>) -> Vec<NoWay> {
        let found = reckoned.tasks.iter().zip(&reckoned.methods);
        found
            .filter_map(|(task, methods)| {
                let words = methods[0].1.refused.as_ref()?;
                Some(NoWay { operation_id: Some(task.id.clone()), joint: None, words: format!("{}: {words}", task.title) })
            })
            .collect()
    }

    fn unplaced(&self, reckoned: &Reckoned<'_>) -> Vec<NoWay> {
        let found = reckoned.tasks.iter().zip(&reckoned.methods);
        found
            .filter_map(|(task, methods)| {
                let words = methods[0].1.unplaced.as_ref()?;
                Some(NoWay { operation_id: Some(task.id.clone()), joint: None, words: format!("{}: {words}.", task.title) })
            })
            .collect()
    }

    fn no_way(&self, reckoned: &Reckoned<'_>, problem: &Problem, pointer: &str, words: &str) -> NoWay {
        let mut steps = pointer.split('/').skip(1);
        let (list, at) = (steps.next(), steps.next().and_then(|at| at.parse::<usize>().ok()));
        let operation_id = at.filter(|_| list == Some("operations")).and_then(|at| Some(reckoned.tasks.get(at)?.id.clone()));
        let joint = match list {
            Some("joints") => at,
            // The words name it; of two of one name the first.
            _ => problem.joints.iter().position(|joint| words.contains(&joint.id)),
        };
        NoWay { operation_id, joint: joint.map(|group| self.group_of(reckoned, group)), words: words.to_owned() }
    }

    /// The technician's own order, gone through by the same rules.
    fn own(&self, reckoned: &Reckoned<'_>, best: Option<u64>) -> Option<OwnOrder> {
        let (fixed, reason) = self.bench.fixed.as_ref()?;
        let problem = self.problem(reckoned, false);
        let mut unknown = Vec::new();
        let mut steps = Vec::new();
        for step in fixed {
            match self.step_of(reckoned, step) {
                Some(found) => steps.push(found),
                // What was done or struck meanwhile is no step any more.
                None if step.kind == StepKind::Operation => {}
                None => unknown.push(PlanBreach {
                    rule: crate::bench::order_of_work::replay::Rule::JointStates,
                    step: None,
                    words: format!("{} is no joint of this map that could be taken apart", step.joint.as_deref().unwrap_or("nothing")),
                }),
            }
        }
        let gone = replay(&problem, &steps);
        let mut breaches: Vec<PlanBreach> = gone
            .breaches
            .iter()
            .map(|breach| PlanBreach {
                rule: breach.rule,
                step: breach.step.and_then(|step| u32::try_from(step + 1).ok()),
                words: breach.words.clone(),
            })
            .collect();
        breaches.extend(unknown);
        Some(OwnOrder {
            steps: self.steps(reckoned, &problem, &gone),
            total_minutes: gone.total_minutes,
            extra_minutes: best.map(|best| i64::try_from(gone.total_minutes).unwrap_or(i64::MAX) - i64::try_from(best).unwrap_or(i64::MAX)),
            breaches,
            reason: reason.clone(),
        })
    }

    fn step_of(&self, reckoned: &Reckoned<'_>, step: &FixedStep) -> Option<Step> {
        let group = || {
            let joints = self.metal.joints_named(step.joint.as_deref()?);
            reckoned.groups.iter().position(|group| !group.all().is_disjoint(&joints))
        };
        match step.kind {
            StepKind::Operation => {
                let id = step.operation_id?.to_string();
                let operation = reckoned.tasks.iter().position(|task| task.id == id)?;
                let wanted = step.method_id.map(|id| id.to_string());
                let methods = &reckoned.methods[operation];
                let method = wanted.and_then(|wanted| methods.iter().position(|(method, _)| method.id == wanted)).unwrap_or(0);
                Some(Step::Operation { operation, method })
            }
            StepKind::TakeApart => Some(Step::TakeApart { joint: group()? }),
            StepKind::PutTogether => Some(Step::PutTogether { joint: group()? }),
        }
    }

    /// What was typical and not measured, of the parts that torches stood on, and of the settings.
    fn defaulted(&self, reckoned: &Reckoned<'_>) -> Vec<String> {
        let mut pointers = Vec::new();
        let mut seen = BTreeSet::new();
        for (torch, ..) in reckoned.methods.iter().flatten().flat_map(|(_, heated)| &heated.torches) {
            let Some(part) = self.metal.part(&torch.part).filter(|part| seen.insert(part.id.clone())) else { continue };
            let at = format!("/map/parts/{}", part.id);
            if part.wall.is_none_or(|wall| wall.basis == Basis::Typical) {
                pointers.push(format!("{at}/wall"));
            }
            if part.length.basis == Basis::Typical {
                pointers.push(format!("{at}/length"));
            }
            if part.diameters.iter().any(|station| station.outside_diameter.basis == Basis::Typical) {
                pointers.push(format!("{at}/diameters"));
            }
        }
        if !seen.is_empty() {
            pointers.extend(["/emissivity", "/ambient_c", "/air_h_w_m2_k"].map(str::to_owned));
        }
        for joint in reckoned.groups.iter().flat_map(|group| &group.asked) {
            if self.metal.filler(*joint).is_some() && !self.metal.filler_is_known(*joint) {
                pointers.push(format!("/map/joints/{}/filler", self.bench.map.joints[*joint].id));
            }
        }
        if self.bench.settings_are_typical {
            pointers.push("/settings".to_owned());
        }
        pointers
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

/// How hot a torch makes the metal for this filler, °C: 30 above its liquidus.
fn torch_c(filler: Option<&Filler>) -> f64 {
    filler.map_or(700.0, |filler| filler.liquidus_c + 30.0)
}

/// How hot a joint is made to let it go or to close it again: what holds it, or a common soft solder.
fn solder_torch_c(filler: Option<&Filler>) -> f64 {
    filler.filter(|filler| filler.joining == Joining::SoftSolder && filler.density_g_cm3.is_some()).map_or(221.0, |filler| filler.liquidus_c + 30.0)
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
