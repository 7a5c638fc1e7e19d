//! When each open order, and a new one, will be ready, and how likely each promise is kept.
//!
//! * `mod.rs`: what is asked, and [`forecast`].
//! * `approval_wait`: how long customers take to answer.
//! * `bench_hours`: the technicians' working time, and the shop's dates.
//! * `open_time`: the axis on which closed hours are left out.
//! * `plan`: everything about a question that is the same in all draws.
//! * `streams`, `quantile_tables`: where random numbers and durations come from.
//! * `chances`: what is drawn, for several draws side by side.
//! * `shop`, `schedule`, `queues`, `order_of_service`: who does what next; one schedule, nothing
//!   random.
//! * `draws`, `tally`: many schedules, counted by date.
//! * `ready_dates`: what is said of one order.
//! * `reading`: the JSON door.
//!
//! Source of the model: COMPUTATIONS.md, section 4.

mod approval_wait;
mod bench_hours;
mod chances;
mod draws;
mod open_time;
mod order_of_service;
mod plan;
mod quantile_tables;
mod queues;
mod reading;
mod ready_dates;
mod schedule;
mod shop;
mod streams;
mod tally;

pub use approval_wait::{
    ApprovalWait, ApprovalWaits, NoAnswer, SurvivalStep, TYPICAL_APPROVAL_WAITS,
};
pub use reading::compute;
pub use ready_dates::{Causes, Kept, ReadyDates};

use crate::bench::three_point::ThreePoint;
use crate::words::business_time::Calendar;
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use std::num::NonZeroUsize;

/// Draws made unless another number is asked for.
pub const USUAL_DRAWS: u32 = 10_000;

/// Failures of the leak test after which it is taken as passed, so that a schedule ends.
pub const MOST_FAILURES: u32 = 3;

/// Somebody who works at the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Technician {
    /// Unlike every other's.
    pub id: String,
    /// What they can do.
    pub skills: Vec<String>,
    /// When they are away, though the shop may be open.
    pub absent: Vec<Absence>,
    /// The part of the opening hours that they spend at the bench, above 0 up to 1: of each
    /// opening the first part counts. 1 in the JSON door, which knows no bench hours.
    pub share: f64,
}

/// Dates on which a technician is away; both ends count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Absence {
    /// The first.
    #[serde(deserialize_with = "crate::words::shop_date::date")]
    pub from: NaiveDate,
    /// The last.
    #[serde(deserialize_with = "crate::words::shop_date::date")]
    pub to: NaiveDate,
}

/// A piece of bench work still to be done.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// The skill it takes.
    pub skill: String,
    /// Estimated minutes of working time.
    pub minutes: ThreePoint,
    /// The only technician who may do it, by id, if it is somebody's already.
    pub technician: Option<String>,
}

/// Why an order waits although somebody would be free.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hold {
    /// Until a known instant.
    Until(DateTime<Utc>),
    /// For so many days of 86,400 s from now.
    Days(ThreePoint),
}

/// An open order, or one that may come.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenOrder {
    /// Unlike every other's. Ties go by it, and its chances hang on it: it meets the same
    /// luck in two forecasts with the same seed.
    pub id: String,
    /// When it came to the shop.
    pub arrived_at: DateTime<Utc>,
    /// The date promised, if any.
    pub promised_date: Option<NaiveDate>,
    /// Bench work left, in order.
    pub tasks: Vec<Work>,
    /// The leak test after it.
    pub test: Option<Work>,
    /// The repair after a failed test. Without it tests pass.
    pub rework: Option<Work>,
    /// When the customer was asked for an answer that has not come; not after now.
    pub asked_at: Option<DateTime<Utc>>,
    /// The chance, 0 to 1, that this answer is waited for at all. 1 in the JSON door.
    pub answer_chance: f64,
    /// Parts or outside work that it waits for.
    pub hold: Option<Hold>,
    /// Not in the shop before this.
    pub available_at: Option<DateTime<Utc>>,
    /// Hours of the shop's open time that it stands, once all that is over, although somebody could
    /// take it up: the quantiles at equal steps of chance from 0 to 1, at least two, rising from 0 or
    /// more. None in the JSON door, which takes every order up at once.
    pub stands: Option<Vec<f64>>,
}

