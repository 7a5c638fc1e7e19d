//! Everything about a question that is the same in all draws.

use super::approval_wait::WaitGiven;
use super::bench_hours::{BenchHours, Dates};
use super::open_time::{NEVER, OpenTime};
use super::quantile_tables::{Leans, StretchTable, ThreePointTable};
use super::schedule::{MOST_SECONDS, Schedule};
use super::shop::Shop;
use super::streams::OrderKey;
use super::{Hold, MOST_FAILURES, OpenOrder, Question, Technician, Work};
use chrono::{DateTime, Utc};
use std::collections::HashMap;

/// Everything about the question that is the same in all draws; orders by priority.
pub(super) struct Plan<'q> {
    pub(super) shop: Shop,
    pub(super) orders: Vec<OrderPlan<'q>>,
    /// The minutes of each step, in the order of the shop's steps.
    pub(super) steps: Vec<StepPlan>,
    pub(super) start: Schedule,
    /// The time of somebody who is never away and spends as much of each opening at the bench as
    /// the technicians do on average: what stands is taken up while somebody is there.
    pub(super) bench_time: OpenTime,
    pub(super) dates: Dates,
    pub(super) stretch: Stretch,
    /// Leak tests (failed, passed) so far, if they can fail.
    pub(super) tests: Option<(f64, f64)>,
    pub(super) seed: u64,
    pub(super) horizon: u32,
}

/// What actual minutes are to estimated ones.
pub(super) enum Stretch {
    Known(f64),
    Drawn(StretchTable),
}

pub(super) struct OrderPlan<'q> {
    /// Its place in the question.
    pub(super) index: usize,
    pub(super) key: OrderKey,
    /// Seconds after now before which nothing can be done on it, whatever is drawn.
    pub(super) not_before: u32,
    /// The wait for an answer: what is known, and how many seconds ago it was asked.
    pub(super) approval: Option<(WaitGiven<'q>, i64)>,
    pub(super) answer_chance: f64,
    pub(super) parts: Option<ThreePointTable>,
    pub(super) parts_until: u32,
    /// Seconds on the axis of `Plan::bench_time` that it stands, at equal steps of chance.
    pub(super) stands: Option<Vec<u32>>,
    /// Steps without any failed test.
    pub(super) steps: u32,
    pub(super) can_fail: bool,
}

impl OrderPlan<'_> {
    pub(super) fn is_free_from_the_start(&self) -> bool {
        self.not_before == 0
            && self.approval.is_none()
            && self.parts.is_none()
            && self.stands.is_none()
    }
}

/// How long a step takes, in seconds.
pub(super) enum StepPlan {
    /// So long.
    Known(u32),
    /// Somewhere in an estimate, which is `stretched` by what is drawn for the order: for tasks and
    /// rework, not for tests.
    Drawn { estimate: ThreePointTable, stretched: bool },
}

impl StepPlan {
    fn new(work: &Work, stretched: bool, stretch: &Stretch) -> Self {
        let (factor, stretched) = match stretch {
            Stretch::Known(factor) if stretched => (*factor, false),
            Stretch::Known(_) => (1.0, false),
            Stretch::Drawn(_) => (1.0, stretched),
        };
        let estimate = Leans::of(&work.minutes, 60.0).times(factor);
        if estimate.is_known() && !stretched {
            Self::Known(((estimate.low() + 0.5) as u32).min(MOST_SECONDS))
        } else {
            Self::Drawn { estimate, stretched }
        }
    }
}

impl<'q> Plan<'q> {
    /// The question must have been checked.
    pub(super) fn new(question: &'q Question, days: u32) -> Self {
        let ranked = question.ranked();
        let mut rank = vec![0; ranked.len()];
        for (place, &technician) in ranked.iter().enumerate() {
            rank[technician] = place as u16;
        }
        let mut queues = Queues { rank, known: HashMap::new(), technicians: Vec::new() };
        let ratio = question.estimate_ratio;
        let stretch = if ratio.log_sd > 0.0 {
            Stretch::Drawn(StretchTable::new(ratio.log_mean, ratio.log_sd))
        } else {
            Stretch::Known(ratio.log_mean.exp())
        };
        let by_priority = question.by_priority();
        let (mut orders, mut steps, mut queues_of_steps) = (Vec::new(), Vec::new(), Vec::new());
        for index in by_priority {
            let order = &question.orders[index];
            let plan = OrderPlan::new(question, index);
            let mut queues_of = Vec::new();
            for (work, stretched) in steps_of(order, plan.can_fail) {
                queues_of.push(queues.of(question, work));
                steps.push(StepPlan::new(work, stretched, &stretch));
            }
            orders.push(plan);
            queues_of_steps.push(queues_of);
        }
        let someone = someone(&question.technicians);
        let dates = Dates::new(&question.calendar, question.now, days);
        let bench_hours = |technicians: &[&Technician]| {
            BenchHours::new(&question.calendar, technicians, question.now, days, &dates)
        };
        let bench_time = bench_hours(&[&someone]).open;
        let technicians: Vec<&Technician> =
            ranked.iter().map(|&index| &question.technicians[index]).collect();
        let shop = Shop::new(bench_hours(&technicians), &queues.technicians, &queues_of_steps);
        let waiting = orders
            .iter()
            .zip(0u32..)
            .filter(|(order, _)| order.is_free_from_the_start() && order.steps > 0);
        let start = Schedule::new(&shop, waiting.map(|(_, order)| order));
        let tests =
            question.test_history.map(|tests| (f64::from(tests.failed), f64::from(tests.passed)));
        Self {
            shop,
            orders,
            steps,
            start,
            bench_time,
            dates,
            stretch,
            tests,
            seed: question.seed,
            horizon: days * 86_400,
        }
    }

