//! Whether the readings of a pressure test are one steady fall, or two stretches that differ.
//!
//! A slope through everything says nothing where the pump was still on for half of the time: up and
//! down again come out as tight. So the readings are laid beside the curve that fits best, and what
//! is left over is asked whether two straight stretches explain it much better than one.

use super::straight_line::{StraightLine, count_as_f64};

/// Fewer readings than this in a stretch show no slope of their own.
const LEAST_IN_STRETCH: usize = 3;
/// With fewer readings little is left to know their scatter by, and then what leaves the curve by so
/// many times what would be told otherwise counts (chosen; a hand reads to a step or two).
const FEWEST_READINGS: usize = 8;
const OF_FEW_READINGS: f64 = 3.0;
/// So rarely may readings that scatter at random about one curve be called two stretches (chosen).
const FALSE_ALARM: f64 = 1e-3;
/// Readings below this part of the highest begin the fit of a curve as if they were so high.
const LEAST_TO_BEGIN_WITH: f64 = 1e-2;
/// Steps of improvement of a fitted curve; each mostly gains two figures.
const MOST_STEPS: usize = 12;

/// Two stretches of readings that are no one fall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TwoStretches {
    /// The last reading of the first stretch.
    pub(super) last_of_first: usize,
    /// What happened.
    pub(super) what: Break,
}

/// How two stretches differ. Pressures in Pa, slopes in Pa/s, downward negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Break {
    /// The first stretch rises, by so much.
    FirstRises(f64),
    /// The second stretch rises, by so much.
    SecondRises(f64),
    /// Between them it jumps, by so much; down is negative.
    Jumps(f64),
    /// Both fall or stand, at different speed.
    Bends(f64, f64),
}

/// Where `(seconds, Pa)` readings, at least five with rising times, leave one steady fall.
///
/// The curve is the best of three falls: of an even leak, of one through an orifice, and of one
/// through a narrow path (straight, a square, an exponential). What is left over is split at every
/// place, and the best split is believed where random scatter would give as good a one at any place
/// in fewer than one log of a thousand: `P(F₂,ν > f) = (RSS₂/RSS₁)^(ν/2)` with ν = n − 4, times the
/// number of places.
///
/// * `step_pa`: what rounding hides, of the gauge and of a thermometer brought to pressure.
/// * `least_pa`: what lies nearer to the curve than this is not told, however sure.
///
/// Source: Chow (1960) for one place, Quandt (1960) for the best of all, Bonferroni for their number;
/// why leftovers are to be looked at in order: NIST/SEMATECH e-Handbook 4.4.4, how to tell whether a
/// model fits the data.
pub(super) fn two_stretches(points: &[(f64, f64)], step_pa: f64, least_pa: f64) -> Option<TwoStretches> {
    let n = points.len();
    if n < FEWEST_READINGS {
        return of_few(points, OF_FEW_READINGS * least_pa);
    }
    let left_over = left_over(points)?;
    let at = |index: usize| (points[index].0, left_over[index]);
    // Rounding leaves this much whatever the readings do, and in a slow fall it is no random scatter.
    let floor = count_as_f64(n) * step_pa.powi(2) / 12.0;
    let count = count_as_f64(n + 1 - 2 * LEAST_IN_STRETCH);
    let (split, both, whole) = best_split(&left_over, points, LEAST_IN_STRETCH)?;
    let (one, two) = (whole.max(floor), both.max(floor));
    if one <= 0.0 || count * (two / one).powf((count_as_f64(n) - 4.0) / 2.0) >= FALSE_ALARM {
        return None;
    }
    let away = |from: usize, to: usize| {
        let line = StraightLine::through((from..to).map(at));
        line.map_or(0.0, |line| line.at(points[from].0).abs().max(line.at(points[to - 1].0).abs()))
    };
    if away(0, split).max(away(split, n)) <= least_pa {
        return None;
    }
    told(points, split, least_pa)
}

