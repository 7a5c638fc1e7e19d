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
    /// When the first clock of its steps was started.
    pub begun_at: Option<DateTime<Utc>>,
    /// From when to when it was held.
    pub holds: Vec<(DateTime<Utc>, DateTime<Utc>)>,
    /// Typical minutes of all its steps together.
    pub planned_minutes: i32,
    /// Minutes by the clock of all its steps together.
    pub worked_minutes: f64,
    /// What was authorised at the counter.
    pub may_cost: Option<Decimal>,
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

/// How long closed orders stood from a point of their way on until they were ready, their bench
/// minutes and the wait for the first answer left out. Whatever else kept them is in it, as often and
/// as long as it did: lying in the shop's own turn, holds, asking again for extra work, the way back
/// from a failed test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stands {
    /// From their first arrival at this stage.
    pub stage: Stage,
    /// On the bench: from the first clock of their steps instead.
    pub is_begun: bool,
    /// Hours of the shop's open time, as [`Spread`] lays them out.
    pub hours: Spread,
    /// The same without what they were held, for an order that is held already.
    pub unheld_hours: Spread,
    /// Typical below [`ENOUGH`] closed orders.
    pub kind: Kind,
}

/// Figures of past cases as their quantiles in [`SPREAD_STEPS`] equal steps of chance, from the
/// least to somewhat beyond the greatest.
pub type Spread = Vec<f64>;

/// Steps of chance in a [`Spread`].
pub const SPREAD_STEPS: usize = 40;

/// How closed orders came to the bench that had so much authorised at the counter.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct AskedOf {
    /// Whose owner was asked first.
    pub asked: usize,
    /// All of them.
    pub all: usize,
}

/// Whether an owner is asked, by what was authorised at the counter beside what half of such orders
/// cost.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Asking {
    /// Nothing was authorised.
    pub of_nothing: AskedOf,
    /// Less than half of such orders cost.
    pub of_less: AskedOf,
    /// At least as much.
    pub of_enough: AskedOf,
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
    /// How long orders stand, by how far they are.
    #[serde(default)]
    pub stands: Vec<Stands>,
    /// How often owners were asked.
    #[serde(default)]
    pub asking: Asking,
    /// Closed orders that were held on their way.
    #[serde(default)]
    pub held_orders_count: usize,
    /// Closed orders whose owner was asked more than once.
    #[serde(default)]
    pub asked_again_count: usize,
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
        let costs: Vec<CostRange> = families.iter().filter_map(|family| cost_of(&rows.orders, *family)).collect();
        let open = OpenTime::over(calendar, &rows.orders);
        Self {
            closed_orders_count: rows.orders.len(),
            waits: rows.waits.clone(),
            passed: rows.passed,
            failed: rows.failed,
            estimate_ratio: estimate_ratio(&rows.steps),
            steps_count: rows.steps.len(),
            order_minutes,
            asking: asking(&rows.orders, &costs),
            costs,
            reach: ON_THE_WAY.iter().filter_map(|stage| reach(&rows.orders, *stage, calendar)).collect(),
            stands: POINTS.iter().filter_map(|point| stands(&rows.orders, *point, &open, calendar)).collect(),
            held_orders_count: rows.orders.iter().filter(|order| order.holds.iter().any(|(from, _)| *from < order.ready_at)).count(),
            asked_again_count: rows.orders.iter().filter(|order| order.was_asked_again()).count(),
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

    /// How long an order stands from this point on; none: it is taken up at once.
    pub(super) fn stands_from(&self, stage: Stage, is_begun: bool, is_held: bool) -> Option<&Spread> {
        let found = self.stands.iter().find(|stands| (stands.stage, stands.is_begun) == (stage, is_begun))?;
        Some(if is_held { &found.unheld_hours } else { &found.hours })
    }

    /// The chance that the owner is asked before the bench, with so much authorised at the counter;
    /// none below [`ENOUGH_OF_FAMILY`] closed orders like it.
    pub(super) fn chance_of_asking(&self, family: Family, may_cost: Option<Decimal>) -> Option<f64> {
        let mut asking = self.asking;
        let of = asking.group(may_cost, middle_cost(&self.costs, family));
        // One half each more: that all were asked says only that nearly all are.
        (of.all >= ENOUGH_OF_FAMILY).then(|| (of.asked as f64 + 0.5) / (of.all as f64 + 1.0))
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

    /// From when to when it waited for the answer that let it to the bench.
    fn first_wait(&self) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
        let asked_at = self.first_at(Stage::Approval)?;
        let begins_at = self.first_at(Stage::Bench).unwrap_or(self.ready_at);
        (asked_at < begins_at).then_some((asked_at, begins_at))
    }

    fn was_asked_again(&self) -> bool {
        self.moves.iter().filter(|(stage, _)| *stage == Stage::Approval).count() > 1
    }

    /// Hours of open time from this instant on until it was ready, without the wait for the first
    /// answer.
    fn stood_from(&self, begin: DateTime<Utc>, open: &OpenTime, with_holds: bool) -> f64 {
        let wait = self.first_wait().map(|(from, to)| (from.max(begin), to)).filter(|(from, to)| from < to);
        let mut left_out: Vec<(DateTime<Utc>, DateTime<Utc>)> = wait.into_iter().collect();
        if !with_holds {
            let held = self.holds.iter().map(|(from, to)| ((*from).max(begin), (*to).min(self.ready_at)));
            left_out.extend(held.filter(|(from, to)| from < to));
        }
        left_out.sort_unstable();
        let mut seconds = open.between(begin, self.ready_at);
        let mut counted_to = begin;
        for (from, to) in left_out {
            seconds -= open.between(from.max(counted_to), to);
            counted_to = counted_to.max(to);
        }
        seconds as f64 / 3600.0
    }
}

