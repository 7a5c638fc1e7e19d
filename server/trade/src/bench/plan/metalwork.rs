//! An instrument's own part map as metal: what conducts, what can melt, and what must come off
//! together so that one thing can come off at all.

use super::settings::BenchSettings;
use crate::bench::heat_reach::{Part as HeatPart, PartJoint, PartPlace as HeatPlace, Stock};
use crate::bench::metals::{Filler, Metal, UNKNOWN_BRAZING, UNKNOWN_SOFT_SOLDER};
use crate::maps::{Joint, JointKind, Part, PartKind, PartMap, Pinned};
use std::collections::{BTreeSet, HashMap, VecDeque};

/// Parts further from the torch than this along the metal stay out of the question, mm. Cutting
/// there makes the rest a little hotter, which is the careful side: at ten decay lengths or so.
const REACH_MM: f64 = 500.0;
/// Emissivity of a used surface (from memory; polished 0.05, oxidised 0.6).
pub const EMISSIVITY: f64 = 0.3;
/// Wall of a tube on whose map nobody gave one, mm (from memory).
const TYPICAL_WALL_MM: f64 = 0.5;

/// One end of a joint: the joint, and which of its two places.
pub type End = (usize, usize);

/// The metal of an instrument.
#[derive(Debug)]
pub struct Metalwork<'a> {
    /// The map.
    pub map: &'a PartMap,
    /// For each part of the map the part of the heat question; none for what conducts nothing.
    parts: Vec<Option<HeatPart>>,
    index: HashMap<&'a str, usize>,
    /// For each joint of the map whether heat crosses it.
    conducts: Vec<bool>,
    /// For each joint where what holds it begins to melt, °C, and the filler.
    fillers: Vec<Option<&'static Filler>>,
}

/// The way along the metal from a torch to the ends of the joints.
#[derive(Debug)]
pub struct Reached {
    /// mm to each end of each joint; infinite where no metal leads.
    pub distance_mm: Vec<[f64; 2]>,
    /// The end before each end on the shortest way.
    pub before: Vec<[Option<End>; 2]>,
}

impl<'a> Metalwork<'a> {
    /// The metal of a map, without what was struck and what is no metal.
    pub fn of(map: &'a PartMap) -> Self {
        let index = map.parts.iter().enumerate().map(|(at, part)| (part.id.as_str(), at)).collect();
        let parts: Vec<Option<HeatPart>> = map.parts.iter().map(heat_part).collect();
        let fillers = map.joints.iter().map(filler_of).collect();
        let mut metal = Self { map, parts, index, conducts: Vec::new(), fillers };
        metal.conducts = map
            .joints
            .iter()
            .map(|joint| {
                let touches = !matches!(joint.held, JointKind::Pivot | JointKind::TenonAndCork);
                touches && map.holds(joint) && joint.places.iter().all(|place| metal.heat_part(&place.part).is_some())
            })
            .collect();
        metal
    }

    /// The heat question's part of this id.
    pub fn heat_part(&self, id: &str) -> Option<&HeatPart> {
        self.parts[*self.index.get(id)?].as_ref()
    }

