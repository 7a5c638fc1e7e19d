//! Ready dates.

use chrono::{DateTime, NaiveDate, Utc};
use crate::forecasts::{Cause, Chance};
use serde::{Deserialize, Serialize};
use super::{NameRef, PersonRef};
use trade::rules::promises::{ForecastBasis, Help};
use trade::words::ids::WorkOrderId;
use trade::words::instrument::Family;
use trade::words::money::Money;
use trade::words::stage::{Stage, WaitsFor};
use utoipa::ToSchema;

views! {
    /// A date on which an order may be ready, with its share of cases.
    DateShare {
        /// As a date of the shop.
        date: NaiveDate,
        /// Draws in which it was ready on this date; those of one order add up to the draws of the basis.
        draws_count: u32,
    }
    /// What closed orders of a family came to, tax included.
    SimilarCost {
        /// Closed orders that it rests on.
        count: i64,
        /// One in twenty came to less.
        low: Money,
        /// Half of them came to less.
        middle: Money,
        /// One in twenty came to more.
        high: Money,
    }
    /// When an order that may come would be ready. Without dates when nobody at the bench can
    /// work on it.
    NewOrderReady {
        /// What it is.
        family: Family,
        /// Ready by then in 10 of 20 cases.
        ready_p50: Option<NaiveDate>,
        /// In 17 of 20: the first date to promise.
        ready_p85: Option<NaiveDate>,
        /// In 19 of 20.
        ready_p95: Option<NaiveDate>,
        /// Twenty equally likely dates, rising.
        twenty: Vec<NaiveDate>,
        /// Every date on which it may be ready, rising.
        dates: Vec<DateShare>,
        /// The chance of the date that was considered.
        promise: Option<Chance>,
        /// What it will wait for, the longest first.
        largest_causes: Vec<Cause>,
        /// What such jobs cost; none below five of them.
        similar_cost: Option<SimilarCost>,
    }
    /// When orders that may come would be ready.
    NewOrdersForecast {
        /// From when it looks ahead.
        as_of: DateTime<Utc>,
        /// As they were asked for, in order.
        orders: Vec<NewOrderReady>,
        /// Open orders that are worked on as well.
        orders_before_count: i64,
        /// What it rests on.
        basis: ForecastBasis,
    }
    /// An open order with its forecast.
    ForecastOrder {
        /// Which.
        work_order_id: WorkOrderId,
        /// Claim number.
        claim_number: String,
        /// Where it stands.
        stage: Stage,
        /// The promise, as a date of the shop.
        promised_on: NaiveDate,
        /// Ready by then in 10 of 20 cases.
        ready_p50: NaiveDate,
        /// In 17 of 20.
        ready_p85: NaiveDate,
        /// In 19 of 20.
        ready_p95: NaiveDate,
        /// Twenty equally likely dates, rising.
        twenty: Vec<NaiveDate>,
        /// The chance that the promise is kept.
        promise: Option<Chance>,
        /// Working days from the promise to `ready_p85`; 0: not likely late.
        likely_days_late: i64,
        /// What it waits for, the longest first.
        largest_causes: Vec<Cause>,
    }
    /// A promise that is likely to be missed.
    LikelyLate {
        /// The order with its dates.
        order: ForecastOrder,
        /// Who brought it.
        customer_name: String,
        /// Family and maker.
        instrument_words: String,
        /// Whose turn it is.
        waits_for: WaitsFor,
        /// Who claimed it.
        claimed_by: Option<PersonRef>,
        /// Why that date was promised, where fewer than 10 of 20 such jobs would be ready by then.
        promise_reason: Option<String>,
        /// Why, and the one thing that would help.
        help: Help,
        /// Whom to ring, where ringing helps.
        ring: Option<NameRef>,
        /// Their number as typed.
        ring_phone: Option<String>,
    }
    /// The forecast over all open orders.
    Forecast {
        /// From when it looks ahead; none before the first.
        as_of: Option<DateTime<Utc>>,
        /// Rises when a date shown changes.
        number: Option<i64>,
        /// Orders that are not ready yet, by claim number.
        orders: Vec<ForecastOrder>,
        /// Promises likely to be missed, most pressing first: by the promised date, then by days late.
        likely_late: Vec<LikelyLate>,
        /// Open orders that nobody at the bench can work on, by claim number.
        nobody_can: Vec<String>,
        /// What it rests on; none before the first.
        basis: Option<ForecastBasis>,
    }
}
