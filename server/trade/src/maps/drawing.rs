//! The part map as one tree of SVG elements: no script, no inline style, only classes of the sheet
//! (`pm`, `tube`, `ns`, `cl`, `fer`, `jl`, `b`, `corkj`, `lbl`, `q`, `pin`, `lead`, `spot`, `hd`).
//! The staff client, the customer's page and print all show this one drawing.

use super::element::SvgElement;
use super::labels::{Label, labels};
use super::line::{Sample, length, less};
use super::part_map::{Basis, Finish, Joint, JointKind, Material, Part, PartKind, PartMap, Point, Seam};
use super::pins::{CounterMark, HEAD, MARK, Pin, PlacedPin, Placing, RING, Standing, point_of};
use super::scene::{Laid, Scene};
use crate::words::instrument::Disposition;
use std::fmt::Write;

/// What is drawn, and how it is said aloud.
#[derive(Debug, Clone, Copy)]
pub struct Drawing<'a> {
    /// The map.
    pub map: &'a PartMap,
    /// Findings; a pin whose part the map does not have is left out.
    pub pins: &'a [Pin],
    /// Marks of the counter.
    pub marks: &'a [CounterMark],
    /// The accessible name, in the reader's language.
    pub title: &'a str,
    /// The accessible description.
    pub description: &'a str,
    /// Begins the ids in the picture, so that two maps may stand on one page; letters,
    /// digits and hyphens, anything else is left out.
    pub id: &'a str,
    /// Names and measures beside the parts; heads keep clear of them.
    pub labels: bool,
    /// Rings as buttons (at the bench), or all of it as one picture (on paper, for customers).
    pub buttons: bool,
}

/// Draws a part map. Same input, same drawing. What was struck is not drawn; its findings keep
/// their place.
///
/// Every pin is a `g` with `data-finding`, every mark of the counter one with `data-mark`, and
/// with buttons every part one with `data-part` and every joint one with `data-joint`, so that a
/// client can follow a pointer. Each joint has besides a circle `hit` above all parts, 44 px across
/// at the bench, that is not seen.
#[must_use]
pub fn draw(drawing: &Drawing<'_>) -> SvgElement {
    let map = drawing.map;
    let scene = Scene::of(map);
    let labels = if drawing.labels { labels(&scene, map.sheet) } else { Vec::new() };
    let mut placing = Placing::on(&scene, map.sheet.width, &labels);
    let at = |spot| point_of(&scene, spot);
    let marks = placing.marks(&drawing.marks.iter().map(|mark| at(&mark.spot)).collect::<Vec<_>>());
    let rings: Vec<Option<Point>> = drawing.pins.iter().map(|pin| at(&pin.spot)).collect();
    let heads = placing.heads(
        &drawing.pins.iter().zip(&rings).map(|(pin, ring)| ring.filter(|_| pin.has_head())).collect::<Vec<_>>(),
    );

    let id: String = drawing.id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
    let mut pen = Pen { children: Vec::new() };
    pen.add(SvgElement::new("title").with("id", format!("{id}-title")).saying(drawing.title));
    pen.add(SvgElement::new("desc").with("id", format!("{id}-desc")).saying(drawing.description));
    for step in steps(map, &scene) {
        match step {
            Step::Part(at) => pen.part(&scene.laid[at], map, drawing.buttons),
            Step::Joint(at) => pen.joint(&map.joints[at], &scene, drawing.buttons),
        }
    }
    for label in &labels {
        pen.label(label);
    }
    if drawing.buttons {
        pen.group(SvgElement::new("g").with("class", "hits"), |pen| {
            for (joint, at) in hits(map, &scene) {
                let circle = SvgElement::new("circle").with("class", "hit").with("data-joint", joint.id.as_str());
                pen.add(circle.with("cx", number(at.x)).with("cy", number(at.y)).with("r", number(HIT)));
            }
        });
    }
    for (mark, at) in drawing.marks.iter().zip(&marks) {
        if let Some(at) = at {
            pen.mark(mark, *at, drawing.buttons);
        }
    }
    // Leaders under all heads, so that none is drawn through the number of another.
    if heads.iter().any(Option::is_some) {
        pen.group(SvgElement::new("g").with("class", "pin leads"), |pen| {
            for placed in heads.iter().flatten() {
                pen.path("lead", &format!("M{}L{}", pair(placed.ring), pair(placed.head)));
            }
        });
    }
    for ((pin, ring), placed) in drawing.pins.iter().zip(&rings).zip(&heads) {
        match (placed, ring) {
            (Some(placed), _) => pen.pin(pin, placed, drawing.buttons),
            (None, Some(ring)) => pen.trace(pin, *ring, drawing.buttons),
            (None, None) => {}
        }
    }
    let mut sheet = SvgElement::new("svg")
        .with("xmlns", "http://www.w3.org/2000/svg")
        .with("class", "pm")
        .with("viewBox", format!("0 0 {} {}", number(map.sheet.width), number(placing.height)))
        .with("role", if drawing.buttons { "group" } else { "img" })
        .with("aria-labelledby", format!("{id}-title {id}-desc"));
    sheet.children = pen.children;
    sheet
}

