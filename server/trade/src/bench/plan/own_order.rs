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
