//! How a template is written down: parts by name, places as shares of a part's length.

use crate::maps::line::Line;
use crate::maps::part_map::{
    Corner, Finish, Joint, JointKind, Layout, Material, Measure, Part, PartKind, PartMap, PartPlace, Point, Seam, Seat,
    Sheet, Station,
};
use crate::words::instrument::Family;

/// What a part is made of, what lies on it, and how it was closed.
pub type Make = (Material, Finish, Seam);

/// Sheet brass, lacquered, closed by a lengthwise braze: bells and large bows.
pub const SEAMED: Make = (Material::BrassC260, Finish::Lacquered, Seam::Lengthwise);
/// Drawn brass tube, lacquered.
pub const DRAWN: Make = (Material::BrassC260, Finish::Lacquered, Seam::None);
/// Nickel silver, lacquered or bare.
pub const NICKEL: Make = (Material::NickelSilverC752, Finish::Bare, Seam::None);
/// Nickel silver, silver plated: woodwind keys and flutes.
pub const PLATED: Make = (Material::NickelSilverC757, Finish::SilverPlated, Seam::None);
/// Steel.
pub const STEEL: Make = (Material::Steel, Finish::Bare, Seam::None);
/// Grenadilla.
pub const GRENADILLA: Make = (Material::Grenadilla, Finish::Oiled, Seam::None);
/// Maple.
pub const MAPLE: Make = (Material::Maple, Finish::Lacquered, Seam::None);
/// Hard rubber.
pub const RUBBER: Make = (Material::HardRubber, Finish::Bare, Seam::None);
/// Cork.
pub const CORK: Make = (Material::Cork, Finish::Bare, Seam::None);
/// Felt under skin.
pub const FELT: Make = (Material::FeltAndSkin, Finish::Bare, Seam::None);

/// A corner: x, y, bend radius.
pub type At = (f64, f64, f64);

/// A map being written.
pub struct Draft {
    map: PartMap,
}

/// A part just added, for what only some parts have.
pub struct Added<'a>(&'a mut Part);

impl Added<'_> {
    /// Typical wall, mm.
    pub fn wall(self, mm: f64) -> Self {
        self.0.wall = Some(Measure::typical(mm));
        self
    }

    /// The pick list's word that covers it.
    pub fn listed(self, word: &str) -> Self {
        self.0.listed_as = Some(word.to_owned());
        self
    }

    /// Where its name and measures are written.
    pub fn label(self, x: f64, y: f64) -> Self {
        if let Some(layout) = &mut self.0.layout {
            layout.label = Some(Point { x, y });
        }
        self
    }

    /// What carries it, by name, at a share of that part's length.
    pub fn on(self, length_mm: f64, host: &str, share: f64, across: f64) -> Self {
        self.0.sits_on = Some(Seat { part: slug(host), at_mm: tenth(length_mm * share), across });
        self
    }
}

impl Draft {
    /// An empty sheet.
    pub fn new(family: Family, width: f64, height: f64, units_per_mm: f64) -> Self {
        let sheet = Sheet { width, height, units_per_mm };
        Self { map: PartMap { family, sheet, parts: Vec::new(), joints: Vec::new() } }
    }

    /// The map.
    pub fn done(self) -> PartMap {
        self.map
    }

