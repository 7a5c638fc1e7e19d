//! What closed orders say of those that are open.

use super::{ENOUGH, Kind, typical};
use crate::bench::promise_date::{ApprovalWait, EstimateRatio, TestHistory};
use crate::bench::three_point::ThreePoint;
use crate::words::business_time::Calendar;
use crate::words::instrument::Family;
use crate::words::stage::Stage;
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// How long an owner took to answer, or has not answered.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Wait {
    /// Days of 86,400 s.
    pub days: f64,
    /// Whether an answer ended it.
    pub answered: bool,
}

/// A finished step with its clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StepDone {
    /// As estimated: low, typical, high minutes.
    pub minutes: [i32; 3],
    /// As taken.
    pub taken_minutes: f64,
}

/// A closed order whose work was finished.
#[derive(Debug, Clone, PartialEq)]
pub struct ClosedOrder {
    /// What it was.
    pub family: Family,
    /// Every arrival at a stage, from the check-in to when it was first ready for pickup.
    pub moves: Vec<(Stage, DateTime<Utc>)>,
    /// When it was first ready for pickup.
    pub ready_at: DateTime<Utc>,
    /// From when to when it was held.
    pub holds: Vec<(DateTime<Utc>, DateTime<Utc>)>,
    /// Typical minutes of all its steps together.
    pub planned_minutes: i32,
    /// Minutes by the clock of all its steps together.
    pub worked_minutes: f64,
    /// What its steps and parts came to, tax included, if anything was accepted.
    pub cost: Option<Decimal>,
}

/// Everything of the past that a forecast looks at, as recorded.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct HistoryRows {
    /// Quotes sent, answered or not.
    pub waits: Vec<Wait>,
    /// Leak tests that passed.
    pub passed: u32,
    /// Leak tests that failed.
    pub failed: u32,
    /// Finished steps.
    pub steps: Vec<StepDone>,
    /// Closed orders whose work was finished; those done at the counter are left out.
    pub orders: Vec<ClosedOrder>,
}

/// Minutes of whole orders: the 5, 50 and 95 % quantiles.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct OrderMinutes {
    /// Of which family; none: of all.
    pub family: Option<Family>,
    /// Orders that it rests on.
    pub count: usize,
    /// Low, typical, high.
    pub minutes: [f64; 3],
}

/// What closed orders of a family cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct CostRange {
    /// Which family.
    pub family: Family,
    /// Orders that it rests on.
    pub count: usize,
    /// One in twenty cost less, tax included, in the shop's currency.
    pub low: Decimal,
    /// Half of them cost less.
    pub middle: Decimal,
    /// One in twenty cost more.
    pub high: Decimal,
}

/// Days that closed orders lay in the shop's own turn from a stage on: neither held, nor waiting for
/// an answer, nor worked on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Lies {
    /// From their arrival at this stage until they were ready.
    pub stage: Stage,
    /// Low, typical and high days of 86,400 s: the 5 and 95 % quantiles, and between them what
    /// gives the mean.
    pub days: [f64; 3],
    /// Typical below [`ENOUGH`] closed orders.
    pub kind: Kind,
}

/// Working days that closed orders still needed from a stage on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Reach {
    /// From their arrival at this stage.
    pub stage: Stage,
    /// 17 of 20 needed no more.
    pub reach_days: f64,
    /// Typical below [`ENOUGH`] closed orders.
    pub kind: Kind,
    /// Closed orders that went through this stage.
    pub count: usize,
}

/// What closed orders say, summed up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct History {
    /// Closed orders whose work was finished.
    pub closed_orders_count: usize,
    /// Waits for an owner's answer.
    pub waits: Vec<Wait>,
    /// Leak tests that passed.
    pub passed: u32,
    /// Leak tests that failed.
    pub failed: u32,
    /// Mean and standard deviation of log (taken / estimated minutes); none below [`ENOUGH`] steps.
    pub estimate_ratio: Option<(f64, f64)>,
    /// Finished steps that were looked at.
    pub steps_count: usize,
    /// Minutes of whole orders, first of all, then by family.
    pub order_minutes: Vec<OrderMinutes>,
    /// What closed orders cost, by family.
    pub costs: Vec<CostRange>,
    /// Working days still needed, by stage.
    pub reach: Vec<Reach>,
    /// Days that an order lies, by stage.
    pub lies: Vec<Lies>,
}

/// Orders of one family from which its own minutes and costs are taken; below, all families
/// together say more.
const ENOUGH_OF_FAMILY: usize = 5;

