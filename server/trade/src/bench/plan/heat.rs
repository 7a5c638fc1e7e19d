//! The heat question of a step on the instrument's own metal, and what saves a joint from it.

use super::answer::{CurveCover, CurvePart, CurvePoint, HeatCurve, WayHow};
use super::metalwork::{End, Metalwork, Reached};
use super::settings::BenchSettings;
use crate::bench::heat_reach::{Doing, Duration, JointReach, PartMap as HeatMap, PartZone, Reach, Room, Station, Verdict, thinned};
use crate::calculation::Refused;
use std::collections::BTreeSet;

/// The room (from memory: still air 5 to 25 W/(m²K)).
const ROOM: Room = Room { ambient_c: 20.0, air_h_w_m2_k: 10.0 };
/// A clamp of copper or brass (from memory).
const HEAT_SINK: Doing = Doing::HeatSink { h_w_m2_k: 1000.0, temperature_c: 40.0 };
/// A tube stood in water.
const WATER: Doing = Doing::Water { temperature_c: 25.0, inside: false };
/// A rag that is kept wet (from memory).
const WET_RAG: Doing = Doing::WetRag { h_w_m2_k: 500.0, temperature_c: 100.0 };
/// How far water or a clamp covers a joint to either side, mm (practical cover: common practice, no source).
const COVER_MM: f64 = 10.0;
/// How much of the tube stands in water beyond the joint, mm.
const WET_MM: f64 = 60.0;
/// Dry tube between the torch and water or a wet rag, mm: from here on at the nearest (LOOK.md, the plan and the heat).
const LEAST_DRY_MM: f64 = 20.0;
/// Bare tube between the torch and a clamp, mm (from memory).
const LEAST_BARE_MM: f64 = 5.0;
/// How far a curve is drawn behind the torch and beyond the joint, mm.
const DRAWN_BEYOND_MM: f64 = 60.0;
/// A drawing by straight lines stays this near the curve, K.
const WITHIN_K: f64 = 2.0;

/// A torch on a stretch of one part.
#[derive(Debug, Clone, PartialEq)]
pub struct Torch {
    /// The part's id.
    pub part: String,
    /// mm from the part's beginning.
    pub from_mm: f64,
    /// mm from the part's beginning.
    pub to_mm: f64,
    /// How hot the metal is made, °C.
    pub temperature_c: f64,
    /// Joints that are being worked on: they are meant to melt.
    pub own: BTreeSet<usize>,
}

/// One run of heat-reach on the instrument.
#[derive(Debug)]
pub struct Run {
    reach: Reach,
    /// The way from the torch to every joint.
    pub reached: Reached,
}

/// A joint that the heat endangers.
#[derive(Debug, Clone, PartialEq)]
pub struct Risk {
    /// Its place on the map.
    pub joint: usize,
    /// How hot it gets.
    pub reach: JointReach,
}

/// Asks about torches on one instrument.
#[derive(Debug)]
pub struct Heat<'a> {
    /// Its metal.
    pub metal: &'a Metalwork<'a>,
    /// The shop's margin.
    pub settings: &'a BenchSettings,
}

