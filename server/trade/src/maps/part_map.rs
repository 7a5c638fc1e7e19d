//! What a part map is made of, and when it is not one.

use crate::bench::metals::Filler;
use crate::words::instrument::Family;
use crate::words::spelling::spelt;
use serde::{Deserialize, Serialize};
use std::collections::{HashMap, HashSet};
use utoipa::ToSchema;

spelt! {
    /// Where a value comes from.
    Basis {
        /// Taken from this instrument with a tool.
        Measured = "measured",
        /// Common for the family; nobody has measured it.
        Typical = "typical",
    }
}

spelt! {
    /// What a part is.
    PartKind {
        /// A tube, straight, bent, conical or flaring.
        Tube = "tube",
        /// A section of a woodwind's body.
        Body = "body",
        /// The casing of a piston valve.
        Casing = "casing",
        /// A piston with stem and button.
        Piston = "piston",
        /// The casing of a rotary valve.
        RotorCasing = "rotor_casing",
        /// The rotor in its casing.
        Rotor = "rotor",
        /// Lever, string or ball joints that turn a rotor.
        Linkage = "linkage",
        /// A brace between two tubes.
        Brace = "brace",
        /// A key: lever, rod arm or ring.
        Key = "key",
        /// A rod on which keys turn.
        Rod = "rod",
        /// A post that carries a rod or a key.
        Post = "post",
        /// A spring.
        Spring = "spring",
        /// A pad in its cup.
        Pad = "pad",
        /// A tone hole.
        ToneHole = "tone_hole",
        /// A guard over a key.
        Guard = "guard",
        /// A cork on a tenon.
        TenonCork = "tenon_cork",
        /// Anything else.
        Fitting = "fitting",
    }
}

spelt! {
    /// What a part is made of. The metals are spelt as the heat computation spells them.
    Material {
        /// Yellow brass, 70 % copper.
        BrassC260 = "brass_c260",
        /// Low brass, 80 % copper.
        BrassC240 = "brass_c240",
        /// Red or gold brass, 85 % copper.
        BrassC230 = "brass_c230",
        /// Commercial bronze, 90 % copper.
        BronzeC220 = "bronze_c220",
        /// Nickel silver, 65 % copper and 18 % nickel.
        NickelSilverC752 = "nickel_silver_c752",
        /// Nickel silver, 65 % copper and 12 % nickel.
        NickelSilverC757 = "nickel_silver_c757",
        /// Copper.
        CopperC122 = "copper_c122",
        /// Fine silver.
        SilverFine = "silver_fine",
        /// Sterling silver.
        SilverSterling = "silver_sterling",
        /// Steel of rods, screws and springs.
        Steel = "steel",
        /// Grenadilla.
        Grenadilla = "grenadilla",
        /// Maple.
        Maple = "maple",
        /// Hard rubber.
        HardRubber = "hard_rubber",
        /// Plastic.
        Plastic = "plastic",
        /// Cork.
        Cork = "cork",
        /// Felt under skin or leather.
        FeltAndSkin = "felt_and_skin",
        /// Something else.
        Other = "other",
    }
}

impl Material {
    /// Whether it is wood, hard rubber or plastic, drawn with a second inner line.
    #[must_use]
    pub fn is_turned(self) -> bool {
        matches!(self, Self::Grenadilla | Self::Maple | Self::HardRubber | Self::Plastic)
    }
}

spelt! {
    /// What lies on the surface.
    Finish {
        /// Bare.
        Bare = "bare",
        /// Lacquered.
        Lacquered = "lacquered",
        /// Silver plated.
        SilverPlated = "silver_plated",
        /// Nickel plated.
        NickelPlated = "nickel_plated",
        /// Gold plated.
        GoldPlated = "gold_plated",
        /// Oiled.
        Oiled = "oiled",
    }
}

spelt! {
    /// How a tube was closed when it was made.
    Seam {
        /// Drawn or turned: no seam.
        None = "none",
        /// Brazed along its whole length.
        Lengthwise = "lengthwise",
    }
}