/// Stages from which an order still needs something.
const ON_THE_WAY: [Stage; 5] =
    [Stage::Intake, Stage::Diagnosis, Stage::Approval, Stage::Bench, Stage::LeakTest];

impl History {
    /// Sums up what is recorded, in the days of this calendar.
    #[must_use]
    pub fn of(rows: &HistoryRows, calendar: &Calendar) -> Self {
        let families = families(&rows.orders);
        let mut order_minutes: Vec<OrderMinutes> =
            minutes_of(rows.orders.iter(), None).into_iter().collect();
        order_minutes.extend(families.iter().filter_map(|family| {
            let alike = rows.orders.iter().filter(|order| order.family == *family);
            minutes_of(alike, Some(*family)).filter(|found| found.count >= ENOUGH_OF_FAMILY)
        }));
        Self {
            closed_orders_count: rows.orders.len(),
            waits: rows.waits.clone(),
            passed: rows.passed,
            failed: rows.failed,
            estimate_ratio: estimate_ratio(&rows.steps),
            steps_count: rows.steps.len(),
            order_minutes,
            costs: families.iter().filter_map(|family| cost_of(&rows.orders, *family)).collect(),
            reach: ON_THE_WAY.iter().filter_map(|stage| reach(&rows.orders, *stage, calendar)).collect(),
            lies: ON_THE_WAY.iter().filter_map(|stage| lies(&rows.orders, *stage)).collect(),
        }
    }

    /// Owners' answers among the waits.
    #[must_use]
    pub fn answers_count(&self) -> usize {
        self.waits.iter().filter(|wait| wait.answered).count()
    }

    /// Leak tests that are known of.
    #[must_use]
    pub fn tests_count(&self) -> usize {
        (self.passed + self.failed) as usize
    }

    /// Whether the shop's own owners say how long they take to answer.
    #[must_use]
    pub fn has_own_waits(&self) -> bool {
        self.answers_count() >= ENOUGH
    }

    /// What orders of this family cost; none below five of them.
    #[must_use]
    pub fn cost(&self, family: Family) -> Option<&CostRange> {
        self.costs.iter().find(|cost| cost.family == family)
    }

    /// Minutes of an order of this family of which nothing is planned yet.
    pub(super) fn minutes_of(&self, family: Family) -> [f64; 3] {
        if self.closed_orders_count < ENOUGH {
            return typical::ORDER_MINUTES;
        }
        let of = |family| self.order_minutes.iter().find(|minutes| minutes.family == family);
        of(Some(family)).or_else(|| of(None)).map_or(typical::ORDER_MINUTES, |found| found.minutes)
    }

    /// Days that an order still lies from its arrival at this stage on; none: it is taken up at once.
    pub(super) fn lies_from(&self, stage: Stage) -> [f64; 3] {
        self.lies.iter().find(|lies| lies.stage == stage).map_or([0.0; 3], |lies| lies.days)
    }

    pub(super) fn approval_waits(&self) -> Vec<ApprovalWait> {
        self.waits.iter().map(|wait| ApprovalWait { days: wait.days, answered: wait.answered }).collect()
    }

    pub(super) fn tests(&self) -> TestHistory {
        TestHistory { passed: self.passed, failed: self.failed }
    }

    pub(super) fn ratio(&self) -> EstimateRatio {
        self.estimate_ratio
            .map_or(EstimateRatio::default(), |(log_mean, log_sd)| EstimateRatio { log_mean, log_sd })
    }
}

fn families(orders: &[ClosedOrder]) -> Vec<Family> {
    let mut families: Vec<Family> = orders.iter().map(|order| order.family).collect();
    families.sort_unstable();
    families.dedup();
    families
}

fn minutes_of<'o>(
    orders: impl Iterator<Item = &'o ClosedOrder>,
    family: Option<Family>,
) -> Option<OrderMinutes> {
    let mut minutes: Vec<i32> =
        orders.map(|order| order.planned_minutes).filter(|minutes| *minutes > 0).collect();
    minutes.sort_unstable();
    let at = |of_hundred| element(&minutes, of_hundred).map(|found| f64::from(*found));
    Some(OrderMinutes { family, count: minutes.len(), minutes: [at(5)?, at(50)?, at(95)?] })
}

fn cost_of(orders: &[ClosedOrder], family: Family) -> Option<CostRange> {
    let mut costs: Vec<Decimal> =
        orders.iter().filter(|order| order.family == family).filter_map(|order| order.cost).collect();
    costs.sort_unstable();
    if costs.len() < ENOUGH_OF_FAMILY {
        return None;
    }
    let at = |of_hundred| element(&costs, of_hundred).copied();
    Some(CostRange { family, count: costs.len(), low: at(5)?, middle: at(50)?, high: at(95)? })
}

