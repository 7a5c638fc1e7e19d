//! The steps of an order of work, with what the bench must know at each.

use super::answer::{Caution, HeatConflict, OwnOrder, PlanStep, Protection, StepKind, WayHow};
use super::small_helps::{filler, filler_of, plating, plating_metal};
use super::torches::Heated;
use super::working::{Reckoned, Working};
use super::{CAUTIONS, Task, TaskMethod};
use crate::bench::metals::Filler;
use crate::bench::plating_charge::PLATING_METALS;
use crate::bench::order_of_work::problem::Problem;
use crate::bench::order_of_work::replay::{CostedStep, Replay, Step};
use crate::maps::{JointKind, PartKind};
use crate::words::instrument::{FindingKind, Heat as HeatLevel};
use std::collections::BTreeSet;

/// Whether steam comes with it.
fn is_wet(how: WayHow) -> bool {
    matches!(how, WayHow::Water | WayHow::WetRag)
}

impl Working<'_> {
    pub(super) fn steps(&self, reckoned: &Reckoned<'_>, problem: &Problem, gone: &Replay) -> Vec<PlanStep> {
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
                    let how = self.saving(reckoned, operation, method, *group).map_or(WayHow::HeatSink, |saved| saved.how);
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
                step.words = self.title_of(reckoned, costed.step);
                step.operation_id = self.task_of(reckoned, costed.step).map(|task| task.id.clone());
                step.minutes = costed.minutes.saturating_sub(self.beside_minutes(reckoned, costed.step));
                for (group, minutes) in &costed.protections {
                    let how = self.saving_at_work(reckoned, costed.step, *group).map_or(WayHow::HeatSink, |saved| saved.how);
                    step.protections.push(Protection { joint: self.group_of(reckoned, *group), how, minutes: *minutes });
                }
                step.protections.extend(self.beside(reckoned, costed.step));
                if reckoned.groups[joint].all().iter().any(|at| self.bench.map.joints[*at].held == JointKind::SoftSoldered) {
                    step.cautions = vec!["torch".to_owned(), "flux-fume".to_owned(), "lead".to_owned()];
                    if step.protections.iter().any(|one| is_wet(one.how)) {
                        step.cautions.push("quench-steam".to_owned());
                    }
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
        if protections.iter().any(|one| is_wet(one.how)) {
            slugs.insert("quench-steam");
        }
        for slug in task.spots.iter().filter_map(|spot| plating_metal(self.metal, method, spot)) {
            slugs.extend(PLATING_METALS.iter().filter(|metal| metal.slug == slug).flat_map(|metal| metal.cautions));
        }
        CAUTIONS.iter().filter(|(slug, _)| slugs.contains(slug)).map(|(slug, _)| (*slug).to_owned()).collect()
    }

    pub(super) fn cautions(&self, steps: &[PlanStep], conflicts: &[HeatConflict], own: Option<&OwnOrder>) -> Vec<Caution> {
        let in_water = conflicts.iter().flat_map(|conflict| &conflict.ways).any(|way| is_wet(way.how) && way.allowed);
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
}