spelt! {
    /// How two parts are held together.
    JointKind {
        /// Soft solder.
        SoftSoldered = "soft_soldered",
        /// Brazed.
        Brazed = "brazed",
        /// One slides in the other.
        SlideFit = "slide_fit",
        /// Screwed.
        Threaded = "threaded",
        /// A tenon with cork in a socket.
        TenonAndCork = "tenon_and_cork",
        /// One turns on the other.
        Pivot = "pivot",
    }
}

/// A value in mm and where it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Measure {
    /// mm.
    pub mm: f64,
    /// Measured, or typical of the family.
    pub basis: Basis,
}

impl Measure {
    /// A typical value, in mm.
    #[must_use]
    pub fn typical(mm: f64) -> Self {
        Self { mm, basis: Basis::Typical }
    }

    /// A measured value, in mm.
    #[must_use]
    pub fn measured(mm: f64) -> Self {
        Self { mm, basis: Basis::Measured }
    }
}

/// The outside diameter at one place of a part.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Station {
    /// mm from the part's beginning (the end nearer the mouth).
    pub at_mm: f64,
    /// Outside diameter there.
    pub outside_diameter: Measure,
}

/// A point of the sheet, in its units; x to the right, y down.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

/// A corner of a centre line, rounded with its radius.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Corner {
    /// To the right, units of the sheet.
    pub x: f64,
    /// Down, units of the sheet.
    pub y: f64,
    /// Bend radius, units of the sheet; 0 at both ends of the line.
    #[serde(default)]
    pub bend: f64,
}

/// Where a part lies on the sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Layout {
    /// The centre line, from the part's beginning; at least two corners.
    pub line: Vec<Corner>,
    /// Parts with a higher number lie on top.
    pub order: i32,
    /// Where the name and the dimensions are written; left out: nowhere.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<Point>,
}

/// A place on another part that carries this one without a joint that could come
/// apart by heat or by hand: a tone hole in a body, a pad in its key, a spring in its post.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Seat {
    /// The id of the part that carries it.
    pub part: String,
    /// mm from that part's beginning.
    pub at_mm: f64,
    /// Across the part: 0 on the middle line, −1 and 1 on its edges; −1 lies to the left of
    /// somebody walking along the part.
    #[serde(default)]
    pub across: f64,
}

/// One part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Unique in the map.
    pub id: String,
    /// What it is called at the bench.
    pub name: String,
    /// The word of the family's pick list that covers it, where that is not its name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub listed_as: Option<String>,
    /// What it is.
    pub kind: PartKind,
    /// What it is made of.
    pub material: Material,
    /// What lies on it.
    pub finish: Finish,
    /// How it was closed.
    pub seam: Seam,
    /// Whether somebody looked at this instrument and saw it so; left out: it is typical of the
    /// family, and says nothing of this instrument.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub seam_seen: bool,
    /// Along its middle line; bends count as if straightened.
    pub length: Measure,
    /// Outside diameters along the part, by rising place; at least one.
    pub diameters: Vec<Station>,
    /// Wall; left out for what is solid.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wall: Option<Measure>,
    /// What carries it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sits_on: Option<Seat>,
    /// Where it is drawn; left out: at its seat, or at the foot of the sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub layout: Option<Layout>,
    /// Why this instrument does not have it; left out: it does. What is struck is not drawn and
    /// not reckoned with, and keeps its findings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub struck_reason: Option<String>,
}

impl Part {
    /// Whether this instrument does not have it.
    #[must_use]
    pub fn is_struck(&self) -> bool {
        self.struck_reason.is_some()
    }

    /// Whether anything of it was measured.
    #[must_use]
    pub fn is_measured(&self) -> bool {
        let is = |measure: &Measure| measure.basis == Basis::Measured;
        is(&self.length) || self.wall.as_ref().is_some_and(is) || self.diameters.iter().any(|one| is(&one.outside_diameter))
    }

    fn may_have_diameters(&self) -> std::ops::RangeInclusive<f64> {
        if self.kind == PartKind::Spring { WIRES_MM } else { DIAMETERS_MM }
    }

