//! Calendars, holds and questions as JSON.

use super::{Calendar, ClosedDays, ExtraDay, Hours, Span, Weekly};
use crate::calculation::{Node, Reading, Refused};
use crate::words::zone::Zone;
use chrono::{DateTime, NaiveDate, SecondsFormat, Timelike, Utc};
use serde::{Deserialize, Deserializer};
use serde_json::{Value, json};

/// Answers `/calculations/business-time`.
///
/// # Errors
/// `invalid-input`, and `never-open` at `/calendar`.
pub fn compute(input: &Value) -> Result<Value, Refused> {
    let root = Node::root(input);
    let mut reading = Reading::default();
    reading.object(&root, &["calendar", "holds", "question"]);
    let calendar = match root.get("calendar") {
        Some(node) => Calendar::read(&mut reading, &node),
        None => {
            reading.fault("/calendar", "is missing; give the opening hours");
            None
        }
    };
    let holds = read_holds(&mut reading, &root);
    let question = match root.get("question") {
        Some(node) => read_question(&mut reading, &node),
        None => {
            reading.fault("/question", "is missing; ask one");
            None
        }
    };
    reading.done()?;
    match (calendar, question) {
        (Some(calendar), Some(question)) => {
            let mut answer = answer(&calendar, &holds, &question)?;
            answer["defaulted"] = json!(reading.defaulted);
            Ok(answer)
        }
        _ => unreachable!("whatever could not be read left a fault"),
    }
}

enum Question {
    Between(Span),
    Add { from: DateTime<Utc>, seconds: u64 },
    AddOpenDays { from: NaiveDate, days: u32 },
    Intervals { date: NaiveDate },
}

fn answer(calendar: &Calendar, holds: &[Span], question: &Question) -> Result<Value, Refused> {
    match *question {
        Question::Between(Span { from, to }) => {
            let seconds = calendar.open_seconds(from, to, holds);
            #[expect(
                clippy::cast_precision_loss,
                reason = "ten thousand years have fewer than 2^53 seconds"
            )]
            let minutes = seconds as f64 / 60.0;
            Ok(json!({ "seconds": seconds, "minutes": minutes }))
        }
        Question::Add { from, seconds } => {
            let at = calendar
                .after_open_seconds(from, seconds, holds)
                .map_err(|never| Refused::new("never-open").at("/calendar", never.to_string()))?;
            Ok(json!({ "at": written(at), "local_date": calendar.local_date(at) }))
        }
        Question::AddOpenDays { from, days } => {
            let date = calendar
                .after_open_days(from, days)
                .map_err(|never| Refused::new("never-open").at("/calendar", never.to_string()))?;
            Ok(json!({ "date": date }))
        }
        Question::Intervals { date } => {
            let spans = calendar.open_intervals(date);
            let intervals: Vec<Value> = spans
                .iter()
                .map(|span| json!({ "from": written(span.from), "to": written(span.to) }))
                .collect();
            Ok(json!({ "intervals": intervals }))
        }
    }
}

fn written(at: DateTime<Utc>) -> String {
    at.to_rfc3339_opts(SecondsFormat::Secs, true)
}

/// The longest that may be asked for: all minutes of the years 0 to 9999.
const MOST_MINUTES: f64 = 5_259_492_000.0;

