//! Joints and operations put to the order of work.

use super::answer::{ComputedPlan, NoWay};
use super::chosen::minutes_around;
use super::conflicts::Sought;
use super::grouping::Group;
use super::heat::Heat;
use super::joint_work::JointWork;
use super::metalwork::Metalwork;
use super::saving::{Failed, Saved, take_back};
use super::sequence::{LAST, befores, finishes_last};
use super::torches::Heated;
use super::{Bench, NO_PERMISSION, Task, TaskMethod};
use crate::bench::order_of_work;
use crate::bench::order_of_work::problem::{Action, Joint, MOST_OPERATIONS, Method, Operation, Problem};
use crate::bench::order_of_work::replay::{Replay, Step};
use crate::calculation::Refused;
use crate::maps::{Basis, JointKind};
use crate::words::instrument::OperationKind;
use std::collections::{BTreeMap, BTreeSet};

/// How often a plan is made again when its own heat check fails.
const MOST_CHECKS: usize = 4;

/// The plan of the work on one instrument.
#[must_use]
pub fn plan(bench: &Bench<'_>) -> ComputedPlan {
    let metal = Metalwork::of(bench.map);
    let working = Working { bench, heat: Heat { metal: &metal, settings: bench.settings }, metal: &metal };
    working.plan()
}

/// One bench being planned.
pub(super) struct Working<'a> {
    pub(super) bench: &'a Bench<'a>,
    pub(super) metal: &'a Metalwork<'a>,
    pub(super) heat: Heat<'a>,
}

