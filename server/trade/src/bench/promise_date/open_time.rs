//! Open time laid end to end: one axis on which nobody is ever closed.
//!
//! On the axis of a shop a task simply ends so many seconds after its start. An instant is seconds
//! after now, a point is seconds of open time after now. A point between two openings is both the
//! closing of the one and the opening of the next, and whoever asks says which is meant.

use super::bench_hours::Dates;

/// Beyond everything that is looked at, on both axes.
pub(super) const NEVER: u32 = u32::MAX;

/// A piece of open time on one date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Span {
    /// Its points; the last is past the end.
    start: u32,
    end: u32,
    /// Closed seconds before it.
    closed: u32,
    /// Days after the first date, of all instants in it but the first.
    day: u32,
}

/// All open time from now to a horizon.
#[derive(Debug, Clone)]
pub(super) struct OpenTime {
    /// In order; after the last a sentinel at [`NEVER`].
    spans: Vec<Span>,
    /// For each bucket of points, the span that its first point falls in.
    by_point: Vec<u32>,
    /// For each bucket of instants, the first span that ends after its first instant.
    by_instant: Vec<u32>,
}

/// Log₂ of the seconds in a bucket: shorter than most spans, so that a look-up seldom goes on to the
/// next one.
const POINTS: u32 = 11;
const INSTANTS: u32 = 13;

impl OpenTime {
    /// * `open`: when it is open, by rising instants, not touching.
    /// * `dates`: when a new date begins.
    pub(super) fn new(open: &[(u32, u32)], dates: &Dates) -> Self {
        let mut spans: Vec<Span> = Vec::new();
        let mut point = 0;
        for &(from, to) in open {
            let closed = from - point;
            let mut from = from;
            while from < to {
                // The instant at which a date begins belongs to it, even when it is a closing.
                let until = (dates.next_begin(from + 1) - 1).clamp(from + 1, to);
                let day = dates.day_at(from + 1);
                spans.push(Span { start: point, end: point + (until - from), closed, day });
                point += until - from;
                from = until;
            }
        }
        spans.push(Span { start: point, end: NEVER, closed: NEVER - point, day: 0 });
        let last = spans[spans.len() - 1];
        let buckets = |ends: &dyn Fn(&Span) -> u32, bits: u32, to: u32| {
            let mut at = 0;
            (0..=to >> bits)
                .map(|bucket| {
                    while ends(&spans[at]) <= bucket << bits {
                        at += 1;
                    }
                    at as u32
                })
                .collect()
        };
        let by_point = buckets(&|span| span.end, POINTS, last.start);
        let last_instant = open.last().map_or(0, |(_, to)| *to);
        let by_instant =
            buckets(&|span| span.end.saturating_add(span.closed), INSTANTS, last_instant);
        Self { spans, by_point, by_instant }
    }

    /// The end of the axis.
    pub(super) fn last_point(&self) -> u32 {
        self.spans[self.spans.len() - 1].start
    }

    /// The point of an instant; of a closed one that of the next opening.
    #[inline]
    pub(super) fn point(&self, instant: u32) -> u32 {
        let Some(&first) = self.by_instant.get((instant >> INSTANTS) as usize) else {
            return self.last_point();
        };
        let mut at = first as usize;
        while self.spans[at].end.saturating_add(self.spans[at].closed) <= instant {
            at += 1;
        }
        let span = &self.spans[at];
        instant.saturating_sub(span.closed).max(span.start)
    }

    /// The instant of a point at which work ends, with its date as days after the first; `point` is
    /// above 0 and not beyond the end.
    #[inline]
    pub(super) fn closing(&self, point: u32) -> (u32, u32) {
        let span = self.span(point - 1);
        (point + span.closed, span.day)
    }

    /// The instant of a point at which work begins; [`NEVER`] at the end.
    pub(super) fn opening(&self, point: u32) -> u32 {
        point.saturating_add(self.span(point).closed)
    }

    /// The instant after so many seconds of open time from an instant; [`NEVER`] beyond the end.
    #[inline]
    pub(super) fn later(&self, instant: u32, seconds: u32) -> u32 {
        let point = self.point(instant);
        match point.saturating_add(seconds) {
            _ if point == self.last_point() => NEVER,
            end if end > self.last_point() => NEVER,
            _ if seconds == 0 => self.opening(point),
            end => self.closing(end).0,
        }
    }

    /// Where the shop closes: the point, with the seconds until it opens again.
    pub(super) fn closings(&self) -> impl Iterator<Item = (u32, u32)> {
        let before_last = &self.spans[..self.spans.len() - 1];
        before_last
            .windows(2)
            .map(|pair| (pair[1].start, pair[1].closed - pair[0].closed))
            .filter(|(_, closed)| *closed > 0)
    }

    #[inline]
    fn span(&self, point: u32) -> &Span {
        let mut at = self.by_point[(point >> POINTS) as usize] as usize;
        while self.spans[at].end <= point {
            at += 1;
        }
        &self.spans[at]
    }
}

#[cfg(test)]
mod tests {
    use super::{NEVER, OpenTime};
    use crate::bench::promise_date::bench_hours::Dates;
    use crate::calculation::{Node, Reading};
    use crate::words::business_time::Calendar;
    use serde_json::json;

    /// Beside the same time counted out second by second: openings of many lengths, two of them over
    /// midnight, one that closes at midnight.
    #[test]
    fn points_and_instants_are_those_counted_out() {
        let calendar = json!({"time_zone": "UTC", "weekly": {}});
        let calendar = Calendar::read(&mut Reading::default(), &Node::root(&calendar));
        let noon = "2026-06-01T12:00:00Z".parse().expect("an instant");
        let dates = Dates::new(&calendar.expect("a calendar"), noon, 4);
        let day = |instant: u32| (instant + 43_200) / 86_400;
        let spans = [
            (100, 5000),
            (7000, 90_000),
            (100_000, 129_600),
            (130_000, 130_001),
            (150_000, 230_000),
        ];
        let open = OpenTime::new(&spans, &dates);
        let seconds: Vec<u32> = spans.into_iter().flat_map(|(from, to)| from..to).collect();
        assert_eq!(open.last_point() as usize, seconds.len());
        for (point, &second) in (0..).zip(&seconds) {
            assert_eq!(open.opening(point), second);
            assert_eq!(open.closing(point + 1), (second + 1, day(second + 1)));
        }
        assert_eq!(open.opening(open.last_point()), NEVER);
        let mut point = 0;
        for instant in 0..240_000 {
            assert_eq!(open.point(instant), point);
            for work in [0, 1, 4900, 50_000] {
                let last = point as usize + (work as usize).saturating_sub(1);
                let later = seconds.get(last).map_or(NEVER, |second| second + work.min(1));
                assert_eq!(open.later(instant, work), later, "{work} s from {instant}");
            }
            point += u32::from(seconds.get(point as usize) == Some(&instant));
        }
        let closings: Vec<(u32, u32)> = open.closings().collect();
        assert_eq!(closings, [(4900, 2000), (87_900, 10_000), (117_500, 400), (117_501, 19_999)]);
    }
}
