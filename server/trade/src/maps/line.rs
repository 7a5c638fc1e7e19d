//! Centre lines: corners with bend radii, sampled with their arc length.

use super::part_map::{Corner, Point};

/// How far apart the samples of a line lie, units of the sheet.
const STEP: f64 = 3.0;
/// The most samples of one line, whatever its corners say.
const MOST_SAMPLES: f64 = 4000.0;

/// A sample of a centre line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Where it lies.
    pub at: Point,
    /// Length of the line up to here.
    pub run: f64,
    /// Unit vector along the line.
    pub along: Point,
}

impl Sample {
    /// The point `off` units to the right of somebody walking along the line.
    pub fn beside(&self, off: f64) -> Point {
        Point { x: self.at.x - self.along.y * off, y: self.at.y + self.along.x * off }
    }

    /// Which way the line goes, degrees, clockwise as seen.
    pub fn turn(&self) -> f64 {
        self.along.y.atan2(self.along.x).to_degrees()
    }
}

/// A sampled centre line.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// At least one sample.
    pub samples: Vec<Sample>,
}

impl Line {
    /// Rounds the corners and samples the line every three units.
    pub fn through(corners: &[Corner]) -> Self {
        let mut points = Vec::new();
        let point = |corner: &Corner| Point { x: corner.x, y: corner.y };
        let count = corners.len();
        for (k, corner) in corners.iter().enumerate() {
            if k == 0 || k + 1 == count || corner.bend <= 0.0 {
                points.push(point(corner));
                continue;
            }
            bend(&mut points, point(&corners[k - 1]), corner, point(&corners[k + 1]), k == 1, k + 2 == count);
        }
        Self { samples: sampled(&points) }
    }

    /// A line of one point, pointing to the right.
    pub fn spot(at: Point) -> Self {
        Self { samples: vec![Sample { at, run: 0.0, along: Point { x: 1.0, y: 0.0 } }] }
    }

    /// Length of the whole line, units.
    pub fn length(&self) -> f64 {
        self.samples.last().map_or(0.0, |last| last.run)
    }

    /// The sample at this share of the length, 0 to 1.
    pub fn at(&self, share: f64) -> Sample {
        let run = share.clamp(0.0, 1.0) * self.length();
        let next = self.samples.partition_point(|sample| sample.run < run);
        let b = self.samples[next.min(self.samples.len() - 1)];
        if next == 0 || b.run - self.samples[next - 1].run < 1e-9 {
            return b;
        }
        let a = self.samples[next - 1];
        let share = (run - a.run) / (b.run - a.run);
        let between = |a: f64, b: f64| a + share * (b - a);
        let along =
            unit(Point { x: between(a.along.x, b.along.x), y: between(a.along.y, b.along.y) }).unwrap_or(b.along);
        Sample { at: Point { x: between(a.at.x, b.at.x), y: between(a.at.y, b.at.y) }, run, along }
    }
}

/// Adds the arc that rounds one corner; the radius shrinks where its neighbours leave no room.
fn bend(points: &mut Vec<Point>, before: Point, corner: &Corner, after: Point, first: bool, last: bool) {
    let here = Point { x: corner.x, y: corner.y };
    let (Some(to), Some(from)) = (unit(less(before, here)), unit(less(after, here))) else {
        points.push(here);
        return;
    };
    let half = ((to.x * from.x + to.y * from.y).clamp(-1.0, 1.0)).acos() / 2.0;
    if !(1e-3..=std::f64::consts::FRAC_PI_2 - 1e-3).contains(&half) {
        points.push(here);
        return;
    }
    let room = |a: Point, whole: bool| {
        let long = length(less(a, here));
        if whole { long } else { long / 2.0 }
    };
    let reach = (corner.bend / half.tan()).min(room(before, first)).min(room(after, last));
    let radius = reach * half.tan();
    let middle = unit(Point { x: to.x + from.x, y: to.y + from.y }).unwrap_or(to);
    let away = radius / half.sin();
    let centre = Point { x: here.x + middle.x * away, y: here.y + middle.y * away };
    let start = Point { x: here.x + to.x * reach, y: here.y + to.y * reach };
    let end = Point { x: here.x + from.x * reach, y: here.y + from.y * reach };
    let angle = |p: Point| (p.y - centre.y).atan2(p.x - centre.x);
    let begin = angle(start);
    let mut sweep = angle(end) - begin;
    if sweep > std::f64::consts::PI {
        sweep -= std::f64::consts::TAU;
    } else if sweep < -std::f64::consts::PI {
        sweep += std::f64::consts::TAU;
    }
    let steps = (sweep.abs() * radius / STEP).ceil().clamp(4.0, 400.0);
    let mut step = 0.0;
    while step <= steps {
        let turned = begin + sweep * step / steps;
        points.push(Point { x: centre.x + radius * turned.cos(), y: centre.y + radius * turned.sin() });
        step += 1.0;
    }
}

fn sampled(points: &[Point]) -> Vec<Sample> {
    let mut dense: Vec<Point> = Vec::new();
    let whole: f64 = points.windows(2).map(|pair| length(less(pair[1], pair[0]))).sum();
    let step = STEP.max(whole / MOST_SAMPLES);
    for pair in points.windows(2) {
        let long = length(less(pair[1], pair[0]));
        if long < 1e-6 {
            continue;
        }
        let pieces = (long / step).ceil().max(1.0);
        let mut piece = 0.0;
        while piece < pieces {
            let share = piece / pieces;
            dense.push(Point {
                x: pair[0].x + share * (pair[1].x - pair[0].x),
                y: pair[0].y + share * (pair[1].y - pair[0].y),
            });
            piece += 1.0;
        }
    }
    dense.extend(points.last());
    let mut run = 0.0;
    (0..dense.len())
        .map(|k| {
            if k > 0 {
                run += length(less(dense[k], dense[k - 1]));
            }
            let (a, b) = (dense[k.saturating_sub(1)], dense[(k + 1).min(dense.len() - 1)]);
            Sample { at: dense[k], run, along: unit(less(b, a)).unwrap_or(Point { x: 1.0, y: 0.0 }) }
        })
        .collect()
}

/// `a − b`.
pub fn less(a: Point, b: Point) -> Point {
    Point { x: a.x - b.x, y: a.y - b.y }
}

/// Length of a vector.
pub fn length(a: Point) -> f64 {
    a.x.hypot(a.y)
}

/// The vector at length one; `None` for one that has no direction.
pub fn unit(a: Point) -> Option<Point> {
    let long = length(a);
    (long > 1e-9).then(|| Point { x: a.x / long, y: a.y / long })
}

/// How far a point lies from a stretch.
pub fn from_stretch(p: Point, a: Point, b: Point) -> f64 {
    let along = less(b, a);
    let square = along.x * along.x + along.y * along.y;
    let share = if square < 1e-12 {
        0.0
    } else {
        (((p.x - a.x) * along.x + (p.y - a.y) * along.y) / square).clamp(0.0, 1.0)
    };
    length(less(p, Point { x: a.x + share * along.x, y: a.y + share * along.y }))
}
