//! A technician's changes to an instrument's own map: what was measured takes the place of
//! what is typical, and nothing that was there is lost.

use super::part_map::{
    Basis, Finish, Joint, JointKind, MapFault, Material, Measure, Part, PartKind, PartMap, PartPlace, Seam, Seat, Station,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Two measurements nearer than this along a part are of one place, mm.
const ONE_PLACE_MM: f64 = 0.5;
/// The most changes of one kind at once.
const MOST_CHANGES: usize = 600;

/// An outside diameter measured at a place of a part.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DiameterChange {
    /// mm from the part's beginning.
    pub at_mm: f64,
    /// Outside diameter there, mm, as measured.
    pub outside_diameter_mm: f64,
}

/// What is amended of a part; what is left out stays. Measures given count as measured.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartChange {
    /// Which part: its id on the map.
    pub part: String,
    /// What it is called from now on.
    #[serde(default)]
    pub name: Option<String>,
    /// Along its middle line, mm, as measured; places on the part move in proportion.
    #[serde(default)]
    pub length_mm: Option<f64>,
    /// Wall, mm, as measured.
    #[serde(default)]
    pub wall_mm: Option<f64>,
    /// Outside diameters as measured; each takes the place of a typical one there.
    #[serde(default)]
    pub diameters: Vec<DiameterChange>,
    /// What it is made of.
    #[serde(default)]
    pub material: Option<Material>,
    /// What lies on it.
    #[serde(default)]
    pub finish: Option<Finish>,
    /// How it was closed, as seen on this instrument.
    #[serde(default)]
    pub seam: Option<Seam>,
    /// Strikes the part: this instrument does not have it, for this reason.
    #[serde(default)]
    pub struck_reason: Option<String>,
    /// Takes the striking back.
    #[serde(default)]
    pub restored: bool,
}

/// What is amended of a joint; what is left out stays.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct JointChange {
    /// Which joint: its id on the map.
    pub joint: String,
    /// What it is called from now on.
    #[serde(default)]
    pub name: Option<String>,
    /// How it is held.
    #[serde(default)]
    pub held: Option<JointKind>,
    /// The filler's slug; empty: unknown.
    #[serde(default)]
    pub filler: Option<String>,
    /// Where what holds it begins to melt, °C, 50 to 1100, where somebody knows it better than by
    /// the filler; 0: by the filler again.
    #[serde(default)]
    pub solidus_c: Option<f64>,
    /// The two places that touch.
    #[serde(default)]
    pub places: Option<[PartPlace; 2]>,
    /// Strikes the joint: this instrument does not have it, for this reason.
    #[serde(default)]
    pub struck_reason: Option<String>,
    /// Takes the striking back.
    #[serde(default)]
    pub restored: bool,
}

/// A part that the template does not have. Measures given count as measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewPart {
    /// What it is called at the bench; its id is made of it.
    pub name: String,
    /// What it is.
    pub kind: PartKind,
    /// What it is made of.
    pub material: Material,
    /// What lies on it; bare if left out.
    #[serde(default)]
    pub finish: Option<Finish>,
    /// How it was closed, as seen on this instrument; no seam, and nobody looked, if left out.
    #[serde(default)]
    pub seam: Option<Seam>,
    /// Along its middle line, mm.
    pub length_mm: f64,
    /// Outside diameter, mm.
    pub outside_diameter_mm: f64,
    /// Wall, mm; left out: solid.
    #[serde(default)]
    pub wall_mm: Option<f64>,
    /// What carries it, where it is drawn; left out: it lies at the foot of the drawing.
    #[serde(default)]
    pub sits_on: Option<Seat>,
}

/// A joint that the template does not have.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewJoint {
    /// What it is called; the names of its two parts if left out.
    #[serde(default)]
    pub name: Option<String>,
    /// How it is held.
    pub held: JointKind,
    /// The filler's slug where somebody knows it.
    #[serde(default)]
    pub filler: Option<String>,
    /// Where what holds it begins to melt, °C, 50 to 1100; left out: by the filler.
    #[serde(default)]
    pub solidus_c: Option<f64>,
    /// The two places that touch. A part is named by its id, or by the name of one just added.
    pub places: [PartPlace; 2],
}