/// Radius of what can be tapped for a joint, units: 44 px across at the bench.
const HIT: f64 = 22.0;
/// So far apart at least lie the middles of what can be tapped: joints may be drawn on one spot.
const HITS_APART: f64 = 11.0;

/// The middle of what can be tapped for each joint that is there. Areas may lie over one another:
/// the joint whose middle is nearest is meant.
fn hits<'a>(map: &'a PartMap, scene: &Scene<'_>) -> Vec<(&'a Joint, Point)> {
    let mut stand: Vec<(&Joint, Point)> = Vec::new();
    for joint in map.joints.iter().filter(|joint| map.holds(joint)) {
        let Some((_, sample)) = scene.joint(joint) else { continue };
        let free = |at: &Point| stand.iter().all(|(_, other)| length(less(*at, *other)) >= HITS_APART - 1e-6);
        let rings = (1..8).flat_map(|ring| {
            (0..8).map(move |eighth| {
                let (sin, cos) = (f64::from(eighth) * std::f64::consts::FRAC_PI_4).sin_cos();
                let away = HITS_APART * f64::from(ring);
                Point { x: sample.at.x + away * cos, y: sample.at.y + away * sin }
            })
        });
        let at = std::iter::once(sample.at).chain(rings).find(free).unwrap_or(sample.at);
        stand.push((joint, at));
    }
    stand
}

enum Step {
    Part(usize),
    Joint(usize),
}

/// Parts from below to above, every joint right after the upper of its two parts.
fn steps(map: &PartMap, scene: &Scene<'_>) -> Vec<Step> {
    let mut steps: Vec<((i32, u8, usize), Step)> =
        scene.laid.iter().enumerate().filter(|(_, laid)| !laid.part.is_struck()).map(|(at, laid)| ((laid.order, 0, at), Step::Part(at))).collect();
    for (at, joint) in map.joints.iter().enumerate().filter(|(_, joint)| map.holds(joint)) {
        let order = joint.places.iter().filter_map(|place| scene.laid(&place.part)).map(|laid| laid.order).max();
        steps.push(((order.unwrap_or(0), 1, at), Step::Joint(at)));
    }
    steps.sort_by_key(|(key, _)| *key);
    steps.into_iter().map(|(_, step)| step).collect()
}

/// Collects the elements of one level.
struct Pen {
    children: Vec<SvgElement>,
}

impl Pen {
    fn add(&mut self, element: SvgElement) {
        self.children.push(element);
    }

    /// What `draw` adds, inside this group.
    fn group(&mut self, mut group: SvgElement, draw: impl FnOnce(&mut Self)) {
        let mut inner = Self { children: std::mem::take(&mut group.children) };
        draw(&mut inner);
        group.children = inner.children;
        self.add(group);
    }

    fn path(&mut self, class: &str, d: &str) {
        self.add(SvgElement::new("path").with("class", class).with("d", d));
    }

    fn circle(&mut self, class: &str, at: Point, radius: f64) {
        let circle = SvgElement::new("circle").with("class", class);
        self.add(circle.with("cx", number(at.x)).with("cy", number(at.y)).with("r", number(radius)));
    }

    fn ellipse(&mut self, class: &str, sample: &Sample, along: f64, across: f64) {
        let ellipse = SvgElement::new("ellipse").with("class", class);
        self.add(ellipse.with("rx", number(along)).with("ry", number(across)).with("transform", turned(sample)));
    }

