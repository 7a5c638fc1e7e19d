//! Many schedules with random durations, counted by date.

use super::chances::Chances;
use super::order_of_service::{OutOfTime, Run};
use super::plan::Plan;
use super::quantile_tables::LANES;
use super::ready_dates::{Causes, ReadyDates};
use super::schedule::{AT_OPENING, InWork, Schedule};
use super::shop::{MOST_ORDERS, MOST_TECHNICIANS};
use super::tally::Tally;
use super::{CannotForecast, Forecast, Part, Question};
use crate::words::business_time::SEARCH_DAYS;
use chrono::TimeDelta;
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
        let tally = draw(&plan, 0..1, Tally::of_one_draw(plan.orders.len()))?;
        return Ok(summed_up(&plan, question, &tally, 1));
    }
    let steps = u64::from(question.draws) * (plan.shop.step_count() + plan.orders.len()) as u64;
    let worth = usize::try_from(steps / STEPS_WORTH_A_THREAD).unwrap_or(usize::MAX).max(1);
    let threads = threads.get().min(worth) as u32;
    let draw = |draws| draw(&plan, draws, Tally::new(plan.orders.len()));
    let tally = if threads == 1 {
        draw(0..question.draws)?
    } else {
        let share = |thread: u32| {
            (u64::from(question.draws) * u64::from(thread) / u64::from(threads)) as u32
        };
        std::thread::scope(|scope| {
            let workers: Vec<_> = (0..threads)
                .map(|thread| {
                    let draw = &draw;
                    scope.spawn(move || draw(share(thread)..share(thread + 1)))
                })
                .collect();
            let tallies =
                workers.into_iter().map(|worker| worker.join().expect("a draw does not panic"));
            // All counts and sums are whole numbers, so it does not matter how they are split.
            tallies.reduce(|one, other| Ok(one?.plus(&other?))).expect("at least one thread")
        })?
    };
    Ok(summed_up(&plan, question, &tally, question.draws))
}

/// Plays these draws and adds them to the tally.
fn draw(plan: &Plan<'_>, draws: Range<u32>, mut tally: Tally) -> Result<Tally, OutOfTime> {
    let orders = plan.orders.len();
    let mut chances = Chances::new(plan);
    let mut schedules = [plan.start.clone(), plan.start.clone()];
    let mut in_work = vec![InWork::default(); LANES * orders];
    let mut first = draws.start;
    while first < draws.end && orders > 0 {
        let count = LANES.min((draws.end - first) as usize);
        chances.draw(plan, first, count, &mut tally)?;
        for (pair, in_work) in in_work.chunks_mut(2 * orders).enumerate().take(count.div_ceil(2)) {
            tally.not_waited += play(plan, &chances, 2 * pair, count, &mut schedules, in_work)?;
        }
        for (place, _) in plan.orders.iter().enumerate().filter(|(_, order)| order.steps > 0) {
            let of_draws = in_work[place..].iter().step_by(orders).take(count);
            tally.ready(place, of_draws.map(|order| instant_and_day(plan, order.ready)));
        }
        first += count as u32;
    }
    Ok(tally)
}

/// Plays the draw of this lane and the next at once, because each of them for itself waits for the
/// step before; the seconds between starts and ends that were not worked.
fn play(
    plan: &Plan<'_>,
    chances: &Chances,
    lane: usize,
    count: usize,
    schedules: &mut [Schedule; 2],
    in_work: &mut [InWork],
) -> Result<u64, OutOfTime> {
    let [one, other] = schedules;
    let (orders, of_other) = in_work.split_at_mut(plan.orders.len());
    let drawn = |lane| (chances.releases(lane), chances.steps(lane));
    let mut one = Run::new(&plan.shop, &plan.start, one, drawn(lane), orders);
    if lane + 1 == count {
        one.finish();
        return one.paused();
    }
    let mut other = Run::new(&plan.shop, &plan.start, other, drawn(lane + 1), of_other);
    while one.advance() & other.advance() {}
    one.finish();
    other.finish();
    Ok(one.paused()? + other.paused()?)
}

/// A ready point as an instant, with its date as days after the first.
#[inline(always)]
fn instant_and_day(plan: &Plan<'_>, ready: u32) -> (u32, u32) {
    if ready >= AT_OPENING {
        let instant = plan.shop.hours.open.opening(ready - AT_OPENING);
        (instant, plan.dates.day_at(instant))
    } else {
        plan.shop.hours.open.closing(ready)
    }
}

/// What the draws say of each order.
fn summed_up(plan: &Plan<'_>, question: &Question, tally: &Tally, draws: u32) -> Forecast {
    let n = f64::from(draws);
    let nothing_random = !plan.is_random();
    let (mut orders, mut all_ready) = (vec![None; plan.orders.len()], 0);
    for (place, order) in plan.orders.iter().enumerate() {
        let sums = &tally.sums[place];
        all_ready += sums.ready;
        let mean = sums.ready as f64 / n;
        // n Σx² − (Σx)² in whole numbers, where nothing cancels.
        let ready = u128::from(sums.ready);
        let spread = u128::from(draws) * sums.ready_squared - ready * ready;
        let sd = (spread as f64).sqrt() / n;
        let parts = if order.parts.is_some() {
            sums.parts as f64 / n
        } else {
            f64::from(order.parts_until)
        };
        let causes = Causes {
            approval_days: days(sums.approval as f64 / n),
            parts_days: days(parts),
            bench_days: days((sums.ready - sums.free) as f64 / n),
        };
        let ready_at = nothing_random.then(|| question.now + TimeDelta::seconds(sums.ready as i64));
        let dates = match ready_at {
            Some(ready_at) => vec![(question.calendar.local_date(ready_at), 1)],
            None => {
                let counts = tally.counts_of(place).iter().zip(0u32..);
                let counts = counts.filter(|(count, _)| **count > 0);
                counts.map(|(count, day)| (plan.dates.date(day), *count)).collect()
            }
        };
        let hours = (mean / 3600.0, sd / 3600.0);
        orders[order.index] = Some(ReadyDates::new(dates, ready_at, hours, causes));
    }
    Forecast {
        orders: orders.into_iter().map(|order| order.expect("each order has a place")).collect(),
        mean_wait_seconds: (all_ready - tally.not_waited) as f64
            / n
            / (plan.orders.len().max(1)) as f64,
        draws,
    }
}

fn days(seconds: f64) -> f64 {
    seconds / 86_400.0
}