/// Everything reckoned before the order of work: by task, and by task and method.
pub(super) struct Reckoned<'a> {
    /// Tasks that are operations of the problem.
    pub(super) tasks: Vec<&'a Task>,
    /// For each task its methods: its own, then others where they are needed.
    pub(super) methods: Vec<Vec<(&'a TaskMethod, Heated)>>,
    pub(super) groups: Vec<Group>,
    /// Minutes of taking apart and putting together, and the operation planned for it.
    pub(super) taking: Vec<(u32, Option<&'a Task>)>,
    pub(super) putting: Vec<(u32, Option<&'a Task>)>,
    pub(super) apart_at_start: Vec<bool>,
    /// By (task, method, group): what saves it.
    pub(super) saved: BTreeMap<(usize, usize, usize), Vec<Saved>>,
    /// For each group the torch of taking it apart and putting it together.
    pub(super) works: Vec<JointWork>,
    /// By (group worked on, group in its heat): what saves it.
    pub(super) saved_at_work: BTreeMap<(usize, usize), Vec<Saved>>,
    /// Tasks that need a group apart.
    pub(super) needs: Vec<BTreeSet<usize>>,
}

/// An order of work that was looked for, and what has no way round.
struct Ordered<'a> {
    reckoned: Reckoned<'a>,
    problem: Problem,
    found: Result<order_of_work::Plan, Refused>,
    impossible: Vec<NoWay>,
}

impl<'a> Working<'a> {
    /// The order of work with the least minutes, asked of heat-reach as a whole.
    fn ordered(&self) -> Ordered<'a> {
        let reckoned = self.reckon();
        let mut impossible = self.refused_methods(&reckoned);
        let mut problem = self.problem(&reckoned, true);
        let mut found = order_of_work::plan(&problem);
        for check in 0..=MOST_CHECKS {
            let Ok(best) = &found else { break };
            // The plan as it stands is asked of heat-reach once more: what is apart and what is
            // saved at once may heat each other's neighbours.
            let failed = self.failed_checks(&reckoned, &best.replay);
            if check == MOST_CHECKS || !take_back(&mut problem, &failed) {
                impossible.extend(failed.iter().map(|one| self.still_molten(&reckoned, *one, &best.replay)));
                break;
            }
            found = order_of_work::plan(&problem);
        }
        Ordered { reckoned, problem, found, impossible }
    }

    /// Minutes of the whole work; none where something has no way round.
    pub(super) fn least_total(&self) -> Option<u64> {
        let Ordered { found, impossible, .. } = self.ordered();
        found.ok().filter(|_| impossible.is_empty()).map(|best| best.replay.total_minutes)
    }

    fn plan(&self) -> ComputedPlan {
        let Ordered { reckoned, problem, found, mut impossible } = self.ordered();
        let sought = Sought { reckoned: &reckoned, problem: &problem, best: found.as_ref().ok().map(|best| &best.replay) };
        let mut conflicts = self.conflicts(&sought);
        conflicts.extend(self.joint_conflicts(&sought));
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
        // Where nothing is heated there is nothing to say about heat.
        let is_hot = |heated: &Heated| !heated.torches.is_empty() || heated.unplaced.is_some() || heated.refused.is_some();
        let some_are_hot = reckoned.methods.iter().flatten().any(|(_, heated)| is_hot(heated)) || reckoned.works.iter().any(|work| is_hot(&work.heated));
        let mut notes = Vec::new();
        if some_are_hot {
            notes.push("Steady heat, the worst case. Left out: hot gas along the tube, flame on a joint itself, poor contact, fillets and collars.".to_owned());
        }
        if finishes_last(&reckoned) {
            notes.push(LAST.to_owned());
        }
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

    pub(super) fn is_of_a_group(task: &Task) -> bool {
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
            works: Vec::new(),
            saved_at_work: BTreeMap::new(),
            tasks: work,
            groups,
        };
        for group in 0..reckoned.groups.len() {
            let all = reckoned.groups[group].all();
            let planned = |kind: OperationKind| {
                self.bench.tasks.iter().find(|task| task.kind == kind && task.joint.as_ref().is_some_and(|word| !self.metal.joints_named(word).is_disjoint(&all)))
            };
            let ids: Vec<String> = all.iter().map(|joint| self.bench.map.joints[*joint].id.clone()).collect();
            let minutes = minutes_around(self.bench.map, self.bench.settings, &ids);
            let (take, put) = (planned(OperationKind::TakeApart), planned(OperationKind::PutTogether));
            reckoned.taking.push((take.map_or(minutes.0, |task| task.method.minutes), take));
            reckoned.putting.push((put.map_or(minutes.1, |task| task.method.minutes), put));
            reckoned.apart_at_start.push(self.bench.apart.iter().any(|word| !self.metal.joints_named(word).is_disjoint(&all)));
            // Whoever planned to take it apart means it for the work that would melt it, apart from
            // work for which another way was chosen.
            if take.is_some() {
                for task in 0..reckoned.tasks.len() {
                    if self.wanted(&reckoned, task, group).is_none() && !reckoned.methods[task][0].1.in_heat().is_disjoint(&all) {
                        reckoned.needs[task].insert(group);
                    }
                }
            }
        }
        for group in 0..reckoned.groups.len() {
            let comes_apart = reckoned.groups[group].pieces.is_some() || reckoned.apart_at_start[group];
            let work = if comes_apart { self.joint_work(&reckoned.groups, group) } else { JointWork::default() };
            for other in (0..reckoned.groups.len()).filter(|other| *other != group) {
                let all = reckoned.groups[other].all();
                if !work.heated.in_heat().is_disjoint(&all) {
                    reckoned.saved_at_work.insert((group, other), self.saved(&work.heated, &all));
                }
            }
            reckoned.works.push(work);
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

    /// The problem for order-of-work; with their own methods only, or all of them.
    pub(super) fn problem(&self, reckoned: &Reckoned<'_>, own_methods_only: bool) -> Problem {
        let settings = self.bench.settings;
        let action = |minutes: u32, step: Step, group: usize| {
            let soldered = reckoned.groups[group].all().iter().any(|joint| self.bench.map.joints[*joint].held == JointKind::SoftSoldered);
            let (melts, protect_minutes) = self.melted_at_work(reckoned, step, group);
            let minutes = minutes + self.beside_minutes(reckoned, step);
            Action { minutes, station: settings.station(if soldered { "torch" } else { "bench" }), melts, protect_minutes }
        };
        let joints = (0..reckoned.groups.len())
            .map(|group| {
                let apart_at_start = reckoned.apart_at_start[group];
                let can = reckoned.groups[group].pieces.is_some();
                Joint {
                    id: self.group_of(reckoned, group).name,
                    apart_at_start,
                    take_apart: (can && !apart_at_start).then(|| action(reckoned.taking[group].0, Step::TakeApart { joint: group }, group)),
                    put_together: (can || apart_at_start).then(|| action(reckoned.putting[group].0, Step::PutTogether { joint: group }, group)),
                }
            })
            .collect();
        let mut after = befores(reckoned);
        let closed = self.closed_for_finishing(reckoned, &after);
        let operations = reckoned
            .tasks
            .iter()
            .enumerate()
            .map(|(task, own)| Operation {
                id: own.title.clone(),
                after: std::mem::take(&mut after[task]).into_iter().collect(),
                needs_apart: reckoned.needs[task].iter().copied().collect(),
                needs_together: (0..reckoned.groups.len())
                    .filter(|group| closed[task].contains(group) || (own_methods_only && self.stays_together(reckoned, task, *group)))
                    .collect(),
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

    /// Whether a task is done with a group together, because what was chosen saves it then.
    fn stays_together(&self, reckoned: &Reckoned<'_>, task: usize, group: usize) -> bool {
        let wanted = self.wanted(reckoned, task, group);
        let is_safe = self.saving(reckoned, task, 0, group).is_some_and(|saved| Some(saved.how) == wanted);
        is_safe && !reckoned.apart_at_start[group] && !reckoned.needs[task].contains(&group)
    }

    pub(super) fn method(&self, reckoned: &Reckoned<'_>, task: usize, method: usize, found: &TaskMethod, heated: &Heated) -> Method {
        let in_heat = heated.in_heat();
        let melts: Vec<usize> = (0..reckoned.groups.len()).filter(|group| !in_heat.is_disjoint(&reckoned.groups[*group].all())).collect();
        let protect = melts.iter().filter_map(|group| Some((*group, self.saving(reckoned, task, method, *group)?.minutes)));
        let protect_minutes = protect.collect();
        Method {
            id: found.name.clone(),
            action: Action { minutes: found.minutes, station: self.bench.settings.station(&found.station), melts, protect_minutes },
        }
    }

    /// The task that a step does; none for a joint whose taking apart or putting together nobody planned.
    pub(super) fn task_of<'r>(&self, reckoned: &'r Reckoned<'_>, step: Step) -> Option<&'r Task> {
        match step {
            Step::Operation { operation, .. } => Some(reckoned.tasks[operation]),
            Step::TakeApart { joint } => reckoned.taking[joint].1,
            Step::PutTogether { joint } => reckoned.putting[joint].1,
        }
    }

    /// What a step is called at the bench.
    pub(super) fn title_of(&self, reckoned: &Reckoned<'_>, step: Step) -> String {
        match step {
            Step::Operation { operation, .. } => reckoned.tasks[operation].title.clone(),
            Step::TakeApart { joint } => format!("Take {} apart", self.group_of(reckoned, joint).name),
            Step::PutTogether { joint } => format!("Put {} together", self.group_of(reckoned, joint).name),
        }
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

    /// A joint that the computed order endangers although it was made again for it.
    fn still_molten(&self, reckoned: &Reckoned<'_>, failed: Failed, order: &Replay) -> NoWay {
        NoWay {
            operation_id: self.task_of(reckoned, failed.at).map(|task| task.id.clone()),
            joint: failed.group.map(|group| self.group_of(reckoned, group)),
            words: self.failed_words(reckoned, failed, order),
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
