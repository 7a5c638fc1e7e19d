//! Many schedules with random durations, counted by date.

use super::approval_wait::WaitGiven;
use super::bench_hours::{BenchHours, Dates, NEVER};
use super::order_of_service::{MOST_ORDERS, MOST_TECHNICIANS, OutOfTime, Schedule, Shop};
use super::quantile_tables::{Leans, StretchTable, ThreePointTable};
use super::ready_dates::{Causes, ReadyDates};
use super::streams::{OrderKey, Stream};
use super::{
    CannotForecast, Forecast, Hold, MOST_FAILURES, OpenOrder, Part, Question, Technician, Work,
};
use crate::words::business_time::SEARCH_DAYS;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::HashMap;
use std::num::NonZeroUsize;
use std::ops::Range;

/// Days looked at first. Nearly all forecasts end within them, and laying out ten years of
/// opening hours takes longer than many a forecast.
const FIRST_HORIZON_DAYS: u32 = 500;

/// Below so many steps in all draws a second thread costs more than it saves.
const STEPS_WORTH_A_THREAD: u64 = 20_000;

pub(super) fn forecast(
    question: &Question,
    threads: NonZeroUsize,
) -> Result<Forecast, CannotForecast> {
    check(question)?;
    match within(question, threads, FIRST_HORIZON_DAYS) {
        Err(OutOfTime) => {
            within(question, threads, SEARCH_DAYS).map_err(|OutOfTime| CannotForecast::NeverOpen)
        }
        Ok(forecast) => Ok(forecast),
    }
}

fn check(question: &Question) -> Result<(), CannotForecast> {
    if question.technicians.len() > MOST_TECHNICIANS || question.orders.len() > MOST_ORDERS {
        return Err(CannotForecast::TooLarge);
    }
    let orders = question.orders.iter().enumerate();
    let impossible: Vec<(usize, Part)> = orders
        .clone()
        .flat_map(|(index, order)| order.work().map(move |(part, work)| (index, part, work)))
        .filter(|(_, _, work)| question.who_can(work).next().is_none())
        .map(|(index, part, _)| (index, part))
        .collect();
    if !impossible.is_empty() {
        return Err(CannotForecast::NobodyCan(impossible));
    }
    let unknown = orders
        .clone()
        .find(|(_, order)| order.asked_at.is_some() && question.approval_waits.is_none());
    unknown.map_or(Ok(()), |(index, _)| Err(CannotForecast::NothingKnownOfAnswers(index)))
}

/// The forecast, as long as no draw goes beyond so many days.
fn within(question: &Question, threads: NonZeroUsize, days: u32) -> Result<Forecast, OutOfTime> {
    let plan = Plan::new(question, days);
    if !plan.is_random() {
        return plan.only_one(question);
    }
    let dates = Dates::new(&question.calendar, question.now, days);
    let steps = u64::from(question.draws) * (plan.shop.step_count() + plan.orders.len()) as u64;
    let worth = usize::try_from(steps / STEPS_WORTH_A_THREAD).unwrap_or(usize::MAX).max(1);
    let threads = threads.get().min(worth) as u32;
    let tally = if threads == 1 {
        plan.draw(0..question.draws, &dates)?
    } else {
        let share = |thread: u32| {
            (u64::from(question.draws) * u64::from(thread) / u64::from(threads)) as u32
        };
        std::thread::scope(|scope| {
            let workers: Vec<_> = (0..threads)
                .map(|thread| {
                    let (plan, dates) = (&plan, &dates);
                    scope.spawn(move || plan.draw(share(thread)..share(thread + 1), dates))
                })
                .collect();
            let tallies =
                workers.into_iter().map(|worker| worker.join().expect("a draw does not panic"));
            // All counts and sums are whole numbers, so it does not matter how they are split.
            tallies.reduce(|one, other| Ok(one?.plus(&other?))).expect("at least one thread")
        })?
    };
    Ok(plan.summed_up(question, &dates, &tally))
}