    fn rect(&mut self, class: &str, corner: Point, width: f64, height: f64) {
        let rect = SvgElement::new("rect").with("class", class).with("x", number(corner.x)).with("y", number(corner.y));
        self.add(rect.with("width", number(width)).with("height", number(height)));
    }

    fn text(&mut self, at: Point, said: &str) {
        self.add(SvgElement::new("text").with("x", number(at.x)).with("y", number(at.y)).saying(said));
    }

    fn part(&mut self, laid: &Laid<'_>, map: &PartMap, buttons: bool) {
        // One picture has no parts to point at.
        if !buttons {
            return self.part_itself(laid, map);
        }
        let part = laid.part;
        let group = SvgElement::new("g").with("data-part", part.id.as_str()).holding(titled(&part.name));
        self.group(group, |pen| pen.part_itself(laid, map));
    }

    fn part_itself(&mut self, laid: &Laid<'_>, map: &PartMap) {
        let part = laid.part;
        match part.kind {
            PartKind::Tube | PartKind::Body | PartKind::Fitting => self.tube(laid),
            PartKind::Casing => self.casing(laid),
            PartKind::Piston => self.piston(laid),
            PartKind::RotorCasing => {
                let radius = laid.half(0.5);
                self.circle(tube_class(part), laid.line.at(0.5).at, radius);
                self.circle("jl", laid.line.at(0.5).at, radius * 0.82);
            }
            PartKind::Rotor => {
                let middle = laid.line.at(0.5).at;
                let radius = laid.half(0.5) * 0.5;
                self.circle("fer", middle, radius);
                self.path(
                    "jl",
                    &format!("M{} {}h{}", number(middle.x - radius), number(middle.y), number(2.0 * radius)),
                );
            }
            PartKind::Brace => self.brace(laid),
            PartKind::Key | PartKind::Rod | PartKind::Linkage => self.lever(laid),
            PartKind::Post => self.circle("fer", laid.line.at(0.5).at, laid.half(0.5).max(2.5)),
            PartKind::Spring => self.path("dim", &polyline(laid)),
            PartKind::Pad => self.pad(laid),
            PartKind::ToneHole => self.tone_hole(laid, map),
            PartKind::Guard => self.guard(laid),
            PartKind::TenonCork => self.path("corkj", &outline(laid, 1.0)),
        }
    }

    fn tube(&mut self, laid: &Laid<'_>) {
        let part = laid.part;
        if laid.is_spot() {
            self.circle(tube_class(part), laid.line.at(0.0).at, laid.half(0.5));
            return;
        }
        self.path(tube_class(part), &outline(laid, 1.0));
        if part.material.is_turned() {
            self.path("cl", &outline(laid, 0.62));
        } else {
            self.path("cl", &polyline(laid));
        }
        // The rim of a bell is rolled over a wire: a heavier line.
        let end = laid.line.at(1.0);
        let half = laid.half(1.0);
        let shortly_before = laid.half(0.97);
        if half - shortly_before > 0.08 * half && half > 3.0 * laid.half(0.0) {
            self.path("hot", &stroke(&end, half));
        }
        if part.seam == Seam::Lengthwise && laid.line.length() > 60.0 && half > 16.0 {
            self.path("dim", &beside(laid, 0.45));
        }
    }

    fn casing(&mut self, laid: &Laid<'_>) {
        self.path(tube_class(laid.part), &outline(laid, 1.0));
        self.path("cl", &polyline(laid));
        let long = laid.line.length().max(1.0);
        for away in [12.0, long - 12.0] {
            let sample = laid.line.at(away / long);
            self.path("jl", &stroke(&sample, laid.half_at(&sample)));
        }
    }

    fn piston(&mut self, laid: &Laid<'_>) {
        let (top, foot) = (laid.line.at(0.0), laid.line.at(1.0));
        let half = laid.half(0.5);
        self.path("fer", &outline(laid, 0.28));
        self.ellipse("fer", &top, 3.5, half * 0.7);
        self.path("jl", &stroke(&foot, half * 0.5));
    }

    fn brace(&mut self, laid: &Laid<'_>) {
        let (a, b) = (laid.line.at(0.0), laid.line.at(1.0));
        let off = (laid.line.length() * 0.12).min(8.0);
        let (c1, c2) = (laid.line.at(0.33).beside(off), laid.line.at(0.67).beside(-off));
        self.path(
            "jl b",
            &format!("M{}C{} {} {}", pair(a.at), pair(c1), pair(c2), pair(b.at)),
        );
        for foot in [a, b] {
            self.ellipse("fer", &foot, 3.5, 8.0);
        }
    }

