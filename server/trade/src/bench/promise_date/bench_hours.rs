//! The working time of each technician on the axis of open time, and the shop's dates.

use super::Technician;
use super::open_time::{NEVER, OpenTime};
use crate::words::business_time::Calendar;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

/// A stretch of a technician's time on the axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Stretch {
    start: u32,
    end: u32,
}

/// When the technicians work, from now to a horizon.
#[derive(Debug, Clone)]
pub(super) struct BenchHours {
    /// The time in which any of them works.
    pub(super) open: OpenTime,
    /// Of one technician after the other; in order, not touching; after each technician's a
    /// sentinel at [`NEVER`]. One who is there whenever anybody is has a single one.
    stretches: Vec<Stretch>,
    /// Each technician's first stretch.
    firsts: Vec<u32>,
}

/// A point with the technician's stretch that it falls in, at its start, or within.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) stretch: u32,
    /// The point, [`NEVER`] when there is no more open time.
    pub(super) at: u32,
}

impl BenchHours {
    /// The hours of these technicians from `now` over so many days.
    pub(super) fn new(
        calendar: &Calendar,
        technicians: &[&Technician],
        now: DateTime<Utc>,
        days: u32,
        dates: &Dates,
    ) -> Self {
        let shop = openings(calendar, now, days);
        let of_each: Vec<Vec<(u32, u32)>> =
            technicians.iter().map(|technician| instants_of(&shop, technician)).collect();
        let open = OpenTime::new(&joined(of_each.iter().flatten().copied()), dates);
        let mut hours = Self { open, stretches: Vec::new(), firsts: Vec::new() };
        for instants in of_each {
            hours.firsts.push(hours.stretches.len() as u32);
            let points = instants.iter().map(|&(from, to)| {
                let start = hours.open.point(from);
                (start, start + (to - from))
            });
            let stretches = joined(points).into_iter();
            hours.stretches.extend(stretches.map(|(start, end)| Stretch { start, end }));
            hours.stretches.push(Stretch { start: NEVER, end: NEVER });
        }
        hours
    }

    pub(super) fn technician_count(&self) -> usize {
        self.firsts.len()
    }

    /// The first open point of a technician.
    pub(super) fn first(&self, technician: usize) -> Place {
        let stretch = self.firsts[technician];
        Place { stretch, at: self.stretches[stretch as usize].start }
    }

    /// Where a stretch ends.
    #[inline]
    pub(super) fn end_of(&self, stretch: u32) -> u32 {
        self.stretches[stretch as usize].end
    }

    /// The first open point at or after `at`, which is not before `hint`.
    pub(super) fn open_from(&self, hint: u32, at: u32) -> Place {
        let mut place = hint as usize;
        while self.stretches[place].end <= at && self.stretches[place].end != NEVER {
            place += 1;
        }
        Place { stretch: place as u32, at: at.max(self.stretches[place].start) }
    }

    /// The point after so many working seconds from `at`, an open point of this stretch; the end of
    /// a stretch counts. The place names the stretch that the work ends in.
    pub(super) fn after(&self, stretch: u32, at: u32, seconds: u32) -> Place {
        let mut place = stretch as usize;
        let mut end = at.saturating_add(seconds);
        while end > self.stretches[place].end {
            let over = end - self.stretches[place].end;
            place += 1;
            end = self.stretches[place].start.saturating_add(over);
        }
        Place { stretch: place as u32, at: end }
    }
}

/// The openings of the shop by date, as seconds after now between now and a horizon.
fn openings(calendar: &Calendar, now: DateTime<Utc>, days: u32) -> Vec<(NaiveDate, i64, i64)> {
    let today = calendar.local_date(now);
    let horizon = i64::from(days) * 86_400;
    let after_now = |at: DateTime<Utc>| (at.timestamp() - now.timestamp()).clamp(0, horizon);
    // Two days more on either side: a zone may carry a local time by a day.
    (-2..=i64::from(days) + 2)
        .filter_map(|day| today.checked_add_signed(TimeDelta::days(day)))
        .flat_map(|date| calendar.open_intervals(date).into_iter().map(move |span| (date, span)))
        .map(|(date, span)| (date, after_now(span.from), after_now(span.to)))
        .filter(|(_, from, to)| from < to)
        .collect()
}

