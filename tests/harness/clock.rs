//! The clock of business instants, set by hand.
//!
//! It runs with the machine's, from an opening hour that does not depend on the day the tests
//! run: a shop opens in the tests on Tuesday, 12 May 2026, at 10:00 in Berlin. The database's own
//! clock stays the machine's, so a mix of the two shows.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::SystemTime;

use chrono::{DateTime, Days, NaiveDate, TimeDelta, TimeZone, Utc};

/// A clock that a test moves.
#[derive(Clone, Debug)]
pub struct HandClock {
    /// Seconds that the shop is ahead of the machine.
    ahead: Arc<AtomicI64>,
    /// Where child processes read the same number.
    file: Arc<PathBuf>,
}

fn machine_now() -> DateTime<Utc> {
    SystemTime::now().into()
}

impl HandClock {
    pub(crate) fn new(folder: &Path) -> Self {
        let opening = Utc.with_ymd_and_hms(2026, 5, 12, 8, 0, 0).unwrap();
        let clock = Self { ahead: Arc::default(), file: Arc::new(folder.join("test-clock")) };
        clock.set(opening);
        clock
    }

    /// What time it is in the shop.
    pub fn now(&self) -> DateTime<Utc> {
        machine_now() + TimeDelta::seconds(self.ahead.load(Ordering::Acquire))
    }

    /// What day it is in the shop, whose time zone is Berlin's.
    pub fn today(&self) -> NaiveDate {
        self.now().with_timezone(&chrono::FixedOffset::east_opt(2 * 3600).unwrap()).date_naive()
    }

    /// The date so many days from now, as the API writes it.
    pub fn in_days(&self, days: u64) -> String {
        (self.today() + Days::new(days)).to_string()
    }

    /// Sets it.
    pub fn set(&self, now: DateTime<Utc>) {
        let ahead = (now - machine_now()).num_seconds();
        self.ahead.store(ahead, Ordering::Release);
        std::fs::write(&*self.file, ahead.to_string()).unwrap();
    }

    /// Lets time pass.
    pub fn forward(&self, by: TimeDelta) {
        self.set(self.now() + by);
    }

    /// The clock as the server takes it.
    pub fn for_acts(&self) -> acts::Clock {
        let clock = self.clone();
        acts::Clock::new(move || clock.now())
    }
}
