//! The working time of each technician, laid out once on one axis.

use super::Technician;
use crate::words::business_time::Calendar;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

/// Beyond everything that is looked at. Instants are seconds after now.
pub(super) const NEVER: u32 = u32::MAX;

/// A stretch of open time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Stretch {
    start: u32,
    end: u32,
    /// Working seconds from now to its end.
    worked: u32,
}

/// When the technicians work, from now to a horizon.
#[derive(Debug, Clone)]
pub(super) struct BenchHours {
    /// Of one technician after the other; in order, not touching; after each technician's a
    /// sentinel at [`NEVER`].
    stretches: Vec<Stretch>,
    /// Each technician's first stretch.
    firsts: Vec<u32>,
}

/// An instant with the technician's stretch that it falls in, at its start, or within.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    stretch: u32,
    /// The instant, [`NEVER`] when there is no more open time.
    pub(super) at: u32,
}

impl BenchHours {
    /// The hours of these technicians from `now` over so many days.
    pub(super) fn new(
        calendar: &Calendar,
        technicians: &[&Technician],
        now: DateTime<Utc>,
        days: u32,
    ) -> Self {
        let today = calendar.local_date(now);
        let horizon = i64::from(days) * 86_400;
        // Two days more on either side: a zone may carry a local time by a day.
        let shop: Vec<(NaiveDate, i64, i64)> = (-2..=i64::from(days) + 2)
            .filter_map(|day| today.checked_add_signed(TimeDelta::days(day)))
            .flat_map(|date| {
                calendar.open_intervals(date).into_iter().map(move |span| (date, span))
            })
            .map(|(date, span)| {
                let after_now =
                    |at: DateTime<Utc>| (at.timestamp() - now.timestamp()).clamp(0, horizon);
                (date, after_now(span.from), after_now(span.to))
            })
            .filter(|(_, from, to)| from < to)
            .collect();
        let mut hours = Self { stretches: Vec::new(), firsts: Vec::new() };
        for technician in technicians {
            let away = |date: NaiveDate| {
                technician.absent.iter().any(|absence| (absence.from..=absence.to).contains(&date))
            };
            let at_bench = |from: i64, to: i64| {
                // A part of a second is not worth a stretch of no length.
                (from + ((to - from) as f64 * technician.share).round() as i64).clamp(from + 1, to)
            };
            hours.add(
                shop.iter()
                    .filter(|(date, ..)| !away(*date))
                    .map(|(_, from, to)| (*from, at_bench(*from, *to))),
            );
        }
        hours
    }

    fn add(&mut self, open: impl Iterator<Item = (i64, i64)>) {
        let mut open: Vec<(i64, i64)> = open.collect();
        open.sort_unstable();
        let first = self.stretches.len();
        self.firsts.push(first as u32);
        let mut worked = 0;
        for (from, to) in open {
            let [from, to] = [from, to].map(|at| u32::try_from(at).expect("clamped to ten years"));
            match self.stretches[first..].last_mut() {
                Some(last) if from <= last.end => {
                    worked += to.saturating_sub(last.end);
                    last.end = last.end.max(to);
                    last.worked = worked;
                }
                _ => {
                    worked += to - from;
                    self.stretches.push(Stretch { start: from, end: to, worked });
                }
            }
        }
        self.stretches.push(Stretch { start: NEVER, end: NEVER, worked: NEVER });
    }

    pub(super) fn technician_count(&self) -> usize {
        self.firsts.len()
    }

    /// The first open instant of a technician now or later.
    pub(super) fn first(&self, technician: usize) -> Place {
        self.open_from(Place { stretch: self.firsts[technician], at: 0 }, 0)
    }

    /// The earliest instant with so many working seconds of the first technician after the first open
    /// one at or after `at`; [`NEVER`] beyond the horizon.
    pub(super) fn later(&self, at: u32, seconds: u32) -> u32 {
        let stretch = self.stretches.partition_point(|stretch| stretch.end <= at);
        let start = Place { stretch: stretch as u32, at: at.max(self.stretches[stretch].start) };
        if start.at == NEVER { NEVER } else { self.after(start, seconds).at }
    }

    /// The first open instant at or after `at`, which is not before `hint` and before
    /// [`NEVER`].
    #[inline]
    pub(super) fn open_from(&self, hint: Place, at: u32) -> Place {
        let mut place = hint.stretch as usize;
        let mut stretch = self.stretches[place];
        while stretch.end <= at {
            place += 1;
            stretch = self.stretches[place];
        }
        Place { stretch: place as u32, at: at.max(stretch.start) }
    }

    /// The earliest instant with so many working seconds after `start`, an open instant;
    /// closing time counts. The place names the stretch that the work ends in.
    #[inline]
    pub(super) fn after(&self, start: Place, seconds: u32) -> Place {
        let mut place = start.stretch as usize;
        let mut stretch = self.stretches[place];
        let target = (stretch.worked - (stretch.end - start.at)).saturating_add(seconds);
        while stretch.worked < target {
            place += 1;
            stretch = self.stretches[place];
        }
        let at =
            if stretch.start == NEVER { NEVER } else { stretch.end - (stretch.worked - target) };
        Place { stretch: place as u32, at }
    }
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

    /// The date so many days after the first.
    pub(super) fn date(&self, day: u32) -> NaiveDate {
        self.first + TimeDelta::days(i64::from(day))
    }
}