/// Everything about the question that is the same in all draws; orders by priority.
struct Plan<'q> {
    shop: Shop,
    orders: Vec<OrderPlan<'q>>,
    /// The minutes of each step, in the order of the shop's steps.
    steps: Vec<StepPlan>,
    start: Schedule,
    /// The time of somebody who is never away and spends as much of each opening at the bench as
    /// the technicians do on average: what stands is taken up while somebody is there.
    bench_time: BenchHours,
    stretch: Stretch,
    /// Leak tests (failed, passed) so far, if they can fail.
    tests: Option<(f64, f64)>,
    seed: u64,
    horizon: u32,
}

/// What actual minutes are to estimated ones.
enum Stretch {
    Known(f64),
    Drawn(StretchTable),
}

struct OrderPlan<'q> {
    /// Its place in the question.
    index: usize,
    key: OrderKey,
    /// Seconds after now before which nothing can be done on it, whatever is drawn.
    not_before: u32,
    /// The wait for an answer: what is known, and how many seconds ago it was asked.
    approval: Option<(WaitGiven<'q>, i64)>,
    answer_chance: f64,
    parts: Option<ThreePointTable>,
    parts_until: u32,
    /// Seconds on the axis of `Plan::bench_time` that it stands, at equal steps of chance.
    stands: Option<Vec<u32>>,
    /// Steps without any failed test.
    steps: u32,
    can_fail: bool,
}

impl OrderPlan<'_> {
    fn is_free_from_the_start(&self) -> bool {
        self.not_before == 0
            && self.approval.is_none()
            && self.parts.is_none()
            && self.stands.is_none()
    }
}

struct StepPlan {
    seconds: ThreePointTable,
    /// Whether the factor from estimate to actual holds: for tasks and rework, not for tests.
    stretched: bool,
}

impl<'q> Plan<'q> {
    /// The question must have been checked.
    fn new(question: &'q Question, days: u32) -> Self {
        let ranked = question.ranked();
        let mut rank = vec![0; ranked.len()];
        for (place, &technician) in ranked.iter().enumerate() {
            rank[technician] = place as u16;
        }
        let mut queues = Queues { rank, known: HashMap::new(), technicians: Vec::new() };
        let by_priority = question.by_priority();
        let (mut orders, mut steps, mut queues_of_steps) = (Vec::new(), Vec::new(), Vec::new());
        for index in by_priority {
            let order = &question.orders[index];
            let plan = OrderPlan::new(question, index);
            let mut queues_of = Vec::new();
            for (work, stretched) in steps_of(order, plan.can_fail) {
                queues_of.push(queues.of(question, work));
                steps.push(StepPlan { seconds: Leans::of(&work.minutes, 60.0), stretched });
            }
            orders.push(plan);
            queues_of_steps.push(queues_of);
        }
        let someone = someone(&question.technicians);
        let bench_time = BenchHours::new(&question.calendar, &[&someone], question.now, days);
        let technicians: Vec<&Technician> =
            ranked.iter().map(|&index| &question.technicians[index]).collect();
        let hours = BenchHours::new(&question.calendar, &technicians, question.now, days);
        let shop = Shop::new(hours, &queues.technicians, &queues_of_steps);
        let waiting = orders
            .iter()
            .zip(0u32..)
            .filter(|(order, _)| order.is_free_from_the_start() && order.steps > 0);
        let start = Schedule::new(&shop, waiting.map(|(_, order)| order));
        let ratio = question.estimate_ratio;
        let stretch = if ratio.log_sd > 0.0 {
            Stretch::Drawn(StretchTable::new(ratio.log_mean, ratio.log_sd))
        } else {
            Stretch::Known(ratio.log_mean.exp())
        };
        let tests =
            question.test_history.map(|tests| (f64::from(tests.failed), f64::from(tests.passed)));
        Self {
            shop,
            orders,
            steps,
            start,
            bench_time,
            stretch,
            tests,
            seed: question.seed,
            horizon: days * 86_400,
        }
    }

