//! What heat-reach is asked about: tubes joined at nodes, what is done to them, and the
//! joints that must survive it; and the check that the question makes sense.

use crate::bench::metals::Metal;
use crate::calculation::{Fault, Refused, above_up_to, in_words};
use std::collections::{HashMap, HashSet};
use std::ops::RangeBounds;

/// More tubes than any instrument has; keeps one question from holding up the shop.
const MOST_TUBES: usize = 300;
/// See [`MOST_TUBES`].
const MOST_ZONES: usize = 100;
/// See [`MOST_TUBES`].
const MOST_JOINTS: usize = 1000;
/// See [`MOST_TUBES`]; a large tuba has some 12 m of tube (from memory).
const MOST_METAL_MM: f64 = 60_000.0;
/// The hottest that a torch zone, a rag or a clamp may be, °C.
const HOTTEST_C: f64 = 1100.0;

/// Tube or rod of one section and metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stock {
    /// What it is made of; conductivity and the rest may be the shop's own.
    pub metal: Metal,
    /// Outside diameter, mm, 1 to 600.
    pub outside_diameter_mm: f64,
    /// Wall, mm, 0.1 up to half the diameter, which makes it a solid rod.
    pub wall_mm: f64,
    /// Emissivity of the outside, 0 to 1.
    pub emissivity: f64,
}

impl Stock {
    /// Section of the metal, m².
    #[must_use]
    pub fn section_m2(&self) -> f64 {
        // π/4 (D² − d²) with d = D − 2w, multiplied out for thin walls.
        std::f64::consts::PI * self.wall_mm * (self.outside_diameter_mm - self.wall_mm) * 1e-6
    }

    /// Outside perimeter, m.
    #[must_use]
    pub fn outside_m(&self) -> f64 {
        std::f64::consts::PI * self.outside_diameter_mm * 1e-3
    }

    /// Inside perimeter, m; 0 for a solid rod.
    #[must_use]
    pub fn inside_m(&self) -> f64 {
        std::f64::consts::PI * (self.outside_diameter_mm - 2.0 * self.wall_mm).max(0.0) * 1e-3
    }

    pub(super) fn check(&self, at: &str, faults: &mut Faults) {
        let metal = &self.metal;
        faults.number(
            format!("{at}/outside_diameter_mm"),
            self.outside_diameter_mm,
            &(1.0..=600.0),
        );
        let radius_mm = self.outside_diameter_mm / 2.0;
        let thickest = if radius_mm.is_nan() { f64::MAX } else { radius_mm };
        faults.number(format!("{at}/wall_mm"), self.wall_mm, &(0.1..=thickest));
        faults.number(format!("{at}/emissivity"), self.emissivity, &(0.0..=1.0));
        // The upper bounds lie above every solid; they keep the sums within numbers.
        for (field, value, most) in [
            ("k_w_m_k", metal.conductivity_w_m_k, 1e4),
            ("rho_kg_m3", metal.density_kg_m3, 1e5),
            ("cp_j_kg_k", metal.heat_j_kg_k, 1e5),
            ("solidus_c", metal.solidus_c, 5e3),
        ] {
            faults.number(format!("{at}/{field}"), value, &above_up_to(0.0, most));
        }
    }
}

/// A piece of tube or rod between two nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct Tube {
    /// Its name, unique among the tubes.
    pub id: String,
    /// The node where its positions begin.
    pub from: String,
    /// The node where it ends.
    pub to: String,
    /// Length between the nodes, mm, 1 to 3000.
    pub length_mm: f64,
    /// What it is made of.
    pub stock: Stock,
}

/// What is done to a stretch of tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Doing {
    /// Brazed: the metal is held at this temperature, °C, below its solidus.
    Torch {
        /// °C.
        temperature_c: f64,
    },
    /// Under water.
    Water {
        /// °C, 0 to 95.
        temperature_c: f64,
        /// Whether the tube is full of it too.
        inside: bool,
    },
    /// Wrapped in a wet rag.
    WetRag {
        /// W/(m² K).
        h_w_m2_k: f64,
        /// °C.
        temperature_c: f64,
    },
    /// Clamped in a heat sink.
    HeatSink {
        /// W/(m² K).
        h_w_m2_k: f64,
        /// °C.
        temperature_c: f64,
    },
}

/// A stretch of one tube and what is done to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// The tube's name.
    pub tube: String,
    /// Where it begins, mm from the tube's `from` node.
    pub from_mm: f64,
    /// Where it ends, mm; a torch zone may have no width.
    pub to_mm: f64,
    /// What is done there.
    pub doing: Doing,
}

/// Where a joint is.
#[derive(Debug, Clone, PartialEq)]
pub enum Place {
    /// At a node.
    Node(String),
    /// Along a tube.
    Along {
        /// The tube's name.
        tube: String,
        /// mm from its `from` node.
        at_mm: f64,
    },
}