/// Element ⌈q·n⌉, counted from 1, of a sorted list.
fn element<T>(sorted: &[T], of_hundred: usize) -> Option<&T> {
    sorted.get((of_hundred * sorted.len()).div_ceil(100).max(1) - 1)
}

/// Taken over estimated minutes, in logarithms. What the three points already say of the spread
/// is taken off, so that it does not count twice.
fn estimate_ratio(steps: &[StepDone]) -> Option<(f64, f64)> {
    let mut logs = Vec::new();
    let mut inner = 0.0;
    for step in steps {
        let [low, typical, high] = step.minutes.map(f64::from);
        let Some(estimate) = ThreePoint::new(low, typical, high) else { continue };
        if estimate.mean() <= 0.0 || step.taken_minutes <= 0.0 {
            continue;
        }
        logs.push((step.taken_minutes / estimate.mean()).ln());
        inner += estimate.variance() / (estimate.mean() * estimate.mean());
    }
    if logs.len() < ENOUGH {
        return None;
    }
    let n = logs.len() as f64;
    let mean = logs.iter().sum::<f64>() / n;
    let variance = logs.iter().map(|log| (log - mean) * (log - mean)).sum::<f64>() / (n - 1.0);
    // One factor holds for all steps of an order; the computation takes −5…5 and 0…3.
    Some((mean.clamp(-5.0, 5.0), (variance - inner / n).max(0.0).sqrt().min(3.0)))
}

fn reach(orders: &[ClosedOrder], stage: Stage, calendar: &Calendar) -> Option<Reach> {
    let mut days: Vec<usize> = orders
        .iter()
        .filter_map(|order| {
            let at = order.first_at(stage)?;
            Some(working_days(calendar, at, order.ready_at))
        })
        .collect();
    let count = days.len();
    if count < ENOUGH {
        let reach_days = typical::reach_days(stage)?;
        return Some(Reach { stage, reach_days, kind: Kind::Typical, count });
    }
    let reach_days = quantile_of_days(&mut days, 85)? as f64;
    Some(Reach { stage, reach_days, kind: Kind::Own, count })
}

impl ClosedOrder {
    /// When it first arrived at a stage.
    #[must_use]
    pub fn first_at(&self, stage: Stage) -> Option<DateTime<Utc>> {
        self.moves.iter().find(|(arrived, _)| *arrived == stage).map(|(_, at)| *at)
    }

    /// Days that it lay in the shop's turn from this instant on.
    fn lay_from(&self, begin: DateTime<Utc>) -> f64 {
        let ends = self.moves.iter().skip(1).map(|(_, at)| *at).chain([self.ready_at]);
        let seconds: i64 = self
            .moves
            .iter()
            .zip(ends)
            .filter(|((stage, at), _)| *stage != Stage::Approval && *at >= begin)
            .map(|((_, from), to)| {
                let held: i64 = self
                    .holds
                    .iter()
                    .map(|(held, lifted)| ((*lifted).min(to) - (*held).max(*from)).num_seconds().max(0))
                    .sum();
                ((to - *from).num_seconds() - held).max(0)
            })
            .sum();
        seconds as f64 / 86_400.0
    }
}

fn lies(orders: &[ClosedOrder], stage: Stage) -> Option<Lies> {
    let mut days: Vec<f64> = orders
        .iter()
        .filter_map(|order| {
            let begin = order.first_at(stage)?;
            // All work is done on the bench or after a failed test, so it lies after each stage's
            // beginning but the last one's, where it is nearly all done.
            let worked = if stage == Stage::LeakTest { 0.0 } else { order.worked_minutes / 1440.0 };
            Some((order.lay_from(begin) - worked).max(0.0))
        })
        .collect();
    if days.len() < ENOUGH {
        return typical::lies_days(stage).map(|days| Lies { stage, days, kind: Kind::Typical });
    }
    days.sort_unstable_by(f64::total_cmp);
    let mean = days.iter().sum::<f64>() / days.len() as f64;
    let (low, high) = (*element(&days, 5)?, *element(&days, 95)?);
    // PERT's mean is (low + 4 typical + high)/6.
    let typical = ((6.0 * mean - low - high) / 4.0).clamp(low, high);
    Some(Lies { stage, days: [low, typical, high], kind: Kind::Own })
}

fn working_days(calendar: &Calendar, from: DateTime<Utc>, to: DateTime<Utc>) -> usize {
    let date = |at| -> NaiveDate { calendar.local_date(at) };
    calendar.open_days_between(date(from), date(to))
}