/// The place before which the two stretches leave least, what they leave, and what one leaves.
fn best_split(left_over: &[f64], points: &[(f64, f64)], least_in: usize) -> Option<(usize, f64, f64)> {
    let (whole, sums) = Sums::of(left_over, points);
    let both = |split: usize| sums[split].about_line() + whole.less(&sums[split]).about_line();
    let places = least_in..=points.len().checked_sub(least_in)?;
    let (split, left) = places.map(|split| (split, both(split))).min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((split, left, whole.about_line()))
}

fn told(points: &[(f64, f64)], split: usize, least_pa: f64) -> Option<TwoStretches> {
    let what = what(points, split, least_pa)?;
    // The turn itself belongs to the rise.
    Some(match what {
        Break::FirstRises(rise) if split < points.len() - 1 && points[split].1 > points[split - 1].1 => {
            let longer = (points[split].0 - points[0].0) / (points[split - 1].0 - points[0].0);
            TwoStretches { last_of_first: split, what: Break::FirstRises(rise * longer) }
        }
        _ => TwoStretches { last_of_first: split - 1, what },
    })
}

/// What the two stretches of the readings themselves do.
fn what(points: &[(f64, f64)], split: usize, least_pa: f64) -> Option<Break> {
    let (first, second) = (&points[..split], &points[split..]);
    let (one, two) = (StraightLine::through(first.iter().copied())?, StraightLine::through(second.iter().copied())?);
    let long = |stretch: &[(f64, f64)]| stretch.last().map_or(0.0, |last| last.0 - stretch[0].0);
    let rises = |line: &StraightLine, stretch: &[(f64, f64)]| {
        let rise = line.slope * long(stretch);
        (rise > least_pa && line.slope > 2.0 * line.residual_sd / line.s_xx.sqrt()).then_some(rise)
    };
    let (before, after) = (points[split - 1].0, points[split].0);
    let jump = two.at(after) - one.at(before) - f64::midpoint(one.slope, two.slope) * (after - before);
    let bend = (two.slope - one.slope).abs() * long(first).min(long(second));
    // A stretch that jumped up has not risen.
    Some(match (rises(&one, first), rises(&two, second)) {
        (Some(rise), _) if rise > jump.abs() => Break::FirstRises(rise),
        (_, Some(rise)) if rise > jump.abs() => Break::SecondRises(rise),
        _ if jump.abs() > least_pa && jump.abs() >= bend => Break::Jumps(jump),
        _ => Break::Bends(one.slope, two.slope),
    })
}

/// Of few readings: the greatest rise from one to a later one, where something falls as well; else
/// what lies far from the curve.
fn of_few(points: &[(f64, f64)], least_pa: f64) -> Option<TwoStretches> {
    let rise = |from: usize, to: usize| points[to].1 - points[from].1;
    let pairs = (0..points.len()).flat_map(|from| (from + 1..points.len()).map(move |to| (from, to)));
    let (from, to) = pairs.max_by(|a, b| rise(a.0, a.1).total_cmp(&rise(b.0, b.1)))?;
    let pa = rise(from, to);
    let last = points.len() - 1;
    if pa > least_pa && to < last {
        return Some(TwoStretches { last_of_first: to, what: Break::FirstRises(pa) });
    }
    if pa > least_pa && from > 0 {
        return Some(TwoStretches { last_of_first: from, what: Break::SecondRises(pa) });
    }
    let left_over = left_over(points)?;
    if left_over.iter().all(|pa| pa.abs() <= least_pa) {
        return None;
    }
    told(points, best_split(&left_over, points, 2)?.0, least_pa)
}

/// Sums of readings about one origin, by which a line's leftovers are had without going through them again.
#[derive(Clone, Copy, Default)]
struct Sums {
    n: f64,
    x: f64,
    y: f64,
    xx: f64,
    xy: f64,
    yy: f64,
}

impl Sums {
    /// Of all readings, and of those before each place.
    fn of(left_over: &[f64], points: &[(f64, f64)]) -> (Self, Vec<Self>) {
        let (first, last) = (points[0].0, points[points.len() - 1].0);
        let mut sums = vec![Self::default()];
        let mut all = Self::default();
        for (&y, &(t, _)) in left_over.iter().zip(points) {
            // About the middle and of length one, so that nothing large is subtracted from something large.
            let x = (t - first) / (last - first) - 0.5;
            all = Self { n: all.n + 1.0, x: all.x + x, y: all.y + y, xx: all.xx + x * x, xy: all.xy + x * y, yy: all.yy + y * y };
            sums.push(all);
        }
        (all, sums)
    }