/// A joint that the heat must not open.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// Its name, unique among the joints.
    pub id: String,
    /// Where it is.
    pub place: Place,
    /// Where what holds it begins to melt, °C.
    pub solidus_c: f64,
}

/// The room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// °C, −10 to 50.
    pub ambient_c: f64,
    /// Heat transfer to its air, W/(m² K), 0 to 100; 5 to 25 for still air.
    pub air_h_w_m2_k: f64,
}

/// Heated once through, or for ever.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Duration {
    /// The torch stays: the worst case.
    Steady,
    /// The torch is lit, stays, is taken away, and the metal is watched.
    Transient {
        /// Seconds with the torch, above 0 and at most 1800.
        heating_s: f64,
        /// Seconds after it, at most 3600: the peak often comes then.
        watch_s: f64,
    },
}

/// One question of heat-reach.
///
/// Left out on purpose, and to be said beside every answer: hot gas running along the
/// tube, flame on a joint itself, poor thermal contact, fillets and collars.
#[derive(Debug, Clone, PartialEq)]
pub struct Assembly {
    /// The tubes, at most 300 and 60 m together.
    pub tubes: Vec<Tube>,
    /// What is done to them; at least one torch, at most 100 zones.
    pub zones: Vec<Zone>,
    /// The joints asked about, at most 1000.
    pub joints: Vec<Joint>,
    /// Where they are.
    pub room: Room,
    /// How far below its solidus a joint must stay, K, 0 to 200.
    pub margin_k: f64,
    /// For how long.
    pub duration: Duration,
}

/// Faults with their pointers; one pointer is named once, and nothing below a part that
/// could not be read at all.
#[derive(Debug, Default)]
pub(super) struct Faults {
    list: Vec<Fault>,
    pointers: HashSet<String>,
}

impl From<Vec<Fault>> for Faults {
    fn from(list: Vec<Fault>) -> Self {
        let mut faults = Self::default();
        for fault in list {
            faults.add(fault.pointer, fault.message);
        }
        faults
    }
}

impl Faults {
    pub fn add(&mut self, pointer: impl Into<String>, message: impl Into<String>) {
        let pointer = pointer.into();
        let mut part = pointer.as_str();
        while !self.pointers.contains(part) {
            match part.rsplit_once('/') {
                Some((above, _)) if !above.is_empty() => part = above,
                _ => {
                    self.pointers.insert(pointer.clone());
                    self.list.push(Fault { pointer, message: message.into() });
                    return;
                }
            }
        }
    }

    pub fn number(&mut self, pointer: String, value: f64, range: &impl RangeBounds<f64>) {
        if !value.is_finite() || !range.contains(&value) {
            self.add(pointer, format!("{value} must be {}", in_words(range)));
        }
    }

    fn below(&self, part: &str) -> bool {
        self.list.iter().any(|fault| fault.pointer.starts_with(part))
    }

    pub fn done(self) -> Result<(), Refused> {
        if self.list.is_empty() { Ok(()) } else { Err(self.refused()) }
    }

    fn refused(self) -> Refused {
        Refused { slug: "invalid-input", faults: self.list }
    }
}

/// An assembly with its names resolved to places in its lists.
#[derive(Debug)]
pub(super) struct Resolved<'a> {
    pub assembly: &'a Assembly,
    /// `(from, to)` node of each tube.
    pub ends: Vec<(usize, usize)>,
    pub node_count: usize,
    /// The tube of each zone.
    pub zone_tubes: Vec<usize>,
    pub joint_places: Vec<ResolvedPlace>,
}

#[derive(Debug, Clone, Copy)]
pub(super) enum ResolvedPlace {
    Node(usize),
    Along { tube: usize, at_mm: f64 },
}

impl Assembly {
    /// Whether the question makes sense.
    ///
    /// # Errors
    /// `invalid-input` with every value out of range and every name that is not there;
    /// then `torch-melts-part`; then `part-not-connected`. Pointers are those of the
    /// JSON form of the question.
    pub fn check(&self) -> Result<(), Refused> {
        self.resolve(Faults::default()).map(|_| ())
    }

