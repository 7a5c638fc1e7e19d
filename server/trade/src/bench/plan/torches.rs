//! Where the torch stands for a step, and what it heats.

use super::heat::{Risk, Run, Torch};
use super::small_helps::filler_of;
use super::working::Working;
use super::{Spot, Task, TaskMethod};
use crate::bench::metals::{Filler, Joining};
use crate::maps::{JointKind, PartKind, Pinned};
use crate::words::instrument::{FindingKind, Heat as HeatLevel};
use std::collections::BTreeSet;

/// How far the torch reaches beyond a crack to either side, mm (from memory).
const BESIDE_MM: f64 = 5.0;

/// What a method heats on this instrument.
#[derive(Debug, Default)]
pub(super) struct Heated {
    pub(super) torches: Vec<(Torch, Run, Vec<Risk>)>,
    /// Why nothing could be reckoned.
    pub(super) refused: Option<String>,
    /// Whether nobody said where on the instrument it is.
    pub(super) unplaced: Option<String>,
}

impl Heated {
    pub(super) fn in_heat(&self) -> BTreeSet<usize> {
        self.torches.iter().flat_map(|(.., risks)| risks.iter().map(|risk| risk.joint)).collect()
    }
}

impl Working<'_> {
    /// Every torch of a method on the task's spots, each asked of heat-reach.
    pub(super) fn heated(&self, task: &Task, method: &TaskMethod) -> Heated {
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

    pub(super) fn torch_on_joint(&self, joint: usize, torch_c: f64, own: &BTreeSet<usize>) -> Option<Torch> {
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
}

/// How hot a torch makes the metal for this filler, °C: 30 above its liquidus.
fn torch_c(filler: Option<&Filler>) -> f64 {
    filler.map_or(700.0, |filler| filler.liquidus_c + 30.0)
}

/// How hot a joint is made to let it go or to close it again: what holds it, or a common soft solder.
pub(super) fn solder_torch_c(filler: Option<&Filler>) -> f64 {
    filler.filter(|filler| filler.joining == Joining::SoftSolder && filler.density_g_cm3.is_some()).map_or(221.0, |filler| filler.liquidus_c + 30.0)
}
