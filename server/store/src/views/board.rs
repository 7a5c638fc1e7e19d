//! The board.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use super::PersonRef;
use trade::rules::promises::Kind;
use trade::words::ids::WorkOrderId;
use trade::words::instrument::Family;
use trade::words::stage::{Stage, WaitsFor};
use utoipa::ToSchema;

views! {
    /// One order on the board.
    BoardOrder {
        /// Which.
        id: WorkOrderId,
        /// Claim number.
        claim_number: String,
        /// For `If-Match`.
        version: i32,
        /// Where it stands.
        stage: Stage,
        /// Since when.
        stage_since: DateTime<Utc>,
        /// The promise, as a date of the shop.
        promised_on: NaiveDate,
        /// Open days of the shop from today to the promise; below zero once it is past.
        working_days_left: i64,
        /// Whose turn it is.
        waits_for: WaitsFor,
        /// Why, in words.
        waiting_words: String,
        /// Since when it waits for them.
        since: DateTime<Utc>,
        /// Whether a hold lies on it.
        held: bool,
        /// When to look again.
        held_until: Option<NaiveDate>,
        /// Who claimed it.
        claimed_by: Option<PersonRef>,
        /// Where it is in the shop.
        place: Option<String>,
        /// Who brought it.
        customer_name: String,
        /// Of the customer, for ringing.
        customer_phone: Option<String>,
        /// Family and maker.
        instrument_words: String,
        /// Family.
        family: Family,
        /// Working days from the promise to `ready_p85`; 0: not likely late. None where there is no
        /// forecast.
        likely_days_late: Option<i64>,
        /// Ready by then in 10 of 20 cases, as a date of the shop. None once it is ready, while nobody
        /// at the bench can work on it, and before the first forecast.
        ready_p50: Option<NaiveDate>,
        /// In 17 of 20.
        ready_p85: Option<NaiveDate>,
        /// In 19 of 20.
        ready_p95: Option<NaiveDate>,
    }
    /// How long orders of one stage usually still need.
    BoardStage {
        /// Which stage.
        stage: Stage,
        /// Working days that 17 of 20 closed orders still needed from this stage on; none in pickup, and
        /// before the first forecast.
        reach_days: Option<f64>,
        /// Whether that is typical or the shop's own.
        reach_kind: Option<Kind>,
        /// Closed orders that went through this stage.
        reach_count: Option<i64>,
    }
    /// Open orders by stage, in one answer.
    Board {
        /// When it was true.
        as_of: DateTime<Utc>,
        /// The number of the last event it holds.
        last_event: i64,
        /// The number of the forecast it holds; it rises when a date shown changes. None before the
        /// first.
        forecast_number: Option<i64>,
        /// From when that forecast looks ahead.
        forecast_as_of: Option<DateTime<Utc>>,
        /// Today, as a date of the shop.
        today: NaiveDate,
        /// The shop's open days from today on, for the scale.
        open_days: Vec<NaiveDate>,
        /// In the order of the shop.
        stages: Vec<BoardStage>,
        /// Who works here.
        people: Vec<PersonRef>,
        /// Every open order, by claim number.
        orders: Vec<BoardOrder>,
    }
}