    /// The part of this id.
    pub fn part(&self, id: &str) -> Option<&'a Part> {
        self.index.get(id).map(|at| &self.map.parts[*at])
    }

    /// What holds this joint; none where nothing can melt.
    pub fn filler(&self, joint: usize) -> Option<&'static Filler> {
        self.fillers[joint]
    }

    /// Where what holds a joint begins to melt, °C: as somebody wrote it down, or by the filler; none
    /// where nothing melts.
    pub fn solidus_c(&self, joint: usize) -> Option<f64> {
        self.fillers[joint].map(|filler| self.map.joints[joint].solidus_c.unwrap_or(filler.solidus_c))
    }

    /// Whether somebody said which filler it is.
    pub fn filler_is_known(&self, joint: usize) -> bool {
        self.map.joints[joint].filler.is_some()
    }

    /// Where one end of a joint lies: the part's id, and mm from its beginning.
    pub fn place(&self, (joint, side): End) -> (&'a str, f64) {
        let place = &self.map.joints[joint].places[side];
        let length = self.heat_part(&place.part).map_or(place.at_mm, |part| part.length_mm);
        (&place.part, place.at_mm.clamp(0.0, length))
    }

    /// The shortest way along the metal from a stretch of a part to every joint. `without` are apart.
    pub fn reached(&self, part: &str, from_mm: f64, to_mm: f64, without: &BTreeSet<usize>) -> Reached {
        let count = self.map.joints.len();
        let mut on_part: HashMap<&str, Vec<End>> = HashMap::new();
        for joint in (0..count).filter(|joint| self.conducts[*joint]) {
            for side in 0..2 {
                on_part.entry(self.place((joint, side)).0).or_default().push((joint, side));
            }
        }
        let mut reached = Reached { distance_mm: vec![[f64::INFINITY; 2]; count], before: vec![[None; 2]; count] };
        let mut open: Vec<End> = Vec::new();
        for &end in on_part.get(part).into_iter().flatten() {
            let at = self.place(end).1;
            reached.distance_mm[end.0][end.1] = (from_mm - at).max(at - to_mm).max(0.0);
            open.push(end);
        }
        let mut settled = BTreeSet::new();
        loop {
            let near = |end: &End| reached.distance_mm[end.0][end.1];
            let Some(here) = open.iter().filter(|end| !settled.contains(*end)).min_by(|a, b| near(a).total_cmp(&near(b))).copied() else {
                return reached;
            };
            settled.insert(here);
            let so_far = reached.distance_mm[here.0][here.1];
            let mut next: Vec<(End, f64)> = Vec::new();
            if !without.contains(&here.0) {
                next.push(((here.0, 1 - here.1), so_far));
            }
            let (on, at) = self.place(here);
            for &other in on_part.get(on).into_iter().flatten() {
                next.push((other, so_far + (self.place(other).1 - at).abs()));
            }
            for (end, far) in next {
                if far < reached.distance_mm[end.0][end.1] {
                    reached.distance_mm[end.0][end.1] = far;
                    reached.before[end.0][end.1] = Some(here);
                    open.push(end);
                }
            }
        }
    }

    /// Parts and joints near enough to the torch, for the heat question; `own` joints get no
    /// verdict, joints in `without` are apart. The joints are named by their place in the map.
    pub fn question(&self, part: &str, reached: &Reached, without: &BTreeSet<usize>) -> (Vec<HeatPart>, Vec<PartJoint>) {
        let near = |joint: usize| reached.distance_mm[joint].iter().any(|far| *far < REACH_MM);
        let mut ids: BTreeSet<&str> = BTreeSet::from([part]);
        let joints: Vec<usize> =
            (0..self.map.joints.len()).filter(|joint| self.conducts[*joint] && near(*joint) && !without.contains(joint)).collect();
        for joint in &joints {
            for side in 0..2 {
                ids.insert(self.place((*joint, side)).0);
            }
        }
        let parts = ids.iter().filter_map(|id| self.heat_part(id).cloned()).collect();
        let joints = joints
            .into_iter()
            .map(|joint| PartJoint {
                id: joint.to_string(),
                places: [0, 1].map(|side| {
                    let (part, at_mm) = self.place((joint, side));
                    HeatPlace { part: part.to_owned(), at_mm }
                }),
                solidus_c: self.solidus_c(joint),
            })
            .collect();
        (parts, joints)
    }

    /// The joints that a word names: a joint itself, or all that hold a brace, or all of a part.
    pub fn joints_named(&self, word: &str) -> BTreeSet<usize> {
        match self.map.resolve(word) {
            Some(Pinned::Joint(joint)) => self.position(joint).into_iter().flat_map(|at| self.unit(at)).collect(),
            Some(Pinned::Part(part)) => self.joints_of(&part.id),
            None => BTreeSet::new(),
        }
    }

    /// The joints that are there and hold this part.
    pub fn joints_of(&self, part: &str) -> BTreeSet<usize> {
        let holds = |joint: &Joint| self.map.holds(joint) && joint.places.iter().any(|place| place.part == part);
        (0..self.map.joints.len()).filter(|at| holds(&self.map.joints[*at])).collect()
    }

    /// The place of a joint in the map.
    pub fn position(&self, joint: &Joint) -> Option<usize> {
        self.map.joints.iter().position(|other| other.id == joint.id)
    }

    /// The brace that a joint is a foot of.
    pub fn brace_of(&self, joint: usize) -> Option<&'a Part> {
        let places = &self.map.joints[joint].places;
        places.iter().filter_map(|place| self.part(&place.part)).find(|part| part.kind == PartKind::Brace)
    }

    /// A brace comes off at both feet; everything else is a joint by itself.
    pub fn unit(&self, joint: usize) -> BTreeSet<usize> {
        self.brace_of(joint).map_or_else(|| BTreeSet::from([joint]), |brace| self.joints_of(&brace.id))
    }

    /// Everything that must come apart so that these joints can: the cheapest set of joints that
    /// lets the two sides part, whole braces with it. None where only brazed joints or one piece
    /// of metal hold them.
    pub fn coming_apart(&self, joints: &BTreeSet<usize>, settings: &BenchSettings) -> Option<BTreeSet<usize>> {
        let mut all = BTreeSet::new();
        for joint in joints {
            let unit = self.unit(*joint);
            all.extend(&unit);
            if self.brace_of(*joint).is_none() {
                for cut in self.cut(*joint, settings)? {
                    all.extend(self.unit(cut));
                }
            }
        }
        let can = |joint: &usize| settings.take_apart_minutes.of(self.map.joints[*joint].held).is_some();
        all.iter().all(can).then_some(all)
    }

    /// The cheapest joints besides this one whose coming apart lets its two parts go.
    /// Source: Ford and Fulkerson, maximum flow and minimum cut; flows along shortest ways.
    fn cut(&self, joint: usize, settings: &BenchSettings) -> Option<Vec<usize>> {
        const NEVER: i64 = 1 << 40;
        let count = self.map.parts.len();
        let mut edges: Vec<(usize, usize, i64, Option<usize>)> = Vec::new();
        for (at, other) in self.map.joints.iter().enumerate().filter(|(at, other)| *at != joint && self.map.holds(other)) {
            let ends = other.places.each_ref().map(|place| self.index.get(place.part.as_str()).copied());
            let [Some(a), Some(b)] = ends else { continue };
            let minutes = settings.take_apart_minutes.of(other.held).zip(settings.put_together_minutes.of(other.held));
            edges.push((a, b, minutes.map_or(NEVER, |(take, put)| i64::from(take + put).max(1)), Some(at)));
        }
        for (a, part) in self.map.parts.iter().enumerate().filter(|(_, part)| !part.is_struck()) {
            if let Some(b) = part.sits_on.as_ref().and_then(|seat| self.index.get(seat.part.as_str()).copied()) {
                edges.push((a, b, NEVER, None));
            }
        }
        let [from, to] = self.map.joints[joint].places.each_ref().map(|place| self.index.get(place.part.as_str()).copied());
        let (from, to) = (from?, to?);
        let mut leading: Vec<Vec<usize>> = vec![Vec::new(); count];
        for (at, edge) in edges.iter().enumerate() {
            leading[edge.0].push(at);
            leading[edge.1].push(at);
        }
        // Flow along an edge, from its first part to its second.
        let mut flow = vec![0_i64; edges.len()];
        let mut total = 0;
        loop {
            let mut came: Vec<Option<usize>> = vec![None; count];
            let mut seen = vec![false; count];
            seen[from] = true;
            let mut queue = VecDeque::from([from]);
            while let Some(part) = queue.pop_front() {
                for &at in &leading[part] {
                    let (a, b, most, _) = edges[at];
                    let (next, room) = if a == part { (b, most - flow[at]) } else { (a, most + flow[at]) };
                    if room > 0 && !seen[next] {
                        seen[next] = true;
                        came[next] = Some(at);
                        queue.push_back(next);
                    }
                }
            }
            if !seen[to] {
                let crossing = edges.iter().filter(|(a, b, ..)| seen[*a] != seen[*b]);
                return Some(crossing.filter_map(|(.., joint)| *joint).collect());
            }
            let mut way = Vec::new();
            let mut part = to;
            while let Some(at) = came[part].filter(|_| part != from) {
                let (a, b, most, _) = edges[at];
                let forward = b == part;
                way.push((at, forward, if forward { most - flow[at] } else { most + flow[at] }));
                part = if forward { a } else { b };
            }
            let least = way.iter().map(|(.., room)| *room).min().unwrap_or_default();
            for (at, forward, _) in way {
                flow[at] += if forward { least } else { -least };
            }
            total += least;
            if total >= NEVER {
                return None;
            }
        }
    }
}