/// The shop's open time on one axis, so that a stretch of it is measured by two look-ups.
struct OpenTime {
    /// Start and end of each opening, with the open seconds before it.
    openings: Vec<(DateTime<Utc>, DateTime<Utc>, i64)>,
}

impl OpenTime {
    /// From the first arrival of these orders to when the last was ready.
    fn over(calendar: &Calendar, orders: &[ClosedOrder]) -> Self {
        let first = orders.iter().filter_map(|order| order.moves.first()).map(|(_, at)| *at).min();
        let last = orders.iter().map(|order| order.ready_at).max();
        let mut openings = Vec::new();
        if let Some((first, last)) = first.zip(last) {
            let mut before = 0;
            for span in calendar.open_spans(first).take_while(|span| span.from < last) {
                openings.push((span.from, span.to, before));
                before += (span.to - span.from).num_seconds();
            }
        }
        Self { openings }
    }

    fn until(&self, at: DateTime<Utc>) -> i64 {
        let begun = self.openings.partition_point(|(from, ..)| *from <= at);
        let Some((from, to, before)) = begun.checked_sub(1).map(|place| self.openings[place]) else { return 0 };
        before + (at.min(to) - from).num_seconds()
    }

    /// Open seconds between two instants; none when the second is not later.
    fn between(&self, from: DateTime<Utc>, to: DateTime<Utc>) -> i64 {
        (self.until(to) - self.until(from)).max(0)
    }
}

/// The points from which it is known how long orders stand.
const POINTS: [(Stage, bool); 6] = [
    (Stage::Intake, false),
    (Stage::Diagnosis, false),
    (Stage::Approval, false),
    (Stage::Bench, false),
    (Stage::Bench, true),
    (Stage::LeakTest, false),
];

fn stands(orders: &[ClosedOrder], (stage, is_begun): (Stage, bool), open: &OpenTime, calendar: &Calendar) -> Option<Stands> {
    let hours = |with_holds: bool| -> Vec<f64> {
        orders
            .iter()
            .filter_map(|order| {
                let begin = if is_begun { order.begun_at? } else { order.first_at(stage)? };
                // All work is done on the bench or after a failed test, so it lies after each point
                // but the last, where it is nearly all done.
                let worked = if stage == Stage::LeakTest { 0.0 } else { order.worked_minutes / 60.0 };
                Some((order.stood_from(begin, open, with_holds) - worked).max(0.0))
            })
            .collect()
    };
    let (with, without) = (hours(true), hours(false));
    if with.len() < ENOUGH {
        let hours = typical::stands_hours(stage, is_begun, calendar)?;
        return Some(Stands { stage, is_begun, unheld_hours: hours.clone(), hours, kind: Kind::Typical });
    }
    Some(Stands { stage, is_begun, hours: spread(with), unheld_hours: spread(without), kind: Kind::Own })
}

/// The figures, at least one, as a [`Spread`]. Between two figures those between are as likely; beyond
/// the greatest it goes on as far as the longest tenth lies above its shortest on average, because a
/// shop has not yet seen its worst.
fn spread(mut figures: Vec<f64>) -> Spread {
    figures.sort_unstable_by(f64::total_cmp);
    let count = figures.len();
    let tenth = &figures[count - count.div_ceil(10)..];
    let beyond = tenth.iter().map(|figure| figure - tenth[0]).sum::<f64>() / tenth.len() as f64;
    figures.push(figures[count - 1] + beyond);
    let at = |step: usize| {
        let place = step as f64 / SPREAD_STEPS as f64 * count as f64;
        let (below, share) = (place.floor() as usize, place.fract());
        let next = figures[(below + 1).min(count)];
        figures[below] + share * (next - figures[below])
    };
    (0..=SPREAD_STEPS).map(at).collect()
}

impl Asking {
    fn group(&mut self, may_cost: Option<Decimal>, middle: Option<Decimal>) -> &mut AskedOf {
        match may_cost.filter(|may| !may.is_zero()) {
            None => &mut self.of_nothing,
            Some(may) if middle.is_some_and(|middle| may < middle) => &mut self.of_less,
            Some(_) => &mut self.of_enough,
        }
    }
}

