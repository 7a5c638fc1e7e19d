//! The question put as an instrument's parts and joints, as a plan asks it.
//!
//! A brace stands somewhere along a tube: the parts are cut into tubes where joints meet
//! them, solved, and put together again, so that the answer speaks of parts and joints.

use super::model::{Assembly, Doing, Duration, Faults, Joint, Place, Room, Stock, Tube, Zone};
use super::{JointReach, Reach, Station, TubeReach, Verdict, reach};
use crate::calculation::{Fault, Refused};
use std::collections::HashMap;

/// Joints nearer to each other than this on one part, or to its end, share a place, mm:
/// the foot of a brace is wider.
const ONE_PLACE_MM: f64 = 1.0;

/// A tube or rod of the instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its name, unique among the parts.
    pub id: String,
    /// Length along its middle line, mm, 1 to 3000; bends count as if straightened.
    pub length_mm: f64,
    /// What it is made of, at its mean diameter.
    pub stock: Stock,
}

/// A place on a part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartPlace {
    /// The part's name.
    pub part: String,
    /// mm from its beginning.
    pub at_mm: f64,
}

/// Two parts touching. A joint that is apart, or that holds by cork, conducts nothing
/// and is left out of the question.
#[derive(Debug, Clone, PartialEq)]
pub struct PartJoint {
    /// Its name, unique among the joints.
    pub id: String,
    /// The two places that touch.
    pub places: [PartPlace; 2],
    /// Where what holds it begins to melt, °C; absent where nothing can melt (a thread,
    /// a slide): such a joint conducts and gets no verdict.
    pub solidus_c: Option<f64>,
}

/// A stretch of a part and what is done to it.
#[derive(Debug, Clone, PartialEq)]
pub struct PartZone {
    /// The part's name.
    pub part: String,
    /// mm from its beginning.
    pub from_mm: f64,
    /// mm from its beginning.
    pub to_mm: f64,
    /// What is done there.
    pub doing: Doing,
}

/// One question about an instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct PartMap {
    /// The tubes and rods.
    pub parts: Vec<Part>,
    /// What joins them.
    pub joints: Vec<PartJoint>,
    /// What is done to them; at least one torch.
    pub zones: Vec<PartZone>,
    /// Where they are.
    pub room: Room,
    /// How far below its solidus a joint must stay, K.
    pub margin_k: f64,
    /// For how long.
    pub duration: Duration,
}

impl PartMap {
    /// How hot every joint that can melt and every part gets.
    ///
    /// The tubes of the answer are the parts, in their order, with profiles over their
    /// whole length. Parts that no metal joins to the torch stay at the room's
    /// temperature.
    ///
    /// # Errors
    /// As [`reach`], with pointers `/parts/i`, `/joints/i/places/k` and `/zones/i`.
    pub fn reach(&self) -> Result<Reach, Refused> {
        let cut = Cut::new(self)?;
        let mut answer = reach(&cut.assembly).map_err(|refused| cut.told_of_parts(refused))?;
        let pieces = std::mem::take(&mut answer.tubes);
        let heated: HashMap<&str, &JointReach> =
            answer.joints.iter().map(|joint| (joint.id.as_str(), joint)).collect();
        let joints = self
            .joints
            .iter()
            .filter_map(|joint| Some((joint, joint.solidus_c?)))
            .map(|(joint, solidus_c)| match heated.get(joint.id.as_str()) {
                Some(reached) => (*reached).clone(),
                None => self.cold_joint(joint, solidus_c),
            })
            .collect();
        let tubes = self
            .parts
            .iter()
            .enumerate()
            .map(|(index, part)| self.put_together(part, &cut, index, &pieces))
            .collect();
        Ok(Reach { joints, tubes, heat: answer.heat })
    }

    fn cold_joint(&self, joint: &PartJoint, solidus_c: f64) -> JointReach {
        let room_c = self.room.ambient_c;
        JointReach {
            id: joint.id.clone(),
            temperature_c: room_c,
            temperature_high_c: room_c,
            limit_c: solidus_c - self.margin_k,
            verdict: Verdict::on(room_c, room_c, solidus_c, self.margin_k),
            peak_at_s: match self.duration {
                Duration::Steady => None,
                Duration::Transient { .. } => Some(0.0),
            },
        }
    }

    fn put_together(
        &self,
        part: &Part,
        cut: &Cut,
        index: usize,
        reached: &[TubeReach],
    ) -> TubeReach {
        let mut profile: Vec<Station> = Vec::new();
        for (piece, tube) in cut.pieces.iter().zip(reached).filter(|(p, _)| p.part == index) {
            // The last station of a piece is the first of the next.
            let seam = usize::from(!profile.is_empty());
            profile.extend(tube.profile.iter().skip(seam).map(|station| Station {
                position_mm: station.position_mm + piece.from_mm,
                ..*station
            }));
        }
        if profile.is_empty() {
            let room_c = self.room.ambient_c;
            profile.extend([0.0, part.length_mm].map(|position_mm| Station {
                position_mm,
                temperature_c: room_c,
                temperature_high_c: room_c,
            }));
        }
        TubeReach { id: part.id.clone(), profile }
    }
}