/// Changes to a map, made together or not at all.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartMapChange {
    /// Parts that are there.
    #[serde(default)]
    pub parts: Vec<PartChange>,
    /// Joints that are there.
    #[serde(default)]
    pub joints: Vec<JointChange>,
    /// Parts to be added.
    #[serde(default)]
    pub add_parts: Vec<NewPart>,
    /// Joints to be added.
    #[serde(default)]
    pub add_joints: Vec<NewJoint>,
}

/// The map with the changes made. A part added comes before the joints that name it.
///
/// # Errors
/// Every fault, with its pointer into the change; then the map is as it was.
pub fn amend(map: &PartMap, change: &PartMapChange) -> Result<PartMap, Vec<MapFault>> {
    let mut faults = Vec::new();
    let mut fault = |pointer: String, detail: &str| faults.push(MapFault { pointer, detail: detail.to_owned() });
    for (name, count) in [
        ("parts", change.parts.len()),
        ("joints", change.joints.len()),
        ("add_parts", change.add_parts.len()),
        ("add_joints", change.add_joints.len()),
    ] {
        if count > MOST_CHANGES {
            fault(format!("/{name}"), "at most 600 at once");
            return Err(faults);
        }
    }
    let mut changed = map.clone();
    // Where a fault of the changed map comes from: its pointer there, and here.
    let mut origins: Vec<(String, String)> = Vec::new();
    for (at, new) in change.add_parts.iter().enumerate() {
        let id = free_id(&new.name, |id| changed.parts.iter().any(|part| part.id == id));
        let there = format!("/parts/{}", changed.parts.len());
        let diameter = (format!("{there}/diameters/0/outside_diameter/mm"), format!("/add_parts/{at}/outside_diameter_mm"));
        origins.extend([(there, format!("/add_parts/{at}")), diameter]);
        changed.parts.push(new.part(id));
    }
    for (at, one) in change.parts.iter().enumerate() {
        let Some(index) = changed.parts.iter().position(|part| part.id == one.part) else {
            fault(format!("/parts/{at}/part"), "there is no such part on this map");
            continue;
        };
        if one.restored && one.struck_reason.is_some() {
            fault(format!("/parts/{at}/restored"), "strike it or take the striking back, not both");
        }
        for (k, station) in one.diameters.iter().enumerate() {
            if !(station.at_mm.is_finite() && station.at_mm >= 0.0) {
                fault(format!("/parts/{at}/diameters/{k}/at_mm"), "must lie on the part");
            }
        }
        origins.push((format!("/parts/{index}"), format!("/parts/{at}")));
        one.apply(&mut changed, index);
        // A diameter stands elsewhere in the part's own list than in the change.
        for (k, measured) in one.diameters.iter().enumerate() {
            let stands = changed.parts[index].diameters.iter().position(|station| (station.at_mm - measured.at_mm).abs() < ONE_PLACE_MM);
            let there = stands.map(|stands| format!("/parts/{index}/diameters/{stands}"));
            origins.extend(there.map(|there| (there, format!("/parts/{at}/diameters/{k}"))));
        }
    }
    let part_named = |changed: &PartMap, word: &str| {
        let by_id = changed.parts.iter().find(|part| part.id == word);
        by_id.or_else(|| changed.parts.iter().rev().find(|part| part.name == word)).map(|part| part.id.clone())
    };
    for (at, new) in change.add_joints.iter().enumerate() {
        let mut places = new.places.clone();
        for place in &mut places {
            if let Some(id) = part_named(&changed, &place.part) {
                place.part = id;
            }
        }
        let name = new.name.clone().unwrap_or_else(|| {
            let named = |id: &str| changed.parts.iter().find(|part| part.id == id).map_or(id, |part| part.name.as_str()).to_owned();
            format!("{} to {}", named(&places[0].part), named(&places[1].part))
        });
        let id = free_id(&name, |id| changed.joints.iter().any(|joint| joint.id == id));
        origins.push((format!("/joints/{}", changed.joints.len()), format!("/add_joints/{at}")));
        changed.joints.push(Joint { id, name, held: new.held, filler: new.filler.clone(), solidus_c: new.solidus_c, places, struck_reason: None });
    }
    for (at, one) in change.joints.iter().enumerate() {
        let Some(index) = changed.joints.iter().position(|joint| joint.id == one.joint) else {
            fault(format!("/joints/{at}/joint"), "there is no such joint on this map");
            continue;
        };
        if one.restored && one.struck_reason.is_some() {
            fault(format!("/joints/{at}/restored"), "strike it or take the striking back, not both");
        }
        origins.push((format!("/joints/{index}"), format!("/joints/{at}")));
        one.apply(&mut changed.joints[index]);
    }
    // What was wrong before, and is no worse, stands in nobody's way.
    let before = map.faults();
    faults.extend(changed.faults().into_iter().filter(|found| !before.contains(found)).map(|found| told(found, &origins)));
    if faults.is_empty() { Ok(changed) } else { Err(faults) }
}