/// The number of days that so many of 100 do not exceed: element ⌈q·n⌉ of the sorted ones. None
/// of none.
#[must_use]
pub fn quantile_of_days(days: &mut [usize], of_hundred: usize) -> Option<usize> {
    days.sort_unstable();
    element(days, of_hundred).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::promises::examples::{calendar, instant};

    fn closed(days: u32) -> ClosedOrder {
        ClosedOrder {
            family: Family::Horn,
            moves: vec![(Stage::Intake, instant(2, 10)), (Stage::Bench, instant(3, 10))],
            ready_at: instant(3 + days, 12),
            holds: Vec::new(),
            worked_minutes: 60.0,
            planned_minutes: 60 + i32::try_from(days).expect("few"),
            cost: Some(Decimal::from(100 + days)),
        }
    }

    /// 2 March 2026 is a Monday.
    #[test]
    fn the_reach_is_the_17_of_20_quantile_of_working_days_and_typical_below_20_orders() {
        let rows = HistoryRows { orders: (0..20).map(closed).collect(), ..HistoryRows::default() };
        let history = History::of(&rows, &calendar());
        let bench = history.reach.iter().find(|reach| reach.stage == Stage::Bench).expect("bench");
        // The 17th of 0…19 days after Tuesday the 3rd is the 19th, twelve working days later.
        assert_eq!((bench.reach_days, bench.kind, bench.count), (12.0, Kind::Own, 20));
        let test = history.reach.iter().find(|reach| reach.stage == Stage::LeakTest).expect("test");
        assert_eq!((test.reach_days, test.kind, test.count), (2.0, Kind::Typical, 0));
        let fewer = HistoryRows { orders: (0..19).map(closed).collect(), ..HistoryRows::default() };
        let fewer = History::of(&fewer, &calendar());
        assert!(fewer.reach.iter().all(|reach| reach.kind == Kind::Typical));
        assert_eq!(fewer.minutes_of(Family::Horn), typical::ORDER_MINUTES);
    }

    #[test]
    fn minutes_and_costs_are_those_of_the_family_where_there_are_enough() {
        let rows = HistoryRows { orders: (0..20).map(closed).collect(), ..HistoryRows::default() };
        let history = History::of(&rows, &calendar());
        // ⌈5 %·20⌉ = 1st, 10th and 19th.
        assert_eq!(history.minutes_of(Family::Horn), [60.0, 69.0, 78.0]);
        assert_eq!(history.minutes_of(Family::Oboe), [60.0, 69.0, 78.0], "all families together");
        let cost = history.cost(Family::Horn).expect("twenty");
        assert_eq!([cost.low, cost.middle, cost.high], [100, 109, 118].map(Decimal::from));
        assert!(history.cost(Family::Oboe).is_none());
    }

    #[test]
    fn an_order_lies_while_it_is_the_shops_turn_and_nobody_holds_or_works_on_it() {
        let order = ClosedOrder {
            moves: vec![
                (Stage::Intake, instant(2, 12)),
                (Stage::Diagnosis, instant(3, 12)),
                (Stage::Approval, instant(4, 12)),
                (Stage::Bench, instant(9, 12)),
                (Stage::LeakTest, instant(14, 12)),
            ],
            ready_at: instant(15, 12),
            holds: vec![(instant(10, 12), instant(12, 12))],
            worked_minutes: 720.0,
            ..closed(0)
        };
        // Intake 1, diagnosis 1, bench 5 of which 2 held, leak test 1.
        assert_eq!(order.lay_from(instant(2, 12)), 6.0);
        let orders = vec![order; 20];
        let of = |stage| lies(&orders, stage).expect("twenty").days;
        assert_eq!(of(Stage::Intake), [5.5; 3]);
        assert_eq!(of(Stage::Bench), [3.5; 3]);
        assert_eq!(of(Stage::LeakTest), [1.0; 3]);
        assert_eq!(lies(&orders[..19], Stage::Bench).map(|lies| lies.kind), Some(Kind::Typical));
    }

    #[test]
    fn the_ratio_is_of_minutes_taken_to_minutes_estimated() {
        let step = |taken: f64| StepDone { minutes: [60, 60, 60], taken_minutes: taken };
        let steps: Vec<StepDone> = (0..20).map(|_| step(120.0)).collect();
        let (mean, sd) = estimate_ratio(&steps).expect("twenty");
        assert!((mean - 2.0_f64.ln()).abs() < 1e-12 && sd < 1e-6, "{mean} {sd}");
        assert_eq!(estimate_ratio(&steps[..19]), None);
    }
}
