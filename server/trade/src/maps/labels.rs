//! Names and measures beside the parts: what they say, and the room they take.

use super::line::{length, less};
use super::part_map::{Basis, Measure, Part, PartKind, Point, Sheet};
use super::pins::goes_through;
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
/// From one row of a name to the next.
const ROW_HEIGHT: f64 = 21.0;
/// A label that finds no room goes so far up or down, or to a side, and again.
const ROW: f64 = 6.0;
const STEP: f64 = 32.0;
/// So many rows at most: further off it goes to the foot of the sheet.
const MOST_STEPS: i32 = 14;
/// A name moved further than this is rather written in two rows.
const MOVED: f64 = 48.0;
/// A name this far from its part has a line that leads to it: nearer it is read as its name without.
const NEAR: f64 = 56.0;
/// And one that lies this much nearer to another part.
const NEARER: f64 = 12.0;
/// Kept free above a name at the edge of the sheet.
const EDGE: f64 = 3.0;
/// How finely a line is looked at that may run through other parts, units.
const SAMPLE: f64 = 2.0;
/// What a unit through a rod, a key or a post counts, which leave little unseen: they run along
/// whole bodies.
const THIN: f64 = 0.05;
/// A line that ends this near to another part is read as leading to that one.
const ENDS_FREE: f64 = 14.0;
/// Every so many of the ways from a name to its part are looked at.
const WAYS: usize = 3;
/// The most diameters on the way that are written.
const MOST_ON_THE_WAY: usize = 3;

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

/// What is written, and whether it was measured.
type Pieces = Vec<(String, Basis)>;

/// The name of a part with its measures, where it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// The part's id.
    pub part: String,
    /// Its rows: where each begins, what is written, and whether each piece was measured.
    pub rows: Vec<(Point, Pieces)>,
    /// The room it takes at the bench.
    pub area: Area,
    /// A line from the writing to its part, where it stands too far off to be read as its name.
    pub leader: Option<(Point, Point)>,
}

/// The labels of everything drawn, in the order of the map, then those of measured parts that have
/// no name of their own: each as near to where the map wants it
/// as the parts and the labels before it leave room.
pub fn labels(scene: &Scene<'_>, sheet: Sheet) -> Vec<Label> {
    let covered = scene.covered();
    let mut stand: Vec<Label> = Vec::new();
    let mut foot = scene.height;
    // What was measured finds its room beside what the map itself wants written.
    let (extra, own): (Vec<&Laid<'_>>, Vec<&Laid<'_>>) = scene.drawn().partition(|laid| is_extra(laid));
    for laid in own.into_iter().chain(extra) {
        let Some(wanted) = wanted(laid) else { continue };
        // Measured values are longer than typical ones, and a name may be a long one.
        let in_rows = |rows: &[Pieces], at: Point| {
            let wide = rows.iter().map(width).fold(0.0, f64::max);
            let at = Point { x: at.x.min(sheet.width - MARGIN - wide).max(MARGIN), y: at.y };
            let row_at = |row: usize| Point { x: at.x, y: at.y + ROW_HEIGHT * f64::from(u8::try_from(row).unwrap_or(u8::MAX)) };
            let last = row_at(rows.len().saturating_sub(1));
            let area = Area {
                from: Point { x: at.x, y: at.y - 0.78 * LETTERS },
                to: Point { x: at.x + wide, y: last.y + 0.26 * LETTERS },
            };
            Label {
                part: laid.part.id.clone(),
                rows: rows.iter().enumerate().map(|(row, pieces)| (row_at(row), pieces.clone())).collect(),
                leader: None,
                area,
            }
        };
        let free = |label: &Label| {
            label.area.from.y >= EDGE
                && label.area.to.y <= scene.height
                && covered.iter().all(|(middle, half)| label.area.away(*middle) >= half + AROUND)
                && stand.iter().all(|other| !label.area.meets(&other.area) && !is_led_through(other, &label.area))
        };
        let others = Others::of(scene, laid);
        // How the line of a name runs: through nothing else, or else through as little as may be.
        let led = |mut label: Label, through_parts: bool| {
            let Some((from, to, through)) = leader(scene, laid, &label.area, &stand, &others) else { return Some(label) };
            label.leader = Some((from, to));
            let may = (through_parts || through < 1.0) && stand.iter().all(|other| !is_led_through(&label, &other.area));
            may.then_some(label)
        };
        let [name, values, more] = measures(laid.part);
        let dot = vec![(" · ".to_owned(), Basis::Typical)];
        let filled: Vec<Pieces> = [name, values, more].into_iter().filter(|row| !row.is_empty()).collect();
        let one = [filled.join(dot.as_slice())];
        let placed = |rows: &[Pieces], most: f64, through_parts: bool| {
            let off = |off: Point| in_rows(rows, Point { x: wanted.x + off.x, y: wanted.y + off.y });
            steps().take_while(|step| length(*step) <= most).map(off).filter(|label| free(label)).find_map(|label| led(label, through_parts))
        };
        // What lies at the foot has its row to itself.
        let label = if laid.at_foot {
            Some(in_rows(&one, wanted))
        } else {
            let rows = filled.as_slice();
            placed(&one, MOVED, false)
                .or_else(|| placed(rows, f64::INFINITY, false).filter(|_| rows.len() > 1))
                .or_else(|| placed(&one, f64::INFINITY, false))
                .or_else(|| placed(rows, f64::INFINITY, true))
                .or_else(|| placed(&one, f64::INFINITY, true))
        };
        let label = label.unwrap_or_else(|| {
            foot += ROW_HEIGHT;
            in_rows(&one, Point { x: wanted.x, y: foot - MARGIN })
        });
        stand.push(label);
    }
    stand
}

