//! When things happen: within opening hours, and nobody at two benches at once.

use chrono::{DateTime, Datelike, Days, Duration, NaiveDate, Utc};
use serde_json::{Value, json};
use trade::words::business_time::{Calendar, Span};

/// The time zone of the made-up shops.
pub const ZONE: &str = "Europe/Berlin";

/// Hours, a lunch break, Saturday morning, and closed days around `today`: never today itself.
pub fn calendar(today: NaiveDate) -> Value {
    let day = |offset: i64| today + Duration::days(offset);
    // Three holidays of the year, and closures that lie around whatever day it is.
    let mut closed: Vec<(NaiveDate, NaiveDate)> = (today.year() - 2..=today.year() + 1)
        .flat_map(|year| {
            [(12, 24, 12, 26), (1, 1, 1, 1), (5, 1, 5, 1)]
                .map(|(m, d, to_m, to_d)| (year, m, d, to_m, to_d))
        })
        .filter_map(|(y, m, d, to_m, to_d)| {
            Some((NaiveDate::from_ymd_opt(y, m, d)?, NaiveDate::from_ymd_opt(y, to_m, to_d)?))
        })
        .collect();
    closed.extend(
        [(-620, -607), (-255, -242), (-33, -31), (-9, -9), (6, 6), (13, 15), (74, 84)]
            .map(|(from, to)| (day(from), day(to))),
    );
    closed.retain(|(from, to)| today < *from || *to < today);
    closed.sort_unstable();
    let closed: Vec<Value> =
        closed.into_iter().map(|(from, to)| json!({ "from": from, "to": to })).collect();
    let long = json!([{"from": "09:00", "to": "12:30"}, {"from": "13:30", "to": "18:00"}]);
    json!({
        "time_zone": ZONE,
        "weekly": {
            "monday": long, "tuesday": long, "wednesday": long, "thursday": long, "friday": long,
            "saturday": [{"from": "09:30", "to": "13:00"}]
        },
        "closed": closed,
        "extra_days": []
    })
}

/// The calendar, the last instant that anything may have happened at, and who is busy when.
#[derive(Debug, Clone)]
pub struct Diary {
    calendar: Calendar,
    now: DateTime<Utc>,
    /// The youngest date on which something may happen.
    day_zero: NaiveDate,
    /// Taken stretches of each member of the staff, in order.
    taken: Vec<Vec<Span>>,
    /// Whose clock is left running.
    running: Vec<usize>,
}

/// A day counts as begun, for the story, after so much open time; before, everything happened
/// yesterday at the latest.
const BEGUN: Duration = Duration::hours(2);

impl Diary {
    pub fn new(calendar: Calendar, now: DateTime<Utc>, staff_count: usize) -> Self {
        let today = calendar.local_date(now);
        let has_begun = |day: NaiveDate| {
            let open: i64 = calendar
                .open_intervals(day)
                .iter()
                .map(|s| (s.to.min(now) - s.from).num_seconds().max(0))
                .sum();
            open >= BEGUN.num_seconds()
        };
        let day_zero = (0..60)
            .map(|back| today - Days::new(back))
            .find(|day| has_begun(*day))
            .unwrap_or(today);
        Self { calendar, now, day_zero, taken: vec![Vec::new(); staff_count], running: Vec::new() }
    }

    pub fn now(&self) -> DateTime<Utc> {
        self.now
    }

    pub fn today(&self) -> NaiveDate {
        self.calendar.local_date(self.now)
    }

    pub fn date(&self, at: DateTime<Utc>) -> NaiveDate {
        self.calendar.local_date(at)
    }

    /// After so many minutes of open time; never after now.
    pub fn after(&self, at: DateTime<Utc>, minutes: i64, seconds: i64) -> DateTime<Utc> {
        let wait = u64::try_from(minutes * 60 + seconds).unwrap_or(0);
        self.calendar.after_open_seconds(at, wait, &[]).unwrap_or(self.now).min(self.now)
    }

    /// So many open days before the youngest date; 0 is that date.
    pub fn days_ago(&self, days: usize) -> NaiveDate {
        let mut left = days;
        let mut date = self.day_zero;
        while left > 0 {
            date = date - Days::new(1);
            if self.calendar.is_open_on(date) {
                left -= 1;
            }
        }
        date
    }

    /// An instant of this date: `share` of its open time, as far as it lies before now, is over.
    pub fn within(&self, date: NaiveDate, share: f64) -> DateTime<Utc> {
        let spans: Vec<Span> = self
            .calendar
            .open_intervals(date)
            .into_iter()
            .map(|span| Span { from: span.from, to: span.to.min(self.now) })
            .filter(|span| span.from < span.to)
            .collect();
        let total: i64 = spans.iter().map(|span| (span.to - span.from).num_seconds()).sum();
        #[expect(
            clippy::cast_precision_loss,
            clippy::cast_possible_truncation,
            reason = "a day has 86400 seconds"
        )]
        let mut left = (total as f64 * share) as i64;
        for span in &spans {
            let length = (span.to - span.from).num_seconds();
            if left < length {
                return span.from + Duration::seconds(left);
            }
            left -= length;
        }
        spans.last().map_or(self.now, |span| span.to)
    }

    /// The date so many open days after (below zero: before) this one.
    pub fn open_days_from(&self, date: NaiveDate, days: i64) -> NaiveDate {
        if let Ok(ahead) = u32::try_from(days) {
            return self.calendar.after_open_days(date, ahead).unwrap_or(date);
        }
        let mut left = -days;
        let mut date = date;
        while left > 0 {
            date = date - Days::new(1);
            if self.calendar.is_open_on(date) {
                left -= 1;
            }
        }
        date
    }

    /// Every open date from one to another, both included.
    pub fn open_dates(&self, from: NaiveDate, to: NaiveDate) -> Vec<NaiveDate> {
        from.iter_days()
            .take_while(|day| *day <= to)
            .filter(|day| self.calendar.is_open_on(*day))
            .collect()
    }

    /// Takes the first stretch of so many minutes, within one opening, in which this member of the
    /// staff is free; before now, whatever else that means.
    pub fn book(&mut self, who: usize, not_before: DateTime<Utc>, minutes: i64) -> Span {
        let length = Duration::minutes(minutes.clamp(1, 200));
        let mut found = None;
        for open in self.calendar.open_spans(not_before) {
            if open.from >= self.now {
                break;
            }
            let mut from = open.from.max(not_before);
            for taken in &self.taken[who] {
                if taken.to > from && taken.from < from + length {
                    from = taken.to + Duration::minutes(4);
                }
            }
            if from + length <= open.to.min(self.now) {
                found = Some(Span { from, to: from + length });
                break;
            }
        }
        // Nothing free before now: it was done just now, however little time there was for it.
        let span = found.unwrap_or_else(|| {
            let to = self.now.max(not_before);
            Span { from: not_before.max(to - length), to }
        });
        let at = self.taken[who].partition_point(|taken| taken.from < span.from);
        self.taken[who].insert(at, span);
        span
    }

    /// Whether this member's clock is left running.
    pub fn is_running(&self, who: usize) -> bool {
        self.running.contains(&who)
    }

    /// Leaves a clock running from an instant on, or from the end of what was done after it.
    pub fn run(&mut self, who: usize, from: DateTime<Utc>) -> DateTime<Utc> {
        let from = self.taken[who]
            .last()
            .map_or(from, |last| from.max(last.to + Duration::minutes(1)))
            .min(self.now);
        self.taken[who].push(Span { from, to: self.now });
        self.running.push(who);
        from
    }
}