    /// What is wrong with the wall, at the value that whoever measured can put right.
    fn fault_of_wall(&self) -> Option<(String, String)> {
        let wall = self.wall?;
        if wall.mm.is_nan() || wall.mm < THINNEST_WALL_MM {
            return Some(("/wall/mm".to_owned(), format!("a wall is at least {THINNEST_WALL_MM} mm; measure again, in millimetres")));
        }
        let by_mm = |a: &(usize, Measure), b: &(usize, Measure)| a.1.mm.total_cmp(&b.1.mm);
        let diameters = self.diameters.iter().map(|one| one.outside_diameter).enumerate();
        // What is turned has no one wall: a mouthpiece runs out into a beak.
        let (k, thinnest) = if self.material.is_turned() { diameters.max_by(by_mm) } else { diameters.min_by(by_mm) }?;
        if wall.mm <= thinnest.mm / 2.0 + 1e-9 || !self.may_have_diameters().contains(&thinnest.mm) {
            return None;
        }
        if wall.basis == Basis::Typical && thinnest.basis == Basis::Measured {
            let detail = format!("Ø {} mm leaves no bore with the typical wall of {} mm; measure the wall as well, or again", thinnest.mm, wall.mm);
            return Some((format!("/diameters/{k}/outside_diameter/mm"), detail));
        }
        let detail = format!("a wall is at most half the outside diameter, here {} mm, which is a solid rod; measure wall or diameter again", thinnest.mm / 2.0);
        Some(("/wall/mm".to_owned(), detail))
    }

    /// The outside diameter in mm at `at_mm` from the beginning, straight between stations
    /// and constant beyond the outer ones; 0 for a part without any.
    #[must_use]
    pub fn diameter_at(&self, at_mm: f64) -> f64 {
        let after = self.diameters.iter().position(|station| station.at_mm >= at_mm);
        match after {
            Some(0) => self.diameters[0].outside_diameter.mm,
            Some(next) => {
                let (a, b) = (&self.diameters[next - 1], &self.diameters[next]);
                let share = (at_mm - a.at_mm) / (b.at_mm - a.at_mm).max(1e-9);
                a.outside_diameter.mm + share * (b.outside_diameter.mm - a.outside_diameter.mm)
            }
            None => self.diameters.last().map_or(0.0, |station| station.outside_diameter.mm),
        }
    }
}

/// A place on a part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartPlace {
    /// The part's id.
    pub part: String,
    /// mm from its beginning.
    pub at_mm: f64,
}

/// Two parts held together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Joint {
    /// Unique among the joints.
    pub id: String,
    /// What it is called at the bench.
    pub name: String,
    /// How it is held.
    pub held: JointKind,
    /// The filler's slug where somebody knows it; left out: unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub filler: Option<String>,
    /// Where what holds it begins to melt, °C, as somebody knows it better than by the filler; left
    /// out: by the filler.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub solidus_c: Option<f64>,
    /// The two places that touch; it is drawn at the first.
    pub places: [PartPlace; 2],
    /// Why this instrument does not have it; left out: it does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub struck_reason: Option<String>,
}

/// What a word names on a map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pinned<'a> {
    /// A part.
    Part(&'a Part),
    /// A joint.
    Joint(&'a Joint),
}

impl<'a> Pinned<'a> {
    /// Its id.
    #[must_use]
    pub fn id(self) -> &'a str {
        match self {
            Self::Part(part) => &part.id,
            Self::Joint(joint) => &joint.id,
        }
    }

    /// What it is called at the bench.
    #[must_use]
    pub fn name(self) -> &'a str {
        match self {
            Self::Part(part) => &part.name,
            Self::Joint(joint) => &joint.name,
        }
    }
}

/// The sheet that a map is drawn on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    /// Width in units; a unit is about a pixel at the bench.
    pub width: f64,
    /// Height in units.
    pub height: f64,
    /// Units for one mm of diameter. Lengths are schematic.
    pub units_per_mm: f64,
}

/// An instrument as parts and joints.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartMap {
    /// The family whose pick list covers the parts.
    pub family: Family,
    /// What it is drawn on.
    pub sheet: Sheet,
    /// The parts, from the mouth to the bell where that makes sense.
    pub parts: Vec<Part>,
    /// What holds them together.
    pub joints: Vec<Joint>,
}

