//! The pickup date as an iCalendar file (RFC 5545) for a customer's own calendar.

use chrono::{DateTime, NaiveDate, Utc};
use icalendar::{Calendar, Component, Event, EventLike, EventStatus};
use trade::words::said::one_line;

/// What the calendar entry is made from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadyDay {
    /// Stable over all downloads of one order, so that a calendar replaces the entry
    /// rather than adding a second: `order-id@shop.example`.
    pub uid: String,
    /// When this version was made.
    pub stamp: DateTime<Utc>,
    /// Raised whenever the date has changed; the order's version will do.
    pub sequence: u32,
    /// The day it is ready, or planned for.
    pub day: NaiveDate,
    /// Whether it is ready, or only planned.
    pub is_ready: bool,
    /// Claim number.
    pub claim_number: String,
    /// `baritone`.
    pub family: String,
    /// Name of the shop.
    pub shop_name: String,
    /// In one line.
    pub shop_address: Option<String>,
    /// As people ring it.
    pub shop_phone: Option<String>,
    /// In words.
    pub shop_hours: Option<String>,
    /// The customer's status page.
    pub status_url: Option<String>,
}

/// The file, lines folded and ended by CRLF; served as `text/calendar; charset=utf-8`.
///
/// One event of the whole day without DTEND, which RFC 5545, 3.6.1 reads as that one day. It
/// takes no time from the customer's day (TRANSPARENT), and is tentative while only planned.
#[must_use]
pub fn ready_ics(day: &ReadyDay) -> String {
    let (shop, family) = (one_line(&day.shop_name), one_line(&day.family));
    let summary = if day.is_ready {
        format!("Collect the {family}: {shop}")
    } else {
        format!("Planned to be ready: the {family}, {shop}")
    };
    let mut words = vec![format!("Number {}.", one_line(&day.claim_number))];
    words.push(if day.is_ready {
        "Please bring the receipt, the half of the tag, or identification.".to_owned()
    } else {
        "We send you an e-mail when it is ready to collect; please wait for it.".to_owned()
    });
    words.extend(day.shop_hours.as_deref().map(|hours| format!("Open {}.", one_line(hours))));
    words.extend(day.shop_phone.as_deref().map(|phone| format!("Ring {}.", one_line(phone))));

    let mut event = Event::new();
    event
        .uid(&one_line(&day.uid))
        .timestamp(day.stamp)
        .sequence(day.sequence)
        .starts(day.day)
        .summary(&summary)
        .description(&words.join("\n"))
        .status(if day.is_ready { EventStatus::Confirmed } else { EventStatus::Tentative })
        .add_property("TRANSP", "TRANSPARENT");
    if let Some(address) = &day.shop_address {
        event.location(&format!("{shop}, {}", one_line(address)));
    }
    if let Some(url) = &day.status_url {
        event.url(&one_line(url));
    }
    let mut calendar = Calendar::empty();
    calendar
        .append_property(("VERSION", "2.0"))
        .append_property(("PRODID", "-//Bellbrace//Status page//EN"))
        .append_property(("CALSCALE", "GREGORIAN"))
        .append_property(("METHOD", "PUBLISH"))
        .push(event.done());
    calendar.to_string()
}
