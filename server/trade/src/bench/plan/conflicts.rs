//! The joints in the heat, and the ways round.

use super::answer::{HeatConflict, HeatVerdict, Way, WayHow};
use super::heat::{Risk, Run, Torch, nearer_end};
use super::working::{Reckoned, Working};
use crate::bench::heat_reach::Verdict;
use crate::bench::order_of_work::least_minutes;
use crate::bench::order_of_work::problem::Problem;
use crate::bench::order_of_work::replay::{Replay, Step};
use crate::words::instrument::Heat as HeatLevel;

/// An order of work that was looked for.
pub(super) struct Sought<'r> {
    pub(super) reckoned: &'r Reckoned<'r>,
    pub(super) problem: &'r Problem,
    /// The best order, if there is one.
    pub(super) best: Option<&'r Replay>,
}

/// A group in the heat of a task's own method, at the worst of its joints under the worst of the torches.
struct Clash<'r> {
    task: usize,
    group: usize,
    torch: &'r Torch,
    run: &'r Run,
    risk: &'r Risk,
}

impl Working<'_> {
    /// Every conflict of the operations' own methods, with the ways round.
    pub(super) fn conflicts(&self, sought: &Sought<'_>) -> Vec<HeatConflict> {
        let reckoned = sought.reckoned;
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
                    conflicts.extend(self.conflict(sought, &Clash { task, group, torch, run, risk }));
                }
            }
        }
        conflicts
    }

    fn conflict(&self, sought: &Sought<'_>, clash: &Clash<'_>) -> Option<HeatConflict> {
        let Sought { reckoned, .. } = *sought;
        let Clash { task, group, torch, run, risk } = *clash;
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
            ways: self.ways(sought, clash),
            joint,
        })
    }

    fn ways(&self, sought: &Sought<'_>, clash: &Clash<'_>) -> Vec<Way> {
        let Sought { reckoned, problem, best } = *sought;
        let Clash { task, group, torch, run, risk } = *clash;
        let mut ways = Vec::new();
        let name = self.group_of(reckoned, group).name;
        let wanted = self.wanted(reckoned, task, group);
        let chosen = best.and_then(|best| self.chosen(reckoned, best, task, group));
        let with = |change: &dyn Fn(&mut Problem)| {
            let mut changed = problem.clone();
            change(&mut changed);
            least_minutes(&changed)
        };
        let can = problem.joints[group].put_together.is_some();
        let apart = with(&|changed: &mut Problem| {
            let operation = &mut changed.operations[task];
            operation.needs_together.retain(|needed| *needed != group);
            if !operation.needs_apart.contains(&group) {
                operation.needs_apart.push(group);
                operation.needs_apart.sort_unstable();
            }
        });
        let all = reckoned.groups[group].all();
        let cold = if can { self.heat.run(torch, &[], &all).ok() } else { None };
        ways.push(Way {
            how: WayHow::TakeApart,
            words: format!("Take {name} apart first and put it together after."),
            allowed: can && apart.is_some(),
            why_not: (!can).then(|| self.why_not_apart(reckoned, group)).or_else(|| apart.is_none().then(|| "no order of work goes with it".to_owned())),
            minutes: reckoned.taking[group].0 + reckoned.putting[group].0 + 2 * reckoned.works[group].beside_minutes(),
            plan_minutes: apart,
            chosen: chosen == Some(WayHow::TakeApart),
            wanted: wanted.is_none() && reckoned.taking[group].1.is_some(),
            method_id: None,
            temperature_c: None,
            temperature_high_c: None,
            curve: cold.and_then(|cold| self.heat.curve(torch, &cold, &run.reached, risk.joint)),
        });
        for saved in reckoned.saved.get(&(task, 0, group)).into_iter().flatten() {
            // Safe by itself, but not with what else the order takes apart or saves: the check said so.
            let holds = problem.operations[task].methods[0].action.protect_minutes.contains_key(&group);
            let total = (saved.safe && holds).then(|| {
                with(&|changed: &mut Problem| {
                    let operation = &mut changed.operations[task];
                    operation.needs_apart.retain(|needed| *needed != group);
                    if !operation.needs_together.contains(&group) {
                        operation.needs_together.push(group);
                    }
                    operation.methods[0].action.protect_minutes.insert(group, saved.minutes);
                })
            });
            let placed = saved.zones.iter().all(Option::is_some) && saved.temperature_c > f64::MIN;
            let words = match saved.how {
                WayHow::Water => format!("Stand {name} in water, at least 20 mm below the torch, and cover it by 10 mm."),
                WayHow::WetRag => format!("Wrap {name} in a wet rag, at least 20 mm from the torch and 10 mm to either side, and keep it wet."),
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
                wanted: wanted == Some(saved.how),
                method_id: None,
                temperature_c: placed.then(|| tenth(saved.temperature_c)),
                temperature_high_c: placed.then(|| tenth(saved.temperature_high_c)),
                curve: saved.curve.clone(),
            });
        }
        for (at, (other, heated)) in reckoned.methods[task].iter().enumerate().skip(1) {
            let method = self.method(reckoned, task, at, other, heated);
            let usable = heated.refused.is_none() && heated.unplaced.is_none();
            let total = usable.then(|| with(&|changed: &mut Problem| {
                    let operation = &mut changed.operations[task];
                    operation.needs_together.clear();
                    operation.methods = vec![method.clone()];
                })).flatten();
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
                wanted: false,
                method_id: Some(other.id.clone()),
                temperature_c: None,
                temperature_high_c: None,
                curve: None,
            });
        }
        ways
    }

    /// How the computed order gets round a conflict.
    fn chosen(&self, reckoned: &Reckoned<'_>, best: &Replay, task: usize, group: usize) -> Option<WayHow> {
        let step = best.steps.iter().find(|step| matches!(step.step, Step::Operation { operation, .. } if operation == task))?;
        Some(if step.protections.iter().any(|(saved, _)| *saved == group) {
            self.saving(reckoned, task, 0, group)?.how
        } else {
            WayHow::TakeApart
        })
    }
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
