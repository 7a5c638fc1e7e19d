//! Heads of findings and counter marks: where they stand so that none covers another.

use super::labels::{Area, Label, labels};
use super::line::{from_stretch, length, less};
use super::part_map::{PartMap, Point};
use super::scene::Scene;
use crate::words::instrument::Disposition;

/// Half the width of a head, units: 32 px at the bench.
pub const HEAD: f64 = 16.0;
/// Half the width of a counter mark.
pub const MARK: f64 = 12.0;
/// Radius of the ring on the spot itself.
pub const RING: f64 = 4.0;
/// Half the width of what a head covers with its stroke and, for the diamond, its corners.
const COVERED: f64 = 20.0;
/// Free space kept between two heads.
const BETWEEN: f64 = 4.0;
/// Leaders grow by this much until a head finds room.
const LEADER_STEP: f64 = 12.0;
/// The shortest leader, from ring to the middle of the head.
const LEADER_LEAST: f64 = 34.0;
/// The longest leader tried before heads may stand on tubes.
const LEADER_MOST: f64 = 330.0;
/// The longest leader tried before it may cross another or a label: a long one that goes its own
/// way is harder to follow than a short one that crosses.
const LEADER_CLEAR: f64 = 150.0;
/// The eight directions, clockwise from above.
const DIRECTIONS: [(f64, f64); 8] =
    [(0.0, -1.0), (D, -D), (1.0, 0.0), (D, D), (0.0, 1.0), (-D, D), (-1.0, 0.0), (-D, -D)];
const D: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// A place on the instrument as a finding or a mark gives it.
#[derive(Debug, Clone, PartialEq)]
pub enum Spot {
    /// On a part.
    Part {
        /// The part's id or name, or a word of the pick list.
        part: String,
        /// mm from its beginning; `None` is its middle.
        at_mm: Option<f64>,
        /// `left`, `right`, `top` or `bottom` of the drawing; anything else is the middle line.
        side: Option<String>,
    },
    /// On a joint.
    Joint {
        /// The joint's id or name.
        joint: String,
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

/// Places the pins in their order: in the eight directions, with leaders as short as room
/// outside the tubes allows. `None` for a pin whose part or joint the map does not have.
/// Heads cover neither one another nor a label; the sheet grows at its foot when it is full.
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
        // A joint is seen from in front: its ring stands a little off the middle line.
        Spot::Joint { joint } => {
            scene.joint_named(joint).map(|(laid, sample)| sample.beside(-0.35 * laid.half_at(&sample)))
        }
        Spot::Part { part, at_mm, side } => {
            let laid = scene.part_named(part)?;
            let sample = at_mm.map_or_else(|| laid.line.at(0.5), |at_mm| laid.at_mm(at_mm));
            let out = less(sample.beside(0.7 * laid.half_at(&sample)), sample.at);
            let sign = match side.as_deref() {
                Some("right") => out.x.signum(),
                Some("left") => -out.x.signum(),
                Some("bottom") => out.y.signum(),
                Some("top") => -out.y.signum(),
                _ => 0.0,
            };
            Some(Point { x: sample.at.x + sign * out.x, y: sample.at.y + sign * out.y })
        }
    }
}

/// What already stands on the sheet.
pub struct Placing {
    width: f64,
    /// Height that the sheet needs so far, units.
    pub height: f64,
    tubes: Vec<(Point, f64)>,
    labels: Vec<Area>,
    heads: Vec<(Point, f64)>,
    leaders: Vec<(Point, Point)>,
}

/// What a head keeps clear of, besides the other heads.
#[derive(Clone, Copy, PartialEq)]
enum Clear {
    TubesAndLeaders,
    /// Its leader may cross another, but no label.
    TubesAndLabels,
    Tubes,
    Heads,
}