/// The map `new` in place of `old`. What `new` leaves out is kept as struck, for `reason`, so
/// that its findings keep their place (rule 9).
///
/// # Errors
/// Every fault of `new`, with its pointer into it.
pub fn replace(old: &PartMap, new: &PartMap, reason: &str) -> Result<PartMap, Vec<MapFault>> {
    let mut faults = new.faults();
    if new.family != old.family {
        faults.push(MapFault { pointer: "/family".to_owned(), detail: format!("must stay {}", old.family) });
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut map = new.clone();
    // Whoever writes a seam otherwise than it stood has looked at it.
    for part in &mut map.parts {
        part.seam_seen |= old.parts.iter().any(|was| was.id == part.id && was.seam != part.seam);
    }
    let struck = |own: &Option<String>| Some(own.clone().unwrap_or_else(|| reason.to_owned()));
    let gone = old.parts.iter().filter(|part| !new.parts.iter().any(|kept| kept.id == part.id));
    map.parts.extend(gone.map(|part| Part { struck_reason: struck(&part.struck_reason), ..part.clone() }));
    let gone = old.joints.iter().filter(|joint| !new.joints.iter().any(|kept| kept.id == joint.id));
    map.joints.extend(gone.map(|joint| Joint { struck_reason: struck(&joint.struck_reason), ..joint.clone() }));
    // A kept joint or seat may lie beyond a part that was made shorter.
    let faults = map.faults();
    if faults.is_empty() { Ok(map) } else { Err(faults) }
}

/// A fault of the changed map, told of the change that made it; a fault in what was there
/// before keeps its own words.
fn told(found: MapFault, origins: &[(String, String)]) -> MapFault {
    let from = origins.iter().rev().find_map(|(there, here)| {
        let rest = found.pointer.strip_prefix(there.as_str())?;
        (rest.is_empty() || rest.starts_with('/')).then_some((here, rest))
    });
    let Some((here, rest)) = from else { return found };
    // The change names measures flatly.
    let rest = rest
        .replace("/length/mm", "/length_mm")
        .replace("/wall/mm", "/wall_mm")
        .replace("/outside_diameter/mm", "/outside_diameter_mm");
    MapFault { pointer: format!("{here}{rest}"), detail: found.detail }
}

/// The name in small letters and hyphens, with a number where somebody else has it.
fn free_id(name: &str, is_taken: impl Fn(&str) -> bool) -> String {
    let mut id = String::new();
    for c in name.trim().to_lowercase().chars().take(100) {
        if c.is_alphanumeric() {
            id.push(c);
        } else if !id.is_empty() && !id.ends_with('-') {
            id.push('-');
        }
    }
    let id = id.trim_end_matches('-').to_owned();
    let id = if id.is_empty() { "part".to_owned() } else { id };
    if !is_taken(&id) {
        return id;
    }
    (2..).map(|number: u32| format!("{id}-{number}")).find(|id| !is_taken(id)).unwrap_or(id)
}

impl NewPart {
    fn part(&self, id: String) -> Part {
        Part {
            id,
            name: self.name.trim().to_owned(),
            listed_as: None,
            kind: self.kind,
            material: self.material,
            finish: self.finish.unwrap_or(Finish::Bare),
            seam: self.seam.unwrap_or(Seam::None),
            seam_seen: self.seam.is_some(),
            length: Measure::measured(self.length_mm),
            diameters: vec![Station { at_mm: 0.0, outside_diameter: Measure::measured(self.outside_diameter_mm) }],
            wall: self.wall_mm.map(Measure::measured),
            sits_on: self.sits_on.clone(),
            layout: None,
            struck_reason: None,
        }
    }
}

impl PartChange {
    fn apply(&self, map: &mut PartMap, index: usize) {
        if let Some(length_mm) = self.length_mm {
            stretch(map, index, length_mm);
        }
        let part = &mut map.parts[index];
        if let Some(name) = &self.name {
            name.trim().clone_into(&mut part.name);
        }
        if let Some(wall_mm) = self.wall_mm {
            part.wall = Some(Measure::measured(wall_mm));
        }
        for measured in &self.diameters {
            let station =
                Station { at_mm: measured.at_mm, outside_diameter: Measure::measured(measured.outside_diameter_mm) };
            match part.diameters.iter_mut().find(|one| (one.at_mm - measured.at_mm).abs() < ONE_PLACE_MM) {
                Some(one) => *one = station,
                None => {
                    let after = part.diameters.partition_point(|one| one.at_mm < measured.at_mm);
                    part.diameters.insert(after, station);
                }
            }
        }
        part.material = self.material.unwrap_or(part.material);
        part.finish = self.finish.unwrap_or(part.finish);
        if let Some(seam) = self.seam {
            (part.seam, part.seam_seen) = (seam, true);
        }
        strike(&mut part.struck_reason, self.struck_reason.as_ref(), self.restored);
    }
}

impl JointChange {
    fn apply(&self, joint: &mut Joint) {
        if let Some(name) = &self.name {
            name.trim().clone_into(&mut joint.name);
        }
        joint.held = self.held.unwrap_or(joint.held);
        if let Some(filler) = &self.filler {
            joint.filler = Some(filler.clone()).filter(|slug| !slug.is_empty());
        }
        if let Some(solidus_c) = self.solidus_c {
            joint.solidus_c = Some(solidus_c).filter(|celsius| *celsius != 0.0);
        }
        if let Some(places) = &self.places {
            joint.places.clone_from(places);
        }
        strike(&mut joint.struck_reason, self.struck_reason.as_ref(), self.restored);
    }
}

fn strike(own: &mut Option<String>, reason: Option<&String>, restored: bool) {
    if let Some(reason) = reason {
        *own = Some(reason.trim().to_owned());
    } else if restored {
        *own = None;
    }
}

/// A part at its measured length: what lies on it moves in proportion, except what was
/// measured along it.
fn stretch(map: &mut PartMap, index: usize, length_mm: f64) {
    let part = &mut map.parts[index];
    let share = length_mm / part.length.mm.max(1e-9);
    part.length = Measure::measured(length_mm);
    let moved = |at_mm: f64| ((at_mm * share * 10.0).round() / 10.0).min(length_mm);
    for station in &mut part.diameters {
        if station.outside_diameter.basis == Basis::Typical || station.at_mm > length_mm {
            station.at_mm = moved(station.at_mm);
        }
    }
    part.diameters.sort_by(|a, b| a.at_mm.total_cmp(&b.at_mm));
    part.diameters.dedup_by(|a, b| (a.at_mm - b.at_mm).abs() < 1e-9);
    let id = part.id.clone();
    for place in map.joints.iter_mut().flat_map(|joint| &mut joint.places).filter(|place| place.part == id) {
        place.at_mm = moved(place.at_mm);
    }
    for seat in map.parts.iter_mut().filter_map(|other| other.sits_on.as_mut()).filter(|seat| seat.part == id) {
        seat.at_mm = moved(seat.at_mm);
    }
}
