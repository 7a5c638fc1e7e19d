//! Working time: the shop's opening hours laid on the real time line.
//!
//! Seconds are real ones: a shop that is open at night has an hour less in spring. All
//! spans are half-open, `[from, to)`. Nothing here asks what time it is now.

mod open_time;
mod reading;

pub use super::zone::tzdata_version;
pub use reading::{compute, read_date, read_instant};

use super::zone::Zone;
use chrono::{DateTime, Datelike, NaiveDate, Utc, Weekday};
use open_time::{Working, merged};
use serde::{Deserialize, Serialize, Serializer};

/// When a shop is open.
///
/// In JSON as the `calendar` of the computation: `time_zone`, `weekly`, `closed`,
/// `extra_days`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, utoipa::ToSchema)]
pub struct Calendar {
    time_zone: Zone,
    weekly: Weekly,
    closed: Vec<ClosedDays>,
    extra_days: Vec<ExtraDay>,
    /// `closed`, merged and in order, so that a date is looked up by halving.
    #[serde(skip)]
    shut: Vec<(NaiveDate, NaiveDate)>,
}

/// The opening hours of an ordinary week, in the shop's local time. A day without
/// hours is closed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, utoipa::ToSchema)]
#[expect(missing_docs, reason = "the days of the week")]
pub struct Weekly {
    pub monday: Vec<Hours>,
    pub tuesday: Vec<Hours>,
    pub wednesday: Vec<Hours>,
    pub thursday: Vec<Hours>,
    pub friday: Vec<Hours>,
    pub saturday: Vec<Hours>,
    pub sunday: Vec<Hours>,
}

/// Opening hours within one day, by the clock on the shop's wall; they do not cross
/// midnight. In JSON `{"from": "09:00", "to": "12:30"}`, `to` up to `24:00`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, utoipa::ToSchema)]
pub struct Hours {
    #[schema(value_type = String, example = "09:00")]
    from_minute: u16,
    #[schema(value_type = String, example = "12:30")]
    to_minute: u16,
}

/// Days on which the shop is closed whatever the day of the week; both ends count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, utoipa::ToSchema)]
pub struct ClosedDays {
    /// The first.
    pub from: NaiveDate,
    /// The last.
    pub to: NaiveDate,
}

/// A day with hours of its own. It replaces whatever else holds for that date.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, utoipa::ToSchema)]
pub struct ExtraDay {
    /// The date.
    pub date: NaiveDate,
    /// Its hours; none: closed.
    pub open: Vec<Hours>,
}

/// A stretch of the real time line, `[from, to)`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
pub struct Span {
    /// The first instant in it.
    pub from: DateTime<Utc>,
    /// The first instant after it.
    pub to: DateTime<Utc>,
}

/// The shop is not open within ten years (3660 days), or not before the year 10,000.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NeverOpen;

impl std::fmt::Display for NeverOpen {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("the shop is not open within the next ten years; look at its opening hours")
    }
}

impl std::error::Error for NeverOpen {}

/// After so many days without an open second a search gives up.
pub const SEARCH_DAYS: u32 = 3660;

impl Hours {
    /// Hours from and to so many minutes after midnight, 0 ≤ from < to ≤ 1440; `None`
    /// for any other.
    #[must_use]
    pub fn new(from_minute: u16, to_minute: u16) -> Option<Self> {
        (from_minute < to_minute && to_minute <= 24 * 60).then_some(Self { from_minute, to_minute })
    }
}

impl Serialize for Hours {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Written {
            from: String,
            to: String,
        }
        let written = |minute: u16| format!("{:02}:{:02}", minute / 60, minute % 60);
        Written { from: written(self.from_minute), to: written(self.to_minute) }
            .serialize(serializer)
    }
}

impl Weekly {
    /// The hours of this day of the week.
    #[must_use]
    pub fn on(&self, day: Weekday) -> &[Hours] {
        match day {
            Weekday::Mon => &self.monday,
            Weekday::Tue => &self.tuesday,
            Weekday::Wed => &self.wednesday,
            Weekday::Thu => &self.thursday,
            Weekday::Fri => &self.friday,
            Weekday::Sat => &self.saturday,
            Weekday::Sun => &self.sunday,
        }
    }
}

impl Calendar {
    /// A calendar of these parts, in any order. Of two extra days on one date the
    /// later in the list holds.
    #[must_use]
    pub fn new(
        time_zone: Zone,
        weekly: Weekly,
        closed: Vec<ClosedDays>,
        mut extra_days: Vec<ExtraDay>,
    ) -> Self {
        extra_days.reverse();
        extra_days.sort_by_key(|day| day.date);
        extra_days.dedup_by_key(|day| day.date);
        let mut days: Vec<(NaiveDate, NaiveDate)> =
            closed.iter().map(|days| (days.from, days.to)).collect();
        days.sort_unstable();
        let mut shut: Vec<(NaiveDate, NaiveDate)> = Vec::with_capacity(days.len());
        for (from, to) in days {
            match shut.last_mut() {
                Some((_, last)) if from <= *last => *last = to.max(*last),
                _ => shut.push((from, to)),
            }
        }
        Self { time_zone, weekly, closed, extra_days, shut }
    }

    /// The shop's time zone.
    #[must_use]
    pub fn time_zone(&self) -> &Zone {
        &self.time_zone
    }