/// Width of a row as written.
fn width(row: &Pieces) -> f64 {
    let letters: usize = row.iter().map(|(text, _)| text.chars().count()).sum();
    f64::from(u16::try_from(letters).unwrap_or(u16::MAX)) * LETTERS * LETTER_WIDTH
}

/// Whether the line of a name goes through an area.
fn is_led_through(label: &Label, area: &Area) -> bool {
    label.leader.is_some_and(|(a, b)| goes_through(a, b, area))
}

/// Everything drawn but one part, as circles with what a unit of a line through them counts.
struct Others {
    circles: Vec<(Point, f64, f64)>,
}

impl Others {
    fn of(scene: &Scene<'_>, laid: &Laid<'_>) -> Self {
        // What it carries lies on it, as a rotor in its casing does, and is no other thing here.
        let carried = |other: &Laid<'_>| other.part.sits_on.as_ref().is_some_and(|seat| seat.part == laid.part.id);
        let others = scene.drawn().filter(|other| other.part.id != laid.part.id && !carried(other));
        let circles = others.flat_map(|other| {
            let thin = matches!(other.part.kind, PartKind::Key | PartKind::Rod | PartKind::Linkage | PartKind::Spring | PartKind::Post);
            Scene::circles(other).into_iter().map(move |(middle, half)| (middle, half, if thin { THIN } else { 1.0 }))
        });
        Self { circles: circles.collect() }
    }

    /// Whether a line that ends here is not read as leading to something else: its end lies clear
    /// of every other part but the thin ones.
    fn are_clear_of(&self, end: Point) -> bool {
        self.circles.iter().all(|(middle, half, counts)| *counts < 1.0 || length(less(end, *middle)) >= half + ENDS_FREE)
    }

    /// How much of a stretch lies in other parts, units.
    fn along(&self, from: Point, to: Point) -> f64 {
        let long = length(less(to, from));
        let (low, high) = (Point { x: from.x.min(to.x), y: from.y.min(to.y) }, Point { x: from.x.max(to.x), y: from.y.max(to.y) });
        let area = Area { from: low, to: high };
        let near: Vec<&(Point, f64, f64)> = self.circles.iter().filter(|(middle, half, _)| area.away(*middle) < *half).collect();
        let mut run = 0.0;
        let mut through = 0.0;
        while run < long {
            let at = Point { x: from.x + (to.x - from.x) * run / long, y: from.y + (to.y - from.y) * run / long };
            let under = near.iter().filter(|(middle, half, _)| length(less(at, *middle)) < *half);
            through += SAMPLE * under.map(|(_, _, counts)| *counts).fold(0.0, f64::max);
            run += SAMPLE;
        }
        through
    }
}

/// From the edge of the writing to a place of its part, and how much of it lies in other parts: the
/// nearest way that no other name lies before and nothing else lies under; none where it is read as
/// the name of its part without.
fn leader(scene: &Scene<'_>, laid: &Laid<'_>, area: &Area, stand: &[Label], others: &Others) -> Option<(Point, Point, f64)> {
    let far = |laid: &Laid<'_>| laid.line.samples.iter().map(|sample| area.away(sample.at) - laid.half_at(sample)).fold(f64::INFINITY, f64::min);
    // Beside the many parts without a name only a line tells which one was measured.
    let named = |other: &&Laid<'_>| other.part.id != laid.part.id && (is_extra(laid) || wanted(other).is_some());
    let nearest_other = || scene.drawn().filter(named).map(far).fold(f64::INFINITY, f64::min);
    let own = far(laid);
    let is_its_name = if is_extra(laid) { own + NEARER <= nearest_other() } else { own <= NEARER || own <= nearest_other() + NEARER };
    if own <= NEAR && is_its_name {
        return None;
    }
    let mut ways: Vec<(Point, Point)> = laid
        .line
        .samples
        .iter()
        .map(|sample| {
            let from = Point { x: sample.at.x.clamp(area.from.x, area.to.x), y: sample.at.y.clamp(area.from.y, area.to.y) };
            (from, sample.at)
        })
        .filter(|(from, to)| stand.iter().all(|label| !goes_through(*from, *to, &label.area)))
        .collect();
    // A part that nothing else leaves free anywhere is led to all the same.
    if ways.iter().any(|(_, to)| others.are_clear_of(*to)) {
        ways.retain(|(_, to)| others.are_clear_of(*to));
    }
    ways.sort_by(|a, b| length(less(a.0, a.1)).total_cmp(&length(less(b.0, b.1))));
    let mut best: Option<(Point, Point, f64)> = None;
    for (from, to) in ways.into_iter().step_by(WAYS) {
        let through = others.along(from, to);
        if best.is_none_or(|(_, _, least)| through < least) {
            best = Some((from, to, through));
        }
        if through <= 0.0 {
            break;
        }
    }
    best
}