    fn lever(&mut self, laid: &Laid<'_>) {
        let part = laid.part;
        if laid.is_spot() {
            // A ring round a tone hole, or the touch of a key seen from in front.
            self.circle("jl b", laid.line.at(0.0).at, laid.half(0.5));
            return;
        }
        self.path(tube_class(part), &outline(laid, 1.0));
    }

    fn pad(&mut self, laid: &Laid<'_>) {
        let middle = laid.line.at(0.5).at;
        let radius = laid.half(0.5);
        self.circle("tube ns", middle, radius + 1.5);
        self.circle("jl", middle, radius * 0.62);
    }

    fn tone_hole(&mut self, laid: &Laid<'_>, map: &PartMap) {
        let along = laid
            .part
            .sits_on
            .as_ref()
            .and_then(|seat| map.parts.iter().find(|host| host.id == seat.part))
            .and_then(|host| host.layout.as_ref().map(|_| host));
        let turn = along.and_then(|host| {
            let seat = laid.part.sits_on.as_ref()?;
            let line = super::line::Line::through(&host.layout.as_ref()?.line);
            Some((line.at(seat.at_mm / host.length.mm.max(1e-9)), seat.across))
        });
        let radius = laid.half(0.5);
        match turn {
            Some((sample, across)) => {
                // Round the curve of the body a hole is seen foreshortened.
                let seen = (1.0 - across * across).max(0.2).sqrt();
                let sample = Sample { at: laid.line.at(0.0).at, ..sample };
                self.ellipse("fer", &sample, radius, radius * seen);
            }
            None => self.circle("fer", laid.line.at(0.0).at, radius),
        }
    }

    fn guard(&mut self, laid: &Laid<'_>) {
        let middle = laid.line.at(0.5).at;
        let radius = laid.half(0.5);
        self.circle("jl b", middle, radius);
        let foot = |turn: f64| {
            let (sin, cos) = turn.to_radians().sin_cos();
            Point { x: middle.x + radius * cos, y: middle.y + radius * sin }
        };
        for turn in [90.0, 210.0, 330.0] {
            self.path("jl", &format!("M{}L{}", pair(middle), pair(foot(turn))));
            self.circle("fer", foot(turn), 3.0);
        }
    }