    /// Open minutes of an ordinary week, by the clock on the shop's wall.
    #[must_use]
    pub fn weekly_minutes(&self) -> u32 {
        let days = [
            Weekday::Mon,
            Weekday::Tue,
            Weekday::Wed,
            Weekday::Thu,
            Weekday::Fri,
            Weekday::Sat,
            Weekday::Sun,
        ];
        let hours = days.iter().flat_map(|day| self.weekly.on(*day));
        hours.map(|hours| u32::from(hours.to_minute - hours.from_minute)).sum()
    }

    /// The date on the shop's wall at this instant.
    #[must_use]
    pub fn local_date(&self, at: DateTime<Utc>) -> NaiveDate {
        self.time_zone.local_date(at)
    }

    /// The open spans of this date, in order, none touching another.
    ///
    /// A local time that comes twice (the clock goes back) is the earlier one; one that
    /// never comes (the clock goes forward) is read with the offset before the change.
    #[must_use]
    pub fn open_intervals(&self, date: NaiveDate) -> Vec<Span> {
        merged(self.spans_of(date)).into_iter().map(Span::of_seconds).collect()
    }

    /// Whether the shop opens at all on this date.
    #[must_use]
    pub fn is_open_on(&self, date: NaiveDate) -> bool {
        self.spans_of(date).next().is_some()
    }

    /// Seconds of open time within `[from, to)` and outside the holds, which may overlap.
    /// Parts of a second are dropped. Nothing if `to` is before `from`.
    #[must_use]
    pub fn open_seconds(&self, from: DateTime<Utc>, to: DateTime<Utc>, holds: &[Span]) -> i64 {
        let to = to.timestamp();
        Working::until(self, from.timestamp(), to, holds)
            .take_while(|(start, _)| *start < to)
            .map(|(start, end)| end.min(to) - start)
            .sum()
    }

    /// The earliest instant at or after `from` with so many seconds of open time, outside
    /// the holds, between; closing time itself counts. For 0 seconds `from` itself if the
    /// shop is open then and no hold holds, else the next opening. Parts of a second
    /// are dropped.
    ///
    /// # Errors
    /// [`NeverOpen`] when there is no open second within [`SEARCH_DAYS`], or the work
    /// would not end before the year 10,000.
    pub fn after_open_seconds(
        &self,
        from: DateTime<Utc>,
        seconds: u64,
        holds: &[Span],
    ) -> Result<DateTime<Utc>, NeverOpen> {
        let mut left = i64::try_from(seconds).map_err(|_| NeverOpen)?;
        let mut last = from.timestamp();
        for (start, end) in Working::from(self, last, holds) {
            if start - last > i64::from(SEARCH_DAYS) * 86_400 {
                return Err(NeverOpen);
            }
            if end - start >= left {
                return Ok(instant(start + left));
            }
            left -= end - start;
            last = end;
        }
        Err(NeverOpen)
    }

    /// The open spans from this instant on, in order, none overlapping another; the first
    /// begins at `from` if the shop is open then. A span ends at midnight at the latest
    /// where hours go on next day. Ends when there is no open second within [`SEARCH_DAYS`].
    pub fn open_spans(&self, from: DateTime<Utc>) -> impl Iterator<Item = Span> + '_ {
        Working::from(self, from.timestamp(), &[]).map(Span::of_seconds)
    }

    /// The date after so many open dates; `from` itself for none, open or not.
    ///
    /// # Errors
    /// [`NeverOpen`], as [`Self::after_open_seconds`].
    pub fn after_open_days(&self, from: NaiveDate, days: u32) -> Result<NaiveDate, NeverOpen> {
        let mut last = from;
        let mut left = days;
        let mut date = from;
        while left > 0 {
            date = date.succ_opt().filter(|date| date.year() < 10_000).ok_or(NeverOpen)?;
            if self.is_open_on(date) {
                left -= 1;
                last = date;
            } else if (date - last).num_days() > i64::from(SEARCH_DAYS) {
                return Err(NeverOpen);
            }
        }
        Ok(date)
    }

    /// How many open dates there are after `from`, up to and with `to`: what
    /// [`Self::after_open_days`] takes to come from one to the other. None if `to` is
    /// not after `from`.
    #[must_use]
    pub fn open_days_between(&self, from: NaiveDate, to: NaiveDate) -> usize {
        from.iter_days()
            .skip(1)
            .take_while(|date| *date <= to)
            .filter(|date| self.is_open_on(*date))
            .count()
    }

    /// The local hours of this date: an extra day's, or else none when closed, or else
    /// those of the day of the week.
    fn hours_of(&self, date: NaiveDate) -> &[Hours] {
        if let Ok(found) = self.extra_days.binary_search_by_key(&date, |day| day.date) {
            return &self.extra_days[found].open;
        }
        let begun = self.shut.partition_point(|(from, _)| *from <= date);
        if begun > 0 && date <= self.shut[begun - 1].1 {
            return &[];
        }
        self.weekly.on(date.weekday())
    }
}

impl Span {
    fn of_seconds((from, to): (i64, i64)) -> Self {
        Self { from: instant(from), to: instant(to) }
    }
}

fn instant(seconds: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(seconds, 0)
        .expect("it lies between two instants that are known already")
}