fn read_question(reading: &mut Reading, node: &Node<'_>) -> Option<Question> {
    if !node.value.is_object() {
        reading.fault(&node.pointer, "must be an object");
        return None;
    }
    match reading.text(node, "kind")? {
        "between" => {
            reading.object(node, &["kind", "from", "to"]);
            read_span(reading, node).map(Question::Between)
        }
        "add" => {
            reading.object(node, &["kind", "from", "minutes"]);
            let from = read_instant(reading, node, "from");
            let minutes = reading.number(node, "minutes", 0.0..=MOST_MINUTES);
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "within 0 to MOST_MINUTES"
            )]
            let seconds = (minutes? * 60.0).round_ties_even() as u64;
            Some(Question::Add { from: from?, seconds })
        }
        "add_open_days" => {
            reading.object(node, &["kind", "from", "days"]);
            let from = read_date(reading, node, "from");
            let days = reading.whole(node, "days", 0..=i64::from(u32::MAX));
            Some(Question::AddOpenDays { from: from?, days: u32::try_from(days?).ok()? })
        }
        "intervals" => {
            reading.object(node, &["kind", "date"]);
            read_date(reading, node, "date").map(|date| Question::Intervals { date })
        }
        _ => {
            reading.fault(node.below("kind"), "must be between, add, add_open_days or intervals");
            None
        }
    }
}

fn read_holds(reading: &mut Reading, root: &Node<'_>) -> Vec<Span> {
    let nodes = reading.list_if(root, "holds");
    nodes
        .iter()
        .filter_map(|node| {
            reading.object(node, &["from", "to"])?;
            read_span(reading, node)
        })
        .collect()
}

fn read_span(reading: &mut Reading, node: &Node<'_>) -> Option<Span> {
    let from = read_instant(reading, node, "from");
    let to = read_instant(reading, node, "to");
    let span = Span { from: from?, to: to? };
    if span.to < span.from {
        reading.fault(node.below("to"), "is before from");
        return None;
    }
    Some(span)
}

/// A required instant: RFC 3339 with any offset, in whole seconds. `None` after a fault.
pub fn read_instant(reading: &mut Reading, node: &Node<'_>, key: &str) -> Option<DateTime<Utc>> {
    let text = reading.text(node, key)?;
    match DateTime::parse_from_rfc3339(text) {
        // chrono keeps a leap second as a second and more of parts.
        Ok(at) if at.nanosecond() == 0 => Some(at.to_utc()),
        Ok(_) => {
            reading.fault(node.below(key), "must be in whole seconds");
            None
        }
        Err(_) => {
            reading.fault(node.below(key), "must be an instant such as 2026-11-25T08:00:00Z");
            None
        }
    }
}

/// A required date, `YYYY-MM-DD`. `None` after a fault.
pub fn read_date(reading: &mut Reading, node: &Node<'_>, key: &str) -> Option<NaiveDate> {
    let text = reading.text(node, key)?;
    // chrono takes signs and missing zeros too.
    let plain = text.len() == 10 && text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-');
    let date = NaiveDate::parse_from_str(text, "%Y-%m-%d").ok().filter(|_| plain);
    if date.is_none() {
        reading.fault(node.below(key), "must be a date such as 2026-11-25");
    }
    date
}

impl Calendar {
    /// Reads the calendar at `node`. `None` after a fault, each noted at its place.
    pub fn read(reading: &mut Reading, node: &Node<'_>) -> Option<Self> {
        let faults_before = reading.faults.len();
        reading.object(node, &["time_zone", "weekly", "closed", "extra_days"])?;
        let time_zone = reading.text(node, "time_zone").and_then(|name| {
            let zone = Zone::named(name);
            if zone.is_none() {
                reading.fault(
                    node.below("time_zone"),
                    "is no time zone of the IANA list, such as Europe/Berlin",
                );
            }
            zone
        });
        let weekly = match node.get("weekly") {
            Some(weekly) => read_weekly(reading, &weekly),
            None => {
                reading.fault(
                    node.below("weekly"),
                    "is missing; give the hours of the days of the week",
                );
                Weekly::default()
            }
        };
        let closed = read_closed(reading, node);
        let extra_days = read_extra_days(reading, node);
        let whole = reading.faults.len() == faults_before;
        time_zone
            .filter(|_| whole)
            .map(|time_zone| Self::new(time_zone, weekly, closed, extra_days))
    }
}