impl Heat<'_> {
    /// How hot everything near the torch gets, with zones in place and joints apart.
    ///
    /// # Errors
    /// As heat-reach: `torch-melts-part` when the torch is too hot for the part itself.
    pub fn run(&self, torch: &Torch, zones: &[PartZone], without: &BTreeSet<usize>) -> Result<Run, Refused> {
        let reached = self.metal.reached(&torch.part, torch.from_mm, torch.to_mm, without);
        let (parts, joints) = self.metal.question(&torch.part, &reached, without);
        let lit = PartZone {
            part: torch.part.clone(),
            from_mm: torch.from_mm,
            to_mm: torch.to_mm,
            doing: Doing::Torch { temperature_c: torch.temperature_c },
        };
        // Water or a clamp on a part that no metal joins to the torch any more does nothing.
        let there = zones.iter().filter(|zone| parts.iter().any(|part| part.id == zone.part)).cloned();
        let zones = std::iter::once(lit).chain(there).collect();
        let map = HeatMap { parts, joints, zones, room: ROOM, margin_k: self.settings.margin_k, duration: Duration::Steady };
        Ok(Run { reach: map.reach()?, reached })
    }

    /// The joints that this run endangers, apart from those worked on, nearest first.
    pub fn risks(&self, torch: &Torch, run: &Run) -> Vec<Risk> {
        let mut risks: Vec<Risk> = run
            .reach
            .joints
            .iter()
            .filter(|reach| reach.verdict != Verdict::Safe)
            .filter_map(|reach| Some(Risk { joint: reach.id.parse().ok()?, reach: reach.clone() }))
            .filter(|risk| !torch.own.contains(&risk.joint))
            .collect();
        let far = |risk: &Risk| run.reached.distance_mm[risk.joint].iter().copied().fold(f64::INFINITY, f64::min);
        risks.sort_by(|a, b| far(a).total_cmp(&far(b)));
        risks
    }

    /// How hot one joint gets in this run.
    pub fn on_joint<'r>(&self, run: &'r Run, joint: usize) -> Option<&'r JointReach> {
        let id = joint.to_string();
        run.reach.joints.iter().find(|reach| reach.id == id)
    }

    /// Where a heat sink, water or a wet rag goes to save these joints; none where the torch is too near.
    pub fn cover(&self, torch: &Torch, reached: &Reached, joints: &BTreeSet<usize>, how: WayHow) -> Option<Vec<PartZone>> {
        let (doing, gap_mm) = match how {
            WayHow::HeatSink => (HEAT_SINK, LEAST_BARE_MM),
            WayHow::Water => (WATER, LEAST_DRY_MM),
            WayHow::WetRag => (WET_RAG, LEAST_DRY_MM),
            WayHow::TakeApart | WayHow::OtherMethod => return None,
        };
        let mut zones: Vec<PartZone> = Vec::new();
        for joint in joints {
            let end = nearer_end(reached, *joint)?;
            let (part, at) = self.metal.place(end);
            let length = self.metal.heat_part(part)?.length_mm;
            let towards = match reached.before[end.0][end.1] {
                // Reached along its own part: from the end before.
                Some(before) if self.metal.place(before).0 == part => self.metal.place(before).1,
                // Reached across a joint, or on the torch's own part.
                Some(_) => at,
                None => f64::midpoint(torch.from_mm, torch.to_mm),
            };
            let beyond = if how == WayHow::Water { WET_MM } else { COVER_MM };
            let (mut from_mm, mut to_mm) = if towards > at { (at - beyond, at + COVER_MM) } else { (at - COVER_MM, at + beyond) };
            if part == torch.part {
                if at >= torch.to_mm {
                    from_mm = from_mm.max(torch.to_mm + gap_mm);
                } else if at <= torch.from_mm {
                    to_mm = to_mm.min(torch.from_mm - gap_mm);
                } else {
                    return None;
                }
            }
            (from_mm, to_mm) = (from_mm.max(0.0), to_mm.min(length));
            if from_mm > at || to_mm < at || to_mm - from_mm < 1.0 {
                return None;
            }
            // Two that would overlap are one.
            match zones.iter_mut().find(|zone| zone.part == part && zone.from_mm <= to_mm && from_mm <= zone.to_mm) {
                Some(zone) => (zone.from_mm, zone.to_mm) = (zone.from_mm.min(from_mm), zone.to_mm.max(to_mm)),
                None => zones.push(PartZone { part: part.to_owned(), from_mm, to_mm, doing }),
            }
        }
        Some(zones)
    }

    /// Temperature along the way from the torch to a joint and a little beyond, straightened out, and
    /// which of it these zones keep cool.
    pub fn curve(&self, torch: &Torch, run: &Run, shown: &Reached, joint: usize, zones: &[PartZone]) -> Option<HeatCurve> {
        let end = nearer_end(shown, joint)?;
        let mut way = vec![end];
        while let Some(before) = shown.before[way[way.len() - 1].0][way[way.len() - 1].1] {
            way.push(before);
        }
        way.reverse();
        // Stretches of parts, each from where the way comes to where it goes.
        let middle = f64::midpoint(torch.from_mm, torch.to_mm);
        let mut stretches: Vec<(String, f64, f64)> = Vec::new();
        let (mut part, mut at) = (torch.part.as_str(), middle);
        for step in &way {
            let (on, place) = self.metal.place(*step);
            if on == part {
                stretches.push((part.to_owned(), at, place));
            }
            (part, at) = (on, place);
        }
        let first = stretches.first_mut()?;
        let length = |part: &str| self.metal.heat_part(part).map_or(0.0, |part| part.length_mm);
        let forward = first.2 >= first.1;
        let behind = (torch.to_mm - torch.from_mm) / 2.0 + DRAWN_BEYOND_MM;
        first.1 = if forward { (middle - behind).max(0.0) } else { (middle + behind).min(length(&first.0)) };
        let started = first.1;
        let last = stretches.last_mut()?;
        let joint_place = last.2;
        let on = if last.2 >= last.1 { (last.2 + DRAWN_BEYOND_MM).min(length(&last.0)) } else { (last.2 - DRAWN_BEYOND_MM).max(0.0) };
        last.2 = on;
        let mut curve = HeatCurve { points: Vec::new(), parts: Vec::new(), torch_from_mm: 0.0, torch_to_mm: 0.0, joint_at_mm: 0.0, covered: Vec::new() };
        let mut stations: Vec<Station> = Vec::new();
        let mut begun = 0.0;
        for (part, from, to) in &stretches {
            let along = |at: f64| begun + (at - from).abs();
            stations.extend(self.stretch(run, part, *from, *to).into_iter().map(|station| Station { position_mm: along(station.position_mm), ..station }));
            let name = self.metal.part(part).map_or(part.as_str(), |part| part.name.as_str()).to_owned();
            for zone in zones.iter().filter(|zone| zone.part == *part) {
                let (low, high) = (zone.from_mm.max(from.min(*to)), zone.to_mm.min(from.max(*to)));
                if low < high {
                    let ends = [along(low), along(high)];
                    curve.covered.push(CurveCover { from_mm: tenth(ends[0].min(ends[1])), to_mm: tenth(ends[0].max(ends[1])) });
                }
            }
            curve.parts.push(CurvePart { part_id: part.clone(), name, from_mm: tenth(begun), to_mm: tenth(along(*to)) });
            curve.joint_at_mm = tenth(along(joint_place));
            begun = along(*to);
        }
        let torch_at = [torch.from_mm, torch.to_mm].map(|at| (at - started).abs());
        (curve.torch_from_mm, curve.torch_to_mm) = (tenth(torch_at[0].min(torch_at[1])), tenth(torch_at[0].max(torch_at[1])));
        stations.dedup_by(|a, b| a.position_mm - b.position_mm < 1e-9);
        curve.points = thinned(&stations, WITHIN_K)
            .into_iter()
            .map(|station| CurvePoint {
                position_mm: tenth(station.position_mm),
                temperature_c: tenth(station.temperature_c),
                temperature_high_c: tenth(station.temperature_high_c),
            })
            .collect();
        Some(curve)
    }

    /// The profile of a part between two places, in the direction from the first to the second.
    fn stretch(&self, run: &Run, part: &str, from: f64, to: f64) -> Vec<Station> {
        let cold = |position_mm| Station { position_mm, temperature_c: ROOM.ambient_c, temperature_high_c: ROOM.ambient_c };
        let Some(profile) = run.reach.tubes.iter().find(|tube| tube.id == part).map(|tube| &tube.profile) else {
            return vec![cold(from), cold(to)];
        };
        let (low, high) = (from.min(to), from.max(to));
        let at = |position_mm: f64| {
            let next = profile.partition_point(|station| station.position_mm < position_mm).clamp(1, profile.len().max(2) - 1);
            let (a, b) = (profile[next - 1], profile[next]);
            let share = ((position_mm - a.position_mm) / (b.position_mm - a.position_mm).max(1e-9)).clamp(0.0, 1.0);
            let between = |a: f64, b: f64| a + share * (b - a);
            Station {
                position_mm,
                temperature_c: between(a.temperature_c, b.temperature_c),
                temperature_high_c: between(a.temperature_high_c, b.temperature_high_c),
            }
        };
        let within = profile.iter().filter(|station| station.position_mm > low && station.position_mm < high).copied();
        let mut stations: Vec<Station> = std::iter::once(at(low)).chain(within).chain([at(high)]).collect();
        if from > to {
            stations.reverse();
        }
        stations
    }
}

/// The end of a joint that the heat reaches first.
pub fn nearer_end(reached: &Reached, joint: usize) -> Option<End> {
    let [a, b] = reached.distance_mm[joint];
    let side = usize::from(b < a);
    // Crossing a joint costs nothing: of two equal ends the one with the shorter way came first.
    let side = if (a - b).abs() < 1e-9 && reached.before[joint][side] == Some((joint, 1 - side)) { 1 - side } else { side };
    reached.distance_mm[joint][side].is_finite().then_some((joint, side))
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
