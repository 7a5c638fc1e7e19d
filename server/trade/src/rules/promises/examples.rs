//! A shop to try the rules on.

use super::{BenchPerson, ClosedOrder, History, HistoryRows, OpenStep, OrderAtWork, ShopAtWork, Skills};
use crate::words::business_time::Calendar;
use crate::words::ids::{PersonId, WorkOrderId};
use crate::words::instrument::{Family, OperationKind};
use crate::words::stage::Stage;
use chrono::{DateTime, NaiveDate, TimeZone, Utc};
use uuid::Uuid;

/// Monday to Friday, nine to five in Greenwich.
pub fn calendar() -> Calendar {
    let day = serde_json::json!([{"from": "09:00", "to": "17:00"}]);
    serde_json::from_value(serde_json::json!({
        "time_zone": "Etc/UTC",
        "weekly": {"monday": day, "tuesday": day, "wednesday": day, "thursday": day, "friday": day},
        "closed": [], "extra_days": []
    }))
    .expect("a calendar")
}

/// A date of March 2026; the 2nd is a Monday.
pub fn march(day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, day).expect("a date")
}

/// An hour of a day of March 2026.
pub fn instant(day: u32, hour: u32) -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2026, 3, day, hour, 0, 0).single().expect("an instant")
}

pub fn person(number: u128) -> BenchPerson {
    BenchPerson {
        id: PersonId(Uuid::from_u128(number)),
        skills: Skills::default(),
        weekly_bench_hours: Some(40),
        absent: Vec::new(),
    }
}

pub fn step(minutes: i32) -> OpenStep {
    OpenStep {
        title: "Fit the slide".to_owned(),
        kind: OperationKind::Work,
        method: None,
        minutes: [minutes; 3],
        taken_minutes: 0,
        claimed_by: None,
    }
}

/// An order on the bench with these steps, promised for the 13th.
pub fn on_the_bench(number: u128, steps: Vec<OpenStep>) -> OrderAtWork {
    OrderAtWork {
        id: WorkOrderId(Uuid::from_u128(number)),
        arrived_at: instant(2, 9),
        promised_on: Some(march(13)),
        stage: Stage::Bench,
        stage_since: instant(6, 9),
        family: Family::Horn,
        claimed_by: None,
        steps,
        asked_at: None,
        was_seen: false,
        has_run_out: false,
        may_cost: None,
        drafted: None,
        hold: None,
        has_question: false,
        is_ending: false,
        available_on: None,
        is_taken_up: false,
    }
}

/// A shop with one person at the bench and no history, on Monday, 9 March, at nine.
pub fn shop(orders: Vec<OrderAtWork>) -> ShopAtWork {
    // Everything is taken up at once, so that the rest can be seen.
    let history = History { stands: Vec::new(), ..History::of(&HistoryRows::default(), &calendar()) };
    ShopAtWork { now: instant(9, 9), calendar: calendar(), people: vec![person(1)], orders, history }
}

/// A closed horn of so many minutes.
pub fn closed(minutes: i32) -> ClosedOrder {
    ClosedOrder {
        family: Family::Horn,
        moves: vec![(Stage::Intake, instant(2, 10))],
        ready_at: instant(4, 12),
        begun_at: None,
        may_cost: None,
        holds: Vec::new(),
        worked_minutes: 0.0,
        planned_minutes: minutes,
        cost: None,
    }
}