    /// Resolves names, with the faults that reading has found already.
    pub(super) fn resolve(&self, mut faults: Faults) -> Result<Resolved<'_>, Refused> {
        self.check_room(&mut faults);
        if !self.check_sizes(&mut faults) {
            return Err(faults.refused());
        }
        let mut nodes: HashMap<&str, usize> = HashMap::new();
        let mut ends = Vec::with_capacity(self.tubes.len());
        let mut tubes: HashMap<&str, usize> = HashMap::new();
        for (index, tube) in self.tubes.iter().enumerate() {
            let at = format!("/tubes/{index}");
            ends.push((number_of(&mut nodes, &tube.from), number_of(&mut nodes, &tube.to)));
            faults.number(format!("{at}/length_mm"), tube.length_mm, &(1.0..=3000.0));
            tube.stock.check(&at, &mut faults);
            if tubes.contains_key(tube.id.as_str()) {
                faults.add(format!("{at}/id"), "is the name of an earlier tube");
                faults.add(at, "has the name of an earlier tube");
            } else {
                tubes.insert(&tube.id, index);
            }
        }
        if self.tubes.iter().map(|tube| tube.length_mm).sum::<f64>() > MOST_METAL_MM {
            faults.add("/tubes", format!("are longer together than {MOST_METAL_MM} mm"));
        }
        let zone_tubes = self.check_zones(&tubes, &mut faults);
        let joint_places = self.check_joints(&tubes, &nodes, &mut faults);
        faults.done()?;
        let resolved =
            Resolved { assembly: self, ends, node_count: nodes.len(), zone_tubes, joint_places };
        resolved.check_meaning()?;
        Ok(resolved)
    }

    /// Whether there are tubes, and nothing is so long that its parts should not be looked at.
    fn check_sizes(&self, faults: &mut Faults) -> bool {
        if self.tubes.is_empty() {
            faults.add("/tubes", "must hold at least one tube");
        }
        let mut within = true;
        for (field, count, most) in [
            ("tubes", self.tubes.len(), MOST_TUBES),
            ("zones", self.zones.len(), MOST_ZONES),
            ("joints", self.joints.len(), MOST_JOINTS),
        ] {
            if count > most {
                faults.add(format!("/{field}"), format!("{count} are more than {most}"));
                within = false;
            }
        }
        within
    }

    fn check_room(&self, faults: &mut Faults) {
        faults.number("/ambient_c".into(), self.room.ambient_c, &(-10.0..=50.0));
        faults.number("/air_h_w_m2_k".into(), self.room.air_h_w_m2_k, &(0.0..=100.0));
        faults.number("/margin_k".into(), self.margin_k, &(0.0..=200.0));
        if let Duration::Transient { heating_s, watch_s } = self.duration {
            faults.number("/mode/heating_s".into(), heating_s, &above_up_to(0.0, 1800.0));
            faults.number("/mode/watch_s".into(), watch_s, &(0.0..=3600.0));
        }
    }

    fn check_zones(&self, tubes: &HashMap<&str, usize>, faults: &mut Faults) -> Vec<usize> {
        let mut zone_tubes = Vec::with_capacity(self.zones.len());
        let mut taken: Vec<Vec<(f64, f64)>> = vec![Vec::new(); self.tubes.len()];
        for (index, zone) in self.zones.iter().enumerate() {
            let at = format!("/zones/{index}");
            zone.doing.check(&at, self.room.ambient_c, faults);
            let tube = tubes.get(zone.tube.as_str()).copied();
            let length_mm = tube.map_or(f64::NAN, |tube| self.tubes[tube].length_mm);
            // An unreadable length has been told; it must not make its zones wrong too.
            let length_mm = if length_mm.is_finite() { length_mm } else { f64::MAX };
            faults.number(format!("{at}/from_mm"), zone.from_mm, &(0.0..=length_mm));
            faults.number(format!("{at}/to_mm"), zone.to_mm, &(0.0..=length_mm));
            if zone.from_mm > zone.to_mm {
                faults.add(format!("{at}/from_mm"), "lies beyond to_mm");
                faults.add(format!("{at}/to_mm"), "lies before from_mm");
            }
            let Some(tube) = tube else {
                faults.add(format!("{at}/tube"), format!("there is no tube {:?}", zone.tube));
                continue;
            };
            zone_tubes.push(tube);
            if taken[tube].iter().any(|(from, to)| zone.from_mm < *to && *from < zone.to_mm) {
                faults.add(at, "overlaps an earlier zone of its tube");
            } else {
                taken[tube].push((zone.from_mm, zone.to_mm));
            }
        }
        let lit = self.zones.iter().any(|zone| matches!(zone.doing, Doing::Torch { .. }));
        if !lit && !faults.below("/zones/") {
            faults.add("/zones", "must hold a torch: nothing is heated");
        }
        zone_tubes
    }

    fn check_joints(
        &self,
        tubes: &HashMap<&str, usize>,
        nodes: &HashMap<&str, usize>,
        faults: &mut Faults,
    ) -> Vec<ResolvedPlace> {
        let mut places = Vec::with_capacity(self.joints.len());
        let mut seen: HashMap<&str, usize> = HashMap::new();
        for (index, joint) in self.joints.iter().enumerate() {
            let at = format!("/joints/{index}");
            if seen.insert(&joint.id, index).is_some() {
                faults.add(format!("{at}/id"), "is the name of an earlier joint");
                faults.add(&at, "has the name of an earlier joint");
            }
            faults.number(format!("{at}/solidus_c"), joint.solidus_c, &above_up_to(0.0, 5e3));
            match &joint.place {
                Place::Node(name) => match nodes.get(name.as_str()) {
                    Some(node) => places.push(ResolvedPlace::Node(*node)),
                    None => {
                        faults.add(format!("{at}/node"), format!("no tube has a node {name:?}"));
                    }
                },
                Place::Along { tube: name, at_mm } => {
                    let tube = tubes.get(name.as_str()).copied();
                    let length_mm = tube.map_or(f64::NAN, |tube| self.tubes[tube].length_mm);
                    let length_mm = if length_mm.is_finite() { length_mm } else { f64::MAX };
                    faults.number(format!("{at}/at_mm"), *at_mm, &(0.0..=length_mm));
                    match tube {
                        Some(tube) => places.push(ResolvedPlace::Along { tube, at_mm: *at_mm }),
                        None => {
                            faults.add(format!("{at}/tube"), format!("there is no tube {name:?}"));
                        }
                    }
                }
            }
        }
        places
    }
}

