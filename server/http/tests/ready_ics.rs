//! The calendar file, read back with parsers that are not the writer's.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails where it stands")]

use bellbrace_http::pages::{ReadyDay, ready_ics};
use chrono::{NaiveDate, TimeZone, Utc};
use ical::parser::ical::IcalParser;
use ical::parser::ical::component::IcalEvent;
use std::io::Write;
use std::process::{Command, Stdio};

fn ready_day() -> ReadyDay {
    ReadyDay {
        uid: "0197e3a0-0000-7000-8000-000000000001@millrace.example".into(),
        stamp: Utc.with_ymd_and_hms(2026, 6, 16, 8, 44, 5).unwrap(),
        sequence: 12,
        day: NaiveDate::from_ymd_opt(2026, 6, 18).unwrap(),
        is_ready: false,
        claim_number: "1843-8".into(),
        family: "baritone".into(),
        shop_name: "Millrace, Instrument; Repair \\ Söhne".into(),
        shop_address: Some(
            "4 Millrace Lane, by the long water behind the old mill, first door".into(),
        ),
        shop_phone: Some("555 0100".into()),
        shop_hours: Some("Monday to Friday 9–18, Saturday 9–13".into()),
        status_url: Some("https://millrace.example/status/k7Qm2vXw9RtB4nZp".into()),
    }
}

fn only_event(text: &str) -> IcalEvent {
    let mut calendars: Vec<_> = IcalParser::new(text.as_bytes()).map(Result::unwrap).collect();
    assert_eq!(calendars.len(), 1);
    let calendar = calendars.remove(0);
    assert_eq!(calendar.events.len(), 1);
    calendar.events.into_iter().next().unwrap()
}

fn value(event: &IcalEvent, name: &str) -> Option<String> {
    event.properties.iter().find(|p| p.name == name)?.value.clone()
}

#[test]
fn the_event_is_one_whole_day_with_a_stable_name() {
    let text = ready_ics(&ready_day());
    let event = only_event(&text);
    let starts = event.properties.iter().find(|p| p.name == "DTSTART").unwrap();
    assert_eq!(starts.value.as_deref(), Some("20260618"));
    assert_eq!(starts.params, Some(vec![("VALUE".to_owned(), vec!["DATE".to_owned()])]));
    assert_eq!(value(&event, "DTEND"), None);
    assert_eq!(value(&event, "UID").as_deref(), Some(ready_day().uid.as_str()));
    assert_eq!(value(&event, "DTSTAMP").as_deref(), Some("20260616T084405Z"));
    assert_eq!(value(&event, "SEQUENCE").as_deref(), Some("12"));
    assert_eq!(value(&event, "STATUS").as_deref(), Some("TENTATIVE"));
    assert_eq!(value(&event, "TRANSP").as_deref(), Some("TRANSPARENT"));
    assert_eq!(text, ready_ics(&ready_day()), "the same day gives the same bytes");

    let ready = ReadyDay { is_ready: true, ..ready_day() };
    assert_eq!(value(&only_event(&ready_ics(&ready)), "STATUS").as_deref(), Some("CONFIRMED"));
}

#[test]
fn lines_end_in_crlf_are_folded_at_75_octets_and_text_is_escaped() {
    for shop in [
        "Millrace, Instrument; Repair \\ Söhne",
        "ü".repeat(90).as_str(),
        "李".repeat(60).as_str(),
        "👩‍👩‍👧".repeat(12).as_str(),
        "a b ".repeat(40).as_str(),
    ] {
        let day = ReadyDay { shop_name: shop.into(), ..ready_day() };
        let text = ready_ics(&day);
        assert!(text.ends_with("END:VCALENDAR\r\n"));
        // RFC 5545, 3.1: no bare line end, at most 75 octets without the line end.
        assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
        for line in text.split("\r\n") {
            assert!(line.len() <= 75 && !line.contains('\r'), "{} octets: {line}", line.len());
        }
        let unfolded = text.replace("\r\n ", "");
        let shown = shop.trim().replace('\\', "\\\\").replace(',', "\\,").replace(';', "\\;");
        assert!(
            unfolded.contains(&format!("SUMMARY:Planned to be ready: the baritone\\, {shown}\r\n")),
            "{unfolded}"
        );
    }
}

#[test]
fn what_was_typed_cannot_add_a_property() {
    let evil = "x\r\nATTENDEE:mailto:all@lund.example\nEND:VEVENT\r\u{85}y";
    let day = ReadyDay {
        uid: evil.into(),
        claim_number: evil.into(),
        family: evil.into(),
        shop_name: evil.into(),
        shop_address: Some(evil.into()),
        shop_phone: Some(evil.into()),
        shop_hours: Some(evil.into()),
        status_url: Some(evil.into()),
        ..ready_day()
    };
    let text = ready_ics(&day);
    let event = only_event(&text);
    assert!(value(&event, "ATTENDEE").is_none());
    assert_eq!(text.matches("\r\nEND:VEVENT\r\n").count(), 1);
}

/// Python's icalendar package, where `BELLBRACE_TEST_PYTHON` names an interpreter that has it.
#[test]
fn another_programs_parser_reads_the_same() {
    let Some(python) = std::env::var_os("BELLBRACE_TEST_PYTHON") else {
        eprintln!("BELLBRACE_TEST_PYTHON is not set; read with one parser only");
        return;
    };
    let script = "
import sys, icalendar
cal = icalendar.Calendar.from_ical(sys.stdin.buffer.read())
[event] = cal.walk('VEVENT')
assert not event.errors and not cal.errors, (event.errors, cal.errors)
for name in ('SUMMARY', 'LOCATION', 'DESCRIPTION', 'UID', 'URL', 'STATUS'):
    print(name, repr(str(event[name])))
print('DTSTART', event.decoded('DTSTART').isoformat())
print('DTSTAMP', event.decoded('DTSTAMP').isoformat())
print('VERSION', cal['VERSION'], 'PRODID', cal['PRODID'])
";
    let mut child = Command::new(python)
        .args(["-c", script])
        .env("PYTHONIOENCODING", "utf-8")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(ready_ics(&ready_day()).as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    assert_eq!(
        String::from_utf8(output.stdout).unwrap(),
        r"SUMMARY 'Planned to be ready: the baritone, Millrace, Instrument; Repair \\ Söhne'
LOCATION 'Millrace, Instrument; Repair \\ Söhne, 4 Millrace Lane, by the long water behind the old mill, first door'
DESCRIPTION 'Number 1843-8.\nWe send you an e-mail when it is ready to collect; please wait for it.\nOpen Monday to Friday 9–18, Saturday 9–13.\nRing 555 0100.'
UID '0197e3a0-0000-7000-8000-000000000001@millrace.example'
URL 'https://millrace.example/status/k7Qm2vXw9RtB4nZp'
STATUS 'TENTATIVE'
DTSTART 2026-06-18
DTSTAMP 2026-06-16T08:44:05+00:00
VERSION 2.0 PRODID -//Bellbrace//Status page//EN
"
    );
}
