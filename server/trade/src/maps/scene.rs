//! Every part of a map in its place on the sheet.

use super::line::{Line, Sample};
use super::part_map::{Corner, Joint, Part, PartKind, PartMap, Point};

/// How many seats may carry one another before a part counts as nowhere.
const DEEPEST_SEAT: usize = 6;
/// Least height of the row at the foot of the sheet for a part that has no place, units.
const FOOT_ROW: f64 = 36.0;
/// Free above and below a part at the foot.
const FOOT_AIR: f64 = 12.0;
/// Where a part at the foot begins, and the least that is drawn of its length.
const FOOT_LEFT: f64 = 24.0;
const FOOT_LEAST: f64 = 16.0;

/// One part with its line on the sheet.
#[derive(Debug, Clone)]
pub struct Laid<'a> {
    /// The part.
    pub part: &'a Part,
    /// Its centre line; one sample for what sits on a spot.
    pub line: Line,
    /// Higher lies on top.
    pub order: i32,
    /// Units for one mm of its diameter.
    pub scale: f64,
    /// Whether the map gives it no place, so that it lies at the foot.
    pub at_foot: bool,
}

impl Laid<'_> {
    /// The sample of the line at a place of the part, mm from its beginning.
    pub fn at_mm(&self, at_mm: f64) -> Sample {
        self.line.at(at_mm / self.part.length.mm.max(1e-9))
    }

    /// Half the drawn width at a share of the line, units.
    pub fn half(&self, share: f64) -> f64 {
        self.part.diameter_at(share * self.part.length.mm) * self.scale / 2.0
    }

    /// Half the drawn width at a sample, units.
    pub fn half_at(&self, sample: &Sample) -> f64 {
        let long = self.line.length();
        self.half(if long > 0.0 { sample.run / long } else { 0.0 })
    }

    /// Whether it is a single spot rather than a line.
    pub fn is_spot(&self) -> bool {
        self.line.length() < 1e-6
    }
}

/// The whole map on its sheet.
#[derive(Debug, Clone)]
pub struct Scene<'a> {
    /// The parts in the map's order.
    pub laid: Vec<Laid<'a>>,
    /// Height of the sheet with the rows at its foot, units.
    pub height: f64,
    map: &'a PartMap,
}

impl<'a> Scene<'a> {
    /// Lays every part out; what has no place of its own goes to the foot, in rows.
    pub fn of(map: &'a PartMap) -> Self {
        let mut height = map.sheet.height;
        let laid = map
            .parts
            .iter()
            .map(|part| {
                let scale = map.sheet.units_per_mm;
                if let Some((line, order)) = placed(map, part, 0) {
                    return Laid { part, line, order, scale, at_foot: false };
                }
                let widest = part.diameters.iter().fold(1.0_f64, |most, it| most.max(it.outside_diameter.mm));
                let row = (widest * scale + FOOT_AIR).max(FOOT_ROW);
                let y = height + row / 2.0;
                // What is not drawn needs no row.
                height += if part.is_struck() { 0.0 } else { row };
                // Lengths are schematic: as long as it is, where the sheet leaves room for its name.
                let long = (part.length.mm * scale).clamp(FOOT_LEAST, (map.sheet.width * 0.4).max(FOOT_LEAST));
                let line = Line::through(&[Corner { x: FOOT_LEFT, y, bend: 0.0 }, Corner { x: FOOT_LEFT + long, y, bend: 0.0 }]);
                Laid { part, line, order: 0, scale, at_foot: true }
            })
            .collect();
        Self { laid, height, map }
    }

    /// What is drawn: everything that was not struck.
    pub fn drawn(&self) -> impl Iterator<Item = &Laid<'a>> {
        self.laid.iter().filter(|laid| !laid.part.is_struck())
    }

    /// What the drawn parts cover, as circles along their lines: middle and radius.
    pub fn covered(&self) -> Vec<(Point, f64)> {
        self.drawn().flat_map(Self::circles).collect()
    }

    /// What one part covers, in the same way.
    pub fn circles(laid: &Laid<'_>) -> Vec<(Point, f64)> {
        let mut covered = Vec::new();
        let mut next = 0.0;
        for sample in &laid.line.samples {
            let half = laid.half_at(sample);
            if sample.run >= next || sample.run >= laid.line.length() {
                covered.push((sample.at, half));
                next = sample.run + (half / 2.0).clamp(3.0, 12.0);
            }
        }
        covered
    }

    /// The part of this id, laid out.
    pub fn laid(&self, id: &str) -> Option<&Laid<'a>> {
        self.laid.iter().find(|laid| laid.part.id == id)
    }

    /// Where the joint is drawn: the laid part and the sample at the joint's first place.
    pub fn joint(&self, joint: &Joint) -> Option<(&Laid<'a>, Sample)> {
        let place = &joint.places[0];
        let laid = self.laid(&place.part)?;
        Some((laid, laid.at_mm(place.at_mm)))
    }

    /// Where a joint of this id or name is drawn.
    pub fn joint_named(&self, word: &str) -> Option<(&Laid<'a>, Sample)> {
        let joints = &self.map.joints;
        let joint = joints.iter().find(|joint| joint.id == word).or_else(|| joints.iter().find(|joint| joint.name == word));
        self.joint(joint?)
    }

    /// The part of this id, name or pick-list word, laid out.
    pub fn part_named(&self, word: &str) -> Option<&Laid<'a>> {
        self.map.find(word).and_then(|part| self.laid(&part.id))
    }
}

fn placed(map: &PartMap, part: &Part, depth: usize) -> Option<(Line, i32)> {
    if let Some(layout) = part.layout.as_ref().filter(|layout| layout.line.len() >= 2) {
        return Some((Line::through(&layout.line), layout.order));
    }
    let seat = part.sits_on.as_ref()?;
    if depth >= DEEPEST_SEAT {
        return None;
    }
    let host = map.parts.iter().find(|host| host.id == seat.part)?;
    let (line, order) = placed(map, host, depth + 1)?;
    let sample = line.at(seat.at_mm / host.length.mm.max(1e-9));
    let half = host.diameter_at(seat.at_mm) * map.sheet.units_per_mm / 2.0;
    let spot = sample.beside(seat.across * half);
    // What runs along its host follows it; everything else is a spot on it.
    if part.kind == PartKind::TenonCork {
        let long = line.length() / host.length.mm.max(1e-9) * part.length.mm / 2.0;
        let end = |sign: f64| Corner {
            x: spot.x + sign * sample.along.x * long,
            y: spot.y + sign * sample.along.y * long,
            bend: 0.0,
        };
        return Some((Line::through(&[end(-1.0), end(1.0)]), order + 1));
    }
    Some((Line::spot(Point { x: spot.x, y: spot.y }), order + 1))
}