    fn joint(&mut self, joint: &Joint, scene: &Scene<'_>, buttons: bool) {
        let Some((laid, sample)) = scene.joint(joint) else { return };
        let Some(other) = scene.laid(&joint.places[1].part) else { return };
        let half = laid.half_at(&sample);
        let tubular = |laid: &Laid<'_>| {
            matches!(laid.part.kind, PartKind::Tube | PartKind::Body | PartKind::Casing | PartKind::RotorCasing | PartKind::Fitting)
                && !laid.is_spot()
        };
        let banded = tubular(laid) && tubular(other) && !laid.at_foot && !other.at_foot;
        let draw = |pen: &mut Self| match joint.held {
            JointKind::Pivot => pen.pivot(&sample),
            _ if !banded => {}
            held => pen.group(SvgElement::new("g").with("transform", turned(&sample)), |pen| pen.band(held, half)),
        };
        if !buttons {
            return draw(self);
        }
        let group = SvgElement::new("g").with("data-joint", joint.id.as_str()).holding(titled(&joint.name));
        self.group(group, draw);
    }

    /// How a tube is held, across it: along the part is to the right.
    fn band(&mut self, held: JointKind, half: f64) {
        match held {
            JointKind::SoftSoldered => {
                let tall = 1.09 * half + 1.0;
                self.rect("fer", Point { x: -4.0, y: -tall }, 8.0, 2.0 * tall);
                self.path("jl", &format!("M1.5 {}V{}", number(-tall), number(tall)));
            }
            JointKind::Brazed => {
                let tall = half + 1.5;
                let mut d = format!("M0 {}V{}", number(-tall), number(tall));
                let count = (2.0 * half / 8.0).floor().clamp(1.0, 12.0);
                let mut k = 0.0;
                while k < count {
                    write!(d, "M-4 {}h8", number(-half + (k + 0.5) * 2.0 * half / count))
                        .expect("writing to a string does not fail");
                    k += 1.0;
                }
                self.path("jl b", &d);
            }
            JointKind::SlideFit => {
                let (up, down) = (number(-half - 2.0), number(half + 2.0));
                self.path("jl", &format!("M-3 {up}V{down}M3 {up}V{down}M-3 {up}h6M-3 {down}h6"));
            }
            JointKind::Threaded => {
                let tall = half + 2.0;
                self.rect("fer", Point { x: -5.0, y: -tall }, 10.0, 2.0 * tall);
                let mut d = String::new();
                for x in [-4.0, -1.0, 2.0] {
                    write!(d, "M{} {}l2 {}", number(x), number(-tall), number(2.0 * tall))
                        .expect("writing to a string does not fail");
                }
                self.path("jl", &d);
            }
            JointKind::TenonAndCork => {
                let tall = half * 0.86;
                self.rect("corkj", Point { x: -7.0, y: -tall }, 14.0, 2.0 * tall);
            }
            // Drawn where it turns, not across the tube.
            JointKind::Pivot => {}
        }
    }

    fn pivot(&mut self, sample: &Sample) {
        self.circle("fer", sample.at, 3.6);
        self.path(
            "jl",
            &format!(
                "M{} {}h5.2M{} {}v5.2",
                number(sample.at.x - 2.6),
                number(sample.at.y),
                number(sample.at.x),
                number(sample.at.y - 2.6)
            ),
        );
    }

    /// A name with its measures; what was measured is underlined.
    fn label(&mut self, label: &Label) {
        if let Some((from, to)) = label.leader {
            self.path("dim lbl", &format!("M{}L{}", pair(from), pair(to)));
            self.circle("dim lbl", to, 2.0);
        }
        for (at, pieces) in &label.rows {
            let mut text = SvgElement::new("text").with("class", "lbl q").with("x", number(at.x)).with("y", number(at.y));
            for (piece, basis) in pieces {
                let span = SvgElement::new("tspan").saying(piece);
                text = text.holding(match basis {
                    Basis::Typical => span,
                    Basis::Measured => span.with("text-decoration", "underline"),
                });
            }
            self.add(text);
        }
    }

    fn mark(&mut self, mark: &CounterMark, at: Point, buttons: bool) {
        let now = if mark.in_hand { " now" } else { "" };
        let group = SvgElement::new("g").with("class", format!("pin mark{now}")).with("data-mark", mark.id.as_str());
        self.group(said(group, buttons, &mark.words), |pen| {
            pen.circle("hd", at, MARK);
            pen.text(Point { x: at.x, y: at.y + 5.5 }, &mark.letter);
        });
    }

    /// A finding of an earlier visit that was settled: a ring, and its words for whoever asks.
    fn trace(&mut self, pin: &Pin, ring: Point, buttons: bool) {
        let group = pinned(pin).with("class", "pin trace");
        self.group(said(group, buttons, &pin.words), |pen| pen.circle("spot", ring, RING));
    }

    fn pin(&mut self, pin: &Pin, placed: &PlacedPin, buttons: bool) {
        let words = format!("{}, {}", pin.head, pin.words);
        let class = match (pin.standing, pin.in_hand) {
            (Standing::ThisVisit, false) => "pin",
            (Standing::ThisVisit, true) => "pin now",
            (Standing::Watched | Standing::Settled, false) => "pin watched",
            (Standing::Watched | Standing::Settled, true) => "pin watched now",
        };
        let group = pinned(pin).with("class", class);
        self.group(said(group, buttons, &words), |pen| pen.head(pin, placed));
    }

    fn head(&mut self, pin: &Pin, placed: &PlacedPin) {
        let (ring, head) = (placed.ring, placed.head);
        self.circle("spot", ring, RING);
        match pin.disposition {
            Disposition::Repair => self.circle("hd fill", head, HEAD),
            Disposition::LeaveAndWatch => {
                self.circle("hd", head, HEAD);
                self.circle("hd thin", head, 12.5);
            }
            Disposition::AnotherVisit => self.rect("hd", Point { x: head.x - 14.0, y: head.y - 14.0 }, 28.0, 28.0),
            Disposition::Declined => {
                self.circle("hd", head, HEAD);
                self.path(
                    "lead",
                    &format!(
                        "M{} {}l8 -8M{} {}l8 -8",
                        number(head.x - 15.5),
                        number(head.y + 15.5),
                        number(head.x + 7.5),
                        number(head.y - 7.5)
                    ),
                );
            }
            Disposition::Undecided => self.path(
                "hd",
                &format!("M{} {}l19 19l-19 19l-19 -19z", number(head.x), number(head.y - 19.0)),
            ),
        }
        let text = SvgElement::new("text").with("x", number(head.x)).with("y", number(head.y + 5.5)).saying(&pin.head);
        // Two signs are written smaller, so that they stay within the inner ring.
        self.add(if pin.head.chars().count() > 1 { text.with("class", "two") } else { text });
    }
}