    fn is_random(&self) -> bool {
        let order = |order: &OrderPlan<'_>| {
            order.can_fail
                || order.approval.is_some()
                || order.parts.is_some_and(|days| !days.is_known())
                || order.stands.as_ref().is_some_and(|stands| stands.first() != stands.last())
        };
        let step = |step: &StepPlan| {
            !step.seconds.is_known()
                || (step.stretched && matches!(self.stretch, Stretch::Drawn(_)))
        };
        self.orders.iter().any(order) || self.steps.iter().any(step)
    }

    /// The one schedule when nothing is random.
    fn only_one(&self, question: &Question) -> Result<Forecast, OutOfTime> {
        let mut draw = Draw::new(self);
        let waited = draw.play(self, 0)?;
        let mut orders = vec![None; self.orders.len()];
        for (place, order) in self.orders.iter().enumerate() {
            let ready = draw.ready[place];
            let ready_at = question.now + TimeDelta::seconds(i64::from(ready));
            let causes = Causes {
                approval_days: 0.0,
                parts_days: days(f64::from(draw.parts[place])),
                bench_days: days(f64::from(ready - draw.free[place])),
            };
            let dates = vec![(question.calendar.local_date(ready_at), 1)];
            let hours = f64::from(ready) / 3600.0;
            orders[order.index] =
                Some(ReadyDates::new(dates, Some(ready_at), (hours, 0.0), causes));
        }
        Ok(Forecast {
            orders: orders
                .into_iter()
                .map(|order| order.expect("each order has a place"))
                .collect(),
            mean_wait_seconds: waited as f64 / (self.orders.len().max(1)) as f64,
            draws: 1,
        })
    }

    /// Plays these draws.
    fn draw(&self, draws: Range<u32>, dates: &Dates) -> Result<Tally, OutOfTime> {
        let mut draw = Draw::new(self);
        let mut tally = Tally::new(self.orders.len());
        for number in draws {
            tally.waited += draw.play(self, number)?;
            for (place, &ready) in draw.ready.iter().enumerate() {
                tally.count(place, dates.day_at(ready));
                let sums = &mut tally.sums[place];
                sums.ready += u64::from(ready);
                sums.ready_squared += u128::from(u64::from(ready) * u64::from(ready));
                sums.free += u64::from(draw.free[place]);
            }
            for (place, order) in self.orders.iter().enumerate() {
                if order.approval.is_some() || order.parts.is_some() {
                    tally.sums[place].approval += u64::from(draw.approval[place]);
                    tally.sums[place].parts += u64::from(draw.parts[place]);
                }
            }
        }
        Ok(tally)
    }

    fn summed_up(&self, question: &Question, dates: &Dates, tally: &Tally) -> Forecast {
        let draws = f64::from(question.draws);
        let mut orders = vec![None; self.orders.len()];
        for (place, order) in self.orders.iter().enumerate() {
            let counts = tally.counts_of(place).iter().zip(0u32..).filter(|(count, _)| **count > 0);
            let dates = counts.map(|(count, day)| (dates.date(day), *count)).collect();
            let sums = &tally.sums[place];
            let mean = sums.ready as f64 / draws;
            // n Σx² − (Σx)² in whole numbers, where nothing cancels.
            let ready = u128::from(sums.ready);
            let spread = u128::from(question.draws) * sums.ready_squared - ready * ready;
            let sd = (spread as f64).sqrt() / draws;
            let parts = if order.parts.is_some() {
                sums.parts as f64 / draws
            } else {
                f64::from(order.parts_until)
            };
            let causes = Causes {
                approval_days: days(sums.approval as f64 / draws),
                parts_days: days(parts),
                bench_days: days((sums.ready - sums.free) as f64 / draws),
            };
            orders[order.index] =
                Some(ReadyDates::new(dates, None, (mean / 3600.0, sd / 3600.0), causes));
        }
        Forecast {
            orders: orders
                .into_iter()
                .map(|order| order.expect("each order has a place"))
                .collect(),
            mean_wait_seconds: tally.waited as f64 / draws / (self.orders.len().max(1)) as f64,
            draws: question.draws,
        }
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

/// The figure of a list of quantiles at equal steps of chance for 32 random bits.
fn at_chance(quantiles: &[u32], bits: u32) -> u32 {
    let place = f64::from(bits) / 4_294_967_296.0 * (quantiles.len() - 1) as f64;
    let below = place as usize;
    let (low, high) = (f64::from(quantiles[below]), f64::from(quantiles[below + 1]));
    (low + (high - low) * (place - below as f64) + 0.5) as u32
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

/// One draw; its memory is used again.
struct Draw {
    schedule: Schedule,
    released: Vec<(u32, u32)>,
    seconds: Vec<u32>,
    /// By order, seconds after now: ready, free to be worked on, answered, parts there.
    ready: Vec<u32>,
    free: Vec<u32>,
    approval: Vec<u32>,
    parts: Vec<u32>,
}

impl Draw {
    fn new(plan: &Plan<'_>) -> Self {
        let orders = plan.orders.len();
        Self {
            schedule: plan.start.clone(),
            released: Vec::new(),
            seconds: vec![0; plan.shop.step_count()],
            ready: vec![0; orders],
            free: vec![0; orders],
            approval: vec![0; orders],
            parts: plan.orders.iter().map(|order| order.parts_until).collect(),
        }
    }

    /// Draws everything and plays the schedule; the seconds that orders waited for the bench.
    fn play(&mut self, plan: &Plan<'_>, number: u32) -> Result<u64, OutOfTime> {
        let mut of_draw = Stream::of_draw(plan.seed, number);
        // One chance of failing for all tests of a draw: what is not known of it moves all
        // orders together.
        let failing =
            plan.tests.map_or(0.0, |(failed, passed)| of_draw.beta(1.0 + failed, 4.0 + passed));
        let leans = Leans::get();
        self.schedule.restart(&plan.start);
        self.released.clear();
        for (place, order) in plan.orders.iter().enumerate() {
            let mut stream = of_draw.of_order(order.key);
            let head = stream.bits();
            let stretch = match &plan.stretch {
                Stretch::Known(factor) => *factor,
                Stretch::Drawn(table) => table.at(head as u32),
            };
            let mut steps = order.steps;
            if order.can_fail {
                // The chance of at least so many failures is π, π², π³: one number will do.
                let u = f64::from((head >> 32) as u32) / 4_294_967_296.0;
                let mut chance = failing;
                for _ in 0..MOST_FAILURES {
                    steps += if u < chance { 2 } else { 0 };
                    chance *= failing;
                }
            }
            self.schedule.set_steps(place, steps);
            if !order.is_free_from_the_start() {
                let taken_up = self.release(plan, place, order, &mut stream)?;
                if steps == 0 {
                    self.ready[place] = taken_up;
                }
            }
            let first = plan.shop.first_step(place) as usize;
            let steps = first..first + steps as usize;
            for (seconds, steps) in
                self.seconds[steps.clone()].chunks_mut(2).zip(plan.steps[steps].chunks(2))
            {
                // A step takes 32 bits.
                let bits = stream.bits();
                for (at, (seconds, step)) in seconds.iter_mut().zip(steps).enumerate() {
                    let estimated = leans.at(&step.seconds, (bits >> (32 * at)) as u32);
                    let actual = if step.stretched { estimated * stretch } else { estimated };
                    *seconds = (actual + 0.5) as u32;
                }
            }
        }
        self.released.sort_unstable();
        self.schedule.run(&plan.shop, &self.released, &self.seconds, &mut self.ready)
    }

    /// When an order is taken up.
    fn release(
        &mut self,
        plan: &Plan<'_>,
        place: usize,
        order: &OrderPlan<'_>,
        stream: &mut Stream,
    ) -> Result<u32, OutOfTime> {
        let mut free = order.not_before;
        if let Some((wait, waited_seconds)) = &order.approval {
            // The chance that nobody is asked lies at the end of the soonest answers.
            let u = stream.unit();
            let asked_until = if u < order.answer_chance {
                (wait.wait_days(u / order.answer_chance) * 86_400.0).round()
            } else {
                0.0
            };
            // A float beyond the range becomes the end of the range.
            self.approval[place] = (asked_until - *waited_seconds as f64).max(0.0) as u32;
            free = free.max(self.approval[place]);
        }
        if let Some(parts) = &order.parts {
            self.parts[place] = (Leans::get().at(parts, stream.bits() as u32) + 0.5) as u32;
            free = free.max(self.parts[place]);
        }
        self.free[place] = free;
        if free >= plan.horizon {
            return Err(OutOfTime);
        }
        if let Some(stands) = &order.stands {
            free = plan.bench_time.later(free, at_chance(stands, stream.bits() as u32));
            if free >= plan.horizon {
                return Err(OutOfTime);
            }
        }
        if order.steps > 0 {
            self.released.push((free, place as u32));
        }
        Ok(free)
    }
}

/// What is counted over draws, in whole numbers.
struct Tally {
    /// For each order, how often it was ready on each day.
    counts: Vec<u32>,
    /// Days that each order has in it, a power of two.
    width: usize,
    sums: Vec<Sums>,
    waited: u64,
}

/// Seconds after now, over draws.
#[derive(Clone, Default)]
struct Sums {
    ready: u64,
    ready_squared: u128,
    free: u64,
    approval: u64,
    parts: u64,
}

impl Tally {
    fn new(orders: usize) -> Self {
        let width = 64;
        Self {
            counts: vec![0; orders * width],
            width,
            sums: vec![Sums::default(); orders],
            waited: 0,
        }
    }

    #[inline]
    fn count(&mut self, place: usize, day: u32) {
        if day as usize >= self.width {
            self.widen(day as usize + 1);
        }
        self.counts[place * self.width + day as usize] += 1;
    }

    #[cold]
    fn widen(&mut self, days: usize) {
        let width = days.next_power_of_two();
        let mut counts = vec![0; self.sums.len() * width];
        for (wide, narrow) in
            counts.chunks_exact_mut(width).zip(self.counts.chunks_exact(self.width))
        {
            wide[..self.width].copy_from_slice(narrow);
        }
        (self.counts, self.width) = (counts, width);
    }

    fn counts_of(&self, place: usize) -> &[u32] {
        &self.counts[place * self.width..(place + 1) * self.width]
    }

    fn plus(mut self, other: &Self) -> Self {
        self.widen(self.width.max(other.width));
        for place in 0..self.sums.len() {
            let start = place * self.width;
            for (count, more) in self.counts[start..].iter_mut().zip(other.counts_of(place)) {
                *count += more;
            }
            let (sums, more) = (&mut self.sums[place], &other.sums[place]);
            sums.ready += more.ready;
            sums.ready_squared += more.ready_squared;
            sums.free += more.free;
            sums.approval += more.approval;
            sums.parts += more.parts;
        }
        self.waited += other.waited;
        self
    }
}

fn days(seconds: f64) -> f64 {
    seconds / 86_400.0
}

#[cfg(test)]
mod tests {
    use super::Tally;

    #[test]
    fn tallies_of_different_width_add_up() {
        let (mut one, mut other) = (Tally::new(2), Tally::new(2));
        one.count(0, 3);
        one.count(1, 63);
        other.count(1, 63);
        other.count(1, 200);
        let both = one.plus(&other);
        assert_eq!(
            (both.counts_of(0)[3], both.counts_of(1)[63], both.counts_of(1)[200]),
            (1, 2, 1)
        );
        assert_eq!(both.counts.iter().sum::<u32>(), 4);
    }
}
