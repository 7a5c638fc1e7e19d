//! What a forecast says of one order.

use chrono::{DateTime, NaiveDate, Utc};

/// When an order will be ready: a distribution over dates.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadyDates {
    /// The dates on which it was ready in some draw, rising, with the number of draws.
    dates: Vec<(NaiveDate, u32)>,
    draws: u32,
    /// The instant, when nothing in the whole forecast is random.
    pub ready_at: Option<DateTime<Utc>>,
    /// Mean hours from now.
    pub mean_hours: f64,
    /// Their standard deviation.
    pub sd_hours: f64,
    /// What it waits for.
    pub causes: Causes,
}

/// Mean days of 86,400 s. An answer and parts are waited for at the same time, so the days
/// do not add up to the whole.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Causes {
    /// From now to the customer's answer.
    pub approval_days: f64,
    /// From now to the end of the hold.
    pub parts_days: f64,
    /// From when the order can be worked on until it is ready: standing, other orders first, the
    /// work itself and the closed hours between.
    pub bench_days: f64,
}

/// How likely a promise is kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kept {
    /// Share of draws with the order ready on the promised date or before.
    pub probability: f64,
    /// Wilson 95 % interval of that share, for the finite number of draws; both the share
    /// itself when nothing is random.
    pub interval: (f64, f64),
}

/// The 97.5 % quantile of the standard normal distribution.
const Z_975: f64 = 1.959_963_984_540_054;

impl ReadyDates {
    /// `dates` rising, with counts above zero that sum to the number of draws.
    pub(super) fn new(
        dates: Vec<(NaiveDate, u32)>,
        ready_at: Option<DateTime<Utc>>,
        (mean_hours, sd_hours): (f64, f64),
        causes: Causes,
    ) -> Self {
        let draws = dates.iter().map(|(_, count)| count).sum();
        Self { dates, draws, ready_at, mean_hours, sd_hours, causes }
    }

    /// The dates on which it may be ready, rising, each with its share.
    pub fn shares(&self) -> impl Iterator<Item = (NaiveDate, f64)> {
        self.dates.iter().map(|(date, count)| (*date, f64::from(*count) / f64::from(self.draws)))
    }

    /// The dates on which it may be ready, rising, each with the number of draws in which it was.
    pub fn counts(&self) -> impl Iterator<Item = (NaiveDate, u32)> {
        self.dates.iter().copied()
    }

    /// The date by which it is ready in so many of 100 cases (1…100): the element ⌈q·n⌉ of
    /// the sorted ready dates. The one for 85 is the promise to suggest for a new order,
    /// unless the shop has another figure.
    #[must_use]
    pub fn ready_by(&self, of_hundred: u32) -> NaiveDate {
        self.element(u64::from(of_hundred), 100)
    }

    /// Twenty dates, rising, each as likely as the others: those in the middle of the
    /// twentieths (the 2.5, 7.5, … 97.5 % quantiles).
    #[must_use]
    pub fn twenty(&self) -> [NaiveDate; 20] {
        std::array::from_fn(|twentieth| self.element(2 * twentieth as u64 + 1, 40))
    }

    /// How likely it is ready on `promised` or before.
    #[must_use]
    pub fn kept(&self, promised: NaiveDate) -> Kept {
        let kept: u32 = self
            .dates
            .iter()
            .take_while(|(date, _)| *date <= promised)
            .map(|(_, count)| count)
            .sum();
        let n = f64::from(self.draws);
        let p = f64::from(kept) / n;
        if self.ready_at.is_some() {
            return Kept { probability: p, interval: (p, p) };
        }
        // E. B. Wilson 1927, Journal of the American Statistical Association.
        let z2 = Z_975 * Z_975;
        let centre = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
        let half = Z_975 / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
        Kept { probability: p, interval: ((centre - half).max(0.0), (centre + half).min(1.0)) }
    }

    /// Element ⌈part/whole · n⌉, counted from 1, of the sorted dates.
    fn element(&self, part: u64, whole: u64) -> NaiveDate {
        let wanted = (part * u64::from(self.draws)).div_ceil(whole).max(1);
        let mut so_far = 0;
        for (date, count) in &self.dates {
            so_far += u64::from(*count);
            if so_far >= wanted {
                return *date;
            }
        }
        self.dates.last().expect("at least one draw").0
    }
}

impl Causes {
    /// The causes by name, the longest first; equal ones in the order approval, parts, bench.
    #[must_use]
    pub fn largest_first(&self) -> [(&'static str, f64); 3] {
        let mut causes = [
            ("approval", self.approval_days),
            ("parts", self.parts_days),
            ("bench", self.bench_days),
        ];
        causes.sort_by(|one, other| other.1.total_cmp(&one.1));
        causes
    }
}

#[cfg(test)]
mod tests {
    use super::{Causes, ReadyDates};
    use chrono::NaiveDate;

    fn day(day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 11, day).expect("a date")
    }

    fn dates(counts: &[(u32, u32)]) -> ReadyDates {
        let dates = counts.iter().map(|(date, count)| (day(*date), *count)).collect();
        ReadyDates::new(dates, None, (0.0, 0.0), Causes::default())
    }

    #[test]
    fn quantiles_are_elements_of_the_sorted_dates() {
        // 20 draws: ⌈0.5·20⌉ = 10th, ⌈0.85·20⌉ = 17th, ⌈0.95·20⌉ = 19th.
        let ready = dates(&[(2, 10), (3, 6), (4, 2), (5, 2)]);
        assert_eq!([50, 85, 95, 100].map(|q| ready.ready_by(q)), [day(2), day(4), day(5), day(5)]);
        assert_eq!(ready.twenty()[..10], [day(2); 10]);
        assert_eq!(ready.twenty()[10..16], [day(3); 6]);
        assert_eq!(ready.twenty()[16..], [day(4), day(4), day(5), day(5)]);
    }

    /// Wilson's interval for 8 of 10 is 0.4902 to 0.9433, as given in textbooks (from memory,
    /// recomputed by hand).
    #[test]
    fn the_interval_is_wilsons() {
        let kept = dates(&[(2, 8), (5, 2)]).kept(day(3));
        assert_eq!(kept.probability, 0.8);
        assert!(
            (kept.interval.0 - 0.4902).abs() < 5e-5 && (kept.interval.1 - 0.9433).abs() < 5e-5,
            "{kept:?}"
        );
        assert_eq!(dates(&[(2, 8)]).kept(day(1)).interval.0, 0.0);
    }
}
