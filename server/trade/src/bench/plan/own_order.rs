//! The order of work that a technician fixed, gone through by the same rules.

use super::answer::{OwnOrder, PlanBreach, StepKind};
use super::fixed::FixedStep;
use super::saving::take_back;
use super::working::{Reckoned, Working};
use crate::bench::order_of_work::replay::{Rule, Step, replay};

impl Working<'_> {
    /// The technician's own order, gone through by the same rules.
    pub(super) fn own(&self, reckoned: &Reckoned<'_>, best: Option<u64>) -> Option<OwnOrder> {
        let (fixed, reason) = self.bench.fixed.as_ref()?;
        let mut problem = self.problem(reckoned, false);
        let mut unknown = Vec::new();
        let mut steps = Vec::new();
        for step in fixed {
            match self.step_of(reckoned, step) {
                Some(found) => steps.push(found),
                // What was done or struck meanwhile is no step any more.
                None if step.kind == StepKind::Operation => {}
                None => unknown.push(PlanBreach {
                    rule: Rule::JointStates,
                    step: None,
                    words: format!("{} is no joint of this map that could be taken apart", step.joint.as_deref().unwrap_or("nothing")),
                }),
            }
        }
        // What came to the plan since is worked too: it stands at the end, with its cautions and minutes.
        let left: Vec<usize> = (0..reckoned.tasks.len())
            .filter(|task| !steps.iter().any(|step| matches!(step, Step::Operation { operation, .. } if operation == task)))
            .collect();
        for task in left {
            unknown.push(PlanBreach {
                rule: Rule::EachOperationOnce,
                step: u32::try_from(steps.len() + 1).ok(),
                words: format!("{} is not in the order that was fixed, and stands at its end", reckoned.tasks[task].title),
            });
            steps.push(Step::Operation { operation: task, method: 0 });
        }
        // What saves each joint alone need not do so in this order: it is asked as it stands, and
        // what fails is neither charged nor shown as if it held.
        let trusted = replay(&problem, &steps);
        let failed = self.failed_checks(reckoned, &trusted);
        take_back(&mut problem, &failed);
        let gone = replay(&problem, &steps);
        let number = |step: usize| u32::try_from(step + 1).ok();
        let mut breaches: Vec<PlanBreach> = gone
            .breaches
            .iter()
            .map(|breach| {
                let is_new = breach.rule == Rule::Heat && !trusted.breaches.contains(breach);
                let why = failed.iter().find(|one| is_new && breach.step == Some(one.step) && breach.joint == one.group);
                let words = why.map_or_else(|| breach.words.clone(), |one| self.failed_words(reckoned, *one, &trusted));
                PlanBreach { rule: breach.rule, step: breach.step.and_then(number), words }
            })
            .collect();
        let beyond = failed.iter().filter(|one| one.group.is_none());
        breaches.extend(beyond.map(|one| PlanBreach {
            rule: Rule::Heat,
            step: number(one.step),
            words: self.failed_words(reckoned, *one, &trusted),
        }));
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
}

#[cfg(test)]
mod tests {
    use crate::bench::heat_reach::PartZone;
    use crate::bench::order_of_work::replay::Rule;
    use crate::bench::plan::heat::Heat as HeatQuestions;
    use crate::bench::plan::metalwork::Metalwork;
    use crate::bench::plan::torches::solder_torch_c;
    use crate::bench::plan::working::Working;
    use crate::bench::plan::{Bench, BenchSettings, FixedStep, Spot, StepKind, Task, TaskMethod, plan};
    use crate::maps::{JointKind, PartKind, template_of};
    use crate::words::instrument::{Family, FindingKind, Heat, OperationKind};
    use proptest::prelude::*;
    use std::collections::BTreeSet;
    use uuid::Uuid;

