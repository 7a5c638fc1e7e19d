//! What saves a joint from the heat of a step, and whether it still does in a whole order of work.

use super::answer::{HeatCurve, WayHow};
use super::torches::Heated;
use super::working::{Reckoned, Working};
use crate::bench::heat_reach::{PartZone, Verdict};
use crate::bench::order_of_work::replay::{Replay, Step};
use std::collections::BTreeSet;

/// What saves a group from a method's heat, with minutes; and how hot it gets then.
#[derive(Debug, Clone)]
pub(super) struct Saved {
    pub(super) how: WayHow,
    pub(super) safe: bool,
    pub(super) minutes: u32,
    pub(super) zones: Vec<Option<Vec<PartZone>>>,
    pub(super) temperature_c: f64,
    pub(super) temperature_high_c: f64,
    pub(super) curve: Option<HeatCurve>,
}

impl Working<'_> {
    /// What saves these joints from a method's heat: heat sink and water, each asked of heat-reach.
    pub(super) fn saved(&self, heated: &Heated, joints: &BTreeSet<usize>) -> Vec<Saved> {
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

    pub(super) fn cheapest<'r>(&self, reckoned: &'r Reckoned<'_>, task: usize, method: usize, group: usize) -> Option<&'r Saved> {
        reckoned.saved.get(&(task, method, group))?.iter().filter(|saved| saved.safe).min_by_key(|saved| saved.minutes)
    }

    /// Steps of a plan whose own configuration is not safe after all: (task, group).
    pub(super) fn failed_checks(&self, reckoned: &Reckoned<'_>, best: &Replay) -> BTreeSet<(usize, usize)> {
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
}