/// What half of the orders of this family cost; of all families where it has too few.
fn middle_cost(costs: &[CostRange], family: Family) -> Option<Decimal> {
    let own = costs.iter().find(|cost| cost.family == family).map(|cost| cost.middle);
    own.or_else(|| {
        let mut middles: Vec<Decimal> = costs.iter().map(|cost| cost.middle).collect();
        middles.sort_unstable();
        element(&middles, 50).copied()
    })
}

fn asking(orders: &[ClosedOrder], costs: &[CostRange]) -> Asking {
    let mut asking = Asking::default();
    for order in orders {
        let of = asking.group(order.may_cost, middle_cost(costs, order.family));
        of.all += 1;
        of.asked += usize::from(order.first_wait().is_some());
    }
    asking
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
            begun_at: None,
            holds: Vec::new(),
            may_cost: None,
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

    /// Nine to five, 2 March 2026 is a Monday.
    fn long_way() -> ClosedOrder {
        ClosedOrder {
            moves: vec![
                (Stage::Intake, instant(2, 12)),
                (Stage::Diagnosis, instant(3, 12)),
                (Stage::Approval, instant(4, 12)),
                (Stage::Bench, instant(9, 12)),
                // Extra work was asked for, and something awaited.
                (Stage::Approval, instant(10, 12)),
                (Stage::Bench, instant(11, 12)),
                (Stage::LeakTest, instant(16, 12)),
            ],
            ready_at: instant(17, 12),
            begun_at: Some(instant(9, 15)),
            holds: vec![(instant(12, 12), instant(13, 12))],
            worked_minutes: 360.0,
            ..closed(0)
        }
    }

    #[test]
    fn an_order_stands_until_it_is_ready_but_for_its_first_answer_and_its_work() {
        let orders = vec![long_way(); 20];
        let open = OpenTime::over(&calendar(), &orders);
        let of = |stage, is_begun| stands(&orders, (stage, is_begun), &open, &calendar()).expect("twenty");
        // Eight hours a day: two days until it was asked, six open days from the bench on.
        for (stage, is_begun, hours) in [
            (Stage::Intake, false, 16.0 + 48.0 - 6.0),
            (Stage::Diagnosis, false, 8.0 + 48.0 - 6.0),
            (Stage::Approval, false, 48.0 - 6.0),
            (Stage::Bench, false, 48.0 - 6.0),
            (Stage::Bench, true, 45.0 - 6.0),
            (Stage::LeakTest, false, 8.0),
        ] {
            let found = of(stage, is_begun);
            assert_eq!((&found.hours, found.kind), (&vec![hours; SPREAD_STEPS + 1], Kind::Own), "{stage:?}");
            let held = if stage == Stage::LeakTest { 0.0 } else { 8.0 };
            assert_eq!(found.unheld_hours, vec![hours - held; SPREAD_STEPS + 1], "{stage:?}");
        }
        let fewer = stands(&orders[..19], (Stage::Bench, false), &open, &calendar());
        assert_eq!(fewer.map(|stands| stands.kind), Some(Kind::Typical));
        let history = History::of(&HistoryRows { orders, ..HistoryRows::default() }, &calendar());
        assert_eq!((history.held_orders_count, history.asked_again_count), (20, 20));
    }

    #[test]
    fn a_spread_goes_from_the_least_to_somewhat_beyond_the_greatest() {
        let hours = spread((0..40).rev().map(f64::from).collect());
        // The longest four are 36 to 39: 1.5 above 36 on average.
        assert_eq!((hours[0], hours[1], hours[39], hours[SPREAD_STEPS]), (0.0, 1.0, 39.0, 40.5));
        assert!(hours.is_sorted());
        assert_eq!(spread(vec![3.0]), vec![3.0; SPREAD_STEPS + 1]);
    }

    #[test]
    fn owners_are_asked_as_often_as_those_who_authorised_as_much() {
        let with = |may_cost: Option<i64>, order: ClosedOrder| ClosedOrder { may_cost: may_cost.map(Decimal::from), ..order };
        let mut orders: Vec<ClosedOrder> = (0..20).map(|days| with(None, ClosedOrder { cost: closed(days).cost, ..long_way() })).collect();
        orders.extend((0..9).map(|days| with(Some(200), closed(days))));
        orders.push(with(Some(200), long_way()));
        orders.extend((0..4).map(|_| with(Some(10), long_way())));
        let history = History::of(&HistoryRows { orders, ..HistoryRows::default() }, &calendar());
        let chance = |may_cost: Option<i64>| history.chance_of_asking(Family::Horn, may_cost.map(Decimal::from));
        assert_eq!(chance(None), Some(20.5 / 21.0));
        assert_eq!(chance(Some(150)), Some(1.5 / 11.0));
        assert_eq!(chance(Some(20)), None, "four say too little");
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