impl Placing {
    /// A sheet with its tubes and labels as obstacles and nothing on it yet.
    pub fn on(scene: &Scene<'_>, width: f64, labels: &[Label]) -> Self {
        let labels = labels.iter().map(|label| label.area).collect();
        Self { width, height: scene.height, tubes: scene.covered(), labels, heads: Vec::new(), leaders: Vec::new() }
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
                    .chain(around(spot, 2.0 * MARK + BETWEEN, LEADER_MOST))
                    .find(free)
                    .unwrap_or_else(|| self.at_foot(MARK));
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
                let head = [Clear::TubesAndLeaders, Clear::TubesAndLabels, Clear::Tubes, Clear::Heads]
                    .into_iter()
                    .find_map(|clear| self.nearest(ring, &all, clear))
                    .unwrap_or_else(|| self.at_foot(COVERED));
                self.heads.push((head, COVERED));
                self.leaders.push((ring, head));
                Some(PlacedPin { ring, head })
            })
            .collect()
    }

    fn nearest(&self, ring: Point, rings: &[Point], clear: Clear) -> Option<Point> {
        let mut best: Option<(f64, Point)> = None;
        let mut reach = 0.0;
        let most = match clear {
            Clear::TubesAndLeaders | Clear::TubesAndLabels => LEADER_CLEAR,
            Clear::Tubes | Clear::Heads => LEADER_MOST,
        };
        for at in around(ring, LEADER_LEAST, most) {
            let away = length(less(at, ring));
            // Among leaders of one length the head with most air around it wins.
            if best.is_some() && away > reach + LEADER_STEP / 2.0 {
                break;
            }
            if let Some(air) = self.air(at, ring, rings, clear)
                && best.is_none_or(|(most, _)| air > most + 1e-9)
            {
                best = Some((air, at));
                reach = away;
            }
        }
        best.map(|(_, at)| at)
    }

    /// The free space around a head here; `None` where it may not stand.
    fn air(&self, at: Point, ring: Point, rings: &[Point], clear: Clear) -> Option<f64> {
        let mut air = 40.0_f64;
        let mut keep = |free: f64| {
            air = air.min(free);
            free >= 0.0
        };
        let others = || rings.iter().filter(|other| length(less(**other, ring)) > 1e-9);
        let fine = self.inside(at, COVERED)
            && self.heads.iter().all(|(head, half)| keep(length(less(at, *head)) - half - COVERED - BETWEEN))
            && self.labels.iter().all(|label| keep(label.away(at) - COVERED))
            && (clear == Clear::Heads
                || self.tubes.iter().all(|(tube, half)| keep(length(less(at, *tube)) - half - COVERED)))
            && (clear != Clear::TubesAndLeaders
                || (others().all(|other| {
                    length(less(at, *other)) >= COVERED + RING && from_stretch(*other, ring, at) >= 2.0 * RING
                }) && self.leaders.iter().all(|(a, b)| from_stretch(at, *a, *b) >= COVERED && !cross(ring, at, *a, *b))
                    && self.heads.iter().all(|(head, half)| from_stretch(*head, ring, at) >= half + 1.0)))
            && (!matches!(clear, Clear::TubesAndLeaders | Clear::TubesAndLabels)
                || !self.labels.iter().any(|label| goes_through(ring, at, label)));
        fine.then_some(air)
    }

    fn inside(&self, at: Point, half: f64) -> bool {
        at.x >= half && at.y >= half && at.x <= self.width - half && at.y <= self.height - half
    }

    /// A place in a new row under everything.
    fn at_foot(&mut self, half: f64) -> Point {
        let row = 2.0 * COVERED + BETWEEN;
        let per_row = ((self.width / row).floor()).max(1.0);
        let mut k = 0.0;
        loop {
            let column: f64 = k % per_row;
            let at = Point {
                x: row * (column + 0.5),
                y: self.height + BETWEEN + half,
            };
            if k >= per_row {
                self.height += row;
                k = 0.0;
                continue;
            }
            if self.heads.iter().all(|(head, other)| length(less(at, *head)) >= other + half + BETWEEN) {
                self.height = self.height.max(at.y + half);
                return at;
            }
            k += 1.0;
        }
    }
}

/// Points around a spot in the eight directions, near ones first.
fn around(spot: Point, least: f64, most: f64) -> impl Iterator<Item = Point> {
    let rounds = ((most - least) / LEADER_STEP).max(0.0) as u32;
    (0..=rounds).flat_map(move |round| {
        let away = least + LEADER_STEP * f64::from(round);
        DIRECTIONS.iter().map(move |(x, y)| Point { x: spot.x + away * x, y: spot.y + away * y })
    })
}

/// Whether a stretch that ends outside an area goes through it.
fn goes_through(a: Point, b: Point, area: &Area) -> bool {
    let [p, q, r, s] = area.corners();
    cross(a, b, p, r) || cross(a, b, q, s)
}

/// Whether two stretches cross.
fn cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let turn = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}