    fn less(&self, other: &Self) -> Self {
        Self {
            n: self.n - other.n,
            x: self.x - other.x,
            y: self.y - other.y,
            xx: self.xx - other.xx,
            xy: self.xy - other.xy,
            yy: self.yy - other.yy,
        }
    }

    /// Sum of squares about their own straight line.
    fn about_line(&self) -> f64 {
        let s_xx = self.xx - self.x * self.x / self.n;
        let s_xy = self.xy - self.x * self.y / self.n;
        let s_yy = self.yy - self.y * self.y / self.n;
        (if s_xx > 0.0 { s_yy - s_xy * s_xy / s_xx } else { s_yy }).max(0.0)
    }
}

/// A law by which closed air falls towards the room's pressure: p = f(a + b x).
#[derive(Clone, Copy)]
enum Fall {
    Straight,
    Square,
    Exponential,
}

impl Fall {
    fn at(self, z: f64) -> f64 {
        match self {
            Self::Straight => z,
            Self::Square => z * z,
            Self::Exponential => z.exp(),
        }
    }

    fn slope(self, z: f64) -> f64 {
        match self {
            Self::Straight => 1.0,
            Self::Square => 2.0 * z,
            Self::Exponential => z.exp(),
        }
    }

    fn back(self, p: f64) -> f64 {
        match self {
            Self::Straight => p,
            Self::Square => p.sqrt(),
            Self::Exponential => p.ln(),
        }
    }

    /// What is left over of the readings, by least squares in Pa: Gauss–Newton from the straight
    /// line through what the law makes straight.
    fn left_over(self, points: &[(f64, f64)]) -> Option<Vec<f64>> {
        let (first, last) = (points.first()?.0, points.last()?.0);
        let x = |t: f64| (t - first) / (last - first);
        // Once the air is gone rounding reads below nothing too, where no root and no logarithm begins.
        let least = points.iter().map(|&(_, p)| p).fold(0.0, f64::max) * LEAST_TO_BEGIN_WITH;
        let line = StraightLine::through(points.iter().map(|&(t, p)| (x(t), self.back(p.max(least)))))?;
        let (mut a, mut b) = (line.at(0.0), line.slope);
        let left = |a: f64, b: f64| points.iter().map(|&(t, p)| p - self.at(a + b * x(t))).collect::<Vec<f64>>();
        let mut best = left(a, b);
        for _ in 0..MOST_STEPS {
            let (mut jj, mut jjx, mut jjxx, mut jr, mut jrx) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for (&(t, _), &r) in points.iter().zip(&best) {
                let x = x(t);
                let j = self.slope(a + b * x);
                jj += j * j;
                jjx += j * j * x;
                jjxx += j * j * x * x;
                jr += j * r;
                jrx += j * r * x;
            }
            let det = jj * jjxx - jjx * jjx;
            let (da, db) = ((jjxx * jr - jjx * jrx) / det, (jj * jrx - jjx * jr) / det);
            let next = left(a + da, b + db);
            // Not a number is no gain.
            if squares(&next) < squares(&best) {
                (a, b, best) = (a + da, b + db, next);
            } else {
                break;
            }
        }
        // A square that went through nothing would rise again.
        let turns = matches!(self, Self::Square) && a.min(a + b) < 0.0;
        (squares(&best).is_finite() && !turns).then_some(best)
    }
}

fn squares(values: &[f64]) -> f64 {
    values.iter().map(|value| value * value).sum()
}

/// What is left over of the readings beside the fall that fits best; suction has no law of its own.
fn left_over(points: &[(f64, f64)]) -> Option<Vec<f64>> {
    let is_pressure = points.iter().any(|&(_, p)| p > 0.0);
    let laws: &[Fall] = if is_pressure { &[Fall::Straight, Fall::Square, Fall::Exponential] } else { &[Fall::Straight] };
    laws.iter().filter_map(|law| law.left_over(points)).min_by(|a, b| squares(a).total_cmp(&squares(b)))
}
