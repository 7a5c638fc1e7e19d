//! Names and measures beside the parts: what they say, and the room they take.

use super::line::length;
use super::part_map::{Basis, Measure, Part, Point, Sheet};
use super::scene::{Laid, Scene};

/// Height of the letters at the bench, units: 17 px (LOOK.md asks for 16).
const LETTERS: f64 = 17.5;
/// Mean width of a letter, as a share of its height. Of the 49 labels of all templates the widest
/// has 0.55 in DejaVu Sans, which is wider than the typefaces that the sheet asks for first
/// (measured in Chromium).
const LETTER_WIDTH: f64 = 0.56;
/// Kept free between a label and the edge of the sheet.
const MARGIN: f64 = 4.0;
/// Kept free between a label and a part.
const AROUND: f64 = 2.0;
/// A label that finds no room goes so far up or down, or to a side, and again.
const ROW: f64 = 6.0;
const STEP: f64 = 32.0;
/// So many rows at most: further off nobody reads it as the name of its part.
const MOST_STEPS: i32 = 14;

/// A rectangle of the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Upper left corner.
    pub from: Point,
    /// Lower right corner.
    pub to: Point,
}

impl Area {
    /// How far a point lies outside; 0 for one inside.
    #[must_use]
    pub fn away(&self, at: Point) -> f64 {
        let out = |value: f64, from: f64, to: f64| (from - value).max(value - to).max(0.0);
        length(Point { x: out(at.x, self.from.x, self.to.x), y: out(at.y, self.from.y, self.to.y) })
    }

    /// Whether it shares any place with another.
    #[must_use]
    pub fn meets(&self, other: &Area) -> bool {
        self.from.x < other.to.x && other.from.x < self.to.x && self.from.y < other.to.y && other.from.y < self.to.y
    }

    /// Its four corners, around.
    pub(super) fn corners(&self) -> [Point; 4] {
        let (a, b) = (self.from, self.to);
        [a, Point { x: b.x, y: a.y }, b, Point { x: a.x, y: b.y }]
    }
}

/// The name of a part with its measures, where it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// The part's id.
    pub part: String,
    /// Where the writing begins, on its line.
    pub at: Point,
    /// What is written, and whether each piece was measured.
    pub pieces: Vec<(String, Basis)>,
    /// The room it takes at the bench.
    pub area: Area,
}

/// The labels of everything drawn, in the order of the map: each as near to where the map wants it
/// as the parts and the labels before it leave room.
pub fn labels(scene: &Scene<'_>, sheet: Sheet) -> Vec<Label> {
    let covered = scene.covered();
    let mut stand: Vec<Label> = Vec::new();
    for laid in scene.drawn() {
        let Some(wanted) = wanted(laid) else { continue };
        let pieces = measures(laid.part);
        let letters: usize = pieces.iter().map(|(text, _)| text.chars().count()).sum();
        #[expect(clippy::cast_precision_loss, reason = "some dozen letters")]
        let wide = letters as f64 * LETTERS * LETTER_WIDTH;
        // Measured values are longer than typical ones, and a name may be a long one.
        let inside = |at: Point| Point { x: at.x.min(sheet.width - MARGIN - wide).max(MARGIN), y: at.y };
        let area = |at: Point| Area {
            from: Point { x: at.x, y: at.y - 0.78 * LETTERS },
            to: Point { x: at.x + wide, y: at.y + 0.26 * LETTERS },
        };
        let free = |at: &Point| {
            let room = area(*at);
            room.from.y >= 0.0
                && room.to.y <= scene.height
                && covered.iter().all(|(middle, half)| room.away(*middle) >= half + AROUND)
                && stand.iter().all(|label| !room.meets(&label.area))
        };
        // What lies at the foot has its row to itself.
        let at = if laid.at_foot { None } else { steps().map(|off| inside(Point { x: wanted.x + off.x, y: wanted.y + off.y })).find(free) };
        let at = at.unwrap_or_else(|| inside(wanted));
        stand.push(Label { part: laid.part.id.clone(), at, pieces, area: area(at) });
    }
    stand
}

/// Where the map wants the label of a part; none: it has no label.
fn wanted(laid: &Laid<'_>) -> Option<Point> {
    let own = laid.part.layout.as_ref().and_then(|layout| layout.label);
    // What lies at the foot has nothing else to be known by.
    own.or_else(|| laid.at_foot.then(|| Point { x: 174.0, y: laid.line.at(1.0).at.y + 5.0 }))
}

/// Ways from the place wanted, the short ones first; up and down before sideways.
fn steps() -> impl Iterator<Item = Point> {
    let across = [0.0, -STEP, STEP, -2.0 * STEP, 2.0 * STEP, -3.0 * STEP, 3.0 * STEP];
    let mut steps: Vec<Point> = (-MOST_STEPS..=MOST_STEPS)
        .flat_map(|row| across.map(|x| Point { x, y: f64::from(row) * ROW }))
        .collect();
    steps.sort_by(|a, b| length(*a).total_cmp(&length(*b)));
    steps.into_iter()
}

/// Name, diameter and wall as on a drawing.
fn measures(part: &Part) -> Vec<(String, Basis)> {
    let plain = |text: String| (text, Basis::Typical);
    let value = |measure: &Measure| {
        let digits = if measure.mm < 3.0 { format!("{:.2}", measure.mm) } else { super::drawing::number(measure.mm) };
        (digits, measure.basis)
    };
    let Some(first) = part.diameters.first().map(|station| station.outside_diameter) else {
        return vec![plain(part.name.clone())];
    };
    let last = part.diameters.last().map_or(first, |station| station.outside_diameter);
    let widest = part.diameters.iter().map(|station| station.outside_diameter).max_by(|a, b| a.mm.total_cmp(&b.mm)).unwrap_or(first);
    // What swells in its middle, as a lip plate does, is known by that.
    let (first, last) = if widest.mm > 1.2 * first.mm.max(last.mm) { (widest, widest) } else { (first, last) };
    let mut pieces = vec![plain(format!("{} · Ø ", part.name)), value(&first)];
    if (last.mm - first.mm).abs() >= 0.05 {
        pieces.push(plain("–".to_owned()));
        pieces.push(value(&last));
    }
    if let Some(wall) = &part.wall {
        pieces.push(plain(" × ".to_owned()));
        pieces.push(value(wall));
    }
    pieces
}