    pub(super) fn is_random(&self) -> bool {
        let order = |order: &OrderPlan<'_>| {
            order.can_fail
                || order.approval.is_some()
                || order.parts.is_some_and(|days| !days.is_known())
                || order.stands.as_ref().is_some_and(|stands| stands.first() != stands.last())
        };
        let step = |step: &StepPlan| matches!(step, StepPlan::Drawn { .. });
        self.orders.iter().any(order) || self.steps.iter().any(step)
    }
}

impl<'q> OrderPlan<'q> {
    fn new(question: &'q Question, index: usize) -> Self {
        let order = &question.orders[index];
        let after_now = |at: DateTime<Utc>| {
            let seconds = (at - question.now).num_seconds().max(0);
            u32::try_from(seconds).unwrap_or(NEVER)
        };
        let available = order.available_at.map_or(0, after_now);
        let (parts, parts_until) = match &order.hold {
            None => (None, 0),
            Some(Hold::Until(until)) => (None, after_now(*until)),
            Some(Hold::Days(days)) => (Some(Leans::of(days, 86_400.0)), 0),
        };
        let approval =
            order.asked_at.zip(question.approval_waits.as_ref()).map(|(asked_at, waits)| {
                let waited = (question.now - asked_at).num_seconds().max(0);
                (waits.given(waited as f64 / 86_400.0), waited)
            });
        let can_fail =
            order.test.is_some() && order.rework.is_some() && question.test_history.is_some();
        Self {
            index,
            key: OrderKey::of(&order.id),
            not_before: available.max(parts_until),
            approval,
            parts,
            parts_until,
            answer_chance: order.answer_chance,
            stands: order.stands.as_ref().map(|hours| {
                let share = someone(&question.technicians).share;
                hours.iter().map(|hours| (hours * 3600.0 * share).round() as u32).collect()
            }),
            steps: order.tasks.len() as u32 + u32::from(order.test.is_some()),
            can_fail,
        }
    }
}

/// The steps an order may need, each with whether its minutes are stretched.
fn steps_of(order: &OpenOrder, can_fail: bool) -> impl Iterator<Item = (&Work, bool)> {
    let again = order
        .rework
        .iter()
        .map(|work| (work, true))
        .chain(order.test.iter().map(|work| (work, false)));
    let failures = if can_fail { MOST_FAILURES as usize } else { 0 };
    order
        .tasks
        .iter()
        .map(|work| (work, true))
        .chain(order.test.iter().map(|work| (work, false)))
        .chain((0..failures).flat_map(move |_| again.clone()))
}

/// Somebody who is never away and spends the technicians' average part of the openings at the bench;
/// without technicians all of it.
fn someone(technicians: &[Technician]) -> Technician {
    let share = match technicians {
        [] => 1.0,
        some => some.iter().map(|one| one.share).sum::<f64>() / some.len() as f64,
    };
    Technician { id: String::new(), skills: Vec::new(), absent: Vec::new(), share }
}

/// The sets of technicians that some work needs.
struct Queues {
    rank: Vec<u16>,
    known: HashMap<Vec<u16>, u16>,
    technicians: Vec<Vec<u16>>,
}

impl Queues {
    fn of(&mut self, question: &Question, work: &Work) -> u16 {
        let mut who: Vec<u16> = question.who_can(work).map(|index| self.rank[index]).collect();
        who.sort_unstable();
        *self.known.entry(who).or_insert_with_key(|who| {
            self.technicians.push(who.clone());
            (self.technicians.len() - 1) as u16
        })
    }
}