/// What makes a map unusable; the pointer is a JSON pointer into the map.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MapFault {
    /// JSON pointer to the value.
    pub pointer: String,
    /// What is wrong, in plain words.
    pub detail: String,
}

/// The most parts of one map: a bassoon with every key has about 150.
const MOST_PARTS: usize = 600;
/// The most joints of one map.
const MOST_JOINTS: usize = 1200;
/// The most corners or stations of one part.
const MOST_POINTS: usize = 200;
/// The longest name, in characters.
const LONGEST_NAME: usize = 120;
/// The longest reason for striking, in characters.
const LONGEST_REASON: usize = 4000;
/// Lengths of parts, mm (COMPUTATIONS.md section 1).
const LENGTHS_MM: std::ops::RangeInclusive<f64> = 1.0..=3000.0;
/// Outside diameters, mm (the same).
const DIAMETERS_MM: std::ops::RangeInclusive<f64> = 1.0..=600.0;
/// The wire of a spring is thinner than any tube, mm (common practice, no source).
const WIRES_MM: std::ops::RangeInclusive<f64> = 0.1..=600.0;
/// The thinnest wall, mm (COMPUTATIONS.md section 1); the thickest is half the outside diameter.
const THINNEST_WALL_MM: f64 = 0.1;
/// Where what holds a joint may begin to melt, °C: from a low-melting bismuth alloy to beyond old
/// spelter (from memory).
const SOLIDUS_C: std::ops::RangeInclusive<f64> = 50.0..=1100.0;
/// The largest coordinate of a sheet.
const LARGEST_SHEET: f64 = 10_000.0;

impl PartMap {
    /// The part of this id, else of this name, else the first one that the pick list's
    /// word covers; what was struck last of all.
    #[must_use]
    pub fn find(&self, word: &str) -> Option<&Part> {
        match self.resolve(word)? {
            Pinned::Part(part) => Some(part),
            Pinned::Joint(_) => None,
        }
    }