/// Whether a part has no name on the map, and is written down because it was measured.
fn is_extra(laid: &Laid<'_>) -> bool {
    !laid.at_foot && laid.part.is_measured() && laid.part.layout.as_ref().is_none_or(|layout| layout.label.is_none())
}

/// Where the map wants the label of a part; none: it has no label.
fn wanted(laid: &Laid<'_>) -> Option<Point> {
    let own = laid.part.layout.as_ref().and_then(|layout| layout.label);
    // What lies at the foot has nothing else to be known by.
    let foot = || laid.at_foot.then(|| Point { x: laid.line.at(1.0).at.x + 12.0, y: laid.line.at(1.0).at.y + 5.0 });
    let beside = || {
        let middle = laid.line.at(0.5);
        is_extra(laid).then(|| Point { x: middle.at.x - 60.0, y: middle.at.y - laid.half_at(&middle) - 8.0 })
    };
    own.or_else(foot).or_else(beside)
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

/// Name; diameter and wall as on a drawing; and what else was measured: length, and diameters on
/// the way.
fn measures(part: &Part) -> [Pieces; 3] {
    let plain = |text: &str| (text.to_owned(), Basis::Typical);
    let value = |measure: &Measure| {
        let digits = if measure.mm < 3.0 { format!("{:.2}", measure.mm) } else { super::drawing::number(measure.mm) };
        (digits, measure.basis)
    };
    let name = vec![plain(&part.name)];
    let Some(first) = part.diameters.first().map(|station| station.outside_diameter) else {
        return [name, Vec::new(), Vec::new()];
    };
    let last = part.diameters.last().map_or(first, |station| station.outside_diameter);
    let widest = part.diameters.iter().map(|station| station.outside_diameter).max_by(|a, b| a.mm.total_cmp(&b.mm)).unwrap_or(first);
    // What swells in its middle, as a lip plate does, is known by that.
    let (first, last) = if widest.mm > 1.2 * first.mm.max(last.mm) { (widest, widest) } else { (first, last) };
    let mut pieces = vec![plain("Ø "), value(&first)];
    if (last.mm - first.mm).abs() >= 0.05 {
        pieces.push(plain("–"));
        pieces.push(value(&last));
    }
    if let Some(wall) = &part.wall {
        pieces.push(plain(" × "));
        pieces.push(value(wall));
    }
    let on_the_way = part.diameters.iter().skip(1).rev().skip(1).rev().map(|station| (station.at_mm, station.outside_diameter));
    let written = |measure: &Measure| [first, last].contains(measure);
    let mut more: Pieces = Vec::new();
    for (at_mm, measured) in on_the_way.filter(|(_, one)| one.basis == Basis::Measured && !written(one)).take(MOST_ON_THE_WAY) {
        more.extend([plain(if more.is_empty() { "Ø " } else { ", Ø " }), value(&measured), plain(&format!(" at {}", super::drawing::number(at_mm)))]);
    }
    if part.length.basis == Basis::Measured {
        more.extend([plain(if more.is_empty() { "" } else { ", " }), value(&part.length), plain(" long")]);
    }
    [name, pieces, more]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maps::template;
    use crate::words::instrument::Family;
    use crate::words::spelling::Spelt;

    #[test]
    fn the_line_of_a_name_ends_where_its_part_lies_free() {
        let mut led = 0;
        for family in Family::ALL {
            let map = template(*family);
            let scene = Scene::of(&map);
            for label in labels(&scene, map.sheet) {
                let Some((_, to)) = label.leader else { continue };
                let laid = scene.drawn().find(|laid| laid.part.id == label.part).unwrap();
                let others = Others::of(&scene, laid);
                let lies_free = laid.line.samples.iter().filter(|sample| others.are_clear_of(sample.at)).count() * 3 >= laid.line.samples.len();
                assert!(!lies_free || others.are_clear_of(to), "{family}: the line of {} ends on another part", label.part);
                led += 1;
            }
        }
        assert!(led > 0, "no template has a name with a line");
    }
}
