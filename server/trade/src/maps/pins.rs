//! Heads of findings and counter marks: where they stand so that none covers another.

use super::labels::{Area, Label, labels};
use super::line::{from_stretch, length, less};
use super::part_map::{PartMap, Point};
use super::scene::Scene;
use super::side::{Side, beside};
use crate::words::instrument::Disposition;

/// Half the width of a head, units: 32 px at the bench.
pub const HEAD: f64 = 16.0;
/// Half the width of a counter mark.
pub const MARK: f64 = 12.0;
/// Radius of the ring on the spot itself.
pub const RING: f64 = 4.0;
/// Half the width of what a head covers with its stroke and, for the diamond, its corners.
const COVERED: f64 = 20.0;
/// Free space kept between a head and the parts.
const CLEAR_OF_TUBE: f64 = 2.0;
/// Free space kept between two heads.
const BETWEEN: f64 = 4.0;
/// Leaders grow by this much until a head finds room.
const LEADER_STEP: f64 = 12.0;
/// The shortest leader, from ring to the middle of the head.
const LEADER_LEAST: f64 = 34.0;
/// The longest leader tried before a head stands at the foot of the sheet.
const LEADER_MOST: f64 = 520.0;
/// What else is wrong with a place counts as so many units of a longer leader (chosen by eye on the
/// crowded pictures of all families): a leader that crosses another, passes under a head, or a head that lies on a leader,
const CROSSING: f64 = 60.0;
/// a leader that passes another finding's ring or a head that covers it,
const OVER_RING: f64 = 60.0;
/// and a direction between the eight.
const BETWEEN_EIGHT: f64 = 6.0;
/// What a head with no free space around it costs, units of a longer leader.
const AIR: f64 = 10.0;
/// So many directions are tried: the eight, and three between each two of them.
const DIRECTIONS: u32 = 32;

/// A place on the instrument as a finding or a mark gives it.
#[derive(Debug, Clone, PartialEq)]
pub enum Spot {
    /// On a part.
    Part {
        /// The part's id or name, or a word of the pick list.
        part: String,
        /// mm from its beginning; `None` is its middle.
        at_mm: Option<f64>,
        /// The side as it is said, read by [`Side::read`]; anything else is the middle line.
        side: Option<String>,
    },
    /// On a joint.
    Joint {
        /// The joint's id or name.
        joint: String,
        /// As on a part.
        side: Option<String>,
    },
}

/// When a finding was made, as the map shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// On the visit that the map is shown for.
    ThisVisit,
    /// On an earlier visit, and left to be watched.
    Watched,
    /// On an earlier visit, and settled: only its ring is drawn.
    Settled,
}

/// A finding to be pinned to the map.
#[derive(Debug, Clone, PartialEq)]
pub struct Pin {
    /// The finding's id.
    pub finding: String,
    /// What the head says: the number of the findings list, or `W1` for what is watched.
    pub head: String,
    /// What it is and where, as a screen reader says it after the head.
    pub words: String,
    /// Where it is.
    pub spot: Spot,
    /// What is done about it: the shape of the head.
    pub disposition: Disposition,
    /// This visit's, watched, or settled.
    pub standing: Standing,
    /// Whether it is the one in hand.
    pub in_hand: bool,
}

impl Pin {
    /// Whether it has a head and a leader, or its ring only.
    #[must_use]
    pub fn has_head(&self) -> bool {
        self.standing != Standing::Settled
    }
}

/// A mark of the counter.
#[derive(Debug, Clone, PartialEq)]
pub struct CounterMark {
    /// The mark's id.
    pub id: String,
    /// The letter of the kind in the language in use.
    pub letter: String,
    /// What it says, in words.
    pub words: String,
    /// Where it is.
    pub spot: Spot,
    /// Whether it is the one just set.
    pub in_hand: bool,
}

/// Where the ring and the head of a pin stand, in units of the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlacedPin {
    /// Middle of the ring.
    pub ring: Point,
    /// Middle of the head.
    pub head: Point,
}