/// The instants at which a technician works, not touching.
fn instants_of(shop: &[(NaiveDate, i64, i64)], technician: &Technician) -> Vec<(u32, u32)> {
    let away = |date: NaiveDate| {
        technician.absent.iter().any(|absence| (absence.from..=absence.to).contains(&date))
    };
    let at_bench = |from: i64, to: i64| {
        // A part of a second is not worth a stretch of no length.
        (from + ((to - from) as f64 * technician.share).round() as i64).clamp(from + 1, to)
    };
    let open = shop
        .iter()
        .filter(|(date, ..)| !away(*date))
        .map(|(_, from, to)| (*from, at_bench(*from, *to)))
        .map(|(from, to)| {
            let [from, to] = [from, to].map(|at| u32::try_from(at).expect("clamped to ten years"));
            (from, to)
        });
    joined(open)
}

/// The same time in order, with what touches or overlaps made one.
fn joined(open: impl Iterator<Item = (u32, u32)>) -> Vec<(u32, u32)> {
    let mut open: Vec<u64> = open.map(|(from, to)| u64::from(from) << 32 | u64::from(to)).collect();
    open.sort_unstable();
    let mut joined: Vec<(u32, u32)> = Vec::new();
    for (from, to) in open.into_iter().map(|span| ((span >> 32) as u32, span as u32)) {
        match joined.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(to),
            _ => joined.push((from, to)),
        }
    }
    joined
}

/// The shop's dates from now to the horizon, to be looked up by the million.
#[derive(Debug, Clone)]
pub(super) struct Dates {
    first: NaiveDate,
    /// Instants at which a date begins, with the number of days after `first`.
    begins: Vec<(u32, u32)>,
    /// For each [`Self::BUCKET`] of seconds, the last beginning at or before its start.
    buckets: Vec<u32>,
}

impl Dates {
    /// Log₂ of the seconds in a bucket: about nine hours, so that at most one or two dates
    /// begin in it.
    const BUCKET: u32 = 15;

    pub(super) fn new(calendar: &Calendar, now: DateTime<Utc>, days: u32) -> Self {
        let horizon = days * 86_400;
        let date_at = |at: u32| calendar.local_date(now + TimeDelta::seconds(i64::from(at)));
        let first = date_at(0);
        let since = |date: NaiveDate| u32::try_from((date - first).num_days()).unwrap_or(0);
        let mut begins = vec![(0, 0)];
        let mut at = 0;
        let mut date = first;
        while at < horizon {
            // No date is shorter than this, and none begins twice within it.
            let later = (at + 12 * 3600).min(horizon);
            let then = date_at(later);
            if then != date {
                let (mut before, mut after) = (at, later);
                while after - before > 1 {
                    let middle = before + (after - before) / 2;
                    if date_at(middle) == date {
                        before = middle;
                    } else {
                        after = middle;
                    }
                }
                begins.push((after, since(then)));
                date = then;
            }
            at = later;
        }
        let mut begun = 0u32;
        let buckets = (0..=horizon >> Self::BUCKET)
            .map(|bucket| {
                while begins
                    .get(begun as usize + 1)
                    .is_some_and(|(begin, _)| *begin <= bucket << Self::BUCKET)
                {
                    begun += 1;
                }
                begun
            })
            .collect();
        Self { first, begins, buckets }
    }

    /// Days after the first date; `at` is within the horizon.
    #[inline]
    pub(super) fn day_at(&self, at: u32) -> u32 {
        let mut begun = self.buckets[(at >> Self::BUCKET) as usize] as usize;
        while self.begins.get(begun + 1).is_some_and(|(begin, _)| *begin <= at) {
            begun += 1;
        }
        self.begins[begun].1
    }

    /// The first instant after `at` at which a date begins, or the horizon.
    pub(super) fn next_begin(&self, at: u32) -> u32 {
        let next = self.begins.partition_point(|(begin, _)| *begin <= at);
        self.begins.get(next).map_or(NEVER, |(begin, _)| *begin)
    }

    /// The date so many days after the first.
    pub(super) fn date(&self, day: u32) -> NaiveDate {
        self.first + TimeDelta::days(i64::from(day))
    }
}
