//! Figures that stand in until a shop has its own. All typical: chosen by judgement, from no
//! source; every answer that rests on one says so.

use super::history::{SPREAD_STEPS, Spread};
use crate::bench::three_point::ThreePoint;
use crate::words::business_time::Calendar;
use crate::words::stage::Stage;

/// Part of the opening hours that somebody who works at the bench spends there; the rest goes to
/// the counter, the telephone, orders and breaks. Typical, no source.
pub const BENCH_SHARE: f64 = 0.7;

/// Minutes of a first examination with its quote: low, typical, high. Typical, no source.
pub const EXAMINATION_MINUTES: [f64; 3] = [10.0, 25.0, 60.0];

/// Bench minutes of a whole order of which nothing is planned yet. Typical, no source.
pub const ORDER_MINUTES: [f64; 3] = [20.0, 90.0, 300.0];

/// Minutes of a leak test and the play test with it. Typical, no source.
pub const TEST_MINUTES: [f64; 3] = [5.0, 12.0, 30.0];

/// Minutes of the repair after a failed test. Typical, no source.
pub const REWORK_MINUTES: [f64; 3] = [10.0, 25.0, 90.0];

/// Days of 86,400 s that a hold goes on of which nobody has said when to look again, or whose day
/// has come. Typical, no source.
pub const HOLD_DAYS: [f64; 3] = [1.0, 4.0, 14.0];

/// Days that an order stands from its arrival at a stage on, although somebody could take it up: low,
/// typical, high. Typical, no source.
fn stands_days(stage: Stage) -> Option<[f64; 3]> {
    match stage {
        Stage::Intake => Some([0.5, 4.0, 14.0]),
        Stage::Diagnosis => Some([0.3, 3.0, 11.0]),
        Stage::Approval => Some([0.2, 2.0, 8.0]),
        Stage::Bench => Some([0.1, 1.5, 7.0]),
        Stage::LeakTest => Some([0.0, 0.3, 2.0]),
        Stage::Pickup | Stage::Closed => None,
    }
}

/// The same in hours of the shop's open time; what is begun on the bench stands as in the leak test.
#[must_use]
pub fn stands_hours(stage: Stage, is_begun: bool, calendar: &Calendar) -> Option<Spread> {
    let [low, typical, high] = stands_days(if is_begun { Stage::LeakTest } else { stage })?;
    let days = ThreePoint::new(low, typical, high)?;
    let hours_a_day = f64::from(calendar.weekly_minutes()) / 60.0 / 7.0;
    Some((0..=SPREAD_STEPS).map(|step| days.quantile(step as f64 / SPREAD_STEPS as f64) * hours_a_day).collect())
}

/// Working days that 17 of 20 orders still need when they arrive at a stage. Typical, no source.
#[must_use]
pub fn reach_days(stage: Stage) -> Option<f64> {
    match stage {
        Stage::Intake => Some(17.0),
        Stage::Diagnosis => Some(14.0),
        Stage::Approval => Some(11.0),
        Stage::Bench => Some(6.0),
        Stage::LeakTest => Some(2.0),
        Stage::Pickup | Stage::Closed => None,
    }
}