    /// A part with a line of its own. Diameters are (share of the length, mm).
    #[expect(clippy::too_many_arguments, reason = "a row of a template's table; names would hide the numbers")]
    pub fn part(
        &mut self,
        kind: PartKind,
        name: &str,
        make: Make,
        length_mm: f64,
        diameters: &[(f64, f64)],
        line: &[At],
        order: i32,
    ) -> Added<'_> {
        let layout = Layout {
            line: line.iter().map(|&(x, y, bend)| Corner { x: tenth(x), y: tenth(y), bend }).collect(),
            order,
            label: None,
        };
        self.add(kind, name, make, length_mm, diameters, Some(layout))
    }

    /// A tube.
    pub fn tube(
        &mut self,
        name: &str,
        make: Make,
        length_mm: f64,
        diameters: &[(f64, f64)],
        line: &[At],
        order: i32,
    ) -> Added<'_> {
        self.part(PartKind::Tube, name, make, length_mm, diameters, line, order).wall(0.5)
    }

    /// A part that sits on another at a share of its length.
    #[expect(clippy::too_many_arguments, reason = "a row of a template's table; names would hide the numbers")]
    pub fn seated(
        &mut self,
        kind: PartKind,
        name: &str,
        make: Make,
        length_mm: f64,
        diameter_mm: f64,
        host: &str,
        share: f64,
        across: f64,
    ) -> Added<'_> {
        let host_mm = self.of(host).length.mm;
        self.add(kind, name, make, length_mm, &[(0.0, diameter_mm)], None).on(host_mm, host, share, across)
    }

    fn add(
        &mut self,
        kind: PartKind,
        name: &str,
        (material, finish, seam): Make,
        length_mm: f64,
        diameters: &[(f64, f64)],
        layout: Option<Layout>,
    ) -> Added<'_> {
        self.map.parts.push(Part {
            id: slug(name),
            name: name.to_owned(),
            listed_as: None,
            kind,
            material,
            finish,
            seam,
            seam_seen: false,
            length: Measure::typical(tenth(length_mm)),
            diameters: diameters
                .iter()
                .map(|&(share, mm)| Station {
                    at_mm: tenth(share * length_mm),
                    outside_diameter: Measure::typical(mm),
                })
                .collect(),
            wall: None,
            sits_on: None,
            layout,
            struck_reason: None,
        });
        Added(self.map.parts.last_mut().expect("one was just pushed"))
    }

    /// A joint drawn at the first place; places are (name of the part, share of its length).
    pub fn join(&mut self, held: JointKind, (a, a_share): (&str, f64), (b, b_share): (&str, f64)) {
        self.join_as(&format!("{a} to {b}"), held, (a, a_share), (b, b_share));
    }

    /// As [`Draft::join`], with a name of its own.
    pub fn join_as(&mut self, name: &str, held: JointKind, (a, a_share): (&str, f64), (b, b_share): (&str, f64)) {
        let place = |name: &str, share: f64| PartPlace { part: slug(name), at_mm: tenth(self.of(name).length.mm * share) };
        let places = [place(a, a_share), place(b, b_share)];
        self.map.joints.push(Joint { id: slug(name), name: name.to_owned(), held, filler: None, solidus_c: None, places, struck_reason: None });
    }

    /// A brace between two places, soldered at both feet, drawn from one wall to the other.
    pub fn brace(&mut self, name: &str, a: (&str, f64, f64), b: (&str, f64, f64)) -> Added<'_> {
        let (ax, ay) = self.spot(a.0, a.1, a.2);
        let (bx, by) = self.spot(b.0, b.1, b.2);
        let order = self.order(a.0).max(self.order(b.0)) + 1;
        let length_mm = tenth(((ax - bx).hypot(ay - by) / self.map.sheet.units_per_mm).max(4.0));
        self.part(PartKind::Brace, name, NICKEL, length_mm, &[(0.0, 4.0)], &[(ax, ay, 0.0), (bx, by, 0.0)], order);
        self.join_as(&format!("{name}, first foot"), JointKind::SoftSoldered, (name, 0.0), (a.0, a.1));
        self.join_as(&format!("{name}, second foot"), JointKind::SoftSoldered, (name, 1.0), (b.0, b.1));
        let part = self.map.parts.last_mut().expect("the brace was just pushed");
        Added(part)
    }

    /// The point of the sheet at a share of a part's length and across it.
    pub fn spot(&self, name: &str, share: f64, across: f64) -> (f64, f64) {
        let part = self.of(name);
        let line = match &part.layout {
            Some(layout) => Line::through(&layout.line),
            None => {
                let seat = part.sits_on.as_ref().expect("a part has a line or a seat");
                let host = self.map.parts.iter().find(|host| host.id == seat.part).expect("hosts come first");
                let (x, y) = self.spot(&host.name, seat.at_mm / host.length.mm, seat.across);
                Line::spot(Point { x, y })
            }
        };
        let half = part.diameter_at(share * part.length.mm) * self.map.sheet.units_per_mm / 2.0;
        let point = line.at(share).beside(across * half);
        (point.x, point.y)
    }

    /// What a part already there is made of; what is cut into it is of the same.
    pub fn make_of(&self, name: &str) -> Make {
        let part = self.of(name);
        (part.material, part.finish, Seam::None)
    }

    /// Units for one mm.
    pub fn scale(&self) -> f64 {
        self.map.sheet.units_per_mm
    }

    fn order(&self, name: &str) -> i32 {
        self.of(name).layout.as_ref().map_or(0, |layout| layout.order)
    }

    fn of(&self, name: &str) -> &Part {
        let id = slug(name);
        self.map
            .parts
            .iter()
            .find(|part| part.id == id)
            .unwrap_or_else(|| panic!("the template names {name:?} before it has it"))
    }
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// The name in small letters and hyphens.
fn slug(name: &str) -> String {
    let mut id = String::new();
    for c in name.chars() {
        if c.is_ascii_alphanumeric() {
            id.push(c.to_ascii_lowercase());
        } else if !id.is_empty() && !id.ends_with('-') {
            id.push('-');
        }
    }
    id.trim_end_matches('-').to_owned()
}