/// A part between two cuts.
#[derive(Debug, Clone, Copy)]
struct Piece {
    part: usize,
    from_mm: f64,
    to_mm: f64,
}

/// A part map cut into tubes, without the parts that stay cold.
struct Cut {
    assembly: Assembly,
    /// One for each tube.
    pieces: Vec<Piece>,
    /// For each zone of the assembly the zone of the part map.
    zones: Vec<usize>,
    /// For each joint of the assembly the joint of the part map.
    joints: Vec<usize>,
}

impl Cut {
    fn new(map: &PartMap) -> Result<Self, Refused> {
        let part_of = checked_names(map)?;
        let mut cuts: Vec<Vec<f64>> =
            map.parts.iter().map(|part| vec![0.0, part.length_mm]).collect();
        for place in map.joints.iter().flat_map(|joint| &joint.places) {
            cuts[part_of[place.part.as_str()]].push(place.at_mm);
        }
        for cuts in &mut cuts {
            *cuts = spaced(std::mem::take(cuts));
        }
        let mut nodes = Nodes::new(&cuts);
        for joint in &map.joints {
            let [one, other] = joint.places.each_ref().map(|place| {
                let part = part_of[place.part.as_str()];
                nodes.at(part, nearest(&cuts[part], place.at_mm))
            });
            nodes.join(one, other);
        }

        let mut all = Vec::new();
        for (part, cuts) in cuts.iter().enumerate() {
            for place in 1..cuts.len() {
                let (from, to) = (nodes.at(part, place - 1), nodes.at(part, place));
                let piece = Piece { part, from_mm: cuts[place - 1], to_mm: cuts[place] };
                all.push((piece, nodes.root(from), nodes.root(to)));
            }
        }
        let warm = Self::warm_nodes(map, &part_of, &all, &mut nodes);
        let kept: Vec<_> = all.into_iter().filter(|(_, from, _)| warm[*from]).collect();
        let pieces: Vec<Piece> = kept.iter().map(|(piece, _, _)| *piece).collect();
        let tubes = kept
            .iter()
            .enumerate()
            .map(|(index, (piece, from, to))| Tube {
                id: index.to_string(),
                from: from.to_string(),
                to: to.to_string(),
                length_mm: piece.to_mm - piece.from_mm,
                stock: map.parts[piece.part].stock,
            })
            .collect();
        let (zones, zone_of) = cut_zones(map, &part_of, &pieces);
        let mut joints = Vec::new();
        let mut joint_of = Vec::new();
        for (index, joint) in map.joints.iter().enumerate() {
            let place = &joint.places[0];
            let part = part_of[place.part.as_str()];
            let node = nodes.at(part, nearest(&cuts[part], place.at_mm));
            let node = nodes.root(node);
            if let Some(solidus_c) = joint.solidus_c.filter(|_| warm[node]) {
                let place = Place::Node(node.to_string());
                joints.push(Joint { id: joint.id.clone(), place, solidus_c });
                joint_of.push(index);
            }
        }
        let assembly = Assembly {
            tubes,
            zones,
            joints,
            room: map.room,
            margin_k: map.margin_k,
            duration: map.duration,
        };
        Ok(Self { assembly, pieces, zones: zone_of, joints: joint_of })
    }

    /// For each node whether metal leads from it to a torch.
    fn warm_nodes(
        map: &PartMap,
        part_of: &HashMap<&str, usize>,
        all: &[(Piece, usize, usize)],
        nodes: &mut Nodes,
    ) -> Vec<bool> {
        let mut metal = nodes.clone();
        for (_, from, to) in all {
            metal.join(*from, *to);
        }
        let mut lit = vec![false; metal.parents.len()];
        for zone in &map.zones {
            if matches!(zone.doing, Doing::Torch { .. }) {
                let node = metal.at(part_of[zone.part.as_str()], 0);
                lit[metal.root(node)] = true;
            }
        }
        (0..lit.len()).map(|node| lit[metal.root(node)]).collect()
    }

    /// The same refusal, speaking of parts instead of tubes.
    fn told_of_parts(&self, refused: Refused) -> Refused {
        let told = |fault: Fault| {
            let mut steps = fault.pointer.splitn(4, '/').skip(1);
            let (list, place) = (steps.next(), steps.next().and_then(|p| p.parse::<usize>().ok()));
            let rest = steps.next().map(|rest| format!("/{rest}")).unwrap_or_default();
            let pointer = match (list, place) {
                (Some("tubes"), Some(place)) => format!("/parts/{}{rest}", self.pieces[place].part),
                (Some("zones"), Some(place)) => format!("/zones/{}{rest}", self.zones[place]),
                (Some("joints"), Some(place)) => format!("/joints/{}{rest}", self.joints[place]),
                _ => fault.pointer,
            };
            Fault { pointer, ..fault }
        };
        // All pieces of a part share its faults: each is told once.
        let mut faults: Vec<Fault> = Vec::new();
        for fault in refused.faults.into_iter().map(told) {
            if !faults.contains(&fault) {
                faults.push(fault);
            }
        }
        Refused { faults, ..refused }
    }
}