fn titled(words: &str) -> SvgElement {
    SvgElement::new("title").saying(words)
}

/// The group of a pin, by the finding it stands for.
fn pinned(pin: &Pin) -> SvgElement {
    let group = SvgElement::new("g").with("data-finding", pin.finding.as_str());
    group.with("data-disposition", pin.disposition.to_string())
}

/// A group said aloud: a button of its own, or a title inside the picture.
fn said(group: SvgElement, buttons: bool, words: &str) -> SvgElement {
    if buttons {
        group.with("role", "button").with("tabindex", "0").with("aria-label", words)
    } else {
        group.holding(titled(words))
    }
}

fn tube_class(part: &Part) -> &'static str {
    if part.material == Material::Cork {
        return "corkj";
    }
    if part.material.is_turned() {
        return "fer";
    }
    let silvery = matches!(
        part.material,
        Material::NickelSilverC752
            | Material::NickelSilverC757
            | Material::SilverFine
            | Material::SilverSterling
            | Material::Steel
    ) || matches!(part.finish, Finish::SilverPlated | Finish::NickelPlated);
    if silvery { "tube ns" } else { "tube" }
}

/// The closed outline: the walls as the centre line offset by half the diameter.
fn outline(laid: &Laid<'_>, share: f64) -> String {
    let wall = |sign: f64| -> Vec<Point> {
        laid.line.samples.iter().map(|sample| sample.beside(sign * share * laid.half_at(sample))).collect()
    };
    let mut points = thinned(wall(-1.0));
    let mut back = thinned(wall(1.0));
    back.reverse();
    points.append(&mut back);
    let mut d = path_of(&points);
    d.push('Z');
    d
}

fn polyline(laid: &Laid<'_>) -> String {
    beside(laid, 0.0)
}

/// A line along the part, at a share of its half width.
fn beside(laid: &Laid<'_>, share: f64) -> String {
    path_of(&thinned(laid.line.samples.iter().map(|sample| sample.beside(share * laid.half_at(sample))).collect()))
}

/// A stroke across the part at a sample.
fn stroke(sample: &Sample, half: f64) -> String {
    format!("M{}L{}", pair(sample.beside(-half)), pair(sample.beside(half)))
}

fn path_of(points: &[Point]) -> String {
    let mut d = String::new();
    for (k, point) in points.iter().enumerate() {
        d.push(if k == 0 { 'M' } else { 'L' });
        d.push_str(&pair(*point));
    }
    d
}

/// How far a point may lie from the straight line that replaces it, units: a tenth of a pixel.
const STRAIGHT: f64 = 0.1;

/// Leaves out the points that lie on a straight line between their neighbours.
fn thinned(points: Vec<Point>) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    let mut anchor = 0;
    for k in 0..points.len() {
        if k == 0 || k + 1 == points.len() {
            kept.push(points[k]);
            anchor = k;
            continue;
        }
        let next = points[k + 1];
        let straight = k - anchor < 60
            && points[anchor + 1..=k]
                .iter()
                .all(|point| super::line::from_stretch(*point, points[anchor], next) <= STRAIGHT);
        if !straight {
            kept.push(points[k]);
            anchor = k;
        }
    }
    kept
}

fn turned(sample: &Sample) -> String {
    format!("translate({}) rotate({})", pair(sample.at), number(sample.turn()))
}

fn pair(at: Point) -> String {
    format!("{} {}", number(at.x), number(at.y))
}

/// To a tenth, without a trailing zero or a negative one.
pub(super) fn number(value: f64) -> String {
    let tenths = (value * 10.0).round();
    if tenths == 0.0 {
        return "0".to_owned();
    }
    if tenths % 10.0 == 0.0 { format!("{:.0}", tenths / 10.0) } else { format!("{:.1}", tenths / 10.0) }
}