/// The number of a named node, a new one for a new name.
fn number_of<'n>(nodes: &mut HashMap<&'n str, usize>, name: &'n str) -> usize {
    let next = nodes.len();
    *nodes.entry(name).or_insert(next)
}

impl Doing {
    fn check(&self, at: &str, ambient_c: f64, faults: &mut Faults) {
        let temperature = format!("{at}/temperature_c");
        match *self {
            Doing::Torch { temperature_c } => {
                let room_c = if ambient_c.is_finite() { ambient_c } else { f64::MIN };
                faults.number(temperature, temperature_c, &above_up_to(room_c, HOTTEST_C));
            }
            Doing::Water { temperature_c, inside: _ } => {
                faults.number(temperature, temperature_c, &(0.0..=95.0));
            }
            Doing::WetRag { h_w_m2_k, temperature_c }
            | Doing::HeatSink { h_w_m2_k, temperature_c } => {
                // Beyond any real contact; keeps the sums within numbers.
                faults.number(format!("{at}/h_w_m2_k"), h_w_m2_k, &above_up_to(0.0, 1e9));
                faults.number(temperature, temperature_c, &above_up_to(0.0, HOTTEST_C));
            }
        }
    }
}

/// The torch of the two questions about one long tube.
pub(super) fn check_torch(torch_c: f64, ambient_c: f64, faults: &mut Faults) {
    if ambient_c.is_finite() {
        faults.number("/torch_c".into(), torch_c, &above_up_to(ambient_c, HOTTEST_C));
    } else {
        faults.number("/torch_c".into(), torch_c, &(..));
    }
}

impl Resolved<'_> {
    fn check_meaning(&self) -> Result<(), Refused> {
        let mut melting = Refused::new("torch-melts-part");
        for (index, (zone, tube)) in self.assembly.zones.iter().zip(&self.zone_tubes).enumerate() {
            let solidus_c = self.assembly.tubes[*tube].stock.metal.solidus_c;
            if let Doing::Torch { temperature_c } = zone.doing
                && temperature_c >= solidus_c
            {
                melting = melting.at(
                    format!("/zones/{index}/temperature_c"),
                    format!("{temperature_c} °C melts the tube itself, from {solidus_c} °C on"),
                );
            }
        }
        if !melting.faults.is_empty() {
            return Err(melting);
        }
        let warm = self.nodes_on_a_path_to_a_torch();
        let apart: Vec<usize> =
            (0..self.ends.len()).filter(|tube| !warm[self.ends[*tube].0]).collect();
        if apart.is_empty() {
            return Ok(());
        }
        Err(apart.into_iter().fold(Refused::new("part-not-connected"), |refused, tube| {
            refused.at(format!("/tubes/{tube}"), "nothing joins it to the place that is heated")
        }))
    }

    /// For each node, whether metal leads from it to a torch zone.
    fn nodes_on_a_path_to_a_torch(&self) -> Vec<bool> {
        let mut warm = vec![false; self.node_count];
        for (zone, tube) in self.assembly.zones.iter().zip(&self.zone_tubes) {
            if matches!(zone.doing, Doing::Torch { .. }) {
                warm[self.ends[*tube].0] = true;
                warm[self.ends[*tube].1] = true;
            }
        }
        // As many rounds as there are tubes reach the end of the longest chain.
        for _ in 0..self.ends.len() {
            for (from, to) in &self.ends {
                let either = warm[*from] || warm[*to];
                warm[*from] = either;
                warm[*to] = either;
            }
        }
        warm
    }
}