/// Places the pins in their order, with leaders as short as room outside the tubes allows.
/// `None` for a pin whose part or joint the map does not have.
/// Heads cover neither one another nor a label, and no leader goes through a label; the sheet
/// grows at its foot when it is full.
#[must_use]
pub fn place(map: &PartMap, pins: &[Pin]) -> Vec<Option<PlacedPin>> {
    let scene = Scene::of(map);
    let rings: Vec<Option<Point>> = pins.iter().map(|pin| point_of(&scene, &pin.spot)).collect();
    Placing::on(&scene, map.sheet.width, &labels(&scene, map.sheet)).heads(&rings)
}

/// The room that the labels of a map take, by part.
#[must_use]
pub fn label_areas(map: &PartMap) -> Vec<(String, Area)> {
    labels(&Scene::of(map), map.sheet).into_iter().map(|label| (label.part, label.area)).collect()
}

/// The point of the sheet that a spot names.
pub fn point_of(scene: &Scene<'_>, spot: &Spot) -> Option<Point> {
    match spot {
        Spot::Joint { joint, side } => scene.joint_named(joint).map(|(laid, sample)| match read(side) {
            // A joint is seen from in front: its ring stands a little off the middle line.
            None => sample.beside(-0.35 * laid.half_at(&sample)),
            side => beside(laid, &sample, side, 0.7),
        }),
        Spot::Part { part, at_mm, side } => {
            let laid = scene.part_named(part)?;
            let sample = at_mm.map_or_else(|| laid.line.at(0.5), |at_mm| laid.at_mm(at_mm));
            Some(beside(laid, &sample, read(side), 0.7))
        }
    }
}

fn read(side: &Option<String>) -> Option<Side> {
    side.as_deref().and_then(Side::read)
}

/// What already stands on the sheet.
pub struct Placing {
    width: f64,
    /// Height that the sheet needs so far, units.
    pub height: f64,
    /// Where the instrument and its names end, and rows of heads begin.
    foot: f64,
    tubes: Covered,
    labels: Vec<Area>,
    heads: Vec<(Point, f64)>,
    leaders: Vec<(Point, Point)>,
}

impl Placing {
    /// A sheet with its tubes and labels as obstacles and nothing on it yet.
    pub fn on(scene: &Scene<'_>, width: f64, labels: &[Label]) -> Self {
        let height = labels.iter().map(|label| label.area.to.y).fold(scene.height, f64::max);
        let leaders = labels.iter().filter_map(|label| label.leader).collect();
        let labels = labels.iter().map(|label| label.area).collect();
        Self { width, height, foot: height, tubes: Covered::by(&scene.covered(), width, height), labels, heads: Vec::new(), leaders }
    }

    /// Letters on the instrument itself, as near to their spots as one another allow.
    pub fn marks(&mut self, spots: &[Option<Point>]) -> Vec<Option<Point>> {
        let mut stood = Vec::with_capacity(spots.len());
        for spot in spots {
            stood.push(spot.map(|spot| {
                let free = |at: &Point| {
                    self.inside(*at, MARK + 2.0)
                        && self.labels.iter().all(|label| label.away(*at) >= MARK)
                        && self.heads.iter().all(|(head, half)| length(less(*at, *head)) >= half + MARK + BETWEEN)
                };
                let at = std::iter::once(spot)
                    .chain(around(spot, 2.0 * MARK + BETWEEN).map(|(at, _)| at))
                    .find(free)
                    .unwrap_or_else(|| self.below(MARK, spot));
                self.heads.push((at, MARK));
                at
            }));
        }
        stood
    }

