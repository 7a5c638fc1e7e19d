//! Roundness from points all round.

use super::{LOBES_NOTE, entries};
use crate::bench::straight_line::count_as_f64;
use crate::calculation::{Node, Reading, Refused};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;

/// The least-squares circle through measured points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Circle {
    /// Centre, mm.
    pub centre_x_mm: f64,
    /// Centre, mm.
    pub centre_y_mm: f64,
    /// Radius, mm.
    pub radius_mm: f64,
    /// Twice the radius, mm.
    pub diameter_mm: f64,
    /// Farthest less nearest distance from the centre, mm.
    pub roundness_mm: f64,
    /// Root of the mean square distance from the circle, mm.
    pub rms_mm: f64,
}

/// Points flatter than this (height over length, squared) lie on a line: a tenth of a
/// nanometre in a millimetre.
const FLATTEST: f64 = 1e-14;
/// Where the search for the centre ends, in sizes of the figure.
const CLOSE_ENOUGH: f64 = 1e-13;
const MOST_ROUNDS: usize = 1_000;
/// What rounding leaves of a distance, as a share of it: a sum of squares within this tells
/// nothing any more. Three points always come to it, since a circle passes through them.
const ROUNDING: f64 = 4.0 * f64::EPSILON;
/// A centre farther away than this, in sizes of the figure, is a line's.
const FARTHEST: f64 = 1e7;

/// The circle that makes the sum of the squared distances of the points from it least.
///
/// `points` in mm, at least three. `None` when they lie on a line, or no circle is best
/// (the best one grows into a line).
///
/// Levenberg–Marquardt on the centre alone, since for a given centre the mean distance is the
/// best radius; started from the algebraic circle.
/// Source: least-squares reference circle of ISO 12181; Gander, Golub and Strebel 1994.
#[must_use]
pub fn circle_through(points: &[(f64, f64)]) -> Option<Circle> {
    let n = count_as_f64(points.len());
    let mean = points.iter().fold((0.0, 0.0), |(x, y), point| (x + point.0 / n, y + point.1 / n));
    let scatter =
        points.iter().map(|p| (p.0 - mean.0).powi(2) + (p.1 - mean.1).powi(2)).sum::<f64>() / n;
    let size = scatter.sqrt();
    if points.len() < 3 || !(size > 0.0 && size.is_finite()) {
        return None;
    }
    let unit: Vec<(f64, f64)> =
        points.iter().map(|p| ((p.0 - mean.0) / size, (p.1 - mean.1) / size)).collect();

    let mut centre = algebraic_centre(&unit)?;
    let mut squares = Distances::from(&unit, centre).squares;
    let mut damping = 0.0;
    for _ in 0..MOST_ROUNDS {
        let step = step_towards(&unit, centre, damping)?;
        let next = (centre.0 + step.0, centre.1 + step.1);
        let next_squares = Distances::from(&unit, next).squares;
        let is_small = step.0.hypot(step.1) <= CLOSE_ENOUGH * (1.0 + centre.0.hypot(centre.1));
        // Within rounding of the least sum a step is right although the sum no longer tells.
        if next_squares <= squares * (1.0 + 1e-12) || is_small {
            (centre, squares) = (next, next_squares);
            damping *= 0.1;
        } else {
            damping = (damping * 10.0).max(1e-6);
        }
        if centre.0.hypot(centre.1) > FARTHEST {
            return None;
        }
        let rounding =
            count_as_f64(unit.len()) * (ROUNDING * (1.0 + centre.0.hypot(centre.1))).powi(2);
        if is_small || squares <= rounding {
            return Some(found(&unit, centre, mean, size));
        }
    }
    None
}

fn found(unit: &[(f64, f64)], centre: (f64, f64), mean: (f64, f64), size: f64) -> Circle {
    let distances = Distances::from(unit, centre);
    let (least, most) = distances
        .all
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, m), d| (l.min(*d), m.max(*d)));
    Circle {
        centre_x_mm: mean.0 + centre.0 * size,
        centre_y_mm: mean.1 + centre.1 * size,
        radius_mm: distances.mean * size,
        diameter_mm: 2.0 * distances.mean * size,
        roundness_mm: (most - least) * size,
        rms_mm: (distances.squares / count_as_f64(unit.len())).sqrt() * size,
    }
}