impl<'de> Deserialize<'de> for Calendar {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let value = Value::deserialize(deserializer)?;
        let mut reading = Reading::default();
        Self::read(&mut reading, &Node::root(&value)).ok_or_else(|| {
            let faults: Vec<String> = reading
                .faults
                .iter()
                .map(|fault| format!("{} {}", fault.pointer, fault.message))
                .collect();
            serde::de::Error::custom(faults.join("; "))
        })
    }
}

fn read_weekly(reading: &mut Reading, node: &Node<'_>) -> Weekly {
    reading.object(
        node,
        &["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"],
    );
    let mut hours = |day| {
        let nodes = reading.list_if(node, day);
        read_hours(reading, &nodes)
    };
    Weekly {
        monday: hours("monday"),
        tuesday: hours("tuesday"),
        wednesday: hours("wednesday"),
        thursday: hours("thursday"),
        friday: hours("friday"),
        saturday: hours("saturday"),
        sunday: hours("sunday"),
    }
}

/// The hours of one day, which rise and do not overlap; they may touch.
fn read_hours(reading: &mut Reading, nodes: &[Node<'_>]) -> Vec<Hours> {
    let mut day: Vec<Hours> = Vec::with_capacity(nodes.len());
    for node in nodes {
        if reading.object(node, &["from", "to"]).is_none() {
            continue;
        }
        let from = read_minute(reading, node, "from");
        let to = read_minute(reading, node, "to");
        let (Some(from), Some(to)) = (from, to) else { continue };
        let Some(hours) = Hours::new(from, to) else {
            reading.fault(node.below("to"), "must be later than from; hours do not cross midnight");
            continue;
        };
        if day.last().is_some_and(|earlier| hours.from_minute < earlier.to_minute) {
            reading.fault(&node.pointer, "overlaps or goes before the hours in front of it");
            reading.fault(node.below("from"), "is before the hours in front of it end");
        }
        day.push(hours);
    }
    day
}

/// `HH:MM` as minutes after midnight, up to 24:00.
fn read_minute(reading: &mut Reading, node: &Node<'_>, key: &str) -> Option<u16> {
    let text = reading.text(node, key)?;
    let minute = match text.as_bytes() {
        [h @ (b'0'..=b'2'), hh @ b'0'..=b'9', b':', m @ b'0'..=b'5', mm @ b'0'..=b'9'] => {
            let digit = |byte: &u8| u16::from(byte - b'0');
            Some((digit(h) * 10 + digit(hh)) * 60 + digit(m) * 10 + digit(mm))
        }
        _ => None,
    };
    let minute = minute.filter(|minute| *minute <= 24 * 60);
    if minute.is_none() {
        reading.fault(node.below(key), "must be a time of day such as 09:00, up to 24:00");
    }
    minute
}

fn read_closed(reading: &mut Reading, calendar: &Node<'_>) -> Vec<ClosedDays> {
    let nodes = reading.list_if(calendar, "closed");
    let mut closed = Vec::with_capacity(nodes.len());
    for node in nodes {
        if reading.object(&node, &["from", "to"]).is_none() {
            continue;
        }
        let from = read_date(reading, &node, "from");
        let to = read_date(reading, &node, "to");
        if let (Some(from), Some(to)) = (from, to) {
            if to < from {
                reading.fault(node.below("to"), "is before from");
            }
            closed.push(ClosedDays { from, to });
        }
    }
    closed
}

fn read_extra_days(reading: &mut Reading, calendar: &Node<'_>) -> Vec<ExtraDay> {
    let nodes = reading.list_if(calendar, "extra_days");
    let mut dates = std::collections::HashSet::new();
    let mut extra_days = Vec::with_capacity(nodes.len());
    for node in nodes {
        if reading.object(&node, &["date", "open"]).is_none() {
            continue;
        }
        let date = read_date(reading, &node, "date");
        let hours = reading.list(&node, "open");
        let open = read_hours(reading, &hours);
        if let Some(date) = date {
            if !dates.insert(date) {
                reading.fault(node.below("date"), "is an extra day already");
            }
            extra_days.push(ExtraDay { date, open });
        }
    }
    extra_days
}