    /// Heads with leaders from their rings.
    pub fn heads(&mut self, rings: &[Option<Point>]) -> Vec<Option<PlacedPin>> {
        let all: Vec<Point> = rings.iter().flatten().copied().collect();
        rings
            .iter()
            .map(|ring| {
                let ring = (*ring)?;
                let labels = self.labels.clone();
                let reads = |at: Point| labels.iter().all(|label| !goes_through(ring, at, label));
                // Outside all parts; where nothing is free there, rather on one than through a name.
                let head = self.nearest(ring, &all, false);
                let head = head.or_else(|| self.at_foot(COVERED, ring, reads)).or_else(|| self.nearest(ring, &all, true));
                let head = head.unwrap_or_else(|| self.below(COVERED, ring));
                self.heads.push((head, COVERED));
                self.leaders.push((ring, head));
                Some(PlacedPin { ring, head })
            })
            .collect()
    }

    /// The place for a head that costs least; none where every one is taken.
    fn nearest(&self, ring: Point, rings: &[Point], on_parts: bool) -> Option<Point> {
        let mut best: Option<(f64, Point)> = None;
        for (at, turned) in around(ring, LEADER_LEAST) {
            let away = length(less(at, ring)) + turned;
            // Longer leaders cost more whatever else is right about them.
            if best.is_some_and(|(least, _)| away - AIR > least) {
                break;
            }
            if let Some(cost) = self.cost(at, ring, rings, on_parts).map(|cost| cost + away)
                && best.is_none_or(|(least, _)| cost < least - 1e-9)
            {
                best = Some((cost, at));
            }
        }
        best.map(|(_, at)| at)
    }

    /// What is wrong with a head here; `None` where it may not stand at all.
    fn cost(&self, at: Point, ring: Point, rings: &[Point], on_parts: bool) -> Option<f64> {
        let mut air = 40.0_f64;
        let mut keep = |free: f64| {
            air = air.min(free);
            free >= 0.0
        };
        let may = self.inside(at, COVERED)
            && self.heads.iter().all(|(head, half)| keep(length(less(at, *head)) - half - COVERED - BETWEEN))
            && self.labels.iter().all(|label| keep(label.away(at) - COVERED) && !goes_through(ring, at, label));
        if !may {
            return None;
        }
        // What lies under a head is not seen.
        if !on_parts && self.tubes.holds(at) {
            return None;
        }
        let mut cost = 0.0;
        let mut charge = |wrong: bool, units: f64| cost += if wrong { units } else { 0.0 };
        for other in rings.iter().filter(|other| length(less(**other, ring)) > 1e-9) {
            charge(length(less(at, *other)) < COVERED + RING || from_stretch(*other, ring, at) < 2.0 * RING, OVER_RING);
        }
        for (a, b) in &self.leaders {
            charge(from_stretch(at, *a, *b) < COVERED || cross(ring, at, *a, *b), CROSSING);
        }
        for (head, half) in &self.heads {
            charge(from_stretch(*head, ring, at) < half + 1.0, CROSSING);
        }
        // Among places that are equally near the one with most air around it wins.
        Some(cost + AIR * (1.0 - air.max(0.0) / 40.0))
    }

    fn inside(&self, at: Point, half: f64) -> bool {
        at.x >= half && at.y >= half && at.x <= self.width - half && at.y <= self.height - half
    }

    /// The nearest free place in the rows under everything, as far as one is `wanted`.
    fn at_foot(&mut self, half: f64, from: Point, wanted: impl Fn(Point) -> bool) -> Option<Point> {
        const ROWS: u32 = 12;
        self.in_rows(0..ROWS, half, from, wanted)
    }

    /// The same, however far down.
    fn below(&mut self, half: f64, from: Point) -> Point {
        let row = (0..).find_map(|row| self.in_rows(row..row + 1, half, from, |_| true));
        row.expect("rows go on until one is free")
    }

