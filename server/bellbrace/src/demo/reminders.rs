//! When the clock wrote to those who had not answered, or had not collected.

use super::story::{By, Moment, Step, Visit};
use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};
use trade::words::paperwork::Answer;
use trade::words::stage::Stage;

/// When the round comes by, UTC.
const ROUND: NaiveTime = NaiveTime::from_hms_opt(5, 20, 0).expect("an hour of the day");

/// Lets the round come by on every day on which a reminder of this visit may be due. Whether one
/// is, and to whom it goes, is for the act to say.
pub fn add(visit: &mut Visit, dates: impl Fn(DateTime<Utc>) -> NaiveDate, now: DateTime<Utc>, settings: [&[u16]; 2]) {
    let [of_quotes, in_pickup] = settings;
    let is_over = visit.moments.iter().any(|moment| match moment.step {
        Step::HandOver { .. } | Step::AtCounter { .. } => true,
        Step::Move { to, .. } => to == Stage::Closed,
        _ => false,
    });
    let until = if is_over { visit.ended_at() } else { now };
    let mut rounds: Vec<DateTime<Utc>> = Vec::new();
    for moment in &visit.moments {
        let days = match &moment.step {
            Step::Send => of_quotes,
            Step::Test { .. }
            | Step::End { .. }
            | Step::ConfirmEnd
            | Step::Move { to: Stage::Pickup, .. }
            | Step::Decide { answer: Answer::Declined, .. } => in_pickup,
            _ => continue,
        };
        rounds.extend(days.iter().map(|days| (dates(moment.at) + Days::new(u64::from(*days))).and_time(ROUND).and_utc()));
    }
    rounds.retain(|at| *at < until);
    rounds.sort_unstable();
    rounds.dedup();
    for at in rounds {
        let place = visit.moments.partition_point(|moment| moment.at <= at);
        visit.moments.insert(place, Moment { at, by: By::Clock, step: Step::Remind, is_aloud: false });
    }
}