/// The parts by name, when every place and zone lies on one of them.
fn checked_names(map: &PartMap) -> Result<HashMap<&str, usize>, Refused> {
    let mut faults = Faults::default();
    let mut part_of: HashMap<&str, usize> = HashMap::new();
    for (index, part) in map.parts.iter().enumerate() {
        faults.number(format!("/parts/{index}/length_mm"), part.length_mm, &(1.0..=3000.0));
        if part_of.insert(&part.id, index).is_some() {
            faults.add(format!("/parts/{index}/id"), "is the name of an earlier part");
        }
    }
    let mut check = |at: String, part: &str, positions: &[(&str, f64)]| match part_of.get(part) {
        Some(part) => {
            let longest = map.parts[*part].length_mm;
            let longest = if longest.is_finite() { longest } else { f64::MAX };
            for (field, position_mm) in positions {
                faults.number(format!("{at}/{field}"), *position_mm, &(0.0..=longest));
            }
        }
        None => faults.add(format!("{at}/part"), format!("there is no part {part:?}")),
    };
    for (index, joint) in map.joints.iter().enumerate() {
        for (side, place) in joint.places.iter().enumerate() {
            let at = format!("/joints/{index}/places/{side}");
            check(at, &place.part, &[("at_mm", place.at_mm)]);
        }
    }
    for (index, zone) in map.zones.iter().enumerate() {
        let positions = [("from_mm", zone.from_mm), ("to_mm", zone.to_mm)];
        check(format!("/zones/{index}"), &zone.part, &positions);
    }
    let lit = map.zones.iter().any(|zone| matches!(zone.doing, Doing::Torch { .. }));
    if !lit {
        faults.add("/zones", "must hold a torch: nothing is heated");
    }
    faults.done()?;
    Ok(part_of)
}

/// The cuts of one part, rising, none nearer than [`ONE_PLACE_MM`] to another.
fn spaced(mut cuts: Vec<f64>) -> Vec<f64> {
    cuts.sort_by(f64::total_cmp);
    let end = cuts[cuts.len() - 1];
    let mut kept = vec![0.0];
    for cut in cuts {
        if cut - kept[kept.len() - 1] > ONE_PLACE_MM && end - cut > ONE_PLACE_MM {
            kept.push(cut);
        }
    }
    kept.push(end);
    kept
}

fn nearest(cuts: &[f64], at_mm: f64) -> usize {
    let mut best = 0;
    for (place, cut) in cuts.iter().enumerate() {
        if (cut - at_mm).abs() < (cuts[best] - at_mm).abs() {
            best = place;
        }
    }
    best
}

fn cut_zones(
    map: &PartMap,
    part_of: &HashMap<&str, usize>,
    pieces: &[Piece],
) -> (Vec<Zone>, Vec<usize>) {
    let mut zones = Vec::new();
    let mut zone_of = Vec::new();
    for (index, zone) in map.zones.iter().enumerate() {
        let part = part_of[zone.part.as_str()];
        let on_part = pieces.iter().enumerate().filter(|(_, piece)| piece.part == part);
        let mut placed = false;
        for (tube, piece) in on_part {
            let (from_mm, to_mm) = (zone.from_mm.max(piece.from_mm), zone.to_mm.min(piece.to_mm));
            // A zone without width goes to the first piece that holds it; one turned
            // round goes there as it is, to be refused.
            let whole = zone.from_mm >= zone.to_mm;
            let holds = piece.from_mm <= zone.from_mm && zone.from_mm <= piece.to_mm;
            if if whole { holds && !placed } else { from_mm < to_mm } {
                let (from_mm, to_mm) =
                    if whole { (zone.from_mm, zone.to_mm) } else { (from_mm, to_mm) };
                zones.push(Zone {
                    tube: tube.to_string(),
                    from_mm: from_mm - piece.from_mm,
                    to_mm: to_mm - piece.from_mm,
                    doing: zone.doing,
                });
                zone_of.push(index);
                placed = true;
            }
        }
    }
    (zones, zone_of)
}

/// Places on parts, joined into nodes.
#[derive(Debug, Clone)]
struct Nodes {
    first: Vec<usize>,
    parents: Vec<usize>,
}

impl Nodes {
    fn new(cuts: &[Vec<f64>]) -> Self {
        let mut first = Vec::with_capacity(cuts.len());
        let mut count = 0;
        for cuts in cuts {
            first.push(count);
            count += cuts.len();
        }
        Self { first, parents: (0..count).collect() }
    }

    fn at(&self, part: usize, place: usize) -> usize {
        self.first[part] + place
    }

    fn root(&mut self, node: usize) -> usize {
        let mut root = node;
        while self.parents[root] != root {
            self.parents[root] = self.parents[self.parents[root]];
            root = self.parents[root];
        }
        root
    }

    fn join(&mut self, one: usize, other: usize) {
        let (one, other) = (self.root(one), self.root(other));
        self.parents[one.max(other)] = one.min(other);
    }
}
