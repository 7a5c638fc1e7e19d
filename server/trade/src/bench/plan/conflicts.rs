//! The joints in the heat, and the ways round.

use super::Task;
use super::answer::{HeatConflict, HeatVerdict, PlanJoint, Way, WayHow};
use super::heat::{Risk, Run, Torch, nearer_end};
use super::saving::Saved;
use super::torches::Heated;
use super::working::{Reckoned, Working};
use crate::bench::heat_reach::Verdict;
use crate::bench::order_of_work::least_minutes;
use crate::bench::order_of_work::problem::Problem;
use crate::bench::order_of_work::replay::{Replay, Step};
use crate::words::instrument::Heat as HeatLevel;
use std::collections::BTreeSet;

/// Why a way round is not allowed that would be safe.
const NO_ORDER: &str = "no order of work goes with it";

/// An order of work that was looked for.
pub(super) struct Sought<'r> {
    pub(super) reckoned: &'r Reckoned<'r>,
    pub(super) problem: &'r Problem,
    /// The best order, if there is one.
    pub(super) best: Option<&'r Replay>,
}

/// The joint that gets hottest against its limit, under the torch that does it.
pub(super) struct Hottest<'r> {
    pub(super) torch: &'r Torch,
    pub(super) run: &'r Run,
    pub(super) risk: &'r Risk,
    /// Which of the torches it is.
    pub(super) at: usize,
}

impl<'r> Hottest<'r> {
    /// The worst of these joints under the worst of the torches.
    pub(super) fn of(heated: &'r Heated, joints: &BTreeSet<usize>) -> Option<Self> {
        let risks = heated.torches.iter().enumerate().flat_map(|(at, (torch, run, risks))| risks.iter().map(move |risk| Hottest { torch, run, risk, at }));
        let over = |one: &Self| one.risk.reach.temperature_high_c - one.risk.reach.limit_c;
        risks.filter(|one| joints.contains(&one.risk.joint)).max_by(|a, b| over(a).total_cmp(&over(b)))
    }
}

