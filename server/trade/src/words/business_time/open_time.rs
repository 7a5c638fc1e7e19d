//! Local hours on the real time line, in whole seconds of Unix time.

use super::{Calendar, SEARCH_DAYS, Span};
use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

/// A stretch `[from, to)` in seconds.
pub(super) type Seconds = (i64, i64);

impl Calendar {
    /// The non-empty spans of one date, each by itself, in the order of the hours.
    pub(super) fn spans_of(&self, date: NaiveDate) -> impl Iterator<Item = Seconds> + '_ {
        let midnight = date.and_time(NaiveTime::MIN);
        self.hours_of(date)
            .iter()
            .map(move |hours| {
                let at = |minute: u16| self.at_local(midnight, i64::from(minute));
                (at(hours.from_minute), at(hours.to_minute))
            })
            .filter(|(from, to)| from < to)
    }

    /// The instant of a local time, so many minutes after a local midnight.
    fn at_local(&self, midnight: NaiveDateTime, minutes: i64) -> i64 {
        let local =
            midnight.checked_add_signed(TimeDelta::minutes(minutes)).unwrap_or(NaiveDateTime::MAX);
        self.time_zone.seconds(local)
    }
}

/// The spans in order, those that overlap or touch made one.
pub(super) fn merged(spans: impl IntoIterator<Item = Seconds>) -> Vec<Seconds> {
    let mut spans: Vec<Seconds> = spans.into_iter().collect();
    spans.sort_unstable();
    let mut merged: Vec<Seconds> = Vec::with_capacity(spans.len());
    for (from, to) in spans {
        match merged.last_mut() {
            Some((_, end)) if from <= *end => *end = to.max(*end),
            _ => merged.push((from, to)),
        }
    }
    merged
}

/// Open time from an instant on, without holds, in order and without overlaps.
pub(super) struct Working<'c> {
    calendar: &'c Calendar,
    /// The next date to look at; `None` after the last.
    next_date: Option<NaiveDate>,
    last_date: NaiveDate,
    /// Days without any hours after which the search ends.
    patience: u32,
    barren: u32,
    /// Spans of the dates looked at, latest first, so that the earliest is popped.
    ahead: Vec<Seconds>,
    /// No date not yet looked at has a span that starts before this.
    settled: i64,
    /// Everything before this was given already.
    done: i64,
    /// Merged, latest first.
    holds: Vec<Seconds>,
}

impl<'c> Working<'c> {
    /// From this instant on, for ever or until nothing is open for too long.
    pub(super) fn from(calendar: &'c Calendar, from: i64, holds: &[Span]) -> Self {
        let holds = merged(holds.iter().map(|hold| (hold.from.timestamp(), hold.to.timestamp())));
        // The lost or doubled day of a zone can carry a span by a day, and it can be
        // another date there than in Greenwich.
        let first = date_of(from, -2);
        Self {
            calendar,
            next_date: Some(first),
            last_date: NaiveDate::from_ymd_opt(9999, 12, 31).expect("a date of the calendar"),
            patience: SEARCH_DAYS + 4,
            barren: 0,
            ahead: Vec::new(),
            settled: i64::MIN,
            done: from,
            holds: holds.into_iter().filter(|(from, to)| from < to).rev().collect(),
        }
    }

    /// From one instant to another, over any closed time between; what it gives after
    /// `to` is without meaning.
    pub(super) fn until(calendar: &'c Calendar, from: i64, to: i64, holds: &[Span]) -> Self {
        Self { last_date: date_of(to, 2), patience: u32::MAX, ..Self::from(calendar, from, holds) }
    }

    /// The next open span, holds not yet taken out.
    fn next_open(&mut self) -> Option<Seconds> {
        loop {
            if self
                .ahead
                .last()
                .is_some_and(|(from, _)| *from < self.settled || self.next_date.is_none())
            {
                return self.ahead.pop();
            }
            self.look_at_a_date(self.next_date?);
        }
    }

    fn look_at_a_date(&mut self, date: NaiveDate) {
        let before = self.ahead.len();
        self.ahead.extend(self.calendar.spans_of(date));
        if self.ahead.len() == before {
            self.barren += 1;
        } else {
            self.barren = 0;
            self.ahead.sort_unstable_by(|one, other| other.cmp(one));
        }
        let next = date.succ_opt().filter(|next| *next <= self.last_date);
        self.next_date = next.filter(|_| self.barren < self.patience);
        // No offset in the time zone data lies further east than Metlakatla's +15:13:42,
        // so no later date has a span that starts earlier than this.
        self.settled = date.and_time(NaiveTime::MIN).and_utc().timestamp() + (24 - 16) * 3600;
    }
}

impl Iterator for Working<'_> {
    type Item = Seconds;

    fn next(&mut self) -> Option<Seconds> {
        loop {
            let (from, to) = self.next_open()?;
            let from = from.max(self.done);
            while self.holds.last().is_some_and(|(_, end)| *end <= from) {
                self.holds.pop();
            }
            if from >= to {
                continue;
            }
            let Some((hold_from, hold_to)) =
                self.holds.last().copied().filter(|(start, _)| *start < to)
            else {
                self.done = to;
                return Some((from, to));
            };
            // What is left of the span behind the hold is looked at again.
            if hold_to < to {
                self.ahead.push((hold_to, to));
            }
            self.done = hold_to.min(to);
            if from < hold_from {
                return Some((from, hold_from));
            }
        }
    }
}

/// A date near this instant, so many days later.
fn date_of(seconds: i64, days: i64) -> NaiveDate {
    let (first, last) = (NaiveDate::MIN, NaiveDate::MAX);
    let nearest = if seconds < 0 { first } else { last };
    let date = DateTime::from_timestamp(seconds, 0).map_or(nearest, |at| at.date_naive());
    date.checked_add_signed(TimeDelta::days(days)).unwrap_or(if date.year() < 0 {
        first
    } else {
        last
    })
}