    /// What a finding's word names: a part or a joint by its id, else by its name, else the
    /// first part that the pick list's word covers. Capital letters do not matter. What was
    /// struck is found last, so that its findings still have a place.
    #[must_use]
    pub fn resolve(&self, word: &str) -> Option<Pinned<'_>> {
        let word = word.trim();
        let is = |text: &str| text.to_lowercase() == word.to_lowercase();
        let part = |matches: &dyn Fn(&Part) -> bool, struck: bool| {
            self.parts.iter().find(|part| part.is_struck() == struck && matches(part)).map(Pinned::Part)
        };
        let joint = |matches: &dyn Fn(&Joint) -> bool, struck: bool| {
            self.joints.iter().find(|joint| self.holds(joint) != struck && matches(joint)).map(Pinned::Joint)
        };
        [false, true].into_iter().find_map(|struck| {
            part(&|part| part.id == word, struck)
                .or_else(|| joint(&|joint| joint.id == word, struck))
                .or_else(|| part(&|part| is(&part.name), struck))
                .or_else(|| joint(&|joint| is(&joint.name), struck))
                .or_else(|| part(&|part| part.listed_as.as_deref().is_some_and(is), struck))
        })
    }

    /// Whether a joint is there: neither it nor a part that it holds was struck.
    #[must_use]
    pub fn holds(&self, joint: &Joint) -> bool {
        let is_there = |id: &str| self.parts.iter().any(|part| part.id == id && !part.is_struck());
        joint.struck_reason.is_none() && joint.places.iter().all(|place| is_there(&place.part))
    }

    /// The parts that no joint and no seat ties to the largest group, in their order. A map
    /// with any still counts: a part may be in a tray, or its joint not yet drawn.
    #[must_use]
    pub fn loose_parts(&self) -> Vec<&Part> {
        let there: Vec<&Part> = self.parts.iter().filter(|part| !part.is_struck()).collect();
        let index: HashMap<&str, usize> =
            there.iter().enumerate().map(|(place, part)| (part.id.as_str(), place)).collect();
        let mut touching = vec![Vec::new(); there.len()];
        let mut tie = |a: &str, b: &str| {
            if let (Some(&a), Some(&b)) = (index.get(a), index.get(b)) {
                touching[a].push(b);
                touching[b].push(a);
            }
        };
        for joint in self.joints.iter().filter(|joint| joint.struck_reason.is_none()) {
            tie(&joint.places[0].part, &joint.places[1].part);
        }
        for part in &there {
            if let Some(seat) = &part.sits_on {
                tie(&part.id, &seat.part);
            }
        }
        let mut group = vec![usize::MAX; there.len()];
        let mut sizes = Vec::new();
        for start in 0..there.len() {
            if group[start] != usize::MAX {
                continue;
            }
            let name = sizes.len();
            let mut size = 0;
            let mut reached = vec![start];
            group[start] = name;
            while let Some(part) = reached.pop() {
                size += 1;
                for &next in &touching[part] {
                    if group[next] == usize::MAX {
                        group[next] = name;
                        reached.push(next);
                    }
                }
            }
            sizes.push(size);
        }
        // Of groups of equal size the first one is the instrument.
        let Some(largest) = (0..sizes.len()).max_by_key(|&name| (sizes[name], std::cmp::Reverse(name))) else {
            return Vec::new();
        };
        there.into_iter().zip(group).filter(|&(_, name)| name != largest).map(|(part, _)| part).collect()
    }

    /// How many dimensions of what is there were measured, and how many are typical.
    #[must_use]
    pub fn measure_counts(&self) -> (usize, usize) {
        let measures = self.parts.iter().filter(|part| !part.is_struck()).flat_map(|part| {
            let diameters = part.diameters.iter().map(|station| station.outside_diameter);
            diameters.chain([part.length]).chain(part.wall)
        });
        measures.fold((0, 0), |(measured, typical), measure| match measure.basis {
            Basis::Measured => (measured + 1, typical),
            Basis::Typical => (measured, typical + 1),
        })
    }

    /// Everything that makes the map unusable: broken references, ids given twice,
    /// dimensions that are not above zero, lists beyond reason. Loose parts are no fault.
    #[must_use]
    pub fn faults(&self) -> Vec<MapFault> {
        let mut faults = Vec::new();
        let mut fault = |pointer: String, detail: &str| faults.push(MapFault { pointer, detail: detail.to_owned() });
        let on_sheet = |value: f64| value.abs() <= LARGEST_SHEET;
        let sheet = self.sheet;
        for (field, value, most) in [
            ("width", sheet.width, LARGEST_SHEET),
            ("height", sheet.height, LARGEST_SHEET),
            ("units_per_mm", sheet.units_per_mm, 20.0),
        ] {
            if !(value > 0.0 && value <= most) {
                fault(format!("/sheet/{field}"), "must be above zero and of a sensible size");
            }
        }
        if self.parts.len() > MOST_PARTS {
            fault("/parts".to_owned(), "at most 600 parts");
        }
        if self.joints.len() > MOST_JOINTS {
            fault("/joints".to_owned(), "at most 1200 joints");
        }
        let lengths: HashMap<&str, f64> = self.parts.iter().map(|part| (part.id.as_str(), part.length.mm)).collect();
        let place = |pointer: String, part: &str, at_mm: f64, fault: &mut dyn FnMut(String, &str)| match lengths
            .get(part)
        {
            None => fault(format!("{pointer}/part"), "there is no such part"),
            Some(&length) if !(at_mm >= 0.0 && at_mm <= length + 0.5) => {
                fault(format!("{pointer}/at_mm"), "lies outside the part");
            }
            Some(_) => {}
        };
        let named = |text: &str| !text.trim().is_empty() && text.chars().count() <= LONGEST_NAME;
        let struck_well =
            |reason: Option<&str>| reason.is_none_or(|why| !why.trim().is_empty() && why.chars().count() <= LONGEST_REASON);
        let mut seen = HashSet::new();
        for (at, part) in self.parts.iter().enumerate() {
            if !named(&part.id) || !seen.insert(part.id.as_str()) {
                fault(format!("/parts/{at}/id"), "must be given, at most 120 characters, and unique");
            }
            if !named(&part.name) {
                fault(format!("/parts/{at}/name"), "must be given, at most 120 characters");
            }
            if !struck_well(part.struck_reason.as_deref()) {
                fault(format!("/parts/{at}/struck_reason"), "must say why, in at most 4000 characters");
            }
            if part.listed_as.as_deref().is_some_and(|word| !named(word)) {
                fault(format!("/parts/{at}/listed_as"), "must be a word of at most 120 characters");
            }
            if !LENGTHS_MM.contains(&part.length.mm) {
                fault(format!("/parts/{at}/length/mm"), "a length is 1 to 3000 mm; measure again, in millimetres");
            }
            if part.diameters.is_empty() || part.diameters.len() > MOST_POINTS {
                fault(format!("/parts/{at}/diameters"), "1 to 200 diameters");
            }
            for (k, station) in part.diameters.iter().enumerate() {
                if !part.may_have_diameters().contains(&station.outside_diameter.mm) {
                    fault(format!("/parts/{at}/diameters/{k}/outside_diameter/mm"), "an outside diameter is 1 to 600 mm; measure again, in millimetres");
                }
                let behind = k > 0 && station.at_mm <= part.diameters[k - 1].at_mm;
                if behind || !(station.at_mm >= 0.0 && station.at_mm <= part.length.mm + 0.5) {
                    fault(format!("/parts/{at}/diameters/{k}/at_mm"), "must rise and lie on the part");
                }
            }
            if let Some((pointer, detail)) = part.fault_of_wall() {
                fault(format!("/parts/{at}{pointer}"), &detail);
            }
            if let Some(seat) = &part.sits_on {
                place(format!("/parts/{at}/sits_on"), &seat.part, seat.at_mm, &mut fault);
                if seat.part == part.id {
                    fault(format!("/parts/{at}/sits_on/part"), "a part cannot carry itself");
                }
                if !(-10.0..=10.0).contains(&seat.across) {
                    fault(format!("/parts/{at}/sits_on/across"), "between −10 and 10");
                }
            }
            if let Some(layout) = &part.layout {
                if !(2..=MOST_POINTS).contains(&layout.line.len()) {
                    fault(format!("/parts/{at}/layout/line"), "2 to 200 corners");
                }
                for (k, corner) in layout.line.iter().enumerate() {
                    if !(on_sheet(corner.x) && on_sheet(corner.y) && corner.bend >= 0.0 && on_sheet(corner.bend)) {
                        fault(format!("/parts/{at}/layout/line/{k}"), "must lie on a sheet of a sensible size");
                    }
                }
                if layout.label.is_some_and(|label| !(on_sheet(label.x) && on_sheet(label.y))) {
                    fault(format!("/parts/{at}/layout/label"), "must lie on a sheet of a sensible size");
                }
            }
        }
        let mut seen = HashSet::new();
        for (at, joint) in self.joints.iter().enumerate() {
            if !named(&joint.id) || !seen.insert(joint.id.as_str()) {
                fault(format!("/joints/{at}/id"), "must be given, at most 120 characters, and unique");
            }
            if !named(&joint.name) {
                fault(format!("/joints/{at}/name"), "must be given, at most 120 characters");
            }
            if !struck_well(joint.struck_reason.as_deref()) {
                fault(format!("/joints/{at}/struck_reason"), "must say why, in at most 4000 characters");
            }
            if joint.filler.as_deref().is_some_and(|slug| Filler::named(slug).is_none()) {
                fault(format!("/joints/{at}/filler"), "is no filler that the heat computation knows; leave it out when nobody knows");
            }
            if joint.solidus_c.is_some_and(|celsius| !SOLIDUS_C.contains(&celsius)) {
                fault(format!("/joints/{at}/solidus_c"), "what holds a joint melts between 50 and 1100 °C; give °C, or leave it out when nobody knows");
            }
            for (k, end) in joint.places.iter().enumerate() {
                place(format!("/joints/{at}/places/{k}"), &end.part, end.at_mm, &mut fault);
            }
            if joint.places[0].part == joint.places[1].part {
                fault(format!("/joints/{at}/places"), "a joint holds two parts");
            }
        }
        faults
    }
}