impl Working<'_> {
    /// Every conflict of the operations' own methods, with the ways round.
    pub(super) fn conflicts(&self, sought: &Sought<'_>) -> Vec<HeatConflict> {
        let reckoned = sought.reckoned;
        let mut conflicts = Vec::new();
        for task in 0..reckoned.tasks.len() {
            for group in 0..reckoned.groups.len() {
                let Some(hottest) = Hottest::of(&reckoned.methods[task][0].1, &reckoned.groups[group].all()) else { continue };
                let ways = self.ways(sought, task, group, &hottest);
                conflicts.extend(self.told(reckoned.tasks[task], self.group_of(reckoned, group), reckoned.apart_at_start[group], &hottest, ways));
            }
        }
        conflicts
    }

    /// A conflict as it is told: what would become of the joint in the heat of a task, and the ways round.
    pub(super) fn told(&self, task: &Task, joint: PlanJoint, apart: bool, hottest: &Hottest<'_>, ways: Vec<Way>) -> Option<HeatConflict> {
        let Hottest { torch, run, risk, .. } = *hottest;
        let filler = self.metal.filler(risk.joint)?;
        let curve = self.heat.curve(torch, run, &run.reached, risk.joint, &[])?;
        let reach = &risk.reach;
        // "Would" only where typical values say so and cautious ones add nothing to doubt.
        let (verdict, verb) = match reach.verdict {
            Verdict::Melts => (HeatVerdict::Melts, "would melt"),
            Verdict::AtRisk | Verdict::Safe => (HeatVerdict::AtRisk, "may melt"),
        };
        let end = nearer_end(&run.reached, risk.joint)?;
        let distance_mm = tenth(run.reached.distance_mm[end.0][end.1]);
        Some(HeatConflict {
            operation_id: task.id.clone(),
            worst_joint_id: self.bench.map.joints[risk.joint].id.clone(),
            apart,
            verdict,
            words: format!("{} {verb} {}: {} °C there, up to {} °C with cautious values.", task.title, joint.name, reach.temperature_c.round(), reach.temperature_high_c.round()),
            temperature_c: tenth(reach.temperature_c),
            temperature_high_c: tenth(reach.temperature_high_c),
            melts_at_c: self.metal.solidus_c(risk.joint)?,
            limit_c: reach.limit_c,
            filler: filler.slug.to_owned(),
            filler_known: self.metal.filler_is_known(risk.joint),
            torch_c: torch.temperature_c,
            distance_mm,
            curve,
            ways,
            joint,
        })
    }

    /// Saving a joint as a way round; `total` are the minutes of the whole work with it, `holds`
    /// whether it still does together with the rest.
    pub(super) fn saving_way(&self, name: &str, saved: &Saved, holds: bool, total: Option<u32>, limit_c: f64) -> Way {
        let placed = saved.zones.iter().all(Option::is_some) && saved.temperature_c > f64::MIN;
        let total = total.filter(|_| saved.safe && holds);
        Way {
            how: saved.how,
            words: match saved.how {
                WayHow::Water => format!("Stand {name} in water, at least 20 mm below the torch, and cover it by 10 mm."),
                WayHow::WetRag => format!("Wrap {name} in a wet rag, at least 20 mm from the torch and 10 mm to either side, and keep it wet."),
                WayHow::HeatSink | WayHow::TakeApart | WayHow::OtherMethod => format!("Clamp a heat sink on {name}."),
            },
            allowed: total.is_some(),
            why_not: if !placed {
                Some("the torch is too near".to_owned())
            } else if !saved.safe && saved.temperature_high_c <= limit_c {
                Some("it is not safe with what else comes apart".to_owned())
            } else if !saved.safe {
                Some(format!("it would still reach {} °C with cautious values; {} °C is the limit", saved.temperature_high_c.round(), limit_c.round()))
            } else if !holds {
                Some("it is not safe together with the other ways round".to_owned())
            } else {
                total.is_none().then(|| NO_ORDER.to_owned())
            },
            minutes: signed(saved.minutes),
            plan_minutes: total,
            chosen: false,
            wanted: false,
            method_id: None,
            temperature_c: placed.then(|| tenth(saved.temperature_c)),
            temperature_high_c: placed.then(|| tenth(saved.temperature_high_c)),
            curve: saved.curve.clone(),
        }
    }

    /// Taking joints apart first as a way round: `why_not` they do not come apart, else `total`
    /// are the minutes of the whole work with it.
    pub(super) fn apart_way(&self, name: &str, joints: &BTreeSet<usize>, hottest: &Hottest<'_>, why_not: Option<String>, total: Option<u32>) -> Way {
        let Hottest { torch, run, risk, .. } = *hottest;
        let cold = if why_not.is_none() { self.heat.run(torch, &[], joints).ok() } else { None };
        let total = total.filter(|_| why_not.is_none());
        Way {
            how: WayHow::TakeApart,
            words: format!("Take {name} apart first and put it together after."),
            allowed: total.is_some(),
            why_not: why_not.or_else(|| total.is_none().then(|| NO_ORDER.to_owned())),
            minutes: 0,
            plan_minutes: total,
            chosen: false,
            wanted: false,
            method_id: None,
            temperature_c: None,
            temperature_high_c: None,
            curve: cold.and_then(|cold| self.heat.curve(torch, &cold, &run.reached, risk.joint, &[])),
        }
    }

    /// Minutes of taking a group apart and putting it together again, with what is saved meanwhile.
    pub(super) fn minutes_around_group(&self, reckoned: &Reckoned<'_>, group: usize) -> u32 {
        let beside = [Step::TakeApart { joint: group }, Step::PutTogether { joint: group }].map(|step| self.beside_minutes(reckoned, step));
        reckoned.taking[group].0 + reckoned.putting[group].0 + beside[0] + beside[1]
    }

    fn ways(&self, sought: &Sought<'_>, task: usize, group: usize, hottest: &Hottest<'_>) -> Vec<Way> {
        let Sought { reckoned, problem, best } = *sought;
        let mut ways = Vec::new();
        let name = self.group_of(reckoned, group).name;
        let wanted = self.wanted(reckoned, task, group);
        let chosen = best.and_then(|best| self.chosen(reckoned, best, task, group));
        let apart = least_with(problem, |changed| {
            let operation = &mut changed.operations[task];
            operation.needs_together.retain(|needed| *needed != group);
            if !operation.needs_apart.contains(&group) {
                operation.needs_apart.push(group);
                operation.needs_apart.sort_unstable();
            }
        });
        let all = reckoned.groups[group].all();
        let why_not = problem.joints[group].put_together.is_none().then(|| self.why_not_apart(&reckoned.groups[group].asked));
        ways.push(Way {
            minutes: signed(self.minutes_around_group(reckoned, group)),
            chosen: chosen == Some(WayHow::TakeApart),
            wanted: wanted.is_none() && (reckoned.taking[group].1.is_some() || reckoned.apart_at_start[group]),
            ..self.apart_way(&name, &all, hottest, why_not, apart)
        });
        for saved in reckoned.saved.get(&(task, 0, group)).into_iter().flatten() {
            // Safe by itself, but not with what else the order takes apart or saves: the check said so.
            let holds = problem.operations[task].methods[0].action.protect_minutes.contains_key(&group);
            let total = if saved.safe && holds {
                least_with(problem, |changed| {
                    let operation = &mut changed.operations[task];
                    operation.needs_apart.retain(|needed| *needed != group);
                    if !operation.needs_together.contains(&group) {
                        operation.needs_together.push(group);
                    }
                    operation.methods[0].action.protect_minutes.insert(group, saved.minutes);
                })
            } else {
                None
            };
            ways.push(Way {
                chosen: chosen == Some(saved.how),
                wanted: wanted == Some(saved.how),
                ..self.saving_way(&name, saved, holds, total, hottest.risk.reach.limit_c)
            });
        }
        for (at, (other, heated)) in reckoned.methods[task].iter().enumerate().skip(1) {
            let method = self.method(reckoned, task, at, other, heated);
            let usable = heated.refused.is_none() && heated.unplaced.is_none();
            let with_it = |changed: &mut Problem| {
                let operation = &mut changed.operations[task];
                operation.needs_together.clear();
                operation.methods = vec![method];
            };
            let total = if usable { least_with(problem, with_it) } else { None };
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
                why_not: heated.refused.clone().or_else(|| heated.unplaced.clone()).or_else(|| total.is_none().then(|| NO_ORDER.to_owned())),
                minutes: signed(other.minutes) - signed(reckoned.tasks[task].method.minutes),
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

/// The fewest minutes of the whole work with this changed.
pub(super) fn least_with(problem: &Problem, change: impl FnOnce(&mut Problem)) -> Option<u32> {
    let mut changed = problem.clone();
    change(&mut changed);
    least_minutes(&changed)
}

/// Minutes as what a way adds; they are bounded far below what does not fit.
pub(super) fn signed(minutes: u32) -> i32 {
    i32::try_from(minutes).unwrap_or(i32::MAX)
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