    fn in_rows(&mut self, rows: std::ops::Range<u32>, half: f64, from: Point, wanted: impl Fn(Point) -> bool) -> Option<Point> {
        let row = 2.0 * COVERED + BETWEEN;
        let per_row = (self.width / row).floor().max(1.0) as u32;
        let foot = self.foot;
        let places = rows.flat_map(|down| {
            (0..per_row).map(move |across| Point { x: row * (f64::from(across) + 0.5), y: foot + BETWEEN + half + row * f64::from(down) })
        });
        let free = |at: &Point| self.heads.iter().all(|(head, other)| length(less(*at, *head)) >= other + half + BETWEEN);
        let near = |a: &Point, b: &Point| length(less(*a, from)).total_cmp(&length(less(*b, from)));
        let at = places.filter(|at| free(at) && wanted(*at)).min_by(near)?;
        self.height = self.height.max(at.y + half);
        Some(at)
    }
}

/// Where on a sheet a head would stand on a part.
struct Covered {
    cell: f64,
    across: usize,
    cells: Vec<bool>,
}

/// How finely the sheet is looked at, units,
const CELL: f64 = 3.0;
/// and in how many cells at most, however large somebody made it.
const MOST_CELLS: f64 = 50_000.0;

impl Covered {
    /// By circles: middle and radius.
    fn by(circles: &[(Point, f64)], width: f64, height: f64) -> Self {
        let cell = CELL.max((width.max(1.0) * height.max(1.0) / MOST_CELLS).sqrt());
        let count = |long: f64| (long.max(0.0) / cell).ceil() as usize + 1;
        let (across, down) = (count(width), count(height));
        let mut cells = vec![false; across * down];
        for (middle, half) in circles {
            // A place is judged by the cell next to it.
            let reach = half + HEAD + CLEAR_OF_TUBE + 0.71 * cell;
            let range = |at: f64, most: usize| {
                let from = ((at - reach) / cell).ceil().max(0.0) as usize;
                from..most.min(((at + reach) / cell).floor().max(-1.0) as usize + 1)
            };
            for y in range(middle.y, down) {
                for x in range(middle.x, across) {
                    let at = Point { x: x as f64 * cell, y: y as f64 * cell };
                    cells[y * across + x] |= length(less(at, *middle)) < reach;
                }
            }
        }
        Self { cell, across, cells }
    }

    fn holds(&self, at: Point) -> bool {
        let cell = |value: f64| (value / self.cell).round().max(0.0) as usize;
        self.cells.get(cell(at.y) * self.across + cell(at.x).min(self.across - 1)).copied().unwrap_or(false)
    }
}

/// Points around a spot, those of the shortest leaders first, with what their direction costs.
fn around(spot: Point, least: f64) -> impl Iterator<Item = (Point, f64)> {
    let rounds = ((LEADER_MOST - least) / LEADER_STEP).max(0.0) as u32;
    // Clockwise from above, the eight before those between them.
    let (eight, between): (Vec<u32>, Vec<u32>) = (0..DIRECTIONS).partition(|nth| nth % (DIRECTIONS / 8) == 0);
    let directions: Vec<(f64, f64, f64)> = eight
        .into_iter()
        .map(|nth| (nth, 0.0))
        .chain(between.into_iter().map(|nth| (nth, BETWEEN_EIGHT)))
        .map(|(nth, costs)| {
            let (sin, cos) = (f64::from(nth) * std::f64::consts::TAU / f64::from(DIRECTIONS)).sin_cos();
            (sin, -cos, costs)
        })
        .collect();
    (0..=rounds).flat_map(move |round| {
        let away = least + LEADER_STEP * f64::from(round);
        let at = |&(x, y, costs): &(f64, f64, f64)| (Point { x: spot.x + away * x, y: spot.y + away * y }, costs);
        directions.iter().map(at).collect::<Vec<_>>()
    })
}

/// Whether a stretch that ends outside an area goes through it.
pub(super) fn goes_through(a: Point, b: Point, area: &Area) -> bool {
    let [p, q, r, s] = area.corners();
    cross(a, b, p, r) || cross(a, b, q, s)
}

/// Whether two stretches cross.
fn cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let turn = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}