    fn brazing(number: u128, part: &str, at_mm: f64) -> Task {
        Task {
            id: Uuid::from_u128(number).to_string(),
            title: format!("step {number}"),
            kind: OperationKind::Work,
            after: Vec::new(),
            joint: None,
            needs_apart: Vec::new(),
            chosen: Vec::new(),
            spots: vec![Spot { word: part.to_owned(), kind: FindingKind::Crack, position_mm: Some(at_mm), size_mm: Some(10.0) }],
            method: TaskMethod::unlisted("braze", 30, Heat::Braze),
            others: Vec::new(),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        /// Asked of heat-reach here step by step, without the check that the plan itself makes.
        #[test]
        fn a_torch_step_of_an_own_order_that_breaks_no_rule_of_heat_melts_nothing(
            family in prop::sample::select(vec![Family::Trumpet, Family::Flugelhorn, Family::Horn, Family::Baritone, Family::Tuba]),
            places in prop::collection::vec((0_usize..1000, 0.0_f64..1.0), 1..4),
            off in 0_u8..8,
        ) {
            let map = template_of(family);
            let settings = BenchSettings::default();
            let tubes: Vec<_> = map.parts.iter().filter(|part| part.kind == PartKind::Tube).collect();
            let tasks: Vec<Task> = (1..)
                .zip(&places)
                .map(|(number, (tube, share))| {
                    let part = tubes[tube % tubes.len()];
                    brazing(number, &part.id, part.length.mm * share)
                })
                .collect();
            let mut bench = Bench { map, settings: &settings, settings_are_typical: true, tasks, apart: Vec::new(), fixed: None };
            // Some of the joints in the heat come off before all the work, and go on after it.
            let told = plan(&bench);
            let joints: BTreeSet<String> = told.conflicts.iter().map(|one| one.joint.id.clone()).collect();
            let chosen: Vec<String> = joints.into_iter().enumerate().filter(|(at, _)| off >> (at % 3) & 1 == 1).map(|(_, id)| id).collect();
            let around = |kind: StepKind| chosen.iter().map(move |id| FixedStep { kind, operation_id: None, method_id: None, joint: Some(id.clone()) });
            let work = bench.tasks.iter().map(|task| FixedStep {
                kind: StepKind::Operation,
                operation_id: task.id.parse().ok(),
                method_id: None,
                joint: None,
            });
            let steps: Vec<FixedStep> = around(StepKind::TakeApart).chain(work).chain(around(StepKind::PutTogether)).collect();
            bench.fixed = Some((steps, None));
            let own = plan(&bench).own.unwrap();

            let metal = Metalwork::of(map);
            let working = Working { bench: &bench, metal: &metal, heat: HeatQuestions { metal: &metal, settings: &settings } };
            let mut apart: BTreeSet<usize> = BTreeSet::new();
            for step in &own.steps {
                let ids = step.joint.iter().flat_map(|joint| &joint.joint_ids);
                let named: BTreeSet<usize> = ids.filter_map(|id| map.joints.iter().position(|joint| joint.id == *id)).collect();
                // At the torch it is together: still, or again.
                apart.retain(|joint| !named.contains(joint));
                let is_breach = own.breaches.iter().any(|breach| breach.rule == Rule::Heat && breach.step == Some(step.number));
                let soldered = named.iter().filter(|joint| map.joints[**joint].held == JointKind::SoftSoldered && !is_breach);
                for torch in soldered.filter_map(|joint| working.torch_on_joint(*joint, solder_torch_c(metal.filler(*joint)), &named)) {
                    let run = working.heat.run(&torch, &[], &apart).unwrap();
                    for risk in working.heat.risks(&torch, &run).iter().filter(|risk| !apart.contains(&risk.joint)) {
                        let id = &map.joints[risk.joint].id;
                        prop_assert!(step.protections.iter().any(|one| one.joint.joint_ids.contains(id)), "{} melts {id}, and nothing saves it: {:?}", step.words, step.protections);
                    }
                }
                match step.kind {
                    StepKind::TakeApart => apart.extend(named),
                    StepKind::PutTogether => {}
                    StepKind::Operation => {
                        if own.breaches.iter().any(|breach| breach.rule == Rule::Heat && breach.step == Some(step.number)) {
                            continue;
                        }
                        let task = bench.tasks.iter().find(|task| Some(&task.id) == step.operation_id.as_ref()).unwrap();
                        for (torch, base, risks) in &working.heated(task, &task.method).torches {
                            let mut zones: Vec<PartZone> = Vec::new();
                            for saved in &step.protections {
                                let is_of = |joint: &usize| saved.joint.joint_ids.contains(&map.joints[*joint].id);
                                let endangered: BTreeSet<usize> = risks.iter().map(|risk| risk.joint).filter(is_of).collect();
                                zones.extend(working.heat.cover(torch, &base.reached, &endangered, saved.how).unwrap_or_default());
                            }
                            let run = working.heat.run(torch, &zones, &apart).unwrap();
                            let molten: Vec<usize> = working.heat.risks(torch, &run).iter().map(|risk| risk.joint).filter(|joint| !apart.contains(joint)).collect();
                            prop_assert!(molten.is_empty(), "{} melts {molten:?} with {:?}", task.title, step.protections);
                        }
                    }
                }
            }
        }
    }
}