fn heat_part(part: &Part) -> Option<HeatPart> {
    if part.is_struck() || matches!(part.kind, PartKind::Pad | PartKind::TenonCork | PartKind::ToneHole) {
        return None;
    }
    let metal = *Metal::named(&part.material.to_string())?;
    let outside_diameter_mm = mean_diameter_mm(part).clamp(1.0, 600.0);
    let wall_mm = match (part.wall, part.kind) {
        (Some(wall), _) => wall.mm,
        (None, PartKind::Tube | PartKind::Body) => TYPICAL_WALL_MM,
        (None, _) => outside_diameter_mm / 2.0,
    };
    let wall_mm = wall_mm.clamp(0.1, outside_diameter_mm / 2.0);
    let stock = Stock { metal, outside_diameter_mm, wall_mm, emissivity: EMISSIVITY };
    Some(HeatPart { id: part.id.clone(), length_mm: part.length.mm.clamp(1.0, 3000.0), stock })
}

/// The diameter averaged along the part.
fn mean_diameter_mm(part: &Part) -> f64 {
    let steps = 40;
    let at = |step: i32| part.diameter_at(part.length.mm * (f64::from(step) + 0.5) / f64::from(steps));
    (0..steps).map(at).sum::<f64>() / f64::from(steps)
}

fn filler_of(joint: &Joint) -> Option<&'static Filler> {
    let known = joint.filler.as_deref().and_then(Filler::named);
    match joint.held {
        JointKind::SoftSoldered => Some(known.unwrap_or(&UNKNOWN_SOFT_SOLDER)),
        JointKind::Brazed => Some(known.unwrap_or(&UNKNOWN_BRAZING)),
        JointKind::SlideFit | JointKind::Threaded | JointKind::TenonAndCork | JointKind::Pivot => None,
    }
}