/// Distances of the points from a centre.
struct Distances {
    all: Vec<f64>,
    mean: f64,
    /// Sum of the squares of what they differ from their mean.
    squares: f64,
}

impl Distances {
    fn from(points: &[(f64, f64)], centre: (f64, f64)) -> Self {
        let all: Vec<f64> = points.iter().map(|p| (p.0 - centre.0).hypot(p.1 - centre.1)).collect();
        let mean = all.iter().sum::<f64>() / count_as_f64(all.len());
        let squares = all.iter().map(|d| (d - mean).powi(2)).sum();
        Self { all, mean, squares }
    }
}

/// Centre of the circle that makes the sum of (ρ² − R²)² least: near the wanted one, and linear.
/// Points about their mean; `None` when they lie on a line.
fn algebraic_centre(points: &[(f64, f64)]) -> Option<(f64, f64)> {
    let (mut xx, mut xy, mut yy, mut bx, mut by) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for &(x, y) in points {
        let square = x * x + y * y;
        xx += x * x;
        xy += x * y;
        yy += y * y;
        bx += x * square / 2.0;
        by += y * square / 2.0;
    }
    // Product of the two principal scatters over the square of their sum.
    let det = xx * yy - xy * xy;
    (det > FLATTEST * (xx + yy).powi(2))
        .then(|| ((bx * yy - by * xy) / det, (by * xx - bx * xy) / det))
}

/// One damped Gauss–Newton step of the centre.
fn step_towards(points: &[(f64, f64)], centre: (f64, f64), damping: f64) -> Option<(f64, f64)> {
    let distances = Distances::from(points, centre);
    let n = count_as_f64(points.len());
    // A point on the centre has no direction; it pulls nowhere.
    let direction = |p: &(f64, f64), d: f64| {
        if d > 0.0 { ((p.0 - centre.0) / d, (p.1 - centre.1) / d) } else { (0.0, 0.0) }
    };
    let towards: Vec<(f64, f64)> =
        points.iter().zip(&distances.all).map(|(p, d)| direction(p, *d)).collect();
    let mean = towards.iter().fold((0.0, 0.0), |(x, y), u| (x + u.0 / n, y + u.1 / n));
    let (mut xx, mut xy, mut yy, mut gx, mut gy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (u, d) in towards.iter().zip(&distances.all) {
        let (ux, uy, off) = (u.0 - mean.0, u.1 - mean.1, d - distances.mean);
        xx += ux * ux;
        xy += ux * uy;
        yy += uy * uy;
        gx += ux * off;
        gy += uy * off;
    }
    let (xx, yy) = (xx + damping * (xx + yy), yy + damping * (xx + yy));
    let det = xx * yy - xy * xy;
    let step = ((gx * yy - gy * xy) / det, (gy * xx - gx * xy) / det);
    (step.0.is_finite() && step.1.is_finite()).then_some(step)
}

pub(super) fn answer(reading: &mut Reading, input: &Node<'_>) -> Result<Value, Refused> {
    let mut answer = json!(circle_read(reading, input)?);
    answer["notes"] = json!([LOBES_NOTE]);
    Ok(answer)
}

/// The circle through the points of an input.
///
/// # Errors
/// `invalid-input` or `not-computable`.
pub(in crate::bench) fn circle_from(input: &Value) -> Result<Circle, Refused> {
    circle_read(&mut Reading::default(), &Node::root(input))
}

fn circle_read(reading: &mut Reading, input: &Node<'_>) -> Result<Circle, Refused> {
    reading.object(input, &["kind", "points_mm"]);
    let points: Vec<(f64, f64)> = entries(reading, input, "points_mm", 3)
        .iter()
        .filter_map(|node| match node.elements().as_slice() {
            [x, y] => {
                let x = reading.number_at(x, -10_000.0..=10_000.0);
                let y = reading.number_at(y, -10_000.0..=10_000.0);
                Some((x?, y?))
            }
            _ => {
                reading.fault(&node.pointer, "must be a list of two numbers, x and y");
                None
            }
        })
        .collect();
    reading.done()?;
    circle_through(&points).ok_or_else(|| {
        Refused::new("not-computable")
            .at("/points_mm", "lie on a line, or so nearly that no circle fits best")
    })
}