/// Leak tests of the past.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TestHistory {
    /// Passed at once.
    pub passed: u32,
    /// Failed.
    pub failed: u32,
}

/// Actual over estimated minutes, lognormal.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EstimateRatio {
    /// Mean of the logarithm; 0 when estimates are right in the middle.
    pub log_mean: f64,
    /// Standard deviation of the logarithm, not below 0.
    pub log_sd: f64,
}

/// Everything a forecast rests on.
#[derive(Debug, Clone)]
pub struct Question {
    /// The time from which it looks ahead; nothing here asks the clock.
    pub now: DateTime<Utc>,
    /// When the shop is open.
    pub calendar: Calendar,
    /// Who works at the bench. Ties go by number of skills, then by this order.
    pub technicians: Vec<Technician>,
    /// All open orders and any that may come, in any order.
    pub orders: Vec<OpenOrder>,
    /// How long customers take to answer; needed when an order waits for an answer.
    pub approval_waits: Option<ApprovalWaits>,
    /// Without it tests never fail.
    pub test_history: Option<TestHistory>,
    /// How far off estimates are.
    pub estimate_ratio: EstimateRatio,
    /// Number of draws, above zero. When nothing is random, one is made.
    pub draws: u32,
    /// The same seed gives the same forecast.
    pub seed: u64,
}

/// A forecast.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// For each order of the question, in its order.
    pub orders: Vec<ReadyDates>,
    /// Mean seconds, per order, in which it could be worked on and was not; closed hours
    /// included. 0 without orders.
    pub mean_wait_seconds: f64,
    /// The draws made.
    pub draws: u32,
}

/// A piece of work of an order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The task with this index.
    Task(usize),
    /// The leak test.
    Test,
    /// The repair after a failed test.
    Rework,
}

/// Why there is no forecast.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CannotForecast {
    /// Nobody has the skill for these, or may do them; by index of the order.
    NobodyCan(Vec<(usize, Part)>),
    /// This order waits for an answer, and nothing is known of answers.
    NothingKnownOfAnswers(usize),
    /// Some work would not end within ten years of the shop's open time, or an order not be
    /// free for work by then.
    NeverOpen,
    /// More than 128 technicians or 16 million orders.
    TooLarge,
}

/// Forecasts the ready dates of all orders.
///
/// * `threads`: how many to use at most; the forecast does not depend on it.
///
/// # Errors
/// [`CannotForecast`].
pub fn forecast(question: &Question, threads: NonZeroUsize) -> Result<Forecast, CannotForecast> {
    draws::forecast(question, threads)
}

impl Question {
    /// The technicians, by index, who can and may do this work; best rank first.
    fn who_can(&self, work: &Work) -> impl Iterator<Item = usize> {
        self.technicians.iter().enumerate().filter_map(|(index, technician)| {
            let may = work.technician.as_ref().is_none_or(|only| *only == technician.id);
            (may && technician.skills.contains(&work.skill)).then_some(index)
        })
    }

    /// The technicians by rank: the fewest skills first, then as listed.
    fn ranked(&self) -> Vec<usize> {
        let skills = |index: &usize| {
            let mut skills: Vec<&String> = self.technicians[*index].skills.iter().collect();
            skills.sort_unstable();
            skills.dedup();
            skills.len()
        };
        let mut ranked: Vec<usize> = (0..self.technicians.len()).collect();
        ranked.sort_by_key(skills);
        ranked
    }

    /// The orders by priority: the earliest promise first and those without one last, then
    /// the earliest arrival, then the id.
    fn by_priority(&self) -> Vec<usize> {
        let mut orders: Vec<usize> = (0..self.orders.len()).collect();
        orders.sort_by_key(|&index| {
            let order = &self.orders[index];
            (order.promised_date.unwrap_or(NaiveDate::MAX), order.arrived_at, &order.id)
        });
        orders
    }
}

impl OpenOrder {
    /// All pieces of work, each with its place.
    pub fn work(&self) -> impl Iterator<Item = (Part, &Work)> {
        let tasks = self.tasks.iter().enumerate().map(|(index, work)| (Part::Task(index), work));
        tasks
            .chain(self.test.iter().map(|work| (Part::Test, work)))
            .chain(self.rework.iter().map(|work| (Part::Rework, work)))
    }
}
